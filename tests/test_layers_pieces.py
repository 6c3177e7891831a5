"""From panels to pieces: cut lines, corners, placement lines, notches, quantities."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import pytest
from shapely import LinearRing, LineString, Point, Polygon

from bodies import plausible
from coutil.draft import DraftError, draft
from coutil.layers import LayerError, layer_up
from coutil.order import Build, Lining, PadBuild
from coutil.pattern import Edge, Panel, Pattern, Piece
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW
from coutil.plane import Curve, Pt, closed_points
from spoken import spoken, subject
from synthetic import SHAPES, Shape, pattern, uneven

FULL = Build(lining=Lining(fused=True))
# The requirement of the project: cut lines are true offsets within this, in mm.
TRUE = 0.05


def piece(p: Pattern, panel: str, layer: str, side: str = "both") -> Piece:
    return next(x for x in p.pieces if (x.panel, x.layer, x.side) == (panel, layer, side))


def ring(curves: tuple[Curve, ...]) -> LinearRing:
    return LinearRing(closed_points(curves, tolerance=0.002))


def edge_of(x: Piece, role: str) -> Edge:
    return next(e for e in x.net if e.role == role)


def inner_samples(c: Curve, clear: float, n: int = 25) -> list[float]:
    """Arc lengths that keep `clear` mm from both ends."""
    return [clear + (c.length - 2 * clear) * k / n for k in range(n + 1)] if c.length > 2 * clear else []


def out_to(c: Curve, s: float, line: LinearRing) -> float:
    """How far one goes from the curve at `s`, square to it and outwards, until one meets the line; at most 60 mm."""
    (x, y), (tx, ty) = c.point(s), c.tangent(s)
    met = LineString([(x, y), (x + 60 * ty, y - 60 * tx)]).intersection(line)
    return min(
        (math.dist((x, y), (q.x, q.y)) for q in getattr(met, "geoms", [met]) if not q.is_empty), default=math.inf
    )


@pytest.fixture(scope="module", params=SHAPES)
def made(request: pytest.FixtureRequest) -> Pattern:
    return layer_up(pattern(SHAPES[request.param]), FULL)


# --- cut lines -----------------------------------------------------------------------------------------------------


def test_cut_lines_lie_half_an_inch_outside_the_net_lines(made: Pattern) -> None:
    # 1/2 in: common practice, no source.
    for x in made.pieces:
        if x.layer in ("foam", "web"):
            continue
        line = ring(x.cut)
        for e in x.net:
            wanted = 0.0 if x.on_fold and e.role == "centre_front" else 12.7
            for s in inner_samples(e.curve, 30.0):
                if wanted:
                    assert out_to(e.curve, s, line) == pytest.approx(12.7, abs=TRUE), (x.name, e.name, s)
                assert line.distance(Point(e.curve.point(s))) <= wanted + TRUE


def test_cut_lines_are_simple_closed_anticlockwise_and_hold_the_net_line(made: Pattern) -> None:
    for x in made.pieces:
        line = ring(x.cut)
        assert line.is_simple
        assert line.is_ccw
        for a, b in zip(x.cut, (*x.cut[1:], x.cut[0]), strict=True):
            assert math.dist(a.end, b.start) < 1e-6
        # Two polylines, each within 0.002 mm of its curve, on the rims of one and the same curve.
        assert Polygon(line).buffer(0.005).covers(Polygon(x.net_outline(tolerance=0.002)))


def test_allowances_go_by_role() -> None:
    build = Build(allowance=10.0, allowances={"hem": 25.4, "top": 6.35, "side": 19.05})
    x = piece(layer_up(pattern(), build), "side front", "shell")
    line = ring(x.cut)
    for role, wanted in (("hem", 25.4), ("top", 6.35), ("side", 19.05), ("front_princess", 10.0)):
        e = edge_of(x, role)
        for s in inner_samples(e.curve, 40.0):
            assert out_to(e.curve, s, line) == pytest.approx(wanted, abs=TRUE), role


def _foot(net: Curve, p: Pt) -> Pt:
    (x0, y0), (tx, ty) = net.start, net.tangent(0.0)
    (x1, y1), (ux, uy) = net.end, net.tangent(net.length)
    s, _ = net.nearest(p)
    if s < 1e-6:
        k = (p[0] - x0) * tx + (p[1] - y0) * ty
        return (x0 + k * tx, y0 + k * ty)
    if s > net.length - 1e-6:
        k = (p[0] - x1) * ux + (p[1] - y1) * uy
        return (x1 + k * ux, y1 + k * uy)
    return net.point(s)


def test_pressed_open_the_allowance_of_a_seam_lies_flush_with_top_and_hem(made: Pattern) -> None:
    """The cut line within a seam's allowance, folded over the seam, lands on the cut line of the top or hem."""
    checked = 0
    for x in made.pieces:
        if x.layer != "shell":
            continue
        line = ring(x.cut)
        net = {e.role: e for e in x.net}
        for role, e in net.items():
            if role in ("top", "hem") or (x.on_fold and role == "centre_front"):
                continue
            for c in x.cut:
                # The corner pieces are those that go from the seam's net line, run on, to its cut line.
                ends = [math.dist(q, _foot(e.curve, q)) for q in (c.start, c.end)]
                if sorted(ends) != pytest.approx([0.0, 12.7], abs=1e-3) or c.length > 40.0:
                    continue
                checked += 1
                for k in range(21):
                    q = c.point(c.length * k / 20)
                    fx, fy = _foot(e.curve, q)
                    assert line.distance(Point(2 * fx - q[0], 2 * fy - q[1])) < 0.1, (x.name, role, k)
    # Six of seven vertical edges have an allowance, and each has two ends; the fold has none. And both centre edges.
    assert checked == 2 * 7


