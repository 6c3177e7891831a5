"""The DXF read back by ezdxf, and its areas and perimeters held against the pattern's own curves."""

from __future__ import annotations

import io
import math
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import ezdxf
import pytest
from ezdxf import recover
from ezdxf.document import Drawing
from ezdxf.lldxf.encoding import decode_dxf_unicode
from scipy.integrate import quad
from shapely import Polygon

from bodice import UNEVEN, made
from coutil.lay.shapes import true_outline
from coutil.pattern import Pattern, Piece
from coutil.plane import Curve
from coutil.sheets.dxf import TOLERANCE, pattern_dxf

LINED = '[build.lining]\n[build.pad]\nthickness = "6 mm"\n'


def read(data: bytes) -> Drawing:
    """As any other program would take the file: no entity may need mending."""
    doc, auditor = recover.read(io.BytesIO(data))
    assert doc.dxfversion == "AC1009"
    assert [e.message for e in auditor.errors] == []
    assert [e.message for e in auditor.fixes] == []
    return doc


def blocks(doc: Drawing, pattern: Pattern) -> list[tuple[Piece, object]]:
    """Each piece with the block that names it."""
    found = {}
    for b in doc.blocks:
        for t in b.query("TEXT"):
            if t.dxf.text.startswith("Piece Name: "):
                found[t.dxf.text.removeprefix("Piece Name: ")] = b
    assert sorted(found) == sorted(p.name for p in pattern.pieces)
    return [(p, found[p.name]) for p in pattern.pieces]


def lines(block: object, layer: str) -> list[list[tuple[float, float]]]:
    return [
        [(v.dxf.location.x, v.dxf.location.y) for v in e.vertices]
        for e in block.query("POLYLINE")  # type: ignore[attr-defined]
        if e.dxf.layer == layer
    ]


def area(points: list[tuple[float, float]]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*points, points[0]])) / 2


def perimeter(points: list[tuple[float, float]], *, closed: bool = True) -> float:
    return sum(math.dist(a, b) for a, b in pairwise([*points, points[0]] if closed else points))


def true_area(curves: tuple[Curve, ...]) -> float:
    """Green's theorem on the curves themselves, by scipy's quadrature: half the integral of x dy - y dx."""
    total = 0.0
    for curve in curves:
        for s in curve.segments:
            d = s.deriv()

            def form(t: float, s: object = s, d: object = d) -> float:
                p, v = s.eval(t), d.eval(t)  # type: ignore[attr-defined]
                return float(p.x * v.y - p.y * v.x)

            total += quad(form, 0.0, 1.0)[0] / 2
    return total


@pytest.mark.parametrize("body", ["even", "uneven"])
def test_areas_and_perimeters_are_the_patterns_within_a_thousandth(body: str) -> None:
    _, pattern = made(LINED, UNEVEN) if body == "uneven" else made(LINED)
    doc = read(pattern_dxf(pattern))
    for piece, block in blocks(doc, pattern):
        (cut,) = lines(block, "1")
        assert abs(area(cut)) == pytest.approx(true_area(piece.cut), rel=1e-3), piece.name
        assert perimeter(cut) == pytest.approx(sum(c.length for c in piece.cut), rel=1e-3), piece.name
        sewn = lines(block, "14")
        if not piece.on_fold:
            assert abs(area(sewn[0])) == pytest.approx(true_area(tuple(e.curve for e in piece.net)), rel=1e-3)
        else:
            fold = next(e for e in piece.net if e.role == "centre_front")
            whole = sum(e.curve.length for e in piece.net) - fold.curve.length
            assert len(sewn) == 1
            assert perimeter(sewn[0], closed=False) == pytest.approx(whole, rel=1e-3)


def test_every_piece_is_a_block_that_stands_once_in_the_drawing() -> None:
    _, pattern = made(LINED)
    doc = read(pattern_dxf(pattern))
    inserted = Counter(e.dxf.name for e in doc.modelspace().query("INSERT"))
    assert set(inserted.values()) == {1}
    assert len(inserted) == len(pattern.pieces)
    # R12 takes block names of at most 31 capitals, digits and underscores (from memory).
    for name in inserted:
        assert len(name) <= 31
        assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_")
    for e in doc.modelspace().query("INSERT"):
        assert (e.dxf.xscale, e.dxf.yscale, e.dxf.rotation) == (1.0, 1.0, 0.0)


def test_what_lies_on_which_layer() -> None:
    # Layer numbers of ASTM D6673, from memory: 1 cut, 2 turn and 3 curve points, 4 notches, 6 mirror line, 7 grain,
    # 8 internal lines, 14 sew line, 15 annotation.
    _, pattern = made(LINED)
    doc = read(pattern_dxf(pattern))
    for piece, block in blocks(doc, pattern):
        (cut,) = lines(block, "1")
        by_layer = Counter((e.dxftype(), e.dxf.layer) for e in block)  # type: ignore[attr-defined]
        # Every point of the cut line is a turn point or a curve point; a panel has at least its four corners.
        assert by_layer["POINT", "2"] + by_layer["POINT", "3"] == len(cut)
        assert by_layer["POINT", "2"] >= (2 if piece.layer in ("foam", "web") else 4)
        assert by_layer["POINT", "4"] == sum(n.count for n in piece.notches)
        assert by_layer["LINE", "7"] == 1
        assert by_layer["LINE", "6"] == (1 if piece.on_fold else 0)
        assert by_layer["POLYLINE", "8"] == len(piece.placement)
        assert by_layer["TEXT", "15"] >= 1


