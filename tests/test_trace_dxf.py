"""DXF: entities against closed forms, blocks, units, the layers of ASTM D6673 (numbers from memory); refusals."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import ezdxf
import pytest
from kurbopy import CubicBez, Point

from coutil.plane import Curve
from coutil.trace import Shape, Traced, TraceError, trace_drawing


def dxf(draw: Callable[[Any], None], *, version: str = "R2000", unit: int = 4) -> bytes:
    """A DXF file with what `draw` draws; `unit` as $INSUNITS (DXF reference: 4 mm, 5 cm, 1 in, 0 none)."""
    doc = ezdxf.new(version)
    doc.header["$INSUNITS"] = unit
    draw(doc)
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()


def one(draw: Callable[[Any], None], **more: Any) -> Shape:
    (shape,) = trace_drawing(dxf(draw, **more), "x.dxf").shapes
    return shape


def around(s: Shape) -> float:
    return sum(c.length for c in s.sides)


def test_entities_against_closed_forms() -> None:
    assert around(one(lambda d: d.modelspace().add_circle((50, 50), 30))) == pytest.approx(60 * math.pi, rel=1e-6)
    # A quarter of an ellipse of 100 by 50 is 121.1056028 long (complete elliptic integral of the second kind, E(3/4)).
    ellipse = one(lambda d: d.modelspace().add_ellipse((0, 0), (0, 100), 0.5))
    assert around(ellipse) == pytest.approx(4 * 121.1056028, rel=1e-6)

    def half(d: Any) -> None:
        m = d.modelspace()
        m.add_arc((0, 0), 40, 0, 180)
        m.add_line((-40, 0), (40, 0))

    s = one(half)
    assert sorted(c.length for c in s.sides) == pytest.approx([80, 40 * math.pi], rel=1e-6)

    def lens(d: Any) -> None:
        # Bulge 1 is a half circle, bulge tan(pi/8) a quarter (DXF reference: tangent of a quarter of the angle).
        q = math.tan(math.pi / 8)
        d.modelspace().add_lwpolyline([(0, 0, 1), (60, 0, 0), (60, 60, q), (0, 60, 0)], format="xyb", close=True)

    s = one(lens)
    assert around(s) == pytest.approx(30 * math.pi + 120 + 60 / math.sqrt(2) * math.pi / 2, rel=1e-6)


@pytest.mark.parametrize("degree", [1, 2, 3, 5])
def test_splines(degree: int) -> None:
    """A closed B-spline's points, computed by ezdxf's own evaluation, lie on what is read."""
    from ezdxf.math import BSpline

    points = [(0, 0), (40, -30), (90, 0), (120, 60), (60, 100), (-10, 60), (-20, 20), (0, 0)]
    s = one(lambda d: d.modelspace().add_open_spline([(x, y, 0) for x, y in points], degree=degree))
    theirs = BSpline([(x, y, 0) for x, y in points], order=degree + 1)
    off = [min(c.nearest((p.x, p.y))[1] for c in s.sides) for p in theirs.approximate(300)]
    assert max(off) < (1e-6 if degree <= 3 else 0.03)


def test_rational_and_fitted_splines() -> None:
    w = math.sqrt(0.5)
    # A full circle as a rational quadratic B-spline of nine points (L. Piegl and W. Tiller, The NURBS Book, 7.5).
    pts = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]

    def draw(d: Any) -> None:
        d.modelspace().add_rational_spline(
            [(50 * x, 50 * y, 0) for x, y in pts], [1, w, 1, w, 1, w, 1, w, 1], degree=2, knots=knots
        )

    assert around(one(draw)) == pytest.approx(100 * math.pi, abs=0.05)


def test_old_polylines_and_their_bulges() -> None:
    def draw(d: Any) -> None:
        d.modelspace().add_polyline2d([(0, 0), (60, 0), (60, 30)], close=True, dxfattribs={"layer": "1"})
        p = d.modelspace().add_polyline2d([(100, 0, 1), (160, 0, 1)], format="xyb", close=True)
        assert p.is_closed

    t = trace_drawing(dxf(draw, version="R12"), "x.dxf", scale=1.0)
    assert [round(around(s), 3) for s in t.shapes] == [round(90 + math.hypot(60, 30), 3), round(60 * math.pi, 3)]


def test_lines_and_arcs_are_joined_end_to_end() -> None:
    def draw(d: Any) -> None:
        m = d.modelspace()
        for a, b in (((60, 40), (60, 0)), ((0, 0), (60, 0.05)), ((0, 40), (0, 0)), ((60.02, 40), (0, 40))):
            m.add_line(a, b)

    assert around(one(draw)) == pytest.approx(200, abs=0.2)


def test_blocks_placed_turned_mirrored_and_scaled() -> None:
    def draw(d: Any) -> None:
        inner = d.blocks.new("INNER")
        inner.add_lwpolyline([(0, 0), (30, 0), (30, 20)], close=True)
        outer = d.blocks.new("SIDE_FRONT", base_point=(5, 5))
        outer.add_blockref("INNER", (10, 0), dxfattribs={"rotation": 90})
        d.modelspace().add_blockref("SIDE_FRONT", (100, 0), dxfattribs={"xscale": -2, "yscale": 2})

    s = one(draw)
    assert s.name == "side front"
    assert around(s) == pytest.approx(2 * (50 + math.hypot(30, 20)))
    # (x, y) -> quarter turn (-y, x) -> plus (10, 0) -> less (5, 5) -> times (-2, 2) -> plus (100, 0).
    corners = sorted((round(c.start[0], 6), round(c.start[1], 6)) for c in s.sides)
    assert corners == sorted((100 - 2 * (10 - y - 5), 2 * (x - 5)) for x, y in ((0.0, 0.0), (30.0, 0.0), (30.0, 20.0)))
    # Mirrored, it still runs anticlockwise.
    assert sum(a[0] * b[1] - a[1] * b[0] for a, b in ((c.start, c.end) for c in s.sides)) > 0


def test_entities_seen_from_behind() -> None:
    """An extrusion of (0, 0, -1) turns x round (DXF reference, arbitrary axis algorithm)."""

    def draw(d: Any) -> None:
        m = d.modelspace()
        m.add_arc((-50, 0), 30, 0, 90, dxfattribs={"extrusion": (0, 0, -1)})
        m.add_line((20, 0), (50, 0))
        m.add_line((50, 0), (50, 30))

    s = one(draw)
    assert around(s) == pytest.approx(60 + 15 * math.pi, rel=1e-6)


def test_a_block_that_nobody_placed_is_read() -> None:
    def draw(d: Any) -> None:
        d.blocks.new("PIECE").add_lwpolyline([(0, 0), (60, 0), (60, 40)], close=True)

    assert one(draw).name == "piece"


# --- units ---------------------------------------------------------------------------------------------------------


def square(d: Any) -> None:
    d.modelspace().add_polyline2d([(0, 0), (30, 0), (30, 30), (0, 30)], close=True)


@pytest.mark.parametrize(("unit", "mm"), [(4, 30), (5, 300), (1, 762), (14, 3000)])
def test_units_of_the_header(unit: int, mm: float) -> None:
    assert one(square, unit=unit).sides[0].length == pytest.approx(mm)


@pytest.mark.parametrize(
    ("says", "mm"),
    [("Units: METRIC, millimetres, 1:1", 30), ("UNITS: METRIC", 30), ("Units: ENGLISH", 762), ("units = cm", 300),
     ("Units: inches", 762)],
)  # fmt: skip
def test_units_told_in_text(says: str, mm: float) -> None:
    def draw(d: Any) -> None:
        square(d)
        d.modelspace().add_text(says, dxfattribs={"insert": (0, -20)})

    assert one(draw, version="R12", unit=0).sides[0].length == pytest.approx(mm)


def test_a_file_without_units_is_refused_until_a_scale_is_given() -> None:
    data = dxf(square, unit=0)
    with pytest.raises(TraceError, match=r'x\.dxf: the file does not say its unit; give the scale.*scale = "1 mm"'):
        trace_drawing(data, "x.dxf")
    assert trace_drawing(data, "x.dxf", scale=2.0).shapes[0].sides[0].length == pytest.approx(60)


# --- layers --------------------------------------------------------------------------------------------------------


def layered(names: dict[str, str]) -> Traced:
    def draw(d: Any) -> None:
        b = d.blocks.new("P1")

        def on(layer: str) -> dict[str, str]:
            return {"layer": names.get(layer, layer)}

        b.add_lwpolyline([(0, 0), (120, 0), (120, 200), (0, 200)], close=True, dxfattribs=on("1"))
        b.add_lwpolyline([(10, 10), (110, 10), (110, 190), (10, 190)], close=True, dxfattribs=on("14"))
        b.add_line((60, 30), (60, 170), dxfattribs=on("7"))
        b.add_point((120, 100), dxfattribs=on("4"))
        b.add_line((20, 60), (100, 60), dxfattribs=on("8"))
        b.add_text("Piece Name: side back", dxfattribs=on("15") | {"insert": (40, 150)})
        b.add_text("waist", dxfattribs=on("15") | {"insert": (40, 62)})
        d.modelspace().add_blockref("P1", (1000, 1000))

    return trace_drawing(dxf(draw), "x.dxf")


@pytest.mark.parametrize(
    "names", [{}, {"1": "Cut Line", "14": "sew", "7": "GRAIN", "4": "notches", "8": "internal", "15": "notes"}]
)
def test_layers_by_number_and_by_name(names: dict[str, str]) -> None:
    (s,) = layered(names).shapes
    assert (s.name, s.line) == ("side back", "cut")
    assert [round(c.length) for c in s.net] == [100, 180, 100, 180]
    assert s.grain == ((1060.0, 1030.0), (1060.0, 1170.0))
    assert s.notches == ((1120.0, 1100.0),)
    assert s.levels == {"waist": ((1020.0, 1060.0), (1100.0, 1060.0))}


def test_turn_points_are_corners_however_slight() -> None:
    def draw(d: Any) -> None:
        m = d.modelspace()
        pts = [(0, 0), (100, 0), (104, 60), (100, 120), (0, 120)]
        m.add_lwpolyline(pts, close=True, dxfattribs={"layer": "1"})
        for p in pts:
            m.add_point(p, dxfattribs={"layer": "2"})

    assert len(one(draw).sides) == 5


def test_an_outline_of_lines_arcs_splines_and_flattened_curves() -> None:
    """Four sides drawn as a LINE, an ARC, an LWPOLYLINE of many points with a bulge at its end, and a SPLINE."""

    def draw(d: Any) -> None:
        m = d.modelspace()
        m.add_line((0, 0), (100, 0))
        # From (100, 0) up to (100, 200), bulging outwards: radius 125, centre 75 to the left of its middle.
        m.add_arc((25, 100), 125, -math.degrees(math.asin(0.8)), math.degrees(math.asin(0.8)))
        wave = [(100 - t, 200 + 12 * math.sin(math.pi * t / 80), 0.0) for t in range(0, 81, 2)]
        # The rest of the top is a half circle of 20 across, bulging up.
        m.add_lwpolyline([*wave[:-1], (*wave[-1][:2], 1.0), (0, 200, 0)], format="xyb")
        m.add_open_spline([(0, 200, 0), (-10, 150, 0), (12, 60, 0), (0, 0, 0)], degree=3)

    s = one(draw)
    arc, spline = 125 * 2 * math.asin(0.8), s.sides[-1]
    at = [(100 - t / 100, 200 + 12 * math.sin(math.pi * t / 8000)) for t in range(8001)]
    wave = sum(math.dist(p, q) for p, q in pairwise(at))
    # The wave ends in a corner, and so does the half circle behind it.
    assert [c.length for c in s.sides[:-1]] == pytest.approx([100.0, arc, wave, 10 * math.pi], abs=0.03)
    assert spline.length == pytest.approx(
        sum(
            math.dist(p, q)
            for p, q in pairwise(
                Curve((CubicBez(Point(0, 200), Point(-10, 150), Point(12, 60), Point(0, 0)),)).points(tolerance=1e-3)
            )
        ),
        abs=0.01,
    )
    # The flattened part comes back as few curves, near its points.
    assert 0.0 < s.strays < 0.03
    assert len(s.sides[2].segments) < 8


def test_text_in_other_scripts() -> None:
    def draw(d: Any) -> None:
        b = d.blocks.new("P1")
        b.add_lwpolyline([(0, 0), (60, 0), (60, 40)], close=True)
        b.add_text("Piece Name: \\U+03A9 1")
        d.modelspace().add_blockref("P1", (0, 0))

    assert one(draw).name == "Ω 1"


def exported(
    *, placed: bool = True, blocks: bool = True, extra: bool = False, unit: str = "METRIC", k: float = 1.0
) -> Traced:
    """Two pieces as a garment program exports them: sew line in open runs, notches as points, names as text."""

    def draw(d: Any) -> None:
        for i, name in enumerate(("SIDE FRONT", "SIDE BACK")):
            b = d.blocks.new(name.replace(" ", "_") + "_38") if blocks else d.modelspace()
            dx = 0.0 if blocks else 200.0 * i

            def at(*pts: tuple[float, float], dx: float = dx) -> list[tuple[float, float]]:
                return [((x + dx) * k, y * k) for x, y in pts]

            wide = 100 + 10 * i
            cut = at((0, 0), (wide, 0), (wide, 200), (0, 200))
            b.add_polyline2d(cut, close=True, dxfattribs={"layer": "1"})
            if extra:
                b.add_polyline2d(cut, close=True, dxfattribs={"layer": "84"})
            for run in (((10, 10), (wide - 10, 10), (wide - 10, 190)), ((wide - 10, 190), (10, 190), (10, 10))):
                b.add_polyline2d(at(*run), dxfattribs={"layer": "14"})
            b.add_point(at((wide, 100))[0], dxfattribs={"layer": "4"})
            b.add_line(*at((20, 60), (wide - 20, 60)), dxfattribs={"layer": "8"})
            b.add_text("WAIST", dxfattribs={"layer": "15", "insert": at((30, 62))[0]})
            b.add_text(f"Piece Name: {name}", dxfattribs={"layer": "1", "insert": at((30, 120))[0]})
            if blocks and placed:
                d.modelspace().add_blockref(b.name, (200 * i * k, 0))
        d.modelspace().add_text(f"Units: {unit}", dxfattribs={"insert": (0, -50 * k)})

    return trace_drawing(dxf(draw, version="R12", unit=0), "x.dxf")


@pytest.mark.parametrize(
    "how", [{}, {"placed": False}, {"blocks": False}, {"extra": True}, {"unit": "ENGLISH", "k": 1 / 25.4}]
)
def test_pieces_as_other_programs_export_them(how: dict[str, Any]) -> None:
    """Blocks that were never placed lie over each other; a boundary that is drawn again is no net line."""
    t = exported(**how)
    assert [s.name for s in t.shapes] == ["SIDE FRONT", "SIDE BACK"]
    for i, s in enumerate(t.shapes):
        assert s.line == "cut"
        assert sorted(c.length for c in s.net) == pytest.approx([80 + 10 * i] * 2 + [180, 180])
        assert len(s.notches) == 1
        assert set(s.levels) == {"waist"}
        assert math.dist(*s.levels["waist"]) == pytest.approx(60 + 10 * i)


# --- refusals ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data",
    [
        b"  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n  0\nEOF\n",
        b"  0\nSECTION\n  2\nENTITIES\n",
        b"  0\nSECTION\n  2\nHEADER\n  0\nENDSEC\n",
        b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n 10\nnan\n 20\n0\n 11\n1\n 21\n1\n  0\nENDSEC\n  0\nEOF\n",
        b"  0\nSECTION\n  2\nENTITIES\n  0\nCIRCLE\n 10\n0\n 20\n0\n 40\n-5\n  0\nENDSEC\n  0\nEOF\n",
        b"  0\nSECTION\n  2\nENTITIES\n  0\nCIRCLE\n 10\n0\n 20\n0\n 40\n1e308\n  0\nENDSEC\n  0\nEOF\n",
        b"AutoCAD Binary DXF\r\n\x1a\0",
        b"SECTION",
        dxf(square)[:3000],
    ],
)
def test_files_with_parts_missing_are_refused(data: bytes) -> None:
    with pytest.raises(TraceError, match=r"^x\.dxf: "):
        trace_drawing(data, "x.dxf", scale=1.0)


def test_blocks_without_end_are_refused() -> None:
    def selfish(d: Any) -> None:
        d.blocks.new("A").add_blockref("A", (1, 0))
        d.modelspace().add_blockref("A", (0, 0))

    def bomb(d: Any) -> None:
        d.blocks.new("A0").add_line((0, 0), (1, 1))
        for k in range(1, 6):
            b = d.blocks.new(f"A{k}")
            for i in range(12):
                b.add_blockref(f"A{k - 1}", (i, 0))
        d.modelspace().add_blockref("A5", (0, 0))

    def rows(d: Any) -> None:
        d.blocks.new("A").add_line((0, 0), (1, 1))
        d.modelspace().add_blockref("A", (0, 0), dxfattribs={"row_count": 30000, "column_count": 30000})

    for draw in (selfish, bomb, rows):
        with pytest.raises(TraceError, match="blocks within blocks"):
            trace_drawing(dxf(draw), "x.dxf")