def test_on_the_fold_the_cut_line_runs_on_the_fold(made: Pattern) -> None:
    x = piece(made, "centre front", "shell")
    assert x.on_fold
    assert (x.quantity, x.mirrored_pair) == (1, False)
    fold = [c for c in x.cut if abs(c.start[0]) < 1e-6 and abs(c.end[0]) < 1e-6]
    assert len(fold) == 1
    assert fold[0].straight
    assert min(px for px, _ in x.cut_outline(tolerance=0.01)) > -1e-6
    # It ends above the neckline and below the hem, where the others' allowances are.
    net = edge_of(x, "centre_front").curve
    assert fold[0].start[1] > net.start[1] + 12.6
    assert fold[0].end[1] < net.end[1] - 12.6


def test_a_bend_too_tight_for_the_allowance_is_refused_by_name() -> None:
    build = Build(allowances={"front_princess": 79.0})
    with pytest.raises(LayerError, match=r"^(left )?(centre|side) front: the cut line cannot be drawn"):
        layer_up(pattern(replace(SHAPES["full"], shaping=3.0)), build)


# --- pieces --------------------------------------------------------------------------------------------------------


def test_layers_quantities_and_names_of_an_even_body() -> None:
    p = layer_up(pattern(), FULL)
    assert Counter(x.layer for x in p.pieces) == {
        "shell": 4, "interfacing": 4, "foam": 2, "web": 2, "lining": 4, "lining_interfacing": 4,
    }  # fmt: skip
    for x in p.pieces:
        folded = x.panel == "centre front" and x.layer not in ("foam", "web")
        assert (x.quantity, x.mirrored_pair, x.on_fold) == ((1, False, True) if folded else (2, True, False)), x.name
    names = [x.name for x in p.pieces]
    assert len(set(names)) == len(names)
    assert "side front, shell" in names
    assert "centre front, lining interfacing" in names


def test_left_and_right_panels_are_cut_once_each() -> None:
    p = layer_up(uneven(), FULL)
    assert len(p.pieces) == 40
    assert all((x.quantity, x.mirrored_pair, x.on_fold) == (1, False, False) for x in p.pieces)
    assert len({x.name for x in p.pieces}) == 40
    assert piece(p, "side front", "shell", "left").name == "left side front, shell"
    # The centre front is sewn: it has an allowance like any other seam.
    x = piece(p, "centre front", "shell", "left")
    assert min(px for px, _ in x.cut_outline(tolerance=0.01)) == pytest.approx(-12.7, abs=TRUE)


