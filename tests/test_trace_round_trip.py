"""Draft, write SVG and DXF, read back: every edge within 0.05 mm, names and roles kept. Requirement of the project."""

from __future__ import annotations

import io
import math
import random
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, pairwise

import ezdxf
import pytest
from shapely import Polygon

from bodies import plausible
from coutil.check.sound import panel_findings
from coutil.check.table import DRAWN_BREAK, DRAWN_TURN
from coutil.draft import DraftError, draft
from coutil.layers import layer_up
from coutil.layers.words import LayerError
from coutil.order import Build, OwnPattern
from coutil.pattern import Pattern
from coutil.pattern.seams import intervals
from coutil.plane import Curve, closed_points, cubic, line
from coutil.sheets import panels_svg, pieces_svg
from coutil.sheets.dxf import pattern_dxf
from coutil.sheets.traced import traced_svg
from coutil.trace import Shape, Traced, pattern_of, trace_drawing
from coutil.trace.fit import SHAKES, TOLERANCE, _shaking, fit_polyline
from coutil.trace.inward import net_line
from coutil.trace.split import sides_of
from coutil.trace.words import panel_of
from spoken import spoken

CLOSE = 0.05


def drafts(log2: int, *, every: int = 1, even: bool = False) -> Iterator[Pattern]:
    for k, (body, style) in enumerate(plausible(log2)):
        if k % every or (even and not body.symmetric):
            continue
        try:
            yield draft(body, style, "round trip").pattern
        except DraftError:
            continue


def distance(a: Curve, b: Curve) -> float:
    """The farthest that either curve's points lie from the other, in mm, once both start at the same place."""
    (ax, ay), (bx, by) = a.start, b.start
    b = b.moved(ax - bx, ay - by)
    return max(
        max(a.nearest(p)[1] for p in b.points(tolerance=0.05)), max(b.nearest(p)[1] for p in a.points(tolerance=0.05))
    )


def compare(drafted: Pattern, read: Pattern, *, close: float = CLOSE) -> None:
    assert {(p.name, p.side) for p in read.panels} == {(p.name, p.side) for p in drafted.panels}
    for p in drafted.panels:
        q = next(q for q in read.panels if (q.name, q.side) == (p.name, p.side))
        assert {(e.name, e.role) for e in q.edges} == {(e.name, e.role) for e in p.edges}
        assert q.fold == p.fold
        for e in p.edges:
            f = q.edge(e.name)
            assert f.rising == e.rising
            assert distance(e.upward(), f.upward()) < close, (p.name, e.name)
            assert f.curve.length == pytest.approx(e.curve.length, abs=close)


def cut_alike(layered: Pattern, read: Pattern) -> None:
    """What was brought in is cut as the draft is, and nothing is found in its shape that nobody drew."""
    again = layer_up(read, Build())
    assert [spoken(f) for p in again.panels for f in panel_findings(p, breaks=DRAWN_BREAK, turns=DRAWN_TURN)] == []
    pieces = {(g.name, g.side): Polygon(closed_points(g.cut, tolerance=0.01)) for g in again.pieces}
    for piece in (g for g in layered.pieces if g.layer == "shell"):
        cut = Polygon(closed_points(piece.cut, tolerance=0.01))
        assert abs(pieces[piece.name, piece.side].area - cut.area) < CLOSE * cut.length
    assert {(g.name, n.edge, n.name) for g in again.pieces for n in g.notches} == {
        (g.name, n.edge, n.name) for g in layered.pieces for n in g.notches
    }


def test_svg_of_many_drafts() -> None:
    count = cut = 0
    for p in drafts(6):
        q = pattern_of(trace_drawing(panels_svg(p, "x").encode(), "x.svg"), OwnPattern("x.svg", line="net"), "x")
        compare(p, q)
        assert [(s.name, s.side, s.a, s.b) for s in q.seams] == [(s.name, s.side, s.a, s.b) for s in p.seams] or {
            (s.name, s.a, s.b) for s in q.seams
        } == {(s.name, s.a, s.b) for s in p.seams}
        same_marks(p, q)
        count += 1
        try:
            layered = layer_up(p, Build())
        except LayerError:
            continue
        cut_alike(layered, q)
        cut += 1
    assert count > 30
    assert cut > 0.9 * count


