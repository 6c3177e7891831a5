"""Files for a cutting machine: closed, at 1:1, whole where the pattern shows a half, and of the pattern's own area."""

import re
from xml.etree import ElementTree

import pytest
from kurbopy import BezPath
from shapely import Polygon
from shapely.affinity import scale

from bodice import UNEVEN, made
from coutil.body import standard_body
from coutil.make import work_out
from coutil.order import Build, Lining, Order, PadBuild, Style
from coutil.sheets.cutting import cutting_drawing, cutting_svgs

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def pattern():
    order = Order(
        "cut", standard_body(960.0), style=Style(peak=12.0), build=Build(lining=Lining(fused=True), pad=PadBuild())
    )
    return work_out(order).pattern


def group(root, name):
    return next(
        (g for g in root.iter(f"{SVG}g") if (g.find(f"{SVG}title") is not None and g.find(f"{SVG}title").text == name)),
        None,
    )


def test_every_shape_once_and_no_words(pattern):
    files = dict(cutting_svgs(pattern.pieces))
    shapes = {tuple(map(id, p.cut)) for p in pattern.pieces}
    assert len(files) == len(shapes)
    for text in files.values():
        root = ElementTree.fromstring(text)
        assert root.get("width").endswith("mm")
        assert not list(root.iter(f"{SVG}text"))


def test_areas_are_the_patterns_and_twice_those_on_the_fold(pattern):
    """Source of the area: shapely on the pattern's polylines; here by kurbopy on the SVG's own path."""
    for piece in pattern.pieces:
        text = dict(cutting_svgs([piece])).popitem()[1]
        cut = group(ElementTree.fromstring(text), "cut")
        data = " ".join(p.get("d") for p in cut.iter(f"{SVG}path"))
        area = abs(BezPath.from_svg(data).area())
        expected = Polygon(piece.cut_outline(tolerance=0.001)).area * (2 if piece.on_fold else 1)
        assert area == pytest.approx(expected, rel=1e-4), piece.name
        assert data.rstrip().endswith(("Z", "z"))


def test_nicks_begin_on_the_cut_line(pattern):
    from shapely import LineString, Point

    for piece in pattern.pieces:
        drawing = cutting_drawing(piece)
        cut = next(p for p in drawing.parts if p.name == "cut").lines[0].path
        ring = LineString(_fine(cut))
        nicks = [n for p in drawing.parts if p.name == "nick" for n in p.lines]
        assert len(nicks) == sum(n.count for n in piece.notches) * (2 if piece.on_fold else 1)
        for n in nicks:
            assert ring.distance(Point(n.path.start)) < 0.05, piece.name


def _fine(path):
    """The path's cubics cut into sixteenths, by kurbopy's own evaluation."""
    points = [c.eval(k / 16) for c in path.segments for k in range(16)]
    return [(p.x, p.y) for p in (*points, points[0])]


def test_the_lining_of_one_side_has_a_file_of_its_own_turned_over():
    """Cut like the shell, the lining of an uneven body would fit neither side: its right side looks at the body."""
    pieces = made("[build.lining]\nfused = true\n", UNEVEN)[1].pieces
    names = [n for n, _ in cutting_svgs(pieces)]
    assert "left side front, shell, interfacing" in names
    assert "left side front, lining, lining interfacing" in names
    drawn = [cutting_drawing(next(p for p in pieces if p.name == f"left side front, {x}")) for x in ("shell", "lining")]
    a, b = (Polygon(_fine(next(p for p in d.parts if p.name == "cut").lines[0].path)) for d in drawn)
    assert a.symmetric_difference(scale(b, -1.0, 1.0, origin=(0.0, 0.0))).area < 1.0
    assert a.symmetric_difference(b).area > 1000.0


def test_names_are_told_apart(pattern):
    names = [n for n, _ in cutting_svgs(pattern.pieces)]
    assert len(set(names)) == len(names)
    assert any(re.match(r"centre front, shell", n) for n in names)
