"""A run of cubic Béziers that is drawn or read as one line, open or closed, and what is asked of single cubics.

A `Curve` measures by arc length and is what drafts are made of; a `Path` only lies there, so that it is moved and drawn
without being measured again. Both hold kurbopy's cubics, and maps are kurbopy's affine maps. Lengths in mm.
"""

from __future__ import annotations

import copyreg
import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from kurbopy import Affine, CubicBez, Point

from coutil.plane.curve import FLIPPED, Curve, Pt, flattened

# (left, bottom, right, top)
Box = tuple[float, float, float, float]

# A control point nearer to the chord than this makes no visible bend, in mm: a thousandth of the thinnest line.
FLAT = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Cubics end to end. `closed` joins the last end to the first start. Equal where all control points are."""

    segments: tuple[CubicBez, ...]
    closed: bool = False

    @classmethod
    def of(cls, curves: Iterable[Curve], *, closed: bool = False) -> Path:
        """The segments of a run of curves."""
        return cls(tuple(s for c in curves for s in c.segments), closed)

    @classmethod
    def through(cls, points: Iterable[Pt], *, closed: bool = False) -> Path:
        """Straight cubics through points, in order; where it is to be closed the first point ends it too."""
        return cls(tuple(straight(a, b) for a, b in pairwise(points)), closed)

    @property
    def start(self) -> Pt:
        p = self.segments[0].p0
        return (p.x, p.y)

    @property
    def end(self) -> Pt:
        p = self.segments[-1].p3
        return (p.x, p.y)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Path) and self._key() == other._key()

    def __hash__(self) -> int:
        return hash(self._key())

    def _key(self) -> tuple[bool, tuple[tuple[Pt, Pt, Pt, Pt], ...]]:
        return self.closed, tuple(map(controls, self.segments))

    def mapped(self, by: Affine) -> Path:
        return Path(tuple(by * s for s in self.segments), self.closed)

    def moved(self, dx: float, dy: float) -> Path:
        return self.mapped(Affine(1.0, 0.0, 0.0, 1.0, dx, dy))

    def mirrored(self) -> Path:
        """Reflected in the y axis (x becomes -x); the direction of travel is kept, so left and right change places."""
        return self.mapped(FLIPPED)

    def reversed(self) -> Path:
        return Path(tuple(map(turned_round, reversed(self.segments))), self.closed)

    def points(self, *, tolerance: float) -> list[Pt]:
        """A polyline within `tolerance` mm (absolute) of the cubics, through all their ends: see `flattened`."""
        return flattened(self.segments, tolerance=tolerance)

    def bounds(self) -> Box:
        """The exact box round the curves (not round their control points); raises ValueError for an empty path."""
        # kurbopy's rectangles (0.13) give all of their sides but y1.
        return union((b.x0, b.y0, b.x1, b.max_y()) for b in (s.bounding_box() for s in self.segments))

    def hull(self) -> Box:
        """The box round the control points, quicker than the exact one and never smaller."""
        xs, ys = zip(*(p for s in self.segments for p in controls(s)), strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    def area(self) -> float:
        """Signed area in mm² inside a closed path, positive if it runs anticlockwise; exact (Green's theorem)."""
        return sum(s.signed_area() for s in self.segments)


def controls(s: CubicBez) -> tuple[Pt, Pt, Pt, Pt]:
    """The four control points."""
    a, b, c, d = s.p0, s.p1, s.p2, s.p3
    return (a.x, a.y), (b.x, b.y), (c.x, c.y), (d.x, d.y)


def bezier(p0: Pt, p1: Pt, p2: Pt, p3: Pt) -> CubicBez:
    """The cubic of four control points."""
    return CubicBez(Point(*p0), Point(*p1), Point(*p2), Point(*p3))


def straight(a: Pt, b: Pt) -> CubicBez:
    """A straight line as a cubic with even spacing."""
    (ax, ay), (bx, by) = a, b
    tx, ty = (bx - ax) / 3.0, (by - ay) / 3.0
    return CubicBez(Point(ax, ay), Point(ax + tx, ay + ty), Point(bx - tx, by - ty), Point(bx, by))


def turned_round(s: CubicBez) -> CubicBez:
    """The same cubic from its end to its start."""
    return CubicBez(s.p3, s.p2, s.p1, s.p0)


def is_straight(s: CubicBez) -> bool:
    """Whether both inner control points lie on the chord, between its ends, to FLAT mm."""
    (ax, ay), (bx, by), (cx, cy), (ex, ey) = controls(s)
    dx, dy = ex - ax, ey - ay
    n = math.hypot(dx, dy)
    if n < FLAT:
        return math.hypot(bx - ax, by - ay) < FLAT and math.hypot(cx - ax, cy - ay) < FLAT
    for x, y in ((bx - ax, by - ay), (cx - ax, cy - ay)):
        if abs(x * dy - y * dx) > FLAT * n or not -FLAT * n <= x * dx + y * dy <= n * (n + FLAT):
            return False
    return True


def bend_bound(s: CubicBez) -> float:
    """What the curvature nowhere exceeds, in 1/mm without sign; infinite where the control points cannot tell.

    From control point to control point lead a, b and c. The derivative is 3 times their Bézier of degree 2, so that
    along the chord it is nowhere less than 3 times the least of them there. Its cross product with the second
    derivative is 18 times the Bézier of degree 2 of a x b, a x c / 2 and b x c (multiplied out; one power of
    (1 - t) + t falls away). Of a gentle curve it is about twice the greatest curvature.
    """
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = controls(s)
    ax, ay, bx, by, cx, cy = x1 - x0, y1 - y0, x2 - x1, y2 - y1, x3 - x2, y3 - y2
    dx, dy = x3 - x0, y3 - y0
    chord = math.hypot(dx, dy)
    slow = min(ax * dx + ay * dy, bx * dx + by * dy, cx * dx + cy * dy)
    if slow <= 0.0:
        return math.inf
    cross = max(abs(ax * by - ay * bx), abs(ax * cy - ay * cx) / 2.0, abs(bx * cy - by * cx))
    return 2.0 / 3.0 * cross * (chord / slow) ** 3


def union(boxes: Iterable[Box]) -> Box:
    """The smallest box round several; raises ValueError if there are none."""
    lefts, bottoms, rights, tops = zip(*boxes, strict=True)
    return (min(lefts), min(bottoms), max(rights), max(tops))


# kurbopy's cubics do not know how to go from one process to another: as their control points they do.
copyreg.pickle(CubicBez, lambda s: (bezier, controls(s)))
