"""The pads: places, clearances, the circle of the cup, and what is said when none can be made."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from shapely import LinearRing, LineString, Point, Polygon

from bodies import plausible
from coutil.draft import DraftError, draft
from coutil.layers import pads
from coutil.order import PadBuild
from coutil.pattern import Edge, Pad, Panel, Pattern
from coutil.plane import Curve, Pt, closed_points, line
from spoken import spoken, subject
from synthetic import SHAPES, Shape, pattern, uneven

# Common practice, no source (docs/method.md, the pad): 1 cm below the end, 1 in from the side, 1/4 in below the top.
TOP_DROP, SIDE_INSET, SIDE_DIP = 10.0, 25.4, 6.35
# 1/4 in from the neckline on the centre front too, 1 cm apart there, at most 3 cm beyond the root of the breast.
FRONT_DIP, APART, BEYOND = 6.35, 10.0, 30.0
# A pad that may reach as far as the side seam lets it.
FAR = PadBuild(beyond=150.0)


def pad(p: Pattern, panel: str, side: str = "both", build: PadBuild | None = None) -> Pad:
    made, findings = pads(p, build or PadBuild())
    assert [f for f in findings if f.level == "stop"] == []
    return next(x for x in made if (x.panel, x.side) == (panel, side))


def rim(x: Pad, name: str) -> Edge:
    return next(e for e in x.edges if e.name == name)


def turn_at_join(a: Curve, b: Curve) -> float:
    return math.remainder(b.heading(0.0) - a.heading(a.length), math.tau)


@pytest.fixture(params=SHAPES)
def shape(request: pytest.FixtureRequest) -> Shape:
    return SHAPES[request.param]


# --- both ----------------------------------------------------------------------------------------------------------


def test_one_pad_on_each_front_panel(shape: Shape) -> None:
    made, _ = pads(pattern(shape), PadBuild())
    assert [(x.panel, x.side) for x in made] == [("centre front", "both"), ("side front", "both")]
    made, _ = pads(uneven(shape), PadBuild())
    assert sorted((x.panel, x.side) for x in made) == [
        ("centre front", "left"),
        ("centre front", "right"),
        ("side front", "left"),
        ("side front", "right"),
    ]


def test_edges_run_end_to_end_anticlockwise_and_simple(shape: Shape) -> None:
    for p in (pattern(shape), uneven(shape)):
        for x in pads(p, PadBuild())[0]:
            for a, b in pairwise((*x.edges, x.edges[0])):
                assert math.dist(a.curve.end, b.curve.start) < 1e-6, (a.name, b.name)
            ring = LinearRing(x.outline(tolerance=0.01))
            assert ring.is_simple
            assert ring.is_ccw
            assert {e.role for e in x.edges} == {"front_princess", "pad_rim"}


def test_the_princess_edge_runs_from_the_underbust_to_the_start(shape: Shape) -> None:
    p = pattern(shape)
    for name in ("centre front", "side front"):
        panel_edge = p.panel(name, "both").edge("front_princess")
        sewn = rim(pad(p, name), "front_princess")
        end = panel_edge.marks.get("centre_front_end", panel_edge.curve.length)
        low, high = sewn.upward().start, sewn.upward().end
        assert low == pytest.approx(panel_edge.at("underbust"), abs=1e-6)
        # Measured along the seam.
        assert high == pytest.approx(panel_edge.curve.point(panel_edge.along(end - TOP_DROP)), abs=1e-6)
        assert sewn.curve.length == pytest.approx(end - TOP_DROP - panel_edge.marks["underbust"], abs=1e-5)
        for k in range(11):
            assert panel_edge.curve.nearest(sewn.curve.point(sewn.curve.length * k / 10))[1] < 1e-6
        assert sewn.at("bust_point") == pytest.approx(panel_edge.at("bust_point"), abs=1e-5)


def inside(x: Pad, panel: Panel) -> bool:
    return Polygon(panel.outline(tolerance=0.002)).buffer(0.01).covers(Polygon(x.outline(tolerance=0.002)))


def test_pads_lie_inside_their_panels(shape: Shape) -> None:
    p = pattern(shape)
    for name in ("centre front", "side front"):
        assert inside(pad(p, name), p.panel(name, "both"))


def test_the_lower_rim_runs_on_across_the_seam(shape: Shape) -> None:
    p = pattern(shape)
    total = 0.0
    for name in ("centre front", "side front"):
        x = pad(p, name)
        a, b = ("pad_lower", "front_princess") if name == "centre front" else ("front_princess", "pad_lower")
        total += math.pi - turn_at_join(rim(x, a).curve, rim(x, b).curve)
    # The angles inside the two pads add up to a straight line.
    assert math.degrees(total) == pytest.approx(180.0, abs=0.01)


def test_rims_bend_smoothly(shape: Shape) -> None:
    p = pattern(shape)
    for name in ("centre front", "side front"):
        for e in pad(p, name).edges:
            assert all(abs(t) < 1e-4 for t in e.curve.turns()), (name, e.name)


@pytest.mark.parametrize("name", SHAPES)
def test_right_pads_are_the_left_ones_turned_over(name: str) -> None:
    made, _ = pads(uneven(SHAPES[name]), PadBuild())
    by = {(x.panel, x.side): x for x in made}
    for panel in ("centre front", "side front"):
        left, right = by[panel, "left"], by[panel, "right"]
        assert [e.name for e in left.edges] == [e.name for e in reversed(right.edges)]
        for e in left.edges:
            f = rim(right, e.name)
            for k in range(9):
                s = e.curve.length * k / 8
                x, y = f.curve.point(f.curve.length - s)
                assert (-x, y) == pytest.approx(e.curve.point(s), abs=1e-5)
            assert f.marks == pytest.approx(dict(e.marks), abs=1e-5)
            if e.role == "front_princess":
                assert f.rising is not e.rising
                for mark in e.marks:
                    x, y = f.at(mark)
                    assert (-x, y) == pytest.approx(e.at(mark), abs=1e-4)


def test_an_even_body_gets_the_same_pads_as_either_side_of_an_uneven_one(shape: Shape) -> None:
    even, apart = pattern(shape), uneven(shape)
    for name in ("centre front", "side front"):
        a, b = pad(even, name), pad(apart, name, "left")
        assert Polygon(a.outline(tolerance=0.01)).equals_exact(Polygon(b.outline(tolerance=0.01)), 1e-9)


# --- centre front --------------------------------------------------------------------------------------------------


def test_the_lower_rim_follows_the_circle_of_bust_to_underbust(shape: Shape) -> None:
    p = pattern(shape)
    panel = p.panel("centre front", "both")
    edge = panel.edge("front_princess")
    # Closed form: the circle about the bust point whose radius is the arc from bust to underbust along the seam.
    radius = edge.marks["bust"] - edge.marks["underbust"]
    bust = panel.points["bust_point"]
    lower = rim(pad(p, "centre front"), "pad_lower").curve
    points = [lower.point(lower.length * k / 400) for k in range(401)]
    # Above the bust point a small circle that meets nothing is left; see below.
    points = [q for q in points if q[1] < bust[1]]
    off = [math.dist(q, bust) - radius for q in points]
    gap = radius - math.dist(edge.at("underbust"), bust)
    # It begins on the circle, stays on it but for the short transition, and ends at the underbust point inside it.
    assert abs(off[0]) < 1e-3
    # The transition may bulge over the circle by less than a cut line's tolerance.
    assert max(off) < 0.05
    assert off[-1] == pytest.approx(-gap, abs=1e-4)
    assert min(off) >= -gap - 1e-4
    # 0.15 radians is where it ends on seams that bow as usual.
    away = [math.dist(q, edge.at("underbust")) for q, d in zip(points, off, strict=True) if abs(d) > 1e-3]
    assert max(away, default=0.0) < 0.2 * radius


def test_it_ends_a_quarter_inch_below_the_top_edge_on_the_circle() -> None:
    p = pattern(SHAPES["plain"])
    x, panel = pad(p, "centre front"), p.panel("centre front", "both")
    m = rim(x, "pad_lower").curve.start
    assert panel.edge("top").curve.nearest(m)[1] == pytest.approx(FRONT_DIP, abs=0.01)
    edge = panel.edge("front_princess")
    assert math.dist(m, panel.points["bust_point"]) == pytest.approx(
        edge.marks["bust"] - edge.marks["underbust"], abs=1e-5
    )
    assert [e.name for e in x.edges] == ["front_princess", "pad_top", "pad_lower"]


def test_its_top_is_the_neckline_let_down_evenly_less() -> None:
    p = pattern(SHAPES["plain"])
    build = PadBuild(front_dip=0.0)
    x, panel = pad(p, "centre front", build=build), p.panel("centre front", "both")
    top, neck = rim(x, "pad_top").curve, panel.edge("top").curve
    # The neckline is one cubic; its stretch down to the meeting point, shifted, is one as well.
    stretch = neck.part(0.0, neck.nearest(top.end)[0]).segments
    assert len(stretch) == len(top.segments) == 1
    vx, vy = top.start[0] - neck.start[0], top.start[1] - neck.start[1]
    for k in range(11):
        t = k / 10
        a, b = stretch[0].eval(t), top.segments[0].eval(t)
        assert (b.x - a.x, b.y - a.y) == pytest.approx((vx * (1 - t), vy * (1 - t)), abs=1e-5)


@pytest.fixture
def wide_cup() -> Pattern:
    """A circle that reaches the centre front below the neckline."""
    return pattern(Shape(half_span=62.0, neck=215.0))


def test_a_circle_that_meets_the_centre_front_goes_up_along_it(wide_cup: Pattern) -> None:
    x, panel = pad(wide_cup, "centre front"), wide_cup.panel("centre front", "both")
    assert [e.name for e in x.edges] == ["front_princess", "pad_top", "pad_centre_front", "pad_lower"]
    along = rim(x, "pad_centre_front").curve
    assert along.straight
    # Half of what the pads keep apart beside the centre front, from a quarter inch below the neckline to the circle.
    assert along.start[0] == pytest.approx(APART / 2, abs=1e-5)
    assert panel.edge("top").curve.nearest(along.start)[1] == pytest.approx(FRONT_DIP, abs=0.01)
    edge = panel.edge("front_princess")
    radius = edge.marks["bust"] - edge.marks["underbust"]
    assert along.end == pytest.approx((APART / 2, 165.0 - math.sqrt(radius**2 - (62.0 - APART / 2) ** 2)), abs=1e-5)
    assert inside(x, panel)


def test_the_pad_changes_little_where_the_circle_passes_the_corner_of_the_neckline() -> None:
    """Neckline depths at which the circle changes over from the top edge to the centre front: no jump."""
    areas = []
    for k in range(81):
        p = pattern(Shape(half_span=68.0, neck=110.0 + k * 0.5, cup_height=66.0))
        areas.append(Polygon(pad(p, "centre front").outline(tolerance=0.01)).area)
    names = {
        tuple(e.name for e in pad(pattern(Shape(half_span=68.0, neck=n, cup_height=66.0)), "centre front").edges)
        for n in (110.0, 150.0)
    }
    assert len(names) == 2
    # Half a millimetre of neckline over a pad some 80 mm wide.
    assert max(abs(b - a) for a, b in pairwise(areas)) < 80.0


def test_a_small_circle_that_meets_nothing_rises_straight_to_the_top() -> None:
    p = pattern(Shape(half_span=120.0, neck=250.0, cup_height=95.0))
    x, panel = pad(p, "centre front"), p.panel("centre front", "both")
    edge = panel.edge("front_princess")
    radius = edge.marks["bust"] - edge.marks["underbust"]
    lower = rim(x, "pad_lower").curve
    assert lower.start[0] == pytest.approx(120.0 - radius, abs=1e-4)
    assert panel.edge("top").curve.nearest(lower.start)[1] == pytest.approx(FRONT_DIP, abs=0.01)
    assert lower.heading(0.0) == pytest.approx(-math.pi / 2, abs=1e-4)
    assert inside(x, panel)


# --- side front ----------------------------------------------------------------------------------------------------


def test_the_outer_corner_keeps_an_inch_and_a_quarter_inch(shape: Shape) -> None:
    p = pattern(shape)
    x, panel = pad(p, "side front", build=FAR), p.panel("side front", "both")
    q = rim(x, "pad_top").curve.start
    assert _run_on(panel.edge("side").curve).nearest(q)[1] == pytest.approx(SIDE_INSET, abs=1e-4)
    assert panel.edge("top").curve.nearest(q)[1] == pytest.approx(SIDE_DIP, abs=1e-4)


def _run_on(c: Curve) -> Curve:
    """The side seam, which a top that climbs from it may leave below the corner's level."""
    (x, y), (tx, ty) = c.end, c.tangent(c.length)
    return c.then(line((x, y), (x + 50.0 * tx, y + 50.0 * ty)))