def same_marks(drafted: Pattern, read: Pattern) -> None:
    """Levels, bust point and grain as they were drafted, in mm from the panel's own lower ends."""
    for p in drafted.panels:
        q = next(q for q in read.panels if (q.name, q.side) == (p.name, p.side))
        (ax, ay), (bx, by) = p.edges[0].curve.start, q.edge(p.edges[0].name).curve.start
        for level, ends in p.levels.items():
            # A level that ends in the air above a low top may have been drawn only as far as the panel goes.
            whole = all(min(e.curve.nearest(end)[1] for e in p.edges) < 0.01 for end in ends)
            assert level in q.levels or not whole, (p.name, level)
            for was, now in zip(ends, q.levels.get(level, ends), strict=True):
                if level in q.levels:
                    assert math.dist((was[0] - ax, was[1] - ay), (now[0] - bx, now[1] - by)) < CLOSE, (p.name, level)
        assert set(q.points) == set(p.points)
        for name, (x, y) in p.points.items():
            assert math.dist((x - ax, y - ay), (q.points[name][0] - bx, q.points[name][1] - by)) < CLOSE
        for e in p.edges:
            marks = q.edge(e.name).marks
            for name in {"bust_point", "waist", "underbust"} & set(e.marks):
                assert marks[name] == pytest.approx(e.marks[name], abs=2 * CLOSE)
        (x0, y0), (x1, y1) = q.grain
        assert abs(x1 - x0) < 1e-3 < y1 - y0


def test_a_level_known_on_one_side_only_is_no_station_of_the_seam_between_the_sides() -> None:
    """The centre front of an uneven body joins the left panel to the right one: both must bear what is walked."""
    count = 0
    for p in (p for p in drafts(3) if p.panels[0].side == "left"):
        traced = trace_drawing(panels_svg(p, "x").encode(), "x.svg")
        name = next(s.name for s in traced.shapes if "right" in s.name and "centre front" in s.name)
        shapes = [replace(s, levels={}, points={}) if s.name == name else s for s in traced.shapes]
        q = pattern_of(replace(traced, shapes=tuple(shapes)), OwnPattern("x.svg", line="net"), "x")
        seam = next(s for s in q.seams if s.name == "centre front")
        a, b = q.edges_of(seam)
        assert "waist" in a.marks
        assert "waist" not in b.marks
        assert [(i.start, i.end) for i in intervals(q, seam)] == [("hem", "top")]
        count += 1
    assert count > 1


def test_svg_without_a_word_in_it() -> None:
    """Names and roles are then proposed from the shapes alone; on even bodies all of them must be right."""
    count = 0
    for p in drafts(6, even=True):
        data = panels_svg(p, "x").encode()
        data = re.sub(rb"<title>.*?</title>| id=\"[^\"]*\"|<text.*?</text>|<desc>.*?</desc>", b"", data)
        compare(p, pattern_of(trace_drawing(data, "x.svg"), OwnPattern("x.svg", line="net"), "x"))
        count += 1
    assert count > 15


def test_pieces_svg_is_cut_as_the_draft() -> None:
    """The sheet of the pieces names no bust point; its notch at the bust tells it. No notch is lost or doubled."""
    for p in islice(drafts(4), 0, 3):
        layered = layer_up(p, Build())
        q = pattern_of(trace_drawing(pieces_svg(layered, "x").encode(), "x.svg"), OwnPattern("x.svg"), "x")
        cut_alike(layered, q)
        assert any("taken for the bust point" in spoken(f) for f in q.findings)


