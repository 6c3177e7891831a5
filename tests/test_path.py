"""Paths of cubics: the one flattening and its bound, boxes, areas, affine maps, what counts as straight."""

from __future__ import annotations

import math

import numpy as np
import pytest
from kurbopy import Affine

from coutil.plane import (
    Path,
    arc_through,
    bend_bound,
    bezier,
    controls,
    cubic,
    flattened,
    is_straight,
    line,
    straight,
    turned_round,
    union,
)

CIRCLE = Path.of([arc_through((3.0, -4.0), 25.0, 0.7, 2 * math.pi)], closed=True)


def gentle_cubics(seed: int, count: int):
    """Control points like those of edges: a chord of 20 to 200 mm, the inner two up to a fifth of it beside it."""
    rng = np.random.default_rng(seed)
    for size, *bows in rng.uniform((20, -0.2, -0.2), (200, 0.2, 0.2), (count, 3)).tolist():
        yield (0.0, 0.0), (size / 3, bows[0] * size), (2 * size / 3, bows[1] * size), (size, 0.0)


def bernstein(points, t: float) -> tuple[float, float]:
    """A cubic's point from its definition, to hold against what kurbopy says."""
    w = ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3)
    return tuple(sum(k * p[i] for k, p in zip(w, points, strict=True)) for i in (0, 1))  # type: ignore[return-value]


def random_cubics(seed: int, many: int):
    rng = np.random.default_rng(seed)
    return [[tuple(map(float, p)) for p in rng.uniform(-50, 50, (4, 2))] for _ in range(many)]


@pytest.mark.parametrize("tolerance", [1.0, 0.1, 0.01, 0.001])
def test_flattening_keeps_its_bound_everywhere(tolerance: float) -> None:
    """Every point of the cubic lies within the tolerance of the polyline, whose points lie on the cubic."""
    from shapely import LineString, distance, points

    for control in random_cubics(3, 40):
        made = flattened([bezier(*control)], tolerance=tolerance)
        n = len(made) - 1
        for k, p in enumerate(made):
            assert p == pytest.approx(bernstein(control, k / n), abs=1e-9)
        looked_at = points([bernstein(control, k / 997) for k in range(998)])
        assert distance(LineString(made), looked_at).max() <= tolerance * (1 + 1e-9)


def test_the_bound_is_not_wasteful() -> None:
    """On a circle's arc a chord of n steps strays by about r (angle/n)^2 / 8; no more than twice its steps are made."""
    arc = arc_through((0.0, 0.0), 100.0, 0.0, math.pi / 4)
    for tolerance in (1.0, 0.1, 0.01, 0.001):
        needed = math.ceil(math.pi / 4 / math.sqrt(8 * tolerance / 100.0))
        assert needed <= len(arc.points(tolerance=tolerance)) - 1 <= 2 * needed + 1


def test_a_path_and_its_curves_are_flattened_alike_and_lines_in_one_step() -> None:
    curves = [cubic((0, 0), (80, 120), (-40, 90), (60, 10)), line((60, 10), (200, 30))]
    path = Path.of(curves)
    both = [*curves[0].points(tolerance=0.05), *curves[1].points(tolerance=0.05)[1:]]
    assert path.points(tolerance=0.05) == both
    assert curves[1].points(tolerance=1e-4) == [(60, 10), (200, 30)]


def test_bounds_of_a_circle_are_its_diameter() -> None:
    # arc_through promises the radius to 5e-6 of it.
    assert CIRCLE.bounds() == pytest.approx((-22.0, -29.0, 28.0, 21.0), abs=2e-4)
    assert CIRCLE.area() == pytest.approx(math.pi * 625.0, rel=1e-5)
    assert CIRCLE.reversed().area() == pytest.approx(-CIRCLE.area())


def test_bounds_hold_every_point_and_touch_the_curve() -> None:
    for control in random_cubics(5, 200):
        path = Path((bezier(*control),))
        x0, y0, x1, y1 = path.bounds()
        pts = np.array([bernstein(control, t) for t in np.linspace(0, 1, 2001)])
        # Sampling 2000 steps misses a turning point by less than (100 / 2000)^2 times a small factor.
        assert (x0, y0) == pytest.approx(pts.min(axis=0), abs=1e-3)
        assert (x1, y1) == pytest.approx(pts.max(axis=0), abs=1e-3)
        hull = path.hull()
        assert hull[0] <= x0 <= x1 <= hull[2]
        assert hull[1] <= y0 <= y1 <= hull[3]