@pytest.mark.parametrize(("inset", "dip"), [(12.7, 3.0), (0.0, 0.0), (40.0, 20.0)])
def test_other_distances_are_kept(inset: float, dip: float) -> None:
    p = pattern()
    build = PadBuild(side_inset=inset, side_dip=dip, top_drop=15.0, beyond=150.0)
    x, panel = pad(p, "side front", build=build), p.panel("side front", "both")
    q = rim(x, "pad_top").curve.start
    assert _run_on(panel.edge("side").curve).nearest(q)[1] == pytest.approx(inset, abs=1e-4)
    assert panel.edge("top").curve.nearest(q)[1] == pytest.approx(dip, abs=1e-4)
    assert inside(x, panel)


@pytest.mark.parametrize("beyond", [10.0, BEYOND, 45.0])
def test_it_has_no_tail_beyond_the_root_of_the_breast(shape: Shape, beyond: float) -> None:
    p = pattern(shape)
    x, panel = pad(p, "side front", build=PadBuild(beyond=beyond)), p.panel("side front", "both")
    edge = panel.edge("front_princess")
    root = edge.at("bust_point")[0] + edge.marks["bust_point"] - edge.marks["underbust"]
    reach = max(a for e in x.edges for a, _ in e.curve.points(tolerance=0.005))
    far = max(a for e in pad(p, "side front", build=FAR).edges for a, _ in e.curve.points(tolerance=0.005))
    # To the polyline's tolerance, and no less than it may, unless the side seam stops it first.
    assert reach <= root + beyond + 0.06
    assert reach == pytest.approx(min(root + beyond, far), abs=0.3)
    assert inside(x, panel)