@pytest.mark.parametrize(
    ("lining", "layers"),
    [
        (None, {"shell", "interfacing", "foam", "web"}),
        (Lining(fused=False), {"shell", "interfacing", "foam", "web", "lining"}),
        (Lining(fused=True), {"shell", "interfacing", "foam", "web", "lining", "lining_interfacing"}),
    ],
)
def test_the_lining_is_made_when_asked(lining: Lining | None, layers: set[str]) -> None:
    assert {x.layer for x in layer_up(pattern(), Build(lining=lining)).pieces} == layers


def test_layers_of_a_panel_share_one_cut_line(made: Pattern) -> None:
    for name in ("centre front", "side front", "side back", "centre back"):
        shell = piece(made, name, "shell").cut
        for layer in ("interfacing", "lining", "lining_interfacing"):
            assert piece(made, name, layer).cut is shell


def test_nothing_of_the_given_pattern_is_changed_and_its_findings_are_kept() -> None:
    before = pattern()
    after = layer_up(before, FULL)
    assert (before.pieces, before.pads) == ((), ())
    assert after.panels is before.panels
    assert after.seams is before.seams


@pytest.mark.parametrize("name", SHAPES)
def test_right_pieces_are_the_left_ones_turned_over(name: str) -> None:
    p = layer_up(uneven(SHAPES[name]), FULL)
    for left in (x for x in p.pieces if x.side == "left"):
        right = piece(p, left.panel, left.layer, "right")
        turned = Polygon([(-px, py) for px, py in left.cut_outline(tolerance=0.002)])
        assert turned.symmetric_difference(Polygon(right.cut_outline(tolerance=0.002))).area < 0.5
        assert {(n.name, n.edge, n.count) for n in left.notches} == {(n.name, n.edge, n.count) for n in right.notches}
        for n in left.notches:
            m = next(m for m in right.notches if (m.name, m.edge) == (n.name, n.edge))
            assert (-m.at[0], m.at[1]) == pytest.approx(n.at, abs=1e-5)
            assert (-m.outward[0], m.outward[1]) == pytest.approx(n.outward, abs=1e-6)
        assert len(left.placement) == len(right.placement)


def test_grain_is_upright_and_well_inside(made: Pattern) -> None:
    for x in made.pieces:
        (ax, ay), (bx, by) = x.grain
        assert ax == bx
        assert by - ay > 30.0
        inside = Polygon(x.net_outline(tolerance=0.05))
        assert inside.contains(LineString(x.grain))
        assert inside.exterior.distance(LineString(x.grain)) > 5.0


# --- placement lines -----------------------------------------------------------------------------------------------


def test_the_foam_lies_three_eighths_of_an_inch_inside_the_princess_cut_edge(made: Pattern) -> None:
    # 1/2 in less 1/8 in is 3/8 in = 9.525 mm: common practice, no source.
    for name in ("centre front", "side front"):
        x = piece(made, name, "shell")
        assert x.placement == (piece(made, name, "foam").cut,)
        placed, cut = ring(x.placement[0]), ring(x.cut)
        sewn = next(e for e in piece(made, name, "foam").net if e.role == "front_princess").curve
        for s in inner_samples(sewn, 8.0):
            assert out_to(sewn, s, placed) == pytest.approx(3.175, abs=TRUE)
            assert out_to(sewn, s, cut) - out_to(sewn, s, placed) == pytest.approx(9.525, abs=TRUE)


def test_placement_lines_are_on_the_layers_that_carry_pads() -> None:
    p = layer_up(pattern(), replace(FULL, pad=PadBuild(on=("lining",))))
    for x in p.pieces:
        carries = x.layer == "lining" and x.panel in ("centre front", "side front")
        assert len(x.placement) == (1 if carries else 0), x.name