def test_notches_at_levels_that_are_not_notched_otherwise_are_kept() -> None:
    """A maker's notch at the waist of the front princess seam is cut; one at its underbust is cut once."""
    p = next(p for p in drafts(4) if all("underbust" in q.levels for q in p.panels))
    traced = trace_drawing(panels_svg(p, "x").encode(), "x.svg")
    shapes = tuple(
        replace(s, notches=tuple(q for name in ("waist", "underbust") for q in s.levels[name])) for s in traced.shapes
    )
    q = layer_up(pattern_of(replace(traced, shapes=shapes), OwnPattern("x.svg", line="net"), "x"), Build())
    shell = [g for g in q.pieces if g.layer == "shell"]
    cut = {(g.panel, g.side): [n for n in g.notches if n.edge == "front_princess"] for g in shell}
    for panel in (x for x in q.panels if x.name in ("centre front", "side front")):
        edge, found = panel.edge("front_princess"), cut[panel.name, panel.side]
        for level in ("waist", "underbust"):
            assert sum(math.dist(n.at, edge.at(level)) < 1e-6 for n in found) == 1, (panel.name, level)


@pytest.mark.parametrize("angle", [45, 135, 200, 300])
def test_panels_laid_at_any_angle_are_told_by_their_levels_and_grain(angle: int) -> None:
    p = next(p for p in drafts(4) if all(len(q.levels) > 1 for q in p.panels) and p.panels[0].side == "both")
    turned = rf'\1<g transform="rotate({angle})">\2</g>\3'
    text = re.sub(r"(<svg[^>]*>)(.*)(</svg>)", turned, panels_svg(p, "x"), flags=re.S)
    q = pattern_of(trace_drawing(text.encode(), "x.svg"), OwnPattern("x.svg", line="net"), "x")
    compare(p, q)
    same_marks(p, q)


def test_dxf_of_some_drafts() -> None:
    count = 0
    for p in drafts(6, every=4):
        try:
            layered = layer_up(p, Build())
        except LayerError:
            continue
        data = pattern_dxf(replace(layered, pieces=tuple(g for g in layered.pieces if g.layer in ("shell", "foam"))))
        audited = ezdxf.read(io.StringIO(data.decode("cp1252"))).audit()
        assert (audited.errors, audited.fixes) == ([], [])
        q = pattern_of(trace_drawing(data, "x.dxf"), OwnPattern("x.dxf"), "x")
        compare(p, q)
        same_marks(p, q)
        cut_alike(layered, q)
        # The levels and the notches that the file marks are walked, and they meet.
        for s in q.seams:
            if not s.on_itself:
                assert sum(1 for m in s.stations if m not in ("hem", "top")) >= 2
                # Those that are cut anyway are not cut twice.
                assert not any(m.startswith("notch ") for m in s.stations)
        count += 1
    assert count >= 10


@pytest.mark.parametrize("k", [0, 2, 5])
def test_dxf_without_net_lines_is_cut_as_the_draft(k: int) -> None:
    """Plunge, fold, peak, uneven body: the allowance alone is said. Slants are no edges, folds stay folds."""
    p = next(islice(drafts(4), k, None))
    layered = layer_up(p, Build())
    data = pattern_dxf(replace(layered, pieces=tuple(g for g in layered.pieces if g.layer == "shell")))
    doc = ezdxf.read(io.StringIO(data.decode("cp1252")))
    for block in (*doc.blocks, doc.modelspace()):
        for e in [e for e in block if e.dxf.layer == "14"]:
            block.delete_entity(e)
    stream = io.StringIO()
    doc.write(stream)
    own = OwnPattern("x.dxf", line="cut", allowance=Build().allowance)
    q = pattern_of(trace_drawing(stream.getvalue().encode(), "x.dxf"), own, "x")
    # Where a cut line is trimmed in a corner the net line runs on straight: what it bends there is not in the file.
    compare(p, q, close=0.35)
    drafted, read = (
        {(g.name, g.side, g.quantity, g.on_fold, g.mirrored_pair) for g in x.pieces if g.layer == "shell"}
        for x in (layered, layer_up(q, Build()))
    )
    assert drafted == read
    for s in q.seams:
        if not s.on_itself:
            assert all(abs(i.difference) < 0.3 for i in intervals(q, s)), s.name


