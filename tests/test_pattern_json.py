"""The pattern file: the shape that other programs rely on, its tolerance, and its outlines."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest
import shapely

import by_hand
import checked
import four_panels
from coutil.check import check
from coutil.order import Build
from coutil.pattern import Finding, PanelRef, Pattern
from coutil.pattern.json import TOLERANCE, as_json, dumps, meet
from coutil.plane import Curve, cubic, line
from spoken import spoken

# A point written with 4 decimals is off by half the last of them each way.
ROUNDED = 1e-4


def whole(*, uneven: bool = False) -> Pattern:
    """Panels, seams, pads, pieces with a placement line, cups and findings: something of everything."""
    pattern = four_panels.build(peak=18.0)
    pattern = by_hand.with_pieces(by_hand.with_pads(four_panels.uneven(pattern) if uneven else pattern))
    wave = (line((10.0, 0.0), (40.0, 0.0)), cubic((40.0, 0.0), (50.0, 0.0), (60.0, 30.0), (60.0, 40.0)))
    pieces = (replace(pattern.pieces[0], placement=(wave, wave[:1])), *pattern.pieces[1:])
    return check(replace(pattern, pieces=pieces), checked.body(pattern), checked.STYLE, Build())


PATTERN = whole()
FILE: dict[str, Any] = json.loads(dumps(PATTERN))


def test_keys_are_those_of_the_format_in_its_order() -> None:
    assert list(FILE) == [
        "format", "version", "unit", "name", "body", "panels", "seams", "openings", "pads", "pieces", "cup", "findings",
    ]  # fmt: skip
    assert (FILE["format"], FILE["version"], FILE["unit"], FILE["name"]) == ("coutil-pattern", 1, "mm", "paper")
    assert FILE["body"] == {"standard": None, "not_taken": []}
    panel = FILE["panels"][0]
    assert list(panel) == ["name", "side", "fold", "edges", "outline", "levels", "points", "grain"]
    assert list(panel["edges"][0]) == ["name", "role", "points"]
    seam = FILE["seams"][0]
    assert list(seam) == ["name", "side", "a", "b", "intervals"]
    assert seam["a"] == {"panel": "centre front", "edge": "front_princess"}
    assert list(seam["intervals"][0]) == ["from", "to", "a_mm", "b_mm"]
    assert list(FILE["pads"][0]) == ["panel", "side", "net"]
    piece = FILE["pieces"][0]
    assert list(piece) == [
        "name", "panel", "layer", "side", "quantity", "mirrored_pair", "on_fold", "net", "cut", "notches",
        "placement", "grain", "lines", "spots",
    ]  # fmt: skip
    assert list(piece["notches"][0]) == ["name", "edge", "at"]
    assert list(FILE["cup"][0]) == ["side", "depth_mm", "volume_cc", "base_radius_mm", "curvature_rad"]
    assert list(FILE["findings"][0]) == ["level", "about", "says", "code", "args"]


def test_everything_of_the_pattern_is_there() -> None:
    for pattern in (PATTERN, whole(uneven=True)):
        file = as_json(pattern)
        for key, parts in (
            ("panels", pattern.panels),
            ("seams", pattern.seams),
            ("pads", pattern.pads),
            ("pieces", pattern.pieces),
            ("cup", pattern.cups),
            ("findings", pattern.findings),
        ):
            assert len(file[key]) == len(parts) > 0
        for panel, p in zip(file["panels"], pattern.panels, strict=True):
            assert (panel["name"], panel["side"], panel["fold"]) == (p.name, p.side, p.fold)
            assert [(e["name"], e["role"]) for e in panel["edges"]] == [(e.name, e.role) for e in p.edges]
            assert panel["levels"].keys() == p.levels.keys()
            for name, ends in p.levels.items():
                assert panel["levels"][name] == [pytest.approx(end, abs=ROUNDED) for end in ends]
            assert panel["points"].keys() == p.points.keys()
            assert panel["grain"] == [pytest.approx(end, abs=ROUNDED) for end in p.grain]
        for piece, q in zip(file["pieces"], pattern.pieces, strict=True):
            assert (piece["name"], piece["layer"], piece["side"]) == (q.name, q.layer, q.side)
            assert (piece["quantity"], piece["mirrored_pair"], piece["on_fold"]) == (2, True, False)
            assert [n["at"] for n in piece["notches"]] == [pytest.approx(n.at, abs=ROUNDED) for n in q.notches]
        for cup, c in zip(file["cup"], pattern.cups, strict=True):
            assert cup["depth_mm"] == pytest.approx(c.depth_mm, abs=ROUNDED)
            assert cup["volume_cc"] == pytest.approx(c.volume_cc, abs=ROUNDED)
        assert [(f["level"], f["says"]) for f in file["findings"]] == [(f.level, spoken(f)) for f in pattern.findings]


def off(curve: Curve, points: list[list[float]]) -> float:
    """How far the curve strays from a polyline, at 2,000 of its points: independent of how the polyline was made."""
    n = 2000 // len(curve.segments)
    along = [s.eval(k / n) for s in curve.segments for k in range(n + 1)]
    return float(shapely.distance(shapely.linestrings(points), shapely.points([(p.x, p.y) for p in along])).max())


def test_polylines_stay_within_two_hundredths_of_the_curve() -> None:
    for panel, p in zip(FILE["panels"], PATTERN.panels, strict=True):
        for edge, e in zip(panel["edges"], p.edges, strict=True):
            assert off(e.curve, edge["points"]) <= TOLERANCE == 0.02
            # An edge holds both of its ends.
            assert edge["points"][0] == pytest.approx(e.curve.start, abs=ROUNDED)
            assert edge["points"][-1] == pytest.approx(e.curve.end, abs=ROUNDED)
    for pad, q in zip(FILE["pads"], PATTERN.pads, strict=True):
        for e in q.edges:
            assert off(e.curve, [*pad["net"], pad["net"][0]]) <= TOLERANCE
    for piece, r in zip(FILE["pieces"], PATTERN.pieces, strict=True):
        for curve in (*r.cut, *(e.curve for e in r.net)):
            assert off(curve, [*piece["cut"], piece["cut"][0]]) <= TOLERANCE


def test_outlines_are_the_edges_end_to_end_with_no_point_repeated() -> None:
    for panel in FILE["panels"]:
        ends = [(e["points"][0], e["points"][-1]) for e in panel["edges"]]
        for (_, end), (start, _) in zip(ends, ends[1:] + ends[:1], strict=True):
            assert end == start
        assert panel["outline"] == [p for e in panel["edges"] for p in e["points"][:-1]]
    for outline in (
        *(p["outline"] for p in FILE["panels"]),
        *(p["net"] for p in FILE["pads"]),
        *(p[key] for p in FILE["pieces"] for key in ("net", "cut")),
    ):
        assert all(a != b for a, b in zip(outline, outline[1:] + outline[:1], strict=True))
        ring = shapely.linearrings(outline)
        assert shapely.is_simple(ring)
        assert shapely.is_ccw(ring)


def test_a_placement_line_is_open_and_holds_both_ends() -> None:
    wave, straight = FILE["pieces"][0]["placement"]
    assert (wave[0], wave[-1]) == ([10.0, 0.0], [60.0, 40.0])
    assert wave.count([40.0, 0.0]) == 1
    assert straight == [[10.0, 0.0], [40.0, 0.0]]


def test_intervals_add_up_to_the_seam() -> None:
    for seam, s in zip(FILE["seams"], PATTERN.seams, strict=True):
        a, b = PATTERN.edges_of(s)
        sewn = b.marks.get("centre_front_end", b.curve.length)
        assert sum(i["a_mm"] for i in seam["intervals"]) == pytest.approx(a.curve.length, abs=10 * ROUNDED)
        assert sum(i["b_mm"] for i in seam["intervals"]) == pytest.approx(sewn, abs=10 * ROUNDED)
        assert seam["intervals"][0]["from"] == "hem"


def test_figures_are_short_and_never_minus_nought() -> None:
    text = dumps(PATTERN)
    assert text.endswith("}\n")
    assert "\n" not in text[:-1]
    assert "-0.0," not in text
    assert "-0.0]" not in text

    def numbers(value: Any) -> list[float]:
        if isinstance(value, dict):
            return [n for v in value.values() for n in numbers(v)]
        if isinstance(value, list):
            return [n for v in value for n in numbers(v)]
        return [value] if isinstance(value, float) else []

    found = numbers(FILE)
    assert len(found) > 1000
    assert all(math.isclose(n, round(n, 4), rel_tol=0.0, abs_tol=1e-12) for n in found)


@pytest.mark.parametrize("uneven", [False, True])
def test_the_text_is_that_of_json_itself(uneven: bool) -> None:
    pattern = whole(uneven=uneven)
    pattern = replace(
        pattern,
        name='Zoë "Ζωή"',
        findings=(*pattern.findings, Finding("traced.note", "note", PanelRef("ßeam"), {"text": "½ in\n"})),
    )
    expected = json.dumps(as_json(pattern), ensure_ascii=False, separators=(",", ":")) + "\n"
    assert dumps(pattern) == expected
    assert json.loads(dumps(pattern)) == as_json(pattern)


def test_a_pattern_with_nothing_in_it_is_written_too() -> None:
    empty = json.loads(dumps(Pattern("", (), ())))
    assert [empty[k] for k in ("panels", "seams", "pads", "pieces", "cup", "findings")] == [[]] * 6


def test_what_is_no_number_is_refused() -> None:
    cup = replace(PATTERN.cups[0], depth_mm=math.nan)
    with pytest.raises(ValueError, match=r"JSON|float|nan"):
        dumps(replace(PATTERN, cups=(cup,)))


def test_ends_that_rounding_parted_are_put_together_and_a_real_gap_is_kept() -> None:
    a, b = [[0.0, 0.0], [1.0, 0.0001]], [[1.0, 0.0], [0.0, 0.0]]
    assert meet([a, b], closed=True) == [[[0.0, 0.0], [1.0, 0.0]], b]
    # Nothing is changed in what was handed in.
    assert a[1] == [1.0, 0.0001]
    wide = [[0.0, 0.0], [1.0, 0.5]]
    assert meet([wide, b], closed=True) == [wide, b]


def test_an_open_panel_is_written_with_its_gap() -> None:
    edges = PATTERN.panels[3].edges
    broken = four_panels.with_panel(
        PATTERN, "centre back", edges=(replace(edges[0], curve=edges[0].curve.moved(0.0, 1.0)), *edges[1:])
    )
    panel = as_json(broken)["panels"][3]
    hem = panel["edges"][0]["points"]
    assert hem[-1] in panel["outline"]
    assert panel["edges"][1]["points"][0] in panel["outline"]
    assert hem[-1] != panel["edges"][1]["points"][0]