def test_foam_and_web_are_cut_on_the_net_line_but_for_the_princess_seam(made: Pattern) -> None:
    for name in ("centre front", "side front"):
        foam = piece(made, name, "foam")
        assert foam.cut is piece(made, name, "web").cut
        line = ring(foam.cut)
        for e in foam.net:
            # Nearer to its ends the princess edge's nearest cut line may be that of the corner.
            for s in inner_samples(e.curve, 15.0):
                away = line.distance(Point(e.curve.point(s)))
                assert away == pytest.approx(3.175 if e.role == "front_princess" else 0.0, abs=TRUE)


def test_a_catch_wider_than_the_allowance_is_told() -> None:
    p = layer_up(pattern(), Build(allowances={"front_princess": 3.0}))
    assert [f.level for f in p.findings] == ["warn"]
    assert "stick out" in spoken(p.findings[0])


# --- notches -------------------------------------------------------------------------------------------------------


def princess_notches(p: Pattern, panel: str, layer: str = "shell") -> list[str]:
    return sorted(n.name for n in piece(p, panel, layer).notches if n.edge == "front_princess")


def test_four_notches_on_the_centre_front_and_five_on_the_side_front() -> None:
    # Common practice, no source.
    p = layer_up(pattern(SHAPES["plain"]), FULL)
    four = sorted(["underbust", "bust_point", NOTCH_ABOVE, NOTCH_BELOW])
    for layer in ("shell", "interfacing", "lining", "lining_interfacing"):
        assert princess_notches(p, "centre front", layer) == four
        assert princess_notches(p, "side front", layer) == sorted([*four, "centre_front_end"])


def test_four_and_four_where_both_end_together() -> None:
    p = layer_up(pattern(SHAPES["no peak"]), FULL)
    assert len(princess_notches(p, "centre front")) == len(princess_notches(p, "side front")) == 4


def test_two_nicks_tell_the_back_from_the_front() -> None:
    # Common practice, no source.
    p = layer_up(pattern(), FULL)
    for panel in ("side front", "side back"):
        at_side = {n.name: n.count for n in piece(p, panel, "shell").notches if n.edge == "side"}
        assert at_side == {"waist": 1, "underbust": 1}
    for panel in ("side back", "centre back"):
        at_back = {n.name: n.count for n in piece(p, panel, "shell").notches if n.edge == "back_princess"}
        assert at_back == {"waist": 2, "underbust": 1}


def _partners(p: Pattern) -> list[tuple[Panel, Panel, str]]:
    sides = dict.fromkeys(x.side for x in p.panels)
    pairs = (
        ("centre front", "side front", "front_princess"),
        ("side front", "side back", "side"),
        ("side back", "centre back", "back_princess"),
    )
    return [(p.panel(a, side), p.panel(b, side), edge) for side in sides for a, b, edge in pairs]


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("make", [pattern, uneven])
def test_notches_lie_on_the_net_line_and_meet_across_the_seam(name: str, make) -> None:  # type: ignore[no-untyped-def]
    p = layer_up(make(SHAPES[name]), FULL)
    for a, b, edge in _partners(p):
        places = []
        for panel in (a, b):
            e = panel.edge(edge)
            here = {}
            for n in piece(p, panel.name, "shell", panel.side).notches:
                if n.edge != edge:
                    continue
                s, off = e.curve.nearest(n.at)
                assert off < 1e-6
                tx, ty = e.curve.tangent(s)
                assert n.outward == pytest.approx((ty, -tx), abs=1e-4)
                inside = Polygon(panel.outline(tolerance=0.01))
                x, y = n.at
                assert not inside.contains(Point(x + n.outward[0], y + n.outward[1]))
                assert inside.contains(Point(x - n.outward[0], y - n.outward[1]))
                mark = "waist" if n.name == "waist" else "underbust" if n.name == "underbust" else "bust_point"
                here[n.name] = e.along(s) - e.marks.get(mark, 0.0)
            places.append(here)
        here, there = places
        there.pop("centre_front_end", None)
        assert here.keys() == there.keys()
        for n, s in here.items():
            # From the mark that both edges share: the underbust, the waist, the bust point.
            assert s == pytest.approx(there[n], abs=1e-4), (a.name, b.name, n)