def test_where_the_side_gives_way_to_the_root_nothing_jumps() -> None:
    areas = [
        Polygon(pad(pattern(), "side front", build=PadBuild(beyond=5.0 + k)).outline(tolerance=0.01)).area
        for k in range(60)
    ]
    assert areas[-1] == pytest.approx(Polygon(pad(pattern(), "side front", build=FAR).outline(tolerance=0.01)).area)
    # A millimetre of reach over a pad some 130 mm high.
    assert max(abs(b - a) for a, b in pairwise(areas)) < 180.0


def test_the_rims_keep_clear_of_the_side_seam_and_the_top(shape: Shape) -> None:
    p = pattern(shape)
    x, panel = pad(p, "side front"), p.panel("side front", "both")
    outline = LinearRing(x.outline(tolerance=0.005))
    assert outline.distance(LineString(panel.edge("side").curve.points(tolerance=0.005))) >= SIDE_INSET - 0.1
    assert outline.distance(LineString(panel.edge("top").curve.points(tolerance=0.005))) >= SIDE_DIP - 0.1


def bends(c: Curve) -> list[float]:
    return [c.curvature(c.length * (k + 0.5) / 100) for k in range(100)]


def test_the_outer_lower_rim_is_convex(shape: Shape) -> None:
    # Walked anticlockwise around the pad, a convex rim turns left all the way.
    assert min(bends(rim(pad(pattern(shape), "side front"), "pad_lower").curve)) > 0.0


