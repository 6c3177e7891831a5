"""Curves against scipy quadrature, closed forms of circle and ellipse, and shapely."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from kurbopy import CubicBez, Point
from scipy.integrate import quad
from scipy.special import ellipe
from shapely import LineString
from shapely import Point as ShapelyPoint

from coutil.plane import Curve, arc_through, closed_points, cubic, line

coordinate = st.floats(-300, 300)
corner = st.tuples(coordinate, coordinate)


def spread(points):
    """Control points that make an honest curve: none on top of the next."""
    return all(math.dist(a, b) > 5.0 for a, b in pairwise(points))


def stepped(start, heading, legs, turns):
    """A cubic by the legs of its control polygon and how far each turns from the one before."""
    points = [start]
    for leg, turn in zip(legs, (0.0, *turns), strict=True):
        heading += turn
        x, y = points[-1]
        points.append((x + leg * math.cos(heading), y + leg * math.sin(heading)))
    return cubic(*points)


leg = st.floats(5, 200)
turn = st.floats(-1.4, 1.4)
# Handles that nowhere double back: near a cusp the nearest point is ill defined.
without_cusp = st.builds(stepped, corner, st.floats(-3, 3), st.tuples(leg, leg, leg), st.tuples(turn, turn))
cubics = st.lists(corner, min_size=4, max_size=4).filter(spread).map(lambda p: cubic(*p))


def speed(segment: CubicBez, t: float) -> float:
    d = segment.deriv().eval(t)
    return math.hypot(d.x, d.y)


class TestLength:
    @given(cubics)
    def test_arc_length_is_the_integral_of_speed(self, curve):
        # Source: any calculus text; the integral by scipy.integrate.quad (QUADPACK).
        (segment,) = curve.segments
        expected, _ = quad(lambda t: speed(segment, t), 0, 1, limit=400, epsabs=1e-10)
        assert curve.length == pytest.approx(expected, abs=1e-4)

    @pytest.mark.parametrize("radius", [0.5, 8.0, 71.4, 900.0])
    @pytest.mark.parametrize("sweep", [0.1, 1.0, math.pi, -2 * math.pi])
    def test_circle(self, radius, sweep):
        arc = arc_through((3.0, -2.0), radius, 0.4, sweep)
        assert arc.length == pytest.approx(radius * abs(sweep), rel=1e-5)
        for s in np.linspace(0, arc.length, 17):
            assert math.dist(arc.point(s), (3.0, -2.0)) == pytest.approx(radius, rel=1e-5)
            # The second derivative of a 45 degree cubic piece is off by up to 0.15 % at its ends (worked out from the
            # handle formula), though its radius is true to 5e-6.
            assert arc.curvature(s) == pytest.approx(math.copysign(1 / radius, sweep), rel=1.6e-3)

    def test_ellipse_quarter_against_the_complete_elliptic_integral(self):
        # Source: the perimeter of an ellipse is 4 a E(1 - b^2/a^2), DLMF 19.9(i); E from scipy.special.ellipe.
        a, b = 120.0, 70.0
        circle = arc_through((0.0, 0.0), 1.0, 0.0, math.pi / 2)
        scaled = Curve(
            tuple(CubicBez(*(Point(a * p.x, b * p.y) for p in (s.p0, s.p1, s.p2, s.p3))) for s in circle.segments)
        )
        assert scaled.length == pytest.approx(a * ellipe(1 - b * b / (a * a)), rel=1e-5)

    def test_a_line_is_as_long_as_pythagoras_says(self):
        assert line((0, 0), (3, 4)).length == pytest.approx(5.0, abs=1e-12)
        assert line((0, 0), (3, 4)).straight
        assert not cubic((0, 0), (1, 1), (2, 1), (3, 0)).straight


class TestAlong:
    @given(cubics, st.floats(0.05, 0.95))
    def test_a_part_measures_what_was_cut(self, curve, share):
        s = share * curve.length
        assert curve.part(0.0, s).length == pytest.approx(s, abs=1e-3)
        assert math.dist(curve.part(0.0, s).end, curve.part(s, curve.length).start) < 1e-6

    @given(cubics)
    def test_reversing_keeps_the_place_and_turns_the_direction(self, curve):
        back, s = curve.reversed(), 0.3 * curve.length
        assert math.dist(back.point(curve.length - s), curve.point(s)) < 1e-3
        assert back.length == pytest.approx(curve.length, abs=1e-9)

    def test_a_cut_at_a_join_leaves_no_sliver(self):
        two = line((0, 0), (10, 0)).then(cubic((10, 0), (15, 0), (20, 5), (20, 10)))
        for s in (10.0 - 3e-5, 10.0, 10.0 + 3e-5):
            assert len(two.part(0.0, s).segments) == 1
            assert len(two.part(s, two.length).segments) == 1

    @pytest.mark.parametrize(("s0", "s1"), [(-1, 3), (2, 2), (3, 2), (0, 99)])
    def test_no_part_outside(self, s0, s1):
        with pytest.raises(ValueError, match="no stretch"):
            line((0, 0), (10, 0)).part(s0, s1)

    def test_curves_that_do_not_meet_are_not_joined(self):
        with pytest.raises(ValueError, match="do not meet"):
            line((0, 0), (1, 0)).then(line((1, 1), (2, 2)))

    def test_a_curve_needs_a_segment(self):
        with pytest.raises(ValueError, match="at least one"):
            Curve(())

    def test_a_handle_on_its_end_still_has_a_direction(self):
        c = cubic((0, 0), (0, 0), (10, 0), (10, 0))
        assert c.tangent(0.0) == pytest.approx((1.0, 0.0))
        assert c.tangent(c.length) == pytest.approx((1.0, 0.0))


@given(cubics, st.floats(0.0, 1.0))
def test_point_and_tangent_at_once_are_those_asked_for_alone(curve, part):
    s = part * curve.length
    assert curve.at(s) == (curve.point(s), curve.tangent(s))


class TestPolyline:
    @pytest.mark.parametrize("tolerance", [1.0, 0.1, 0.02, 0.005])
    @given(curve=cubics)
    def test_stays_within_its_tolerance(self, curve, tolerance):
        chain = LineString(curve.points(tolerance=tolerance))
        (segment,) = curve.segments
        for t in np.linspace(0, 1, 101):
            p = segment.eval(float(t))
            assert chain.distance(ShapelyPoint(p.x, p.y)) <= tolerance * 1.0001

    @given(without_cusp)
    def test_every_point_lies_on_the_curve(self, curve):
        for p in curve.points(tolerance=0.05):
            assert curve.nearest(p)[1] < 1e-3

    def test_a_straight_line_needs_two_points(self):
        assert line((0, 0), (100, 7)).points(tolerance=0.02) == [(0, 0), (100, 7)]

    def test_a_closed_run_does_not_repeat_its_first_point(self):
        square = [line((0, 0), (1, 0)), line((1, 0), (1, 1)), line((1, 1), (0, 1)), line((0, 1), (0, 0))]
        assert closed_points(square, tolerance=0.1) == [(0, 0), (1, 0), (1, 1), (0, 1)]


def test_turns_tell_a_corner_and_its_side():
    bent = line((0, 0), (10, 0)).then(line((10, 0), (10, 5)))
    assert bent.turns() == pytest.approx([math.pi / 2])
    assert bent.mirrored().turns() == pytest.approx([-math.pi / 2])
    assert bent.moved(3, 4).start == (3, 4)
