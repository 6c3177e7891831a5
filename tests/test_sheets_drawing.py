"""The display list: bounds, moving, mirroring."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from coutil.plane import arc_through, cubic, line
from coutil.sheets.drawing import (
    PENS,
    Drawing,
    Line,
    Shape,
    Text,
    cubics,
    flatten,
    is_straight,
    path_bounds,
    point_on,
    polyline,
    straight,
)


def test_bounds_of_a_circle_are_its_diameter() -> None:
    path = cubics([arc_through((3.0, -4.0), 25.0, 0.7, 2 * math.pi)])
    # arc_through promises the radius to 1e-4 of it.
    assert path_bounds(path) == pytest.approx((-22.0, -29.0, 28.0, 21.0), abs=25e-4)


def test_bounds_hold_every_point_and_touch_the_curve() -> None:
    rng = np.random.default_rng(5)
    for _ in range(200):
        c = tuple(float(v) for v in rng.uniform(-50, 50, 8))
        x0, y0, x1, y1 = path_bounds([c])  # type: ignore[list-item]
        pts = np.array([point_on(c, t) for t in np.linspace(0, 1, 2001)])  # type: ignore[arg-type]
        # Sampling 2000 steps misses a turning point by less than (100 / 2000)^2 times a small factor.
        assert (x0, y0) == pytest.approx(pts.min(axis=0), abs=1e-3)
        assert (x1, y1) == pytest.approx(pts.max(axis=0), abs=1e-3)


@pytest.mark.parametrize("tolerance", [1.0, 0.1, 0.01, 0.001])
def test_flattening_keeps_its_tolerance(tolerance: float) -> None:
    curve = cubic((0, 0), (80, 120), (-40, 90), (60, 10))
    pts = flatten(cubics([curve]), tolerance=tolerance)
    for a, b in pairwise(pts):
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        assert curve.nearest(middle)[1] <= tolerance


def test_what_is_straight() -> None:
    assert is_straight(straight((1.0, 2.0), (30.0, -7.0)))
    assert is_straight(cubics([line((0.0, 0.0), (1e-3, 0.0))])[0])
    assert not is_straight((0, 0, 10, 0.01, 20, 0, 30, 0))
    # A handle that runs out past the end makes the line turn back on itself: not a plain stroke.
    assert not is_straight((0, 0, 40, 0, 20, 0, 30, 0))


def test_moving_and_mirroring_are_undone_by_their_opposites() -> None:
    d = Drawing(
        "a",
        (Line(cubics([cubic((0, 0), (5, 9), (7, 1), (10, 4))]), "cut"),),
        (Shape(polyline([(0, 0), (1, 0), (0, 1), (0, 0)])),),
        (Text("word", (3.0, 4.0), 3.0, 8.0, "start", 90.0),),
        (Drawing("part", (Line(polyline([(2, 2), (5, 5)]), "net"),)),),
    )
    assert d.mirrored().mirrored() == d
    assert d.moved(16.0, -8.0).moved(-16.0, 8.0).bounds() == pytest.approx(d.bounds())
    x0, y0, x1, y1 = d.bounds()
    assert d.mirrored().bounds() == pytest.approx((-x1, y0, -x0, y1))
    assert d.moved(1.0, 2.0).bounds() == pytest.approx((x0 + 1, y0 + 2, x1 + 1, y1 + 2))


def test_a_mirrored_text_covers_the_mirrored_ground() -> None:
    for anchor in ("start", "middle", "end"):
        d = Drawing("a", texts=(Text("word", (3.0, 4.0), 3.0, 8.0, anchor),))  # type: ignore[arg-type]
        x0, y0, x1, y1 = d.bounds()
        assert d.mirrored().bounds() == pytest.approx((-x1, y0, -x0, y1))


def test_a_line_is_as_wide_as_its_pen() -> None:
    d = Drawing("a", (Line(polyline([(0, 0), (10, 0)]), "cut"),))
    assert d.bounds()[3] - d.bounds()[1] == pytest.approx(PENS["cut"].width)


def test_an_empty_drawing_has_no_bounds() -> None:
    with pytest.raises(ValueError, match="nothing is drawn"):
        Drawing("empty").bounds()


def test_lines_side_by_side_differ_in_width_or_dash() -> None:
    # Told apart without colour: no two kinds look alike.
    looks = [(p.width, p.dash) for p in PENS.values()]
    alike = {k for k in looks if looks.count(k) > 1}
    # Levels and leaders are both hairlines: a leader ends in a dot, a level bears its name. Panels have no notches.
    assert alike == {(PENS["level"].width, ()), (PENS["panel"].width, ())}
    assert len({PENS[s].dash for s in ("cut", "net", "placement", "fold")}) == 4
