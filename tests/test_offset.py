"""Offsets and cut lines: against shapely buffers, closed forms, and by their own properties."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point, Polygon

from coutil.plane import Curve, arc_through, closed_points, cubic, line
from coutil.plane.offset import Margin, OffsetError, meet, offset, outline_offset, parallel

TOLERANCES = (0.1, 0.05, 0.02, 0.005, 0.001)

# An S as on a princess seam; of our own invention.
S_CURVE = cubic((0.0, 0.0), (30.0, 60.0), (-25.0, 130.0), (5.0, 200.0))


def ellipse(a: float, b: float, start: float, end: float, pieces: int) -> Curve:
    """Hermite cubics on an ellipse with half axes a and b; with 16 pieces a quarter is true to far below 1e-4 mm."""
    out: list[Curve] = []
    h = (end - start) / pieces
    for k in range(pieces):
        u, v = start + k * h, start + (k + 1) * h
        p = (a * math.cos(u), b * math.sin(u))
        q = (a * math.cos(v), b * math.sin(v))
        out.append(
            cubic(
                p,
                (p[0] - h / 3 * a * math.sin(u), p[1] + h / 3 * b * math.cos(u)),
                (q[0] + h / 3 * a * math.sin(v), q[1] - h / 3 * b * math.cos(v)),
                q,
            )
        )
    return Curve(tuple(s for c in out for s in c.segments))


def samples(c: Curve, n: int) -> list[tuple[float, float]]:
    return [c.point(c.length * k / n) for k in range(n + 1)]


# --- single curves -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tolerance", TOLERANCES)
@pytest.mark.parametrize("distance", [12.7, -12.7, 3.175, -25.4])
def test_offset_of_a_circle_is_a_circle(distance: float, tolerance: float) -> None:
    # Closed form: the parallel of a circle of radius r lies at r - d when d is to the left of an anticlockwise circle.
    arc = arc_through((10.0, -5.0), 80.0, 0.3, 2.5)
    made = offset(arc, distance, tolerance=tolerance)
    # 80 * 5e-6 is how far the cubic arc itself strays from the circle (see arc_through).
    for x, y in samples(made, 60):
        assert math.hypot(x - 10.0, y + 5.0) == pytest.approx(80.0 - distance, abs=tolerance + 80.0 * 5e-6)
    assert made.length == pytest.approx(2.5 * (80.0 - distance), rel=1e-4)


@pytest.mark.parametrize("tolerance", TOLERANCES)
@pytest.mark.parametrize("distance", [-12.7, 12.7, 20.0])
def test_offset_of_an_ellipse_follows_its_parametric_normals(distance: float, tolerance: float) -> None:
    # Closed form: (a cos t, b sin t) has the left normal (-b cos t, -a sin t) / |.| when walked anticlockwise.
    a, b = 120.0, 70.0
    made = offset(ellipse(a, b, 0.0, math.pi / 2, 16), distance, tolerance=tolerance)
    t = np.linspace(0.0, math.pi / 2, 4001)
    normal = np.stack([-b * np.cos(t), -a * np.sin(t)]) / np.hypot(b * np.cos(t), a * np.sin(t))
    truth = np.stack([a * np.cos(t), b * np.sin(t)]) + distance * normal
    ideal = LineString(truth.T)
    for p in samples(made, 80):
        # 2e-4: chords of 4000 steps (1e-6) and the Hermite ellipse (below 1e-4).
        assert ideal.distance(Point(p)) <= tolerance + 2e-4


@pytest.mark.parametrize("tolerance", TOLERANCES)
@pytest.mark.parametrize("distance", [12.7, -12.7, -3.175])
def test_offset_agrees_with_shapely_buffer(distance: float, tolerance: float) -> None:
    net = LineString(S_CURVE.points(tolerance=1e-4))
    rim = net.buffer(distance, single_sided=True, quad_segs=512).exterior
    made = offset(S_CURVE, distance, tolerance=tolerance)
    for p in samples(made, 100)[2:-2]:
        assert rim.distance(Point(p)) <= tolerance + 1e-3
        assert net.distance(Point(p)) == pytest.approx(abs(distance), abs=tolerance + 1e-3)


def test_positive_is_to_the_left_of_travel() -> None:
    up = line((0.0, 0.0), (0.0, 90.0))
    assert offset(up, 10.0, tolerance=0.02).start == (-10.0, 0.0)
    assert offset(up, -10.0, tolerance=0.02).end == (10.0, 90.0)


def test_straight_segments_move_exactly_and_zero_changes_nothing() -> None:
    slope = line((3.0, 4.0), (33.0, 44.0))
    moved = offset(slope, 5.0, tolerance=0.1)
    assert moved.straight
    assert moved.start == pytest.approx((-1.0, 7.0), abs=1e-12)
    assert moved.end == pytest.approx((29.0, 47.0), abs=1e-12)
    assert offset(S_CURVE, 0.0, tolerance=0.02) is S_CURVE


def test_tangents_that_run_on_at_joins_run_on_in_the_offset() -> None:
    joined = S_CURVE.part(0.0, 70.0).then(S_CURVE.part(70.0, S_CURVE.length))
    made = offset(joined, -12.7, tolerance=0.02)
    assert max(abs(t) for t in made.turns()) < 2e-3


@pytest.mark.parametrize("radius", [8.0, 12.0, 12.6])
def test_an_offset_beyond_the_radius_of_curvature_is_refused(radius: float) -> None:
    bend = arc_through((0.0, 0.0), radius, 0.0, 1.5)
    with pytest.raises(OffsetError, match="folds_at"):
        offset(bend, 12.7, tolerance=0.02)
    # On the outside of the bend there is room.
    assert offset(bend, -12.7, tolerance=0.02).length == pytest.approx(1.5 * (radius + 12.7), rel=1e-3)


def test_an_offset_just_within_the_radius_is_drawn() -> None:
    made = offset(arc_through((0.0, 0.0), 14.0, 0.0, 1.5), 12.7, tolerance=0.01)
    assert made.length == pytest.approx(1.5 * 1.3, rel=0.05)


def test_a_corner_inside_a_curve_is_refused() -> None:
    bent = line((0.0, 0.0), (50.0, 0.0)).then(line((50.0, 0.0), (90.0, 30.0)))
    with pytest.raises(OffsetError, match="breaks"):
        offset(bent, 12.7, tolerance=0.02)


# --- outlines ------------------------------------------------------------------------------------------------------


def box(w: float, h: float) -> list[Curve]:
    return [
        line((0.0, 0.0), (w, 0.0)),
        line((w, 0.0), (w, h)),
        line((w, h), (0.0, h)),
        line((0.0, h), (0.0, 0.0)),
    ]


def polygon(cut: tuple[Curve, ...]) -> Polygon:
    return Polygon(closed_points(cut, tolerance=0.005))


@given(
    st.floats(60, 300),
    st.floats(60, 300),
    st.tuples(*[st.floats(0.0, 25.0)] * 4),
    st.sampled_from(["mitre", "flush", "flush_next"]),
)
@settings(max_examples=60, deadline=None)
def test_a_rectangle_keeps_square_corners_under_every_rule(
    w: float, h: float, d: tuple[float, float, float, float], rule: str
) -> None:
    # Closed form: at right angles a mirror image and a mitre are the same corner.
    cut = outline_offset([Margin(c, x, rule) for c, x in zip(box(w, h), d, strict=True)], tolerance=0.02)  # type: ignore[arg-type]
    wide, high = w + d[1] + d[3], h + d[0] + d[2]
    # Ends are joined to 1e-6 mm.
    assert polygon(cut).area == pytest.approx(wide * high, abs=2e-6 * (wide + high))
    assert polygon(cut).bounds == pytest.approx((-d[3], -d[0], w + d[1], h + d[2]), abs=1e-6)


def test_mitred_corners_agree_with_a_mitred_shapely_buffer() -> None:
    sides = [
        line((0.0, 0.0), (120.0, -15.0)),
        S_CURVE.moved(120.0, -15.0),
        line((125.0, 185.0), (-10.0, 170.0)),
        line((-10.0, 170.0), (0.0, 0.0)),
    ]
    cut = polygon(outline_offset([Margin(c, 12.7) for c in sides], tolerance=0.005))
    # So fine that the last chords' directions, by which shapely mitres, are those of the curve.
    net = Polygon(closed_points(sides, tolerance=1e-6))
    buffered = net.buffer(12.7, join_style="mitre", mitre_limit=10.0)
    # 0.005 mm along a contour of 650 mm.
    assert cut.symmetric_difference(buffered).area < 650.0 * 0.005
    assert cut.exterior.hausdorff_distance(buffered.exterior) < 0.05


def test_a_sharp_corner_is_cut_off_beyond_the_mitre_limit() -> None:
    # The angle at the origin is 2 atan(0.1), about 11.4 degrees: the mitre would be 12.7 / sin(5.7) = 127 mm long.
    sides = [
        line((0.0, 0.0), (200.0, -20.0)),
        line((200.0, -20.0), (200.0, 20.0)),
        line((200.0, 20.0), (0.0, 0.0)),
    ]
    cut = outline_offset([Margin(c, 12.7) for c in sides], tolerance=0.02)
    assert polygon(cut).bounds[0] > -2.0
    long = outline_offset([Margin(c, 12.7) for c in sides], tolerance=0.02, mitre_limit=20.0)
    assert polygon(long).bounds[0] == pytest.approx(-12.7 / math.sin(math.atan(0.1)), abs=1e-6)


def test_cut_lines_that_cross_at_a_hollow_corner_are_trimmed() -> None:
    # An L: the hollow corner at (60, 60).
    points = [(0.0, 0.0), (150.0, 0.0), (150.0, 60.0), (60.0, 60.0), (60.0, 150.0), (0.0, 150.0)]
    sides = [line(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)]
    cut = polygon(outline_offset([Margin(c, 10.0) for c in sides], tolerance=0.02))
    net = Polygon(points)
    assert cut.area == pytest.approx(net.buffer(10.0, join_style="mitre").area, rel=1e-9)


@pytest.mark.parametrize("height", [-60.0, -20.0, 0.0, 20.0, 60.0])
def test_next_to_a_fold_the_cut_line_ends_on_the_fold(height: float) -> None:
    # A neckline that falls or rises to the fold x = 0, at up to 31 degrees from square.
    sides = [
        line((0.0, 0.0), (100.0, 0.0)),
        line((100.0, 0.0), (100.0, 150.0)),
        cubic((100.0, 150.0), (66.0, 150.0), (33.0, 150.0 + height / 2), (0.0, 150.0 + height)),
        line((0.0, 150.0 + height), (0.0, 0.0)),
    ]
    cut = outline_offset([Margin(c, d) for c, d in zip(sides, (12.7, 12.7, 12.7, 0.0), strict=True)], tolerance=0.02)
    fold = cut[-1]
    assert fold.straight
    assert (fold.start[0], fold.end[0]) == pytest.approx((0.0, 0.0), abs=1e-6)
    shape = polygon(cut)
    assert shape.bounds[0] == pytest.approx(0.0, abs=1e-6)
    # Opened out, it is the mitred outline of the whole.
    tip = math.hypot(*_chord(sides[2])) and sides[2].tangent(sides[2].length)
    expected = 150.0 + height + 12.7 / -tip[0]
    if height <= 0.0:
        # Falling to the fold the cut line is trimmed on its curve instead; it lies 12.7 from the net line.
        net = LineString(sides[2].points(tolerance=1e-4))
        mirrored = LineString([(-x, y) for x, y in net.coords])
        assert net.union(mirrored).distance(Point(fold.start)) == pytest.approx(12.7, abs=0.02)
    else:
        assert fold.start[1] == pytest.approx(expected, abs=1e-6)


def _chord(c: Curve) -> tuple[float, float]:
    return (c.end[0] - c.start[0], c.end[1] - c.start[1])


def test_next_to_a_fold_a_point_beyond_the_limit_is_cut_off_square() -> None:
    sides = [
        line((0.0, 0.0), (30.0, 150.0)),
        line((30.0, 150.0), (0.0, 150.0)),
        line((0.0, 150.0), (0.0, 0.0)),
    ]
    cut = outline_offset([Margin(c, d) for c, d in zip(sides, (12.7, 12.7, 0.0), strict=True)], tolerance=0.02)
    closing = cut[-1]
    assert closing.straight
    # The last curve goes from the fold squarely to the start of the first side's cut line.
    assert closing.start[0] == pytest.approx(0.0, abs=1e-9)
    assert closing.start[1] == pytest.approx(closing.end[1], abs=1e-9)


def flush_outline(top_left: float, bow: float) -> list[Curve]:
    """Left side an S-shaped seam, right side a slanted one, oblique and curved top and hem."""
    left = S_CURVE.reversed()
    right = line((120.0, -10.0), (135.0, 180.0))
    return [
        cubic((0.0, 0.0), (40.0, -20.0), (80.0, -25.0), (120.0, -10.0)),
        right,
        cubic((135.0, 180.0), (95.0, 180.0 + bow), (50.0, 200.0 + bow - top_left), (5.0, 200.0)),
        left,
    ]


@pytest.mark.parametrize("bow", [-25.0, 0.0, 18.0])
@pytest.mark.parametrize("top_left", [-15.0, 0.0, 20.0])
def test_a_flush_end_is_the_mirror_image_of_its_neighbour(top_left: float, bow: float) -> None:
    sides = flush_outline(top_left, bow)
    rules = ("flush_next", "flush", "flush_next", "flush")
    cut = outline_offset([Margin(c, 12.7, r) for c, r in zip(sides, rules, strict=True)], tolerance=0.02)  # type: ignore[arg-type]
    # hem, corner, right, corner, top, corner, left, corner
    assert len(cut) == 8
    for seam, end, neighbour in ((1, 3, 4), (1, 1, 0), (3, 5, 4), (3, 7, 0)):
        net = sides[seam]
        other = LineString(_run_on(cut[neighbour], 1.0).points(tolerance=1e-4))
        reflected = [_over(net, p) for p in samples(cut[end], 20)]
        assert max(other.distance(Point(p)) for p in reflected) < 0.02
        # It spans the whole margin: from the seam's net line to its cut line.
        away = sorted(_run_distance(net, p) for p in (cut[end].start, cut[end].end))
        assert away == pytest.approx([0.0, 12.7], abs=1e-4)


def _run_on(c: Curve, by: float) -> Curve:
    (x0, y0), (tx, ty) = c.start, c.tangent(0.0)
    (x1, y1), (ux, uy) = c.end, c.tangent(c.length)
    return line((x0 - by * tx, y0 - by * ty), (x0, y0)).then(c).then(line((x1, y1), (x1 + by * ux, y1 + by * uy)))


def _over(net: Curve, p: tuple[float, float]) -> tuple[float, float]:
    """`p` carried over the net line, run on straight at both ends: twice the vector to the nearest point."""
    x, y = _nearest(net, p)
    return (2.0 * x - p[0], 2.0 * y - p[1])


def _nearest(net: Curve, p: tuple[float, float]) -> tuple[float, float]:
    longer = _run_on(net, 40.0)
    return longer.point(longer.nearest(p)[0])


def _run_distance(net: Curve, p: tuple[float, float]) -> float:
    return math.dist(p, _nearest(net, p))


@pytest.mark.parametrize("tolerance", TOLERANCES)
def test_away_from_corners_the_cut_line_keeps_its_distance(tolerance: float) -> None:
    sides = flush_outline(20.0, 18.0)
    distances = (12.7, 25.4, 6.35, 12.7)
    rules = ("flush_next", "flush", "flush_next", "flush")
    cut = outline_offset(
        [Margin(c, d, r) for c, d, r in zip(sides, distances, rules, strict=True)],  # type: ignore[arg-type]
        tolerance=tolerance,
    )
    ring = LinearRing(closed_points(cut, tolerance=1e-3))
    for c, d in zip(sides, distances, strict=True):
        for k in range(4, 17):
            s = c.length * k / 20
            (x, y), (tx, ty) = c.point(s), c.tangent(s)
            # Seen square to the net line, outwards, the cut line is met at the distance.
            ray = LineString([(x, y), (x + 40.0 * ty, y - 40.0 * tx)])
            met = ray.intersection(ring)
            first = min(math.dist((x, y), (q.x, q.y)) for q in getattr(met, "geoms", [met]))
            assert first == pytest.approx(d, abs=tolerance + 2e-3)


def test_a_crossing_cut_line_and_an_outline_turned_over_are_refused() -> None:
    clockwise = [c.reversed() for c in reversed(box(80.0, 120.0))]
    with pytest.raises(OffsetError, match=r"inside_out|vanishes"):
        outline_offset([Margin(c, 12.7) for c in clockwise], tolerance=0.02)
    # A slot 10 mm wide closes over when 12.7 mm are added on both its sides.
    points = [(0, 0), (100, 0), (100, 100), (60, 100), (60, 30), (50, 30), (50, 100), (0, 100)]
    slot = [line(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)]
    with pytest.raises(OffsetError):
        outline_offset([Margin(c, 12.7) for c in slot], tolerance=0.02)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_a_bad_distance_is_refused(bad: float) -> None:
    with pytest.raises(OffsetError, match="distances"):
        outline_offset([Margin(c, bad) for c in box(50.0, 50.0)], tolerance=0.02)


def test_a_flush_end_on_a_round_seam_is_the_closed_form() -> None:
    # On a seam that is a circle of radius R, pressing open carries the distance r from its centre to 2 R - r.
    radius = 60.0
    seam = arc_through((0.0, 0.0), radius, -0.9, 0.9)  # up the right side, to (60, 0)
    # It falls away from the corner, so that all its feet lie on the circle and none on the seam run on straight.
    top = line(seam.end, (-20.0, -25.0))
    sides = [line((-20.0, -80.0), seam.start), seam, top, line(top.end, (-20.0, -80.0))]
    rules = ("mitre", "flush", "mitre", "mitre")
    cut = outline_offset(
        [Margin(c, d, r) for c, d, r in zip(sides, (8.0, 12.7, 0.0, 0.0), rules, strict=True)],  # type: ignore[arg-type]
        tolerance=0.02,
    )
    end = next(c for c in cut if math.dist(c.end, seam.end) < 1e-6 and math.dist(c.start, seam.end) > 1.0)

    def image(u: float) -> tuple[float, float]:
        x, y = top.point(u)
        r = math.hypot(x, y)
        return (x * (2.0 * radius - r) / r, y * (2.0 * radius - r) / r)

    ideal = LineString([image(k * 0.01) for k in range(2500)])
    assert max(ideal.distance(Point(p)) for p in samples(end, 40)) < 0.003
    assert math.hypot(*end.start) == pytest.approx(radius + 12.7, abs=1e-3)
    # The tangent too: where it leaves the seam's net line, from the closed form by a small step.
    (x0, y0), (x1, y1) = image(0.0), image(1e-4)
    assert math.remainder(end.heading(end.length) - math.atan2(y0 - y1, x0 - x1), math.tau) == pytest.approx(
        0.0, abs=1e-3
    )
    u = next(k * 0.001 for k in range(25000) if math.hypot(*image(k * 0.001)) > radius + 12.7)
    (x0, y0), (x1, y1) = image(u), image(u + 1e-4)
    assert math.remainder(end.heading(0.0) - math.atan2(y0 - y1, x0 - x1), math.tau) == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("degrees", [50.0, 70.0, 74.6, 80.0, 85.0, 88.0])
def test_a_neighbour_almost_in_line_with_the_seam_is_mitred_before_it_makes_a_spike(degrees: float) -> None:
    # A deep V on an uneven body: a mirror image at 74.6 degrees ran 4 cm up and at some angle was refused altogether.
    slope = math.tan(math.radians(degrees))
    corners = [(0.0, 0.0), (60.0, 0.0), (60.0, 20.0 + 60.0 * slope), (0.0, 20.0)]
    sides = [line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    rules = ("flush_next", "flush", "flush_next", "flush")
    cut = outline_offset([Margin(c, 12.7, r) for c, r in zip(sides, rules, strict=True)], tolerance=0.01)
    ring = LinearRing(closed_points(cut, tolerance=0.01))
    assert ring.is_simple
    tip = max(y for x, y in ring.coords if x < -12.6)
    assert math.dist((-12.7, tip), (0.0, 20.0)) <= 3.0 * 12.7 + 1e-6
    # Pressed open, the seam's margin lies within the neighbour's cut line: nothing shows above the edge.
    above = 12.7 / math.cos(math.radians(degrees))
    folded = [(-x, y) for x, y in ring.coords if -12.7 - 1e-6 <= x <= 0.0 and y > 20.0]
    assert folded
    assert all(y <= 20.0 + x * slope + above + 1e-3 for x, y in folded)


def test_cut_lines_meet_where_a_curve_ends_in_a_handle_without_length() -> None:
    """There a curvature is none; fitted offsets of traced lines end like that now and then, at a turn of a hair."""
    a = cubic((0.0, 0.0), (20.0, 0.0), (40.0, 2.0), (40.0, 2.0))
    tx, ty = a.tangent(a.length)
    # The next curve starts a little before the end, turned by a thousandth: they cross inside both.
    x, y = a.end[0] - 0.02 * tx, a.end[1] - 0.02 * ty - 1e-5
    b = line((x, y), (x + 50.0 * (tx - 1e-3 * ty), y + 50.0 * (ty + 1e-3 * tx)))
    met = meet(a, a.length, b, 0.0)
    assert met is not None
    assert math.dist(a.point(met[0]), b.point(met[1])) < 1e-6


@pytest.mark.parametrize("radius", [3.0, 8.0, 12.0])
@pytest.mark.parametrize("sweep", [0.6, 1.5])
def test_beside_a_bend_that_is_too_tight_the_parallel_has_a_corner_where_its_arms_meet(
    radius: float, sweep: float
) -> None:
    bend = arc_through((0.0, 0.0), radius, 0.0, sweep)
    (x0, y0), (x1, y1), (ux, uy) = bend.start, bend.end, bend.tangent(bend.length)
    whole = line((x0, y0 - 60.0), (x0, y0)).then(bend).then(line((x1, y1), (x1 + 60.0 * ux, y1 + 60.0 * uy)))
    made = parallel(whole, 12.7, tolerance=0.01)
    # The arms' parallels are straight; they meet on the bisector, 12.7 mm from both.
    far = (radius - 12.7) / math.cos(sweep / 2.0)
    corner = (far * math.cos(sweep / 2.0), far * math.sin(sweep / 2.0))
    assert min(math.dist(corner, (s.p3.x, s.p3.y)) for s in made.segments) < 0.01
    net = LineString(whole.points(tolerance=0.001))
    assert min(net.distance(Point(p)) for p in made.points(tolerance=0.01)) > 12.7 - 0.02
    assert LineString(made.points(tolerance=0.01)).is_simple


def test_a_bend_that_is_hardly_too_tight_is_found() -> None:
    """A cubic of 120 mm that comes down to a radius of 12.2 mm over a few mm: between two samples, if they are few."""
    bend = cubic((0.0, 0.0), (60.0, 0.0), (60.0, 0.0), (75.0, 75.0))
    tightest = max(-bend.segments[0].curvature(k / 400) for k in range(401))
    width = 1.002 / tightest
    with pytest.raises(OffsetError, match="folds"):
        offset(bend, width, tolerance=0.01)
    made = parallel(bend, width, tolerance=0.01)
    net = LineString(bend.points(tolerance=0.0005))
    assert min(net.distance(Point(p)) for p in made.points(tolerance=0.01)) > width - 0.02


def test_a_sliver_that_bends_at_the_end_does_not_stop_the_parallel() -> None:
    sliver = cubic((100.0, 0.0), (100.0015, 0.0001), (100.003, 0.0008), (100.004, 0.002))
    made = parallel(line((0.0, 0.0), (100.0, 0.0)).then(sliver), 12.7, tolerance=0.01)
    assert made.end == pytest.approx((99.95, 12.7), abs=0.01)


def test_a_parallel_that_folds_over_more_than_a_bend_is_refused() -> None:
    with pytest.raises(OffsetError, match="folds"):
        parallel(arc_through((0.0, 0.0), 30.0, 0.0, 3.0), 79.0, tolerance=0.01)
