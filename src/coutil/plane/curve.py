"""A curve in the plane: cubic Béziers joined end to end, measured by arc length.

All curve mathematics is kurbopy's; this file only strings its segments together. x grows to the right, y grows
upwards, lengths are in mm. Seen along the direction of travel, positive offsets and positive curvatures lie to the
left, as in any text on plane curves.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import accumulate

from kurbopy import Affine, CubicBez, Point

Pt = tuple[float, float]

# Absolute error allowed to kurbopy in every arc length, in mm. A thousandth of the finest tolerance that the
# product states (0.05 mm), so that sums over a dozen intervals stay clean; kurbopy's Gauss rules reach it at no cost.
ARC_ACCURACY = 1e-7
# Two segment ends closer than this count as the same point, in mm: far above rounding, far below a pencil line.
JOIN = 1e-6
# Steps of the parameter at which `nearest` looks for a segment's close places before it closes in on them. Between two
# of 16 neighbours a cubic without loops has no second place that is close by more than it bends there.
NEAREST_STEPS = 16
# x becomes -x.
FLIPPED = Affine(-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
# A cut closer than this to a join is made at the join, in mm: the sliver it would leave has no direction to speak of.
SLIVER = 1e-4


@dataclass(frozen=True, slots=True)
class Curve:
    """Cubic Béziers end to end.

    The caller promises that each segment starts where the one before ended and that none has zero length;
    whether tangents run on at the joins is the caller's business (`turns` tells).
    """

    segments: tuple[CubicBez, ...]
    # Arc length from the start to the end of each segment, filled at construction.
    _ends: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.segments:
            raise ValueError("a curve needs at least one segment")
        object.__setattr__(self, "_ends", tuple(accumulate(s.arclen(ARC_ACCURACY) for s in self.segments)))

    @property
    def length(self) -> float:
        """Arc length in mm."""
        return self._ends[-1]

    @property
    def start(self) -> Pt:
        p = self.segments[0].p0
        return (p.x, p.y)

    @property
    def end(self) -> Pt:
        p = self.segments[-1].p3
        return (p.x, p.y)

    def locate(self, s: float) -> tuple[int, float]:
        """Segment number and parameter at arc length `s` from the start; `s` outside the curve is clamped to it."""
        before = 0.0
        last = len(self.segments) - 1
        for i, end in enumerate(self._ends):
            if s <= end or i == last:
                inside = s - before
                if inside <= 0.0:
                    return i, 0.0
                if s >= end:
                    return i, 1.0
                return i, self.segments[i].inv_arclen(inside, ARC_ACCURACY)
            before = end
        raise AssertionError("unreachable: the loop returns on the last segment")

    def point(self, s: float) -> Pt:
        """Point at arc length `s` from the start."""
        i, t = self.locate(s)
        p = self.segments[i].eval(t)
        return (p.x, p.y)

    def tangent(self, s: float) -> Pt:
        """Unit tangent at arc length `s`, in the direction of travel."""
        i, t = self.locate(s)
        return _tangent(self.segments[i], t)

    def at(self, s: float) -> tuple[Pt, Pt]:
        """Point and unit tangent at arc length `s`, for the price of one."""
        i, t = self.locate(s)
        p = self.segments[i].eval(t)
        return (p.x, p.y), _tangent(self.segments[i], t)

    def curvature(self, s: float) -> float:
        """Signed curvature in 1/mm at arc length `s`, positive where the curve turns left."""
        i, t = self.locate(s)
        # kurbopy counts curvature positive to the right of travel when y grows upwards.
        return -self.segments[i].curvature(t)

    def heading(self, s: float) -> float:
        """Direction of the tangent at `s`, in radians, in (-pi, pi]."""
        x, y = self.tangent(s)
        return math.atan2(y, x)

    def part(self, s0: float, s1: float) -> Curve:
        """The stretch from arc length `s0` to `s1`; raises ValueError unless 0 <= s0 < s1 <= length.

        Ends within 1e-4 mm of a join are moved to it.
        """
        if not (-JOIN <= s0 < s1 - SLIVER and s1 <= self.length + JOIN):
            raise ValueError(f"no stretch from {s0:.3f} to {s1:.3f} mm on a curve of {self.length:.3f} mm")
        for end in self._ends:
            s0 = end if abs(s0 - end) < SLIVER else s0
            s1 = end if abs(s1 - end) < SLIVER else s1
        i0, t0 = self.locate(s0)
        i1, t1 = self.locate(s1)
        if t0 >= 1.0 and i0 < i1:
            i0, t0 = i0 + 1, 0.0
        if i0 == i1:
            whole = t0 <= 0.0 and t1 >= 1.0
            return Curve((self.segments[i0] if whole else self.segments[i0].subsegment((t0, t1)),))
        first = self.segments[i0].subsegment((t0, 1.0)) if t0 > 0.0 else self.segments[i0]
        final = self.segments[i1].subsegment((0.0, t1)) if t1 < 1.0 else self.segments[i1]
        return Curve((first, *self.segments[i0 + 1 : i1], final))

    def reversed(self) -> Curve:
        return Curve(tuple(CubicBez(s.p3, s.p2, s.p1, s.p0) for s in reversed(self.segments)))

    def mapped(self, by: Affine) -> Curve:
        return Curve(tuple(by * s for s in self.segments))

    def moved(self, dx: float, dy: float) -> Curve:
        return self.mapped(Affine(1.0, 0.0, 0.0, 1.0, dx, dy))

    def mirrored(self) -> Curve:
        """Reflected in the y axis (x becomes -x); the direction of travel is kept, so left and right change places."""
        return self.mapped(FLIPPED)

    def then(self, other: Curve) -> Curve:
        """This curve followed by `other`; raises ValueError if they do not meet."""
        if math.dist(self.end, other.start) > 1e-4:
            raise ValueError(f"curves do not meet: {self.end} and {other.start}")
        return Curve(self.segments + other.segments)

    def points(self, *, tolerance: float) -> list[Pt]:
        """A polyline within `tolerance` mm (absolute) of the curve, as `flattened` makes it."""
        return flattened(self.segments, tolerance=tolerance)

    def nearest(self, to: Pt) -> tuple[float, float]:
        """Arc length of the point of the curve nearest to `to`, and its distance, both in mm."""
        found: list[tuple[float, int, float]] = []
        for least, i in sorted((_no_nearer(s, to), i) for i, s in enumerate(self.segments)):
            if found and least > min(found)[0]:
                break
            d2, t = _nearest(self.segments[i], to)
            found.append((d2, i, t))
        d2, i, t = min(found)
        before = self._ends[i - 1] if i else 0.0
        inside = self.segments[i].subsegment((0.0, t)).arclen(ARC_ACCURACY) if t > 0.0 else 0.0
        return before + inside, math.sqrt(d2)

    def turns(self) -> list[float]:
        """Angle in radians by which the tangent jumps at each inner join, positive to the left."""
        out = []
        for a, b in zip(self.segments, self.segments[1:], strict=False):
            ax, ay = _tangent(a, 1.0)
            bx, by = _tangent(b, 0.0)
            out.append(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
        return out

    @property
    def straight(self) -> bool:
        """Whether the curve is one straight line, to a micrometre."""
        (x0, y0), (x1, y1) = self.start, self.end
        chord = math.hypot(x1 - x0, y1 - y0)
        return self.length - chord < 1e-9 * max(1.0, chord)


def line(a: Pt, b: Pt) -> Curve:
    """The straight line from `a` to `b`, as a cubic with even spacing."""
    (ax, ay), (bx, by) = a, b
    third = ((bx - ax) / 3.0, (by - ay) / 3.0)
    return Curve(
        (
            CubicBez(
                Point(ax, ay),
                Point(ax + third[0], ay + third[1]),
                Point(bx - third[0], by - third[1]),
                Point(bx, by),
            ),
        )
    )


def cubic(p0: Pt, p1: Pt, p2: Pt, p3: Pt) -> Curve:
    """One cubic Bézier from its four control points."""
    return Curve((CubicBez(Point(*p0), Point(*p1), Point(*p2), Point(*p3)),))


def flattened(segments: Iterable[CubicBez], *, tolerance: float) -> list[Pt]:
    """A polyline within `tolerance` mm (absolute) of cubics end to end, both ends included, every point on a cubic.

    Evenly spaced parameters, `steps` tells how many. This is the only place where curves become polylines: kurbopy's
    own `flatten` gives points near a curve, not on it.
    """
    out: list[Pt] = []
    for s in segments:
        if not out:
            p = s.p0
            out.append((p.x, p.y))
        n = steps(s, tolerance)
        for k in range(1, n):
            p = s.eval(k / n)
            out.append((p.x, p.y))
        p = s.p3
        out.append((p.x, p.y))
    return out


def steps(s: CubicBez, tolerance: float) -> int:
    """In how many equal steps of its parameter a cubic is cut to stay within `tolerance` mm (absolute) of its chords.

    By the bound on the second differences of the control points (G. Wang 1984; Goldman, Pyramid Algorithms, 2002, on
    the flatness of a Bézier): cut in n it stays within 6/8 max|second difference| / n^2. A straight line is one step.
    """
    p0, p1, p2, p3 = s.p0, s.p1, s.p2, s.p3
    x1, y1, x2, y2 = p1.x, p1.y, p2.x, p2.y
    d1 = math.hypot(p0.x - 2 * x1 + x2, p0.y - 2 * y1 + y2)
    d2 = math.hypot(x1 - 2 * x2 + p3.x, y1 - 2 * y2 + p3.y)
    return max(1, math.ceil(math.sqrt(0.75 * max(d1, d2) / tolerance)))


def arc_through(centre: Pt, radius: float, start: float, sweep: float) -> Curve:
    """A circular arc from angle `start` through `sweep` radians (positive anticlockwise), within 1e-4 of the radius.

    Each piece spans at most 45 degrees, where the standard handle 4/3 tan(angle/4) leaves a radial error below 5e-6
    of the radius.
    """
    n = max(1, math.ceil(abs(sweep) / (math.pi / 4)))
    step = sweep / n
    handle = 4.0 / 3.0 * math.tan(step / 4.0) * radius
    segments = []
    for k in range(n):
        a, b = start + k * step, start + (k + 1) * step
        ca, sa, cb, sb = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
        x, y = centre
        segments.append(
            CubicBez(
                Point(x + radius * ca, y + radius * sa),
                Point(x + radius * ca - handle * sa, y + radius * sa + handle * ca),
                Point(x + radius * cb + handle * sb, y + radius * sb - handle * cb),
                Point(x + radius * cb, y + radius * sb),
            )
        )
    return Curve(tuple(segments))


def closed_points(curves: Iterable[Curve], *, tolerance: float) -> list[Pt]:
    """The polyline of a closed run of curves, first point not repeated; joins closer than 1e-6 mm are merged."""
    out: list[Pt] = []
    for c in curves:
        pts = c.points(tolerance=tolerance)
        if out and math.dist(out[-1], pts[0]) < JOIN:
            pts = pts[1:]
        out.extend(pts)
    if len(out) > 1 and math.dist(out[0], out[-1]) < JOIN:
        out.pop()
    return out


def _no_nearer(s: CubicBez, to: Pt) -> float:
    """What the squared distance from `to` to a segment is not below: that to the box round its control points."""
    p0, p1, p2, p3 = s.p0, s.p1, s.p2, s.p3
    xs, ys = (p0.x, p1.x, p2.x, p3.x), (p0.y, p1.y, p2.y, p3.y)
    dx = max(min(xs) - to[0], 0.0, to[0] - max(xs))
    dy = max(min(ys) - to[1], 0.0, to[1] - max(ys))
    return dx * dx + dy * dy


def _nearest(s: CubicBez, to: Pt) -> tuple[float, float]:
    """Square of the distance from `to` to the nearest point of a segment, and that point's parameter.

    Newton's method on the derivative of the squared distance, held in its bracket by bisection, from every local
    minimum among evenly spaced parameters. kurbopy's own `nearest` (0.13) is not used: it cuts the cubic into
    quadratics and on those that are nearly straight divides rounding by rounding, off by up to the whole line.
    """
    p0, p1, p2, p3 = s.p0, s.p1, s.p2, s.p3
    # The segment less `to`, as a polynomial: ((a t + b) t + c) t + d.
    ax, ay = p3.x - 3 * p2.x + 3 * p1.x - p0.x, p3.y - 3 * p2.y + 3 * p1.y - p0.y
    bx, by = 3 * (p2.x - 2 * p1.x + p0.x), 3 * (p2.y - 2 * p1.y + p0.y)
    cx, cy = 3 * (p1.x - p0.x), 3 * (p1.y - p0.y)
    dx, dy = p0.x - to[0], p0.y - to[1]

    def square(t: float) -> float:
        x, y = ((ax * t + bx) * t + cx) * t + dx, ((ay * t + by) * t + cy) * t + dy
        return x * x + y * y

    n = NEAREST_STEPS
    seen = [square(k / n) for k in range(n + 1)]
    best = min((seen[0], 0.0), (seen[n], 1.0))
    for k in range(n + 1):
        if (k > 0 and seen[k - 1] < seen[k]) or (k < n and seen[k + 1] < seen[k]):
            continue
        low, high, t = max(k - 1, 0) / n, min(k + 1, n) / n, k / n
        for _ in range(60):
            x, y = ((ax * t + bx) * t + cx) * t + dx, ((ay * t + by) * t + cy) * t + dy
            vx, vy = (3 * ax * t + 2 * bx) * t + cx, (3 * ay * t + 2 * by) * t + cy
            slope = x * vx + y * vy
            if slope > 0.0:
                high = t
            else:
                low = t
            bend = vx * vx + vy * vy + x * (6 * ax * t + 2 * bx) + y * (6 * ay * t + 2 * by)
            step = t - slope / bend if bend > 0.0 else low
            t, before = (step if low < step < high else (low + high) / 2.0), t
            if abs(t - before) < 1e-14:
                break
        best = min(best, (square(t), t))
    return best


def _tangent(s: CubicBez, t: float) -> Pt:
    p = s.deriv().eval(t)
    n = math.hypot(p.x, p.y)
    if n < 1e-12:
        # A control point on its end: the direction is that of the next control point that differs.
        ends = (s.p0, s.p1, s.p2, s.p3) if t < 0.5 else (s.p3, s.p2, s.p1, s.p0)
        for q in ends[1:]:
            dx, dy = q.x - ends[0].x, q.y - ends[0].y
            n = math.hypot(dx, dy)
            if n > 1e-12:
                sign = 1.0 if t < 0.5 else -1.0
                return (sign * dx / n, sign * dy / n)
        raise ValueError("a segment of zero length has no direction")
    return (p.x / n, p.y / n)