def test_the_notches_beside_the_bust_point_are_an_inch_away_along_the_seam() -> None:
    p = layer_up(pattern(), FULL)
    for panel in ("centre front", "side front"):
        e = p.panel(panel, "both").edge("front_princess")
        at = {n.name: e.along(e.curve.nearest(n.at)[0]) for n in piece(p, panel, "shell").notches if n.edge == e.name}
        assert at[NOTCH_ABOVE] - at["bust_point"] == pytest.approx(25.4, abs=1e-4)
        assert at["bust_point"] - at[NOTCH_BELOW] == pytest.approx(25.4, abs=1e-4)


def test_a_notch_that_does_not_fit_is_left_out_on_both_edges_and_told() -> None:
    p = layer_up(pattern(Shape(cup_height=24.0, peak=30.0, neck=185.0)), FULL)
    for panel in ("centre front", "side front"):
        assert NOTCH_ABOVE not in princess_notches(p, panel)
        assert NOTCH_BELOW in princess_notches(p, panel)
    said = [f for f in p.findings if NOTCH_ABOVE in spoken(f)]
    assert [(f.level, subject(f)) for f in said] == [("note", "centre front")]


def test_foam_bears_the_notches_of_its_princess_edge_clear_of_its_corners(made: Pattern) -> None:
    for panel in ("centre front", "side front"):
        sewn = next(e for e in piece(made, panel, "foam").net if e.role == "front_princess").curve
        names = set()
        for n in piece(made, panel, "foam").notches:
            s, off = sewn.nearest(n.at)
            assert off < 1e-6
            assert 2.9 < s < sewn.length - 2.9
            names.add(n.name)
        assert {"bust_point", NOTCH_BELOW} <= names <= {"bust_point", NOTCH_BELOW, NOTCH_ABOVE}


# --- drafted bodies ------------------------------------------------------------------------------------------------


def _away(net: Curve, p: Pt) -> float:
    return math.dist(p, _foot(net, p))


def _along_an_edge(c: Curve, x: Piece, wanted: float) -> bool:
    """Whether all of a stretch of cut line keeps its distance from one edge of the net line, run on at its ends."""
    points = [c.point(c.length * k / 6) for k in range(7)]
    for e in x.net:
        here = 0.0 if x.on_fold and e.role == "centre_front" else wanted
        if all(abs(_away(e.curve, q) - here) <= TRUE for q in points):
            return True
    return False


def test_every_drafted_body_is_layered_up() -> None:
    """On some 240 random bodies and styles: sound cut lines at the right distance; pads on nearly all.

    Each stretch of a cut line keeps 1/2 in from an edge, but for the flush ends: one at each end of each seam, where no
    spike would come of it.
    """
    patterns = []
    for body, style in plausible(8):
        try:
            patterns.append(draft(body, style).pattern)
        except DraftError:
            continue
    stopped = 0
    for k, before in enumerate(patterns):
        p = layer_up(before, FULL)
        stopped += any(f.level == "stop" for f in p.findings)
        for x in p.pieces:
            if x.layer != "shell":
                continue
            line = ring(x.cut)
            assert line.is_simple
            assert line.is_ccw
            assert Polygon(line).buffer(0.005).covers(Polygon(x.net_outline(tolerance=0.002)))
            # Hem, flush end, outer seam, flush end, top, (flush end,) inner seam or fold, (flush end).
            inside = Polygon(x.net_outline(tolerance=0.05))
            assert inside.contains(LineString(x.grain))
            # A deep neckline almost in line with a centre front seam is mitred there: one flush end less.
            mitred = x.panel == "centre front" and x.side != "both" and len(x.cut) == 7
            assert len(x.cut) == (6 if x.on_fold else 7 if mitred else 8), (k, x.name)
            along = sum(_along_an_edge(c, x, 12.7) for c in x.cut)
            assert along >= 4, (k, x.name)
            if not mitred:
                stretches = (x.cut[0], x.cut[2], x.cut[4], x.cut[5]) if x.on_fold else x.cut[::2]
                assert all(_along_an_edge(c, x, 12.7) for c in stretches), (k, x.name)
    assert len(patterns) > 200
    # A pad that cannot be made is told, and is rare.
    assert stopped <= 0.01 * len(patterns)
