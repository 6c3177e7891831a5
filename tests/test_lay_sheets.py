"""A lay as a drawing: what is on it, where, and that it is true to size."""

from __future__ import annotations

import shutil
import subprocess
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import LineString, Point, Polygon

from coutil.draft import draft
from coutil.lay import LayPlan, plan
from coutil.layers import layer_up
from coutil.order import Cloth, read_order
from coutil.pattern import Pattern
from coutil.sheets.drawing import Drawing
from coutil.sheets.lays import ROOM, lay_drawing, lays_pdf, lays_svg, picture_ratio
from lay_pieces import order, pattern, rectangle

DEMO = Path(__file__).parent.parent / "examples" / "sea-green.toml"
CLOTH = (
    Cloth("satin", ("shell",), width=1400, laid="folded"),
    Cloth("batiste", ("interfacing",), width=900),
    Cloth("habotai", ("lining",), width=900, laid="folded", direction="one-way"),
)


@pytest.fixture(scope="module")
def demo() -> tuple[LayPlan, Pattern]:
    demo = read_order(DEMO)
    made = layer_up(draft(demo.body, demo.style).pattern, demo.build)
    return plan(made, replace(demo, cloth=CLOTH), seconds=1.0), made


def words(drawing: Drawing) -> str:
    return " | ".join(t.says for d in drawing.every() for t in d.texts)


def test_each_placement_is_a_part_drawn_with_its_true_curves(demo: tuple[LayPlan, Pattern]) -> None:
    made, p = demo
    for lay in made.lays:
        drawing = lay_drawing(lay, blocks=made.blocks, pattern=p)
        assert [d.name for d in drawing.parts] == [f"{q.piece}, {q.copy}" for q in lay.placements]
        for part, q in zip(drawing.parts, lay.placements, strict=True):
            laid = Polygon(q.polygon)
            cut = [LineString(n.path.points(tolerance=0.01)) for n in part.lines if n.style == "cut"]
            assert cut
            # True curves lie within the polygon that was laid, nowhere farther inside than 0.2 mm.
            assert all(laid.buffer(0.01).covers(c) for c in cut), part.name
            assert all(laid.exterior.distance(Point(xy)) < 0.21 for c in cut for xy in c.coords)


def test_blocks_show_their_pieces_inside(demo: tuple[LayPlan, Pattern]) -> None:
    made, p = demo
    shell = next(lay for lay in made.lays if lay.layers == ("shell",))
    drawing = lay_drawing(shell, blocks=made.blocks, pattern=p)
    for part, q in zip(drawing.parts, shell.placements, strict=True):
        inner = [LineString(n.path.points(tolerance=0.1)) for n in part.lines if n.style == "net"]
        assert inner
        assert all(Polygon(q.polygon).buffer(0.01).covers(c) for c in inner)
    assert "then cut the pieces (broken lines) out of them" in words(drawing)


def test_fold_selvedges_sizes_and_direction_are_named(demo: tuple[LayPlan, Pattern]) -> None:
    made, p = demo
    lining = next(lay for lay in made.lays if lay.layers == ("lining",))
    drawing = lay_drawing(lining, blocks=made.blocks, pattern=p, ratio=5.0)
    said = words(drawing)
    for text in ("fold", "selvedges", "half the usable width", "length", "tops of all pieces point to the right"):
        assert text in said
    assert any(n.style == "fold" for n in drawing.lines)
    # Nothing is cut along the fold.
    for part in drawing.parts:
        for n in part.lines:
            assert n.style != "cut" or any(abs(y) > 0.5 for _, y in n.path.points(tolerance=0.1))


@pytest.mark.parametrize("ratio", [1.0, 4.0, 8.0])
def test_no_name_lies_over_a_line_of_its_piece(demo: tuple[LayPlan, Pattern], ratio: float) -> None:
    made, p = demo
    for lay in made.lays:
        drawing = lay_drawing(lay, blocks=made.blocks, pattern=p, ratio=ratio)
        for part in drawing.parts:
            lines = [LineString(n.path.points(tolerance=0.1)) for n in part.lines]
            assert part.texts, f"{part.name} bears no name"
            for t in part.texts:
                assert not any(Polygon(t.corners()).intersects(n) for n in lines), f"{t.says} on {part.name}"


def test_the_svg_is_true_to_size_and_has_a_group_for_each_piece(demo: tuple[LayPlan, Pattern]) -> None:
    made, p = demo
    for (lay, text), again in zip(lays_svg(made, "demo", pattern=p), made.lays, strict=True):
        assert lay is again
        root = ET.fromstring(text)
        ns = "{http://www.w3.org/2000/svg}"
        x0, y0, x1, y1 = (float(v) for v in (root.get("viewBox") or "").split())
        assert root.get("width") == f"{x1 - x0:g}mm" or float((root.get("width") or "").removesuffix("mm")) == x1 - x0
        assert y1 - y0 > lay.width_mm
        titles = [t.text for t in root.iter(f"{ns}title")]
        assert all(f"{q.piece}, {q.copy}" in titles for q in lay.placements)
        colours = {v for e in root.iter() for k in ("fill", "stroke") if (v := e.get(k))}
        assert colours <= {"#000", "none"}


def test_without_the_pattern_the_laid_polygons_are_drawn(demo: tuple[LayPlan, Pattern]) -> None:
    made, _ = demo
    drawing = lay_drawing(made.lays[0], blocks=made.blocks)
    assert len(drawing.parts) == len(made.lays[0].placements)


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler is not installed")
def test_the_pdf_has_a_page_for_each_lay(demo: tuple[LayPlan, Pattern]) -> None:
    made, p = demo
    data = lays_pdf(made, "demo", pattern=p)
    assert data.startswith(b"%PDF")
    info = subprocess.run(["pdfinfo", "-"], input=data, capture_output=True, check=True).stdout.decode()
    assert int(info.split("Pages:")[1].split()[0]) == len(made.lays)
    assert data == lays_pdf(made, "demo", pattern=p)
    for lay in made.lays:
        ratio = picture_ratio(lay)
        x0, y0, x1, y1 = lay_drawing(lay, blocks=made.blocks, pattern=p, ratio=ratio).bounds()
        assert (x1 - x0) / ratio <= ROOM[0] + 15.0
        assert (y1 - y0) / ratio <= ROOM[1] + 10.0
    with pytest.raises(ValueError, match="no lay"):
        lays_pdf(LayPlan(()), "none")


def test_a_cloth_with_any_name_is_drawn() -> None:
    p = pattern(rectangle("pièce <&> 裏地, lining", 100, 200))
    o = order(Cloth('שיער & "silk"', ("lining",), width=700))
    made = plan(p, o, seconds=0.3)
    ((_, text),) = lays_svg(made, "x & y")
    ET.fromstring(text)
    assert lays_pdf(made, "x & y").startswith(b"%PDF")
