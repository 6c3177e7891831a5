"""SVG read back: sizes in mm, true lengths, ids, escaped words."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

import pytest

import synthetic
from coutil.plane import Curve, Path, cubic, line
from coutil.sheets import panels_svg, pieces_svg
from coutil.sheets.drawing import Drawing, Line
from coutil.sheets.svg import MARGIN, identifier, svg
from sheets_fixture import with_pieces

NS = {"s": "http://www.w3.org/2000/svg"}
NUMBER = r"-?\d+(?:\.\d+)?"


def read_path(d: str) -> list[Curve]:
    """The curves of a path made of absolute M, L, C and Z, as a reader that knows only the SVG recommendation would."""
    out: list[Curve] = []
    at = start = (0.0, 0.0)
    for command, args in re.findall(r"([MLCZ])([^MLCZ]*)", d):
        v = [float(x) for x in re.findall(NUMBER, args)]
        if command == "M":
            at = start = (v[0], v[1])
        elif command == "L":
            if math.dist(at, v) > 1e-9:
                out.append(line(at, (v[0], v[1])))
            at = (v[0], v[1])
        elif command == "C":
            out.append(cubic(at, (v[0], v[1]), (v[2], v[3]), (v[4], v[5])))
            at = (v[4], v[5])
        elif math.dist(at, start) > 1e-6:
            out.append(line(at, start))
    return out


def test_one_unit_is_one_millimetre() -> None:
    root = ET.fromstring(panels_svg(synthetic.pattern(), "panels"))
    width, height = root.attrib["width"], root.attrib["height"]
    assert width.endswith("mm")
    assert height.endswith("mm")
    assert root.attrib["viewBox"] == f"0 0 {width[:-2]} {height[:-2]}"


@pytest.mark.parametrize("uneven", [False, True])
def test_panels_keep_their_true_length_area_and_hand(uneven: bool) -> None:
    pattern = synthetic.uneven() if uneven else synthetic.pattern()
    root = ET.fromstring(panels_svg(pattern, "panels"))
    drawn = root.findall(".//s:path[@class='panel']", NS)
    assert len(drawn) == len(pattern.panels)
    left = {}
    for group in root.findall(".//s:g[@id]", NS):
        title = group.findtext("s:title", namespaces=NS) or ""
        path = group.find("s:path[@class='panel']", NS)
        assert path is not None
        name, _, side = title.partition(", ")
        panel = pattern.panel(name, side or "both")  # type: ignore[arg-type]
        curves = read_path(path.attrib["d"])
        # Ten thousandths of a millimetre are kept; a few dozen control points add up to less than this.
        assert sum(c.length for c in curves) == pytest.approx(sum(e.curve.length for e in panel.edges), abs=0.01)
        points = [p for c in curves for p in c.points(tolerance=0.001)[:-1]]
        true = panel.outline(tolerance=0.001)
        # Anticlockwise with y up is negative with y down; a panel that is turned face up is mirrored.
        assert _area(points) == pytest.approx(-panel.face_up * _area(true), rel=1e-4)
        left[title] = min(x for x, _ in points)
    if not uneven:
        assert sorted(left, key=left.__getitem__) == ["centre front", "side front", "side back", "centre back"]
    else:
        order = [t for t in sorted(left, key=left.__getitem__) if t.endswith("right")]
        assert [t.split(",")[0] for t in order] == ["centre back", "side back", "side front", "centre front"]


def test_ids_are_unique_and_every_piece_is_named() -> None:
    pattern = with_pieces()
    root = ET.fromstring(pieces_svg(pattern, "pieces", label="M. T.", order_name="paper"))
    ids = [e.attrib["id"] for e in root.iter() if "id" in e.attrib]
    assert len(ids) == len(set(ids)) > 1
    titles = " / ".join(g.findtext("s:title", namespaces=NS) or "" for g in root.findall(".//s:g[@id]", NS))
    for p in pattern.pieces:
        assert p.name in titles


def test_words_of_a_client_cannot_break_the_file() -> None:
    wild = "</text><script>alert(1)</script> & \"q\" 'a' \x00\x08 ]]> \ud800"
    root = ET.fromstring(pieces_svg(with_pieces(), wild, label=wild, order_name=wild))
    assert not root.findall(".//s:script", NS)
    assert any("<script>alert(1)</script>" in (t.text or "") for t in root.iter(f"{{{NS['s']}}}text"))


def test_everything_drawn_lies_inside_the_sheet() -> None:
    for text in (panels_svg(synthetic.pattern(), "a"), pieces_svg(with_pieces(), "b", label="M. T.")):
        root = ET.fromstring(text)
        _, _, w, h = (float(v) for v in root.attrib["viewBox"].split())
        for path in root.iter(f"{{{NS['s']}}}path"):
            for c in read_path(path.attrib["d"]):
                for x, y in c.points(tolerance=0.05):
                    assert MARGIN - 1e-3 <= x <= w - MARGIN + 1e-3
                    assert MARGIN - 1e-3 <= y <= h - MARGIN + 1e-3


def test_a_small_drawing_keeps_its_line_widths_on_paper() -> None:
    d = Drawing("a", (Line(Path.of([line((0.0, 0.0), (400.0, 0.0))]), "net"),))
    root = ET.fromstring(svg([d], "small", ratio=4.0))
    width, shown = float(root.attrib["width"][:-2]), float(root.attrib["viewBox"].split()[2])
    assert shown / width == pytest.approx(4.0)
    path = root.find(".//s:path", NS)
    assert path is not None
    assert float(path.attrib["stroke-width"]) / 4.0 == pytest.approx(0.35)


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="nothing is drawn"):
        svg([], "none")


def test_identifiers() -> None:
    used: set[str] = set()
    assert identifier("Côté avant, shell", used) == "cote-avant-shell"
    assert identifier("cote avant shell", used) == "cote-avant-shell-2"
    assert identifier("עדי", used) == "figure"
    assert identifier("1st", used) == "n-1st"


def _area(points: list[tuple[float, float]]) -> float:
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True)) / 2
