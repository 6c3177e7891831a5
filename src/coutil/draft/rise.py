"""A vertical edge: from its distances off a straight line, and the lengths its seam must have, to heights and curves.

Every panel edge that climbs from hem to top is drawn the same way. At each level the panel's width fixes where the
edge stands; what is free is how high above the waist that level lies on this panel. It is found so that the curve
between two levels has exactly the length that the seam asks for: so seams match by construction.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from kurbopy import CubicBez, Point

from coutil.draft.join import climb
from coutil.plane import Curve, Pt

# A curve cannot be drawn well when it strays sideways by more than this share of its length: an S whose ends are
# vertical then turns past 45 degrees in its middle and would soon run flat. Found by trial.
STEEPEST_SHARE = 0.60
# Rounds of: heights from slopes, slopes from heights. The slopes only steer the shape, so they need not converge to
# the last digit; two rounds leave them within 1 % of their limit, and the lengths are exact after every round.
ROUNDS = 2
# Absolute accuracy of the solved seam lengths, in mm: three orders below the walk's tolerance of 0.3 mm.
LENGTH_ACCURACY = 1e-6


@dataclass(frozen=True, slots=True)
class Rise:
    """An edge between its lowest and its highest level: points, slopes dx/dy there, and the curves between them."""

    names: tuple[str, ...]
    points: tuple[Pt, ...]
    slopes: tuple[float, ...]
    segments: tuple[CubicBez, ...]

    def point(self, name: str) -> Pt:
        return self.points[self.names.index(name)]

    def height(self, name: str) -> float:
        return self.point(name)[1]

    def slope(self, name: str) -> float:
        return self.slopes[self.names.index(name)]

    def lengths(self) -> dict[tuple[str, str], float]:
        """Arc length between each two neighbouring levels."""
        return {pair: s.arclen(1e-7) for pair, s in zip(pairwise(self.names), self.segments, strict=True)}


class SteepError(Exception):
    """A stretch of edge would have to run sideways more than its length allows; tells between which levels."""

    def __init__(self, lower: str, upper: str, sideways: float, length: float) -> None:
        super().__init__(f"{lower} to {upper}: {sideways:.0f} mm sideways in {length:.0f} mm")
        self.lower, self.upper, self.sideways, self.length = lower, upper, sideways, length


def from_heights(names: Sequence[str], points: Sequence[Pt], *, fade: float = 1.0) -> Rise:
    """The edge through points whose heights are known already. `fade` as for `from_lengths`. Raises SteepError."""
    slopes = _slopes(names, points, fade)
    for (a, b), p, q in zip(pairwise(names), points, points[1:], strict=False):
        dx, dy = abs(q[0] - p[0]), q[1] - p[1]
        if dy <= 0.0 or dx > STEEPEST_SHARE * math.hypot(dx, dy) * 1.25:
            raise SteepError(a, b, dx, math.hypot(dx, dy))
    return _rise(names, points, slopes)


def from_lengths(
    names: Sequence[str],
    place: Mapping[str, Callable[[float], float]],
    lengths: Mapping[tuple[str, str], float],
    *,
    start: str = "waist",
    fade: float = 1.0,
) -> Rise:
    """The edge whose stretches between levels have the given `lengths`.

    `place[level](y)` gives the edge's x at that level if it lies at height y (a constant where the level is
    horizontal). `start` is the level at height 0. `fade` says from 0 to 1 how much the hip, where it is the lowest
    level, steers the slope at the high hip: at 0 that is as if the edge ended there. Raises SteepError.
    """
    base = names.index(start)
    heights = [0.0] * len(names)
    # From the start upwards, then from the start downwards: level, the one before it, the way, and the stretch between.
    steps = [(k, k - 1, 1.0, lengths[(names[k - 1], names[k])]) for k in range(base + 1, len(names))]
    steps += [(k, k + 1, -1.0, lengths[(names[k], names[k + 1])]) for k in range(base - 1, -1, -1)]
    for k, previous, sign, length in steps:
        # Where the level tilts its end depends on the height; a first guess of that is good enough here.
        guess = heights[previous] + sign * 0.95 * length
        dx = abs(place[names[k]](guess) - place[names[previous]](heights[previous]))
        if dx > STEEPEST_SHARE * length:
            raise SteepError(names[min(k, previous)], names[max(k, previous)], dx, length)
        heights[k] = heights[previous] + sign * math.sqrt(length * length - dx * dx)
    for _ in range(ROUNDS):
        slopes = _slopes(names, _points(names, place, heights), fade)
        for k, previous, sign, length in steps:
            p = (place[names[previous]](heights[previous]), heights[previous])
            m0, m3 = slopes[min(k, previous)], slopes[max(k, previous)]
            heights[k] = _solve(p, place[names[k]], heights[k], sign, m0, m3, length)
    return _rise(names, _points(names, place, heights), slopes)


def _rise(names: Sequence[str], points: Sequence[Pt], slopes: tuple[float, ...]) -> Rise:
    segments = tuple(climb(points[k], points[k + 1], slopes[k], slopes[k + 1]) for k in range(len(points) - 1))
    return Rise(tuple(names), tuple(points), slopes, segments)


def _points(names: Sequence[str], place: Mapping[str, Callable[[float], float]], heights: Sequence[float]) -> list[Pt]:
    return [(place[n](y), y) for n, y in zip(names, heights, strict=True)]


def _solve(
    p: Pt, place: Callable[[float], float], first: float, sign: float, m0: float, m3: float, length: float
) -> float:
    """The height at which the curve from `p` to (place(y), y) has `length`, by the secant method.

    The length grows with the height almost one for one, so the secant converges in three or four steps from any
    sensible start; twenty are allowed before giving up.
    """

    def excess(y: float) -> float:
        q = (place(y), y)
        c = climb(p, q, m0, m3) if sign > 0 else climb(q, p, m0, m3)
        return c.arclen(1e-8) - length

    floor = 0.05 * length
    y0, e0 = first, excess(first)
    y1 = first - sign * e0
    for _ in range(20):
        if sign * (y1 - p[1]) < floor:
            y1 = p[1] + sign * floor
        e1 = excess(y1)
        if abs(e1) < LENGTH_ACCURACY:
            return y1
        if e1 == e0:
            break
        y0, y1, e0 = y1, y1 - e1 * (y1 - y0) / (e1 - e0), e1
    raise SteepError("", "", abs(place(y1) - p[0]), length)


# The slope at a level may exceed the gentler of its two chords by this factor and no more: a handle is at least a third
# of its stretch, so beyond 3 the curve would overshoot and come back; 2.2 keeps clear of that.
OVERSHOOT = 2.2


def _slopes(names: Sequence[str], points: Sequence[Pt], fade: float) -> tuple[float, ...]:
    """Slopes dx/dy at the levels, such that no stretch bends more than once.

    Inside: zero where the edge turns back (a waist), else the mean of the neighbouring chords, held to OVERSHOOT times
    the gentler one (the monotonicity limit of Fritsch and Carlson 1980); continuous in the measurements. At the lowest
    level a quarter more than the chord, which keeps the skirt part free of inflections. At the highest level, the bust,
    the edge stands upright: there the panel is at its widest.
    """
    n = len(points)
    chord = [(points[k + 1][0] - points[k][0]) / (points[k + 1][1] - points[k][1]) for k in range(n - 1)]
    out = [0.0] * n
    for k in range(1, n - 1):
        a, b = chord[k - 1], chord[k]
        if a * b > 0.0:
            least = OVERSHOOT * min(abs(a), abs(b))
            out[k] = math.copysign(min(abs(a + b) / 2.0, least), a)
    if names[0] == "hip":
        ended = chord[1] + 0.25 * (chord[1] - out[2])
        out[1] = ended + fade * (out[1] - ended)
    out[0] = chord[0] + 0.25 * (chord[0] - out[1])
    return tuple(out)


def upper_shaping(apex: Pt, close: float, length: float, bend: float) -> CubicBez:
    """The princess edge above the bust point: leaves `apex` upright and closes in by `close` mm (positive to the left).

    Its length is `length`. `bend` is the curvature in 1/mm with which the curve below reaches the apex; the curve
    leaves with the same bend where it can, so that the apex is round, then straightens towards the top.
    """
    x, y = apex

    def curve(rise: float) -> CubicBez:
        # The end leans by 1.3 times the chord: less than an arc's 2, since the bend is spent near the apex.
        lean = 1.3 * math.atan2(close, rise)
        h3 = 0.36 * rise
        p2 = Point(x - close + h3 * math.sin(lean), y + rise - h3 * math.cos(lean))
        # Curvature at the start of a cubic: 2/3 of the third point's distance from the tangent over the handle squared.
        off = abs(p2.x - x)
        wanted = math.sqrt(2.0 / 3.0 * off / max(abs(bend), 1e-6))
        h0 = min(max(wanted, 0.10 * rise), 0.45 * rise)
        return CubicBez(Point(x, y), Point(x, y + h0), p2, Point(x - close, y + rise))

    rise = math.sqrt(length * length - close * close)
    for _ in range(20):
        c = curve(rise)
        excess = c.arclen(1e-8) - length
        if abs(excess) < LENGTH_ACCURACY:
            return c
        rise -= excess
    return curve(rise)


def lengthened(segments: Sequence[CubicBez], below: float, above: float) -> Curve:
    """The segments run on straight along their end tangents, by `below` mm downwards and `above` mm upwards."""
    out = list(segments)
    if below > 0.0:
        a, b = out[0].p0, out[0].p1
        out.insert(0, _straight((a.x, a.y), math.atan2(a.y - b.y, a.x - b.x), below, backwards=True))
    if above > 0.0:
        a, b = out[-1].p2, out[-1].p3
        out.append(_straight((b.x, b.y), math.atan2(b.y - a.y, b.x - a.x), above))
    return Curve(tuple(out))


def _straight(start: Pt, heading: float, length: float, *, backwards: bool = False) -> CubicBez:
    dx, dy = math.cos(heading) * length, math.sin(heading) * length
    q = [Point(start[0] + dx * k / 3.0, start[1] + dy * k / 3.0) for k in range(4)]
    return CubicBez(*(reversed(q) if backwards else q))
