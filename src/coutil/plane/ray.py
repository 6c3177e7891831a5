"""Where straight rays first meet a run of curves."""

from __future__ import annotations

import math
from collections.abc import Iterable
from math import hypot

from kurbopy import CubicBez

from coutil.plane.curve import Curve, Pt, steps
from coutil.plane.path import controls

# What a product of lengths in mm is blurred by at the most where it should be 0, on garments of a metre or two.
BLUR = 1e-9


def rays_to(
    rays: Iterable[tuple[Pt, Pt]], curves: Iterable[Curve], *, tolerance: float, behind: float = 0.0
) -> list[float | None]:
    """For each ray, a start and a unit vector, the distance in mm to the first of the curves; None if none is met.

    The curves count as polylines within `tolerance` mm (absolute) of them, those of `flattened`. What lies up to
    `behind` mm the other way is met at 0: a start on a curve, or just beyond it, lies on it.
    """
    # Control points are read once for all rays: asking kurbopy for them is what a ray would spend its time on. Each
    # cubic lies in the hull of them, and in the circle round the middle of its chord that reaches to all of them.
    cubics = []
    for curve in curves:
        for s in curve.segments:
            (ax, ay), (bx, by), (cx, cy), (ex, ey) = controls(s)
            mx, my = (ax + ex) / 2.0, (ay + ey) / 2.0
            radius = max(hypot(ex - mx, ey - my), hypot(bx - mx, by - my), hypot(cx - mx, cy - my)) + BLUR
            cubics.append((s, mx, my, radius, ax, ay, bx, by, cx, cy, ex, ey))
    out: list[float | None] = []
    for (x, y), (dx, dy) in rays:
        best = math.inf
        # A place lies dx * its y - dy * its x + off to the left of the ray's line.
        off = dy * x - dx * y
        for s, mx, my, radius, ax, ay, bx, by, cx, cy, ex, ey in cubics:
            if not -radius <= dx * my - dy * mx + off <= radius:
                continue
            ahead = dx * (mx - x) + dy * (my - y)
            if ahead + radius < -behind or ahead - radius > best:
                continue
            left = dx * ay - dy * ax + off, dx * by - dy * bx + off, dx * cy - dy * cx + off, dx * ey - dy * ex + off
            if min(left) > BLUR or max(left) < -BLUR:
                continue
            for far in _met(s, (x, y), (dx, dy), left, tolerance):
                if -behind <= far < best:
                    best = max(far, 0.0)
        out.append(best if best < math.inf else None)
    return out


def _met(
    s: CubicBez, start: Pt, direction: Pt, left: tuple[float, float, float, float], tolerance: float
) -> Iterable[float]:
    """The distances at which the ray's line meets a cubic's polyline. `left`: its control points left of that line."""
    a, b, c, e = left
    n = steps(s, tolerance)
    # Left of the line along the cubic: a polynomial whose sign tells on which side of the crossing a place is.
    k3, k2, k1 = e - 3.0 * c + 3.0 * b - a, 3.0 * (c - 2.0 * b + a), 3.0 * (b - a)
    chords: Iterable[int] = range(n)
    if a < b < c < e or a > b > c > e:
        # It crosses once, as nearly every edge does; which chord it is, is found by halving.
        low, high = 0, n
        while high - low > 1:
            middle = (low + high) // 2
            t = middle / n
            if (((k3 * t + k2) * t + k1) * t + a > 0.0) == (a > 0.0):
                low = middle
            else:
                high = middle
        chords = (low,)
    for k in chords:
        far = _to_chord(s, k / n, (k + 1) / n, start, direction)
        if far is not None:
            yield far


def _to_chord(s: CubicBez, t0: float, t1: float, start: Pt, direction: Pt) -> float | None:
    """The distance to the chord of a cubic between two parameters; None if the ray's line passes beside it."""
    (x, y), (dx, dy) = start, direction
    p, q = s.eval(t0), s.eval(t1)
    ex, ey = q.x - p.x, q.y - p.y
    cross = dx * ey - dy * ex
    if abs(cross) < 1e-12:
        return None
    rx, ry = p.x - x, p.y - y
    where = (rx * dy - ry * dx) / cross
    return (rx * ey - ry * ex) / cross if -1e-9 <= where <= 1.0 + 1e-9 else None
