"""Where a straight ray first meets a run of curves."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

from coutil.plane.curve import Curve, Pt, flattened


def ray_to(start: Pt, direction: Pt, curves: Iterable[Curve], *, tolerance: float, behind: float = 0.0) -> float | None:
    """Distance in mm from `start` along the unit vector `direction` to the first of the curves; None if none is met.

    The curves count as polylines within `tolerance` mm (absolute) of them. What lies up to `behind` mm the other way
    is met at 0: a start on a curve, or just beyond it, lies on it.
    """
    (x, y), (dx, dy) = start, direction
    best = math.inf
    for curve in curves:
        for s in curve.segments:
            # A cubic lies in the hull of its control points: all on one side of the ray's line, and it is not crossed.
            across = [dx * (p.y - y) - dy * (p.x - x) for p in (s.p0, s.p1, s.p2, s.p3)]
            if min(across) > 1e-9 or max(across) < -1e-9:
                continue
            for (ax, ay), (bx, by) in pairwise(flattened((s,), tolerance=tolerance)):
                ex, ey = bx - ax, by - ay
                cross = dx * ey - dy * ex
                if abs(cross) < 1e-12:
                    continue
                rx, ry = ax - x, ay - y
                far, where = (rx * ey - ry * ex) / cross, (rx * dy - ry * dx) / cross
                if -1e-9 <= where <= 1.0 + 1e-9 and far >= -behind:
                    best = min(best, max(far, 0.0))
    return best if best < math.inf else None
