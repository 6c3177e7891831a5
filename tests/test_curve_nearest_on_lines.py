"""Bug: on straight and nearly straight lines kurbopy's `nearest`, behind Curve's, was off by up to the whole line."""

import math
import random

import numpy as np
import pytest

from coutil.plane import Curve, cubic, line


def test_the_foot_on_the_line_where_it_showed() -> None:
    # From (138.148, 219.876) the foot on this line is at 17.15 mm; it used to come out as 16.25 (13/32 of the line).
    s, d = line((135.0, 180.0), (138.14809941680042, 219.87592594613875)).nearest((151.0, 196.0))
    assert s == pytest.approx((16.0 * 15.0 + 16.0 * 190.0) / math.hypot(15.0, 190.0), abs=1e-6)
    assert d == pytest.approx((16.0 * 190.0 - 16.0 * 15.0) / math.hypot(15.0, 190.0), abs=1e-6)


@pytest.mark.parametrize("bow", [0.0, 1e-12, 1e-9, 1e-7, 1e-5, 1e-3])
def test_nearest_on_straight_and_nearly_straight_lines(bow: float) -> None:
    # Closed form: the foot of the perpendicular on the chord, cut to its ends.
    rng = random.Random(20)
    for _ in range(500):
        ax, ay, bx, by, px, py = (rng.uniform(-250.0, 250.0) for _ in range(6))
        dx, dy = bx - ax, by - ay
        length = math.hypot(dx, dy)
        nx, ny = -dy / length * bow, dx / length * bow
        c = cubic(
            (ax, ay), (ax + dx / 3 + nx, ay + dy / 3 + ny), (ax + 2 * dx / 3 - nx, ay + 2 * dy / 3 - ny), (bx, by)
        )
        s, d = c.nearest((px, py))
        foot = min(max(((px - ax) * dx + (py - ay) * dy) / length, 0.0), length)
        assert d == pytest.approx(
            math.dist((px, py), (ax + foot * dx / length, ay + foot * dy / length)), abs=1e-5 + bow
        )
        # The bow turns the normal by up to 3 bow / length, and the foot by that times the distance.
        assert s == pytest.approx(foot, abs=1e-5 + bow + 10.0 * d * bow / length)


def test_nearest_is_the_least_distance_on_bent_segments() -> None:
    # Against the least of 20,000 points walked along the segment.
    rng = random.Random(21)
    for _ in range(60):
        points = [(rng.uniform(-100.0, 100.0), rng.uniform(-100.0, 100.0)) for _ in range(4)]
        c = cubic(*points)
        p = (rng.uniform(-150.0, 150.0), rng.uniform(-150.0, 150.0))
        t = np.linspace(0.0, 1.0, 20001)[:, None]
        q = np.array(points)
        walked = (1 - t) ** 3 * q[0] + 3 * t * (1 - t) ** 2 * q[1] + 3 * t * t * (1 - t) * q[2] + t**3 * q[3]
        least = float(np.hypot(*(walked - p).T).min())
        s, d = c.nearest(p)
        assert least - 1e-3 <= d <= least + 1e-9
        assert math.dist(c.point(s), p) == pytest.approx(d, abs=1e-5)


def test_nearest_is_that_of_the_nearest_segment() -> None:
    # A winding line of 8 segments, whose boxes lie over each other; held against each of them alone.
    rng = random.Random(22)
    for _ in range(40):
        corners = [(rng.uniform(-100.0, 100.0), rng.uniform(-100.0, 100.0)) for _ in range(25)]
        segments = [cubic(*corners[k : k + 4]).segments[0] for k in range(0, 24, 3)]
        whole, alone = Curve(tuple(segments)), [Curve((s,)) for s in segments]
        for _ in range(10):
            p = (rng.uniform(-150.0, 150.0), rng.uniform(-150.0, 150.0))
            found = [c.nearest(p) for c in alone]
            k = min(range(8), key=lambda i: found[i][1])
            s, d = whole.nearest(p)
            assert d == pytest.approx(found[k][1], abs=1e-12)
            assert s == pytest.approx(sum(c.length for c in alone[:k]) + found[k][0], abs=1e-6)
