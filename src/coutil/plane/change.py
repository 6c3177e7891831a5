"""Curves changed a little at their ends, and where curves and straight lines cross."""

from __future__ import annotations

import math
from collections.abc import Callable

from kurbopy import CubicBez, Point

from coutil.plane.curve import Curve, Pt

# Steps in which a curve is searched for changes of sign: on an edge of clothes 2 to 6 mm each, so that only changes
# closer together than that, where the edge grazes what it is searched for, could be missed.
SEARCH_STEPS = 48
# Crossings are closed in on until they are this good, in mm: what arc lengths are accurate to.
CLOSE = 1e-7


def crossing(p: Pt, a: float, q: Pt, b: float) -> Pt:
    """Where the line through `p` at heading `a` crosses the one through `q` at heading `b`; far away if parallel."""
    det = math.sin(b - a)
    if abs(det) < 1e-9:
        return (p[0] + 1e9 * math.cos(a), p[1] + 1e9 * math.sin(a))
    t = ((q[0] - p[0]) * math.sin(b) - (q[1] - p[1]) * math.cos(b)) / det
    return (p[0] + t * math.cos(a), p[1] + t * math.sin(a))


def shifted(c: Curve, first: Pt, last: Pt, bow: Pt = (0.0, 0.0)) -> Curve:
    """The curve moved by `first` at its start and by `last` at its end, in between by a blend of the two.

    The blend is linear in the parameter, and `bow` is added in its middle, falling off to both ends as a parabola; so a
    cubic stays a cubic. Each segment's share of the blend is such that tangents which run
    on at a join still do.
    """
    weights = [1.0]
    for a, b in zip(c.segments, c.segments[1:], strict=False):
        out = math.hypot(a.p3.x - a.p2.x, a.p3.y - a.p2.y)
        into = math.hypot(b.p1.x - b.p0.x, b.p1.y - b.p0.y)
        weights.append(weights[-1] * (into / out if out > 0.0 else 1.0))
    whole = sum(weights)
    dx, dy = last[0] - first[0], last[1] - first[1]
    segments = []
    low = 0.0
    for s, w in zip(c.segments, weights, strict=True):
        high = low + w / whole
        moved = []
        for k, q in enumerate((s.p0, s.p1, s.p2, s.p3)):
            share = low + (high - low) * k / 3.0
            # The Bézier ordinates of 4 u (1 - u) between `low` and `high`, from its blossom raised to a cubic's.
            x, y, z = ((low, low, low), (low, low, high), (low, high, high), (high, high, high))[k]
            arch = 4.0 * (x + y + z) / 3.0 - 4.0 * (x * y + y * z + z * x) / 3.0
            moved.append(
                Point(q.x + first[0] + share * dx + arch * bow[0], q.y + first[1] + share * dy + arch * bow[1])
            )
        segments.append(CubicBez(*moved))
        low = high
    return Curve(tuple(segments))


def pinned(c: Curve, start: Pt, end: Pt) -> Curve:
    """The same curve with its ends, right to rounding, set exactly."""
    first, *rest = c.segments
    first = CubicBez(Point(*start), first.p1, first.p2, first.p3)
    segments = [first, *rest]
    final = segments[-1]
    segments[-1] = CubicBez(final.p0, final.p1, final.p2, Point(*end))
    return Curve(tuple(segments))


def crossings(c: Curve, f: Callable[[Pt], float]) -> list[float]:
    """Arc lengths in mm at which `f` of the curve's point changes its sign, from the start on, each within 1e-7 mm.

    Regula falsi with Illinois weights (Dowell and Jarratt 1971, from memory) between neighbours of an even search.
    """
    n = SEARCH_STEPS
    places = [c.length * k / n for k in range(n + 1)]
    values = [f(c.point(s)) for s in places]
    out = []
    for k in range(n):
        a, b, fa, fb = places[k], places[k + 1], values[k], values[k + 1]
        if (fa < 0.0) == (fb < 0.0):
            continue
        for _ in range(60):
            s = (a * fb - b * fa) / (fb - fa)
            fs = f(c.point(s))
            if (fs < 0.0) == (fb < 0.0):
                fa /= 2.0
            else:
                a, fa = b, fb
            b, fb = s, fs
            if abs(fs) < CLOSE or abs(b - a) < CLOSE:
                break
        out.append(b)
    return out
