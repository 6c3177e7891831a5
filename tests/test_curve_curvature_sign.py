"""Bug: kurbopy's curvature is positive to the right; Curve promised positive to the left and passed it on unchanged."""

import math

import pytest

from coutil.plane import arc_through


def test_an_anticlockwise_arc_of_radius_10_has_curvature_plus_a_tenth() -> None:
    # Closed form: curvature of a circle is 1 / radius, positive when it turns left. It used to come out as -0.0999860.
    arc = arc_through((0.0, 0.0), 10.0, 0.0, math.pi / 2)
    assert arc.curvature(3.0) == pytest.approx(0.1, rel=1e-3)
    assert arc.reversed().curvature(3.0) == pytest.approx(-0.1, rel=1e-3)