def test_the_net_line_is_found_inside_the_cut_line() -> None:
    """Without the net line that the file draws: offset inwards by the allowance, all corners found again."""
    count, build = 0, Build(allowance=12.7, allowances={"hem": 15.9, "top": 10.0})
    for p in drafts(6, every=5):
        try:
            layered = layer_up(p, build)
        except LayerError:
            continue
        for piece in (q for q in layered.pieces if q.layer == "shell" and not q.on_fold):
            path = [s for c in piece.cut for s in c.segments]
            sides, _ = sides_of(path, straight=False, corner=90.0)
            if len(sides) != 4:
                # A peak's tip or a steep top may be cut off: then the person says the allowances side by side.
                continue
            low = [min(c.start[1], c.end[1]) for c in sides]
            allowances = []
            for c, y in zip(sides, low, strict=True):
                flat = abs(c.end[0] - c.start[0]) > abs(c.end[1] - c.start[1])
                allowances.append((15.9 if y == min(low) else 10.0) if flat else 12.7)
            net, numbers = net_line(sides, allowances)
            assert numbers == (0, 1, 2, 3)
            for e in piece.net:
                off = max(min(c.nearest(q)[1] for c in net) for q in e.curve.points(tolerance=0.05))
                assert off < CLOSE, (piece.name, e.name)
            count += 1
    assert count > 20


# --- fitting -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tolerance", [0.01, 0.05, 0.2])
@pytest.mark.parametrize("flat", [0.02])
def test_fitted_curves_keep_to_their_points(tolerance: float, flat: float) -> None:
    for p in drafts(2):
        for panel in p.panels:
            for e in panel.edges:
                points = e.curve.points(tolerance=flat)
                curve, strays = fit_polyline(points, tolerance=tolerance)
                off = max(curve.nearest(q)[1] for q in points)
                assert off <= 2.0 * tolerance + 2e-3
                assert strays == pytest.approx(off, abs=3e-3)
                assert (curve.start, curve.end) == (points[0], points[-1])
                assert all(abs(turn) < math.radians(1.0) for turn in curve.turns())


def test_a_circle_is_found_through_its_points() -> None:
    for r in (20.0, 100.0, 700.0):
        pts = [(r * math.cos(a), r * math.sin(a)) for a in (math.pi * k / 90 for k in range(91))]
        curve, strays = fit_polyline(pts)
        assert len(curve.segments) <= 8
        assert curve.length == pytest.approx(math.pi * r, abs=2 * TOLERANCE)
        assert max(abs(math.hypot(x, y) - r) for x, y in curve.points(tolerance=0.01)) < 2 * TOLERANCE + 0.01
        assert strays <= 2 * TOLERANCE


def test_straight_stretches_stay_straight() -> None:
    arc = [(60 * math.sin(a), 60 - 60 * math.cos(a)) for a in (math.pi / 2 * k / 20 for k in range(21))]
    curve, _ = fit_polyline([(-200.0, 0.0), *arc, (60.0, 300.0)])
    first, last = Curve(curve.segments[:1]), Curve(curve.segments[-1:])
    assert first.straight
    assert last.straight
    assert first.length == pytest.approx(200.0)
    assert curve.length == pytest.approx(200 + 30 * math.pi + 240, abs=0.02)
    # Few points are lines that were meant as lines.
    curve, strays = fit_polyline([(0.0, 0.0), (50.0, 5.0), (100.0, 0.0)])
    assert (len(curve.segments), strays) == (2, 0.0)