def test_bounds_of_nearly_straight_cubics() -> None:
    """Where a coordinate's derivative is all rounding the box must still be that of the ends."""
    rng = np.random.default_rng(8)
    for ax, ay, bx, by in rng.uniform(-300, 300, (500, 4)).tolist():
        box = (min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))
        assert Path.through([(ax, ay), (bx, by)]).bounds() == pytest.approx(box, abs=1e-9)


def test_what_is_straight() -> None:
    assert is_straight(straight((1.0, 2.0), (30.0, -7.0)))
    assert is_straight(line((0.0, 0.0), (1e-3, 0.0)).segments[0])
    assert not is_straight(bezier((0, 0), (10, 0.01), (20, 0), (30, 0)))
    # A handle that runs out past the end makes the line turn back on itself: not a plain stroke.
    assert not is_straight(bezier((0, 0), (40, 0), (20, 0), (30, 0)))


def test_no_curvature_exceeds_its_bound() -> None:
    told = 0
    for control in [*random_cubics(31, 400), *gentle_cubics(32, 400)]:
        s = bezier(*control)
        most = max(abs(s.curvature(float(t))) for t in np.linspace(0.0, 1.0, 501))
        bound = bend_bound(s)
        assert most <= bound * (1.0 + 1e-9)
        told += bound < math.inf
    assert told > 400


@pytest.mark.parametrize("radius", [8.0, 71.4, 900.0])
def test_the_bound_of_an_arc_is_near_its_curvature(radius: float) -> None:
    for s in arc_through((3.0, -4.0), radius, 0.7, 2 * math.pi).segments:
        assert 1.0 / radius <= bend_bound(s) * (1.0 + 2e-3)
        assert bend_bound(s) < 1.5 / radius


def test_of_a_straight_line_the_bound_is_nothing_and_of_one_that_turns_back_nothing_is_known() -> None:
    assert bend_bound(straight((1.0, 2.0), (30.0, -7.0))) == pytest.approx(0.0, abs=1e-12)
    assert bend_bound(bezier((0, 0), (40, 0), (20, 0), (30, 0))) == math.inf
    assert bend_bound(bezier((0, 0), (0, 0), (20, 5), (30, 0))) == math.inf
    assert bend_bound(bezier((1, 1), (9, 1), (9, 5), (1, 1))) == math.inf


def test_maps_move_every_control_point() -> None:
    by = Affine(0.5, 2.0, -1.0, 0.25, 7.0, -3.0)
    for control in random_cubics(9, 20):
        (mapped,) = Path((bezier(*control),)).mapped(by).segments
        for (x, y), got in zip(control, controls(mapped), strict=True):
            assert got == pytest.approx((0.5 * x - y + 7.0, 2.0 * x + 0.25 * y - 3.0))
    x0, y0, x1, y1 = CIRCLE.bounds()
    assert CIRCLE.moved(1.5, -2.0).bounds() == pytest.approx((x0 + 1.5, y0 - 2.0, x1 + 1.5, y1 - 2.0))
    assert CIRCLE.mirrored().mirrored() == CIRCLE
    assert CIRCLE.mirrored().area() == pytest.approx(-CIRCLE.area())


def test_paths_are_equal_by_their_points_and_by_being_closed() -> None:
    square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 0.0)]
    assert Path.through(square) == Path.through(square)
    assert hash(Path.through(square)) == hash(Path.through(square))
    assert Path.through(square) != Path.through(square, closed=True)
    assert Path.through(square) != Path.through(square).moved(1e-9, 0.0)
    assert Path.through(square).reversed() == Path.through(square[::-1])
    assert (Path.through(square).start, Path.through(square).end) == ((0.0, 0.0), (0.0, 0.0))
    s = bezier((0, 0), (1, 2), (3, 4), (5, 0))
    assert controls(turned_round(s)) == controls(s)[::-1]


def test_boxes_of_nothing_are_refused() -> None:
    assert union([(0, 0, 1, 1), (-1, 2, 0, 3)]) == (-1, 0, 1, 3)
    with pytest.raises(ValueError, match="not enough values"):
        Path(()).bounds()