def test_notches_lie_on_the_cut_line_and_corners_are_where_it_turns() -> None:
    _, pattern = made(LINED)
    doc = read(pattern_dxf(pattern))
    for piece, block in blocks(doc, pattern):
        (cut,) = lines(block, "1")
        sides = list(pairwise([*cut, cut[0]]))
        for e in block.query("POINT"):  # type: ignore[attr-defined]
            at = (e.dxf.location.x, e.dxf.location.y)
            if e.dxf.layer == "4":
                assert min(off(at, a, b) for a, b in sides) < 1e-3, piece.name
            if e.dxf.layer == "2":
                k = min(range(len(cut)), key=lambda i: math.dist(cut[i], at))
                assert turning(cut[k - 1], cut[k], cut[(k + 1) % len(cut)]) > math.radians(0.5), piece.name


def off(p: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    t = max(0.0, min(1.0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy)))
    return math.dist(p, (a[0] + t * dx, a[1] + t * dy))


def turning(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    d = math.atan2(c[1] - b[1], c[0] - b[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
    return abs(math.atan2(math.sin(d), math.cos(d)))


def test_back_panels_are_drawn_with_the_right_side_up() -> None:
    """A left back panel lies at x >= 0 in the pattern, as seen from inside; face up it lies at x <= 0."""
    _, pattern = made(LINED)
    doc = read(pattern_dxf(pattern))
    for piece, block in blocks(doc, pattern):
        (cut,) = lines(block, "1")
        middle = sum(x for x, _ in cut) / len(cut)
        assert (middle < 0) == piece.panel.endswith("back"), piece.name
        # The mean of the points tells the place only where both have the same points.
        own = piece.cut_outline(tolerance=TOLERANCE)
        assert middle == pytest.approx(
            (-1 if piece.panel.endswith("back") else 1) * sum(x for x, _ in own) / len(own), abs=2.0
        )


def test_the_lining_of_one_side_is_drawn_as_its_own_right_side_is_seen() -> None:
    """A lining's right side looks at the body: where the sides differ its piece is the shell's turned over.

    The lays are the second witness (coutil.lay.shapes.as_seen).
    """
    _, pattern = made("[build.lining]\n", UNEVEN)
    doc = read(pattern_dxf(pattern))
    drawn = {piece.name: (piece, lines(block, "1")[0]) for piece, block in blocks(doc, pattern)}
    for name, (piece, cut) in drawn.items():
        if piece.layer not in ("shell", "lining"):
            continue
        told = true_outline(piece, tolerance=TOLERANCE)
        as_laid = Polygon([(-y, x) for x, y in told.exterior.coords])
        assert Polygon(cut).symmetric_difference(as_laid).area < 0.002 * told.area, name


def test_texts_in_any_script_come_back() -> None:
    _, pattern = made()
    client = "Μαρία · Ольга · שרה · 山田 · é"
    data = pattern_dxf(pattern, order="grün", client=client)
    said = {decode_dxf_unicode(t.dxf.text) for b in read(data).blocks for t in b.query("TEXT")}
    assert f"Client: {client}" in said
    assert "Style: grün" in said
    # In the file itself every letter outside the code page stands as an escape of plain signs.
    assert b"\\U+05e9" in data
    # Letters beyond the escape's four digits are named instead.
    assert b"Client: [U+1F600]" in pattern_dxf(pattern, client="\U0001f600")


def test_a_hostile_name_breaks_no_line_of_the_file() -> None:
    _, pattern = made()
    pieces = (replace(pattern.pieces[0], name="a\nEOF\n  0\r" + "x" * 400), *pattern.pieces[1:])
    doc = read(pattern_dxf(replace(pattern, pieces=pieces), client="b\n  0\nEOF"))
    assert len(doc.modelspace().query("INSERT")) == len(pieces)


def test_units_are_told_in_text_since_the_format_knows_none() -> None:
    _, pattern = made()
    doc = read(pattern_dxf(pattern))
    assert any(t.dxf.text == "Units: METRIC, millimetres, 1:1" for t in doc.modelspace().query("TEXT"))


def test_the_same_pattern_gives_the_same_bytes_and_leaves_ezdxf_as_it_was() -> None:
    _, pattern = made(LINED)
    before = ezdxf.options.write_fixed_meta_data_for_testing
    assert pattern_dxf(pattern, client="A") == pattern_dxf(pattern, client="A")
    assert pattern_dxf(pattern, client="A") != pattern_dxf(pattern, client="B")
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


def test_without_pieces_there_is_nothing_to_draw() -> None:
    _, pattern = made()
    with pytest.raises(ValueError, match="no pieces"):
        pattern_dxf(replace(pattern, pieces=()))