def test_noisy_points_do_no_harm() -> None:
    rng = random.Random(4)
    pts = [(k * 1.0, 30 * math.sin(k / 60) + rng.gauss(0, 0.02)) for k in range(300)]
    curve, strays = fit_polyline(pts, tolerance=0.1)
    assert strays <= 0.2
    assert len(curve.segments) < 60
    assert curve.length < 1.02 * sum(math.dist(a, b) for a, b in pairwise(pts))


def test_shapes_are_split_at_corners_from_the_lower_left() -> None:
    data = b'<svg width="90mm" height="90mm" viewBox="0 0 90 90"><path d="M70 70V10H10V70Z"/></svg>'
    (s,) = trace_drawing(data, "x").shapes
    assert isinstance(s, Shape)
    assert [c.start for c in s.sides] == [(10.0, -70.0), (70.0, -70.0), (70.0, -10.0), (10.0, -10.0)]
    assert panel_of("Center-Front 1") == "centre front"


def test_doubtful_stretches_of_a_photograph_stay_with_the_drawing():
    """What a photograph does not show well is drawn over, and told again whenever an order reads the drawing."""
    a, b, c, d = (0.0, 0.0), (120.0, 4.0), (110.0, 200.0), (0.0, 190.0)
    side = cubic(b, (100.0, 70.0), (125.0, 130.0), c)
    sides = (line(a, b), side, cubic(c, (80.0, 180.0), (40.0, 185.0), d), line(d, a))
    shape = Shape("piece 1", sides, doubtful=((1, 30.0, 80.0), (2, 5.0, 25.0)))
    data = traced_svg(Traced("photograph", "1 mm", (shape,)), "p").encode()
    again = trace_drawing(data, "p.svg")
    (read,) = again.shapes
    assert len(read.doubtful) == 2
    # The drawing has a margin round the shape.
    dx, dy = (min(c.start[k] for c in read.sides) - min(c.start[k] for c in sides) for k in (0, 1))
    found = [sorted((read.sides[k].point(t0), read.sides[k].point(t1))) for k, t0, t1 in read.doubtful]
    for k, s0, s1 in shape.doubtful:
        was = sorted((x + dx, y + dy) for x, y in (sides[k].point(s0), sides[k].point(s1)))
        assert min(max(math.dist(p, q) for p, q in zip(was, ends, strict=True)) for ends in found) < 0.5
    pattern = pattern_of(again, OwnPattern("p.svg", line="net"), "p")
    assert sum("doubtful" in spoken(f) and f.level == "warn" for f in pattern.findings) == 2


@pytest.mark.parametrize("error", [0.05, 0.1, 0.2])
def test_points_set_by_a_shaking_hand_make_a_smooth_line(error: float) -> None:
    """A quarter circle of radius 150 mm, a point every 5 mm, each off by a normal error; the ends are kept."""
    for seed in range(5):
        rng = random.Random(seed)
        angles = [k * math.pi / 2.0 / 47 for k in range(48)]
        points = [
            (150.0 * math.cos(t) + rng.gauss(0, error), 150.0 * math.sin(t) + rng.gauss(0, error)) for t in angles
        ]
        curve, strays = fit_polyline(points)
        assert strays < 5.0 * error
        # As near to the true line as its points are on average, away from the ends; and bent much as that is.
        inner = curve.part(15.0, curve.length - 15.0)
        off = [math.hypot(*q) - 150.0 for q in inner.points(tolerance=0.01)]
        assert math.sqrt(sum(x * x for x in off) / len(off)) < error
        bends = [abs(s.curvature(k / 10)) for s in inner.segments for k in range(1, 10)]
        assert max(bends) < 1.0 / 40.0


def test_points_that_lie_on_a_smooth_line_are_not_taken_for_shaken() -> None:
    for p in drafts(2):
        for flat in (0.02, 0.1, 0.5):
            for e in (e for panel in p.panels for e in panel.edges):
                assert _shaking(e.curve.points(tolerance=flat)) < SHAKES