def test_the_centre_front_lower_rim_is_convex(shape: Shape) -> None:
    assert min(bends(rim(pad(pattern(shape), "centre front"), "pad_lower").curve)) > -1e-9


# --- when there can be no pad --------------------------------------------------------------------------------------


def only_stop(p: Pattern, build: PadBuild) -> tuple[str, str]:
    made, findings = pads(p, build)
    assert made == ()
    assert [f.level for f in findings] == ["stop"]
    return subject(findings[0]), spoken(findings[0])


def test_a_cup_too_low_is_told_with_what_to_change() -> None:
    p = pattern(Shape(cup_height=22.0, neck=180.0))
    about, says = only_stop(p, PadBuild(top_drop=30.0))
    assert about == "centre front pad"
    assert "too low" in says
    edge = p.panel("centre front", "both").edge("front_princess")
    assert f"Raise cup_height by {30.0 - (edge.curve.length - edge.marks['bust']):.1f} mm" in says


def test_a_side_front_too_narrow_is_told() -> None:
    about, says = only_stop(pattern(Shape(side_width=70.0)), PadBuild(side_inset=60.0))
    assert about == "side front pad"
    assert "too narrow" in says
    assert "side_inset" in says


def test_a_hem_above_the_underbust_is_told() -> None:
    p = pattern()
    cut = []
    for panel in p.panels:
        edges = tuple(replace(e, marks={k: s for k, s in e.marks.items() if k != "underbust"}) for e in panel.edges)
        cut.append(replace(panel, edges=edges))
    about, says = only_stop(replace(p, panels=tuple(cut)), PadBuild())
    assert about == "centre front pad"
    assert "does not reach the underbust" in says


