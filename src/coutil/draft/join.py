"""The one curve the draft draws with: a cubic that leaves one point and arrives at another in given directions."""

from __future__ import annotations

import math

from kurbopy import CubicBez, Point

from coutil.plane import Pt

# Ends may turn this far from the chord, in radians, before the handle stops growing (75 degrees: the handles of an
# S-curve would pass each other soon after). Found by trial.
STEEPEST = math.radians(75.0)


def handle(turn: float) -> float:
    """Handle length as a fraction of the chord for an end that turns by `turn` radians from the chord.

    1/3 / cos^2(turn/2): exactly the handle of a circular arc whose end makes that angle with its chord (from the
    usual 4/3 tan(angle/4) of the radius). By trial it is also within 0.02 of the fraction that minimises the change of
    curvature, the integral of (dk/ds)^2, of an S-curve with ends up to 45 degrees from the chord.
    """
    c = math.cos(min(abs(turn), STEEPEST) / 2.0)
    return 1.0 / (3.0 * c * c)


def join(p0: Pt, p3: Pt, leave: float, arrive: float) -> CubicBez:
    """A cubic from `p0` to `p3` that leaves at angle `leave` and arrives at angle `arrive`.

    Both are directions of travel in radians from the x axis and must lie within 90 degrees of the chord's. If the
    chord's direction lies between them the curve has no inflection, else exactly one.
    """
    (x0, y0), (x3, y3) = p0, p3
    chord = math.atan2(y3 - y0, x3 - x0)
    span = math.hypot(x3 - x0, y3 - y0)
    h0 = span * handle(math.remainder(leave - chord, math.tau))
    h3 = span * handle(math.remainder(arrive - chord, math.tau))
    return CubicBez(
        Point(x0, y0),
        Point(x0 + h0 * math.cos(leave), y0 + h0 * math.sin(leave)),
        Point(x3 - h3 * math.cos(arrive), y3 - h3 * math.sin(arrive)),
        Point(x3, y3),
    )


def climb(p0: Pt, p3: Pt, m0: float, m3: float) -> CubicBez:
    """The same, upwards, with its end directions given as slopes dx/dy. Needs `p3` above `p0`."""
    return join(p0, p3, math.pi / 2 - math.atan(m0), math.pi / 2 - math.atan(m3))