def test_one_side_without_a_pad_leaves_the_other_its_own() -> None:
    p = uneven(SHAPES["plain"], Shape(cup_height=22.0, neck=180.0))
    made, findings = pads(p, PadBuild(top_drop=25.0))
    assert {x.side for x in made} == {"left"}
    assert [(f.level, subject(f)) for f in findings] == [("stop", "right centre front pad")]


# --- drafted bodies ------------------------------------------------------------------------------------------------


def test_pads_of_drafted_bodies_keep_their_places() -> None:
    """On some 240 random bodies and styles; a rim that turns at the underbust by more than 5 degrees is told."""
    count = 0
    for body, style in plausible(8):
        try:
            p = draft(body, style).pattern
        except DraftError:
            continue
        made, findings = pads(p, PadBuild())
        for x in made:
            count += 1
            panel = p.panel(x.panel, x.side)
            assert inside(x, panel)
            outline = Polygon(closed_points((e.curve for e in x.edges), tolerance=0.01))
            assert outline.is_valid
            bust = panel.edge("front_princess").at("bust_point")[0]
            root = panel.edge("front_princess").marks["bust_point"] - panel.edge("front_princess").marks["underbust"]
            reach = max(abs(a) for a, _ in outline.exterior.coords)
            if x.panel == "centre front":
                neck = panel.edge("top").curve
                off = LineString(neck.points(tolerance=0.01)).distance(outline)
                # The start itself may lie nearer where the seam leaves the top at a sharp corner.
                start = LineString(neck.points(tolerance=0.01)).distance(Point(rim(x, "pad_top").curve.start))
                assert off >= min(FRONT_DIP, start) - 0.1
                assert min(abs(a) for a, _ in outline.exterior.coords) >= APART / 2 - 0.02
            else:
                assert reach <= abs(bust) + root + BEYOND + 0.1
            if x.panel == "side front":
                side = LineString(panel.edge("side").curve.points(tolerance=0.01))
                top = LineString(panel.edge("top").curve.points(tolerance=0.01))
                assert outline.distance(side) >= SIDE_INSET - 0.1
                # A steep top let down would come nearer: the rim is bowed away from it.
                assert outline.distance(top) >= SIDE_DIP - 0.1
                assert min(abs(b) for b in bends(rim(x, "pad_lower").curve)) > 0.0
        for side in {x.side for x in made}:
            turn = _turn_at_underbust([x for x in made if x.side == side])
            # A dip, never a point; told where it shows.
            assert -0.01 <= turn < 30.0
            told = [f for f in findings if f.level == "note" and subject(f).startswith(("side", str(side)))]
            assert bool(told) == (turn > 5.0), (side, turn)
    assert count > 500


def _turn_at_underbust(pair: list[Pad]) -> float:
    """By how many degrees the two angles inside the pads exceed a straight line."""
    total = 0.0
    for x in pair:
        for a, b in pairwise((*x.edges, x.edges[0])):
            if {a.name, b.name} == {"pad_lower", "front_princess"} and _at_foot(x, a.curve.end):
                total += math.pi - turn_at_join(a.curve, b.curve)
    return math.degrees(total) - 180.0


def _at_foot(x: Pad, p: Pt) -> bool:
    return Point(p).distance(Point(rim(x, "front_princess").upward().start)) < 1e-3
