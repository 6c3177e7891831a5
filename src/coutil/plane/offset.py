"""Lines at a constant distance from curves, and the closed line around an outline whose sides keep different distances.

The offsets are kurbopy's (Raph Levien's fit of offset curves, described in the kurbo sources); this file strings them
together, refuses those that fold, and makes the corners. Positive distances lie to the left of travel for a single
curve, and outside for an outline.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from kurbopy import CubicBez, Point, offset_cubic

from coutil.plane.curve import JOIN, Curve, Pt, closed_points, line
from coutil.plane.path import bend_bound

# How the cut line turns at the corner after a side: extended to a point; or, where this side (`flush`) or the next one
# (`flush_next`) is a seam that is pressed open, mirrored so that the opened margin lies flush with its neighbour.
Corner = Literal["mitre", "flush", "flush_next"]

# A mitre longer than this many times the wider margin is cut off. At 3 the corners of up to 39 degrees are cut off:
# such points fray and cannot be turned (common practice, no source; 4 is what drawing programs take for strokes).
MITRE_LIMIT = 3.0
# Newton's method on two curves stops at steps below this, in mm: above what arc lengths are accurate to (1e-7, twice),
# so that it can settle, and below what counts as joined.
STEP = 5e-7
# Newton converges in 4 to 8 rounds on outlines of clothes; one that has not after this many never will.
ROUNDS = 40
# Points at which each segment's curvature is sampled to see whether an offset folds; a cubic has at most a handful of
# extremes of curvature, and the highest is sampled again as finely between its neighbours.
CURVATURE_SAMPLES = 16
# Where a curvature is read instead of at the very end of a segment whose handle there has no length, by parameter.
BESIDE = 1e-3
# Of a bend too tight for its parallel the parallel is cut off where it crosses itself, if the bend is no longer than
# this, in mm: hollows of necklines, and bends that a hand left in a line. Beyond, the distance does not fit the shape.
LONGEST_BEND = 40.0
# Samples to the segment by which such crossings are found before they are made exact; and how far that may move them,
# in mm.
CROSSING_SAMPLES = 24
CROSSING_NEAR = 1.0
# A line that ends before such a bend keeps this clear of it, in mm: bends shorter than that are slivers.
CLEAR = 0.05
# And the corner behind it may begin so far off, in mm (judgement: what scissors pass over).
BRIDGED = 5.0
# Directions closer than this, as the sine of their angle, count as parallel: their meeting point would be metres away.
PARALLEL = 1e-6


class OffsetError(ValueError):
    """No sound line can be drawn at the distance that was asked for, as data: a code, and what fills its text.

    `fill` are lengths and places in mm. This room knows no texts: they stand in the catalogue
    (`refusal.offset.CODE`; `coutil.words.reason`).
    """

    def __init__(self, code: str, **fill: float | str) -> None:
        self.code, self.fill = code, fill
        super().__init__(code, fill)


@dataclass(frozen=True, slots=True)
class Margin:
    """One side of an outline: its net curve, how far outside its cut line lies (mm, 0 or more), the corner after it."""

    curve: Curve
    distance: float
    corner: Corner = "mitre"


def offset(curve: Curve, distance: float, *, tolerance: float) -> Curve:
    """The line at `distance` mm to the left of `curve` (negative: to the right), within `tolerance` mm (absolute).

    Straight segments are moved exactly, ends of segments lie exactly on their normals, and tangents that run on at a
    join of the curve run on in the offset. Raises OffsetError where the offset would fold over itself, that is where
    the distance reaches the radius of a bend towards it, and at joins with a corner that opens a gap wider than
    `tolerance`. Not promised: that distant parts of the line keep clear of each other.
    """
    if distance == 0.0:
        return curve
    out: list[CubicBez] = []
    for s in curve.segments:
        _refuse_fold(s, distance)
        made = [q if isinstance(q, CubicBez) else q.to_cubic() for q in offset_cubic(s, distance, tolerance).segments()]
        if out:
            out[-1], made[0] = _joined(out[-1], made[0], tolerance, distance)
        out.extend(made)
    return Curve(tuple(out))


def outline_offset(sides: Sequence[Margin], *, tolerance: float, mitre_limit: float = MITRE_LIMIT) -> tuple[Curve, ...]:
    """The closed cut line around an anticlockwise outline of two or more `sides`, anticlockwise, end to end.

    Away from corners it lies each side's distance outside its net curve, within `tolerance` mm (absolute). A distance
    of 0 keeps the net curve itself (a fold, a free rim). Corners:

    - mitre: both cut lines run on along their tangents until they meet, or are trimmed where they cross. Next to a
      side of distance 0 the other cut line thus ends on that side's own line. Where the point would lie farther than
      `mitre_limit` times the wider distance from the net corner it is cut off straight (square to a side of distance
      0, so that the opened fold shows a straight end).
    - flush: the seam's cut line ends in the mirror image, over the seam's net line, of its neighbour's cut line. The
      neighbour's cut line stops on the net line of the seam, run on along its tangent. Where the seam's cut line
      would have to run on farther than `mitre_limit` times the wider distance (a neighbour almost in line with the
      seam), the corner is mitred instead: that end lies inside the mirror image, so it still presses open within it.

    A bend inwards that is tighter than the distance becomes a corner, see `parallel`. Raises OffsetError if a side's
    offset folds over more than that, if a corner cannot be made, or if the cut line crosses itself.
    """
    n = len(sides)
    if n < 2 or any(m.distance < 0.0 or not math.isfinite(m.distance) for m in sides):
        raise OffsetError("distances")
    lines = [parallel(m.curve, -m.distance, tolerance=tolerance) for m in sides]
    # What is trimmed off the ends of each net line and of each cut line, in mm of its length; negative: run on.
    net_trims = [[0.0, 0.0] for _ in sides]
    cut_trims = [[0.0, 0.0] for _ in sides]
    corners: list[tuple[Curve, ...]] = [()] * n
    mitred: list[int] = []

    for i, m in enumerate(sides):
        j = (i + 1) % n
        farthest = mitre_limit * max(m.distance, sides[j].distance)
        if m.corner == "flush" and m.distance > JOIN:
            flush = _flush(m.curve, m.distance, lines[j], right=True, farthest=farthest, tolerance=tolerance)
            if flush is not None:
                net_trims[i][1], cut_trims[j][0], corners[i] = flush
                continue
        elif m.corner == "flush_next" and sides[j].distance > JOIN:
            # Seen in a looking glass: both sides are walked backwards, towards the corner on the seam.
            seam, along = sides[j], lines[i].reversed()
            flush = _flush(
                seam.curve.reversed(), seam.distance, along, right=False, farthest=farthest, tolerance=tolerance
            )
            if flush is not None:
                net_trims[j][0], cut_trims[i][1], made = flush
                corners[i] = tuple(c.reversed() for c in reversed(made))
                continue
        mitred.append(i)

    for i, m in enumerate(sides):
        start, end = net_trims[i]
        if start or end:
            lines[i] = parallel(_cut_to(m.curve, start, end), -m.distance, tolerance=tolerance)
    for i in mitred:
        j = (i + 1) % n
        cut_trims[i][1], cut_trims[j][0], corners[i] = _mitre(lines[i], sides[i], lines[j], sides[j], mitre_limit)

    out: list[Curve] = []
    for i in range(n):
        out.append(_cut_to(lines[i], *cut_trims[i]))
        out.extend(corners[i])
    cut = _closed(_bridged(out))
    _refuse_crossing(cut)
    return cut


# --- single curves -------------------------------------------------------------------------------------------------


def parallel(curve: Curve, distance: float, *, tolerance: float) -> Curve:
    """As `offset`, but where a bend of at most LONGEST_BEND mm is too tight, cut off where it crosses itself.

    There the line has a corner, and keeps the distance from both arms of the bend; from the bend itself it lies
    farther off. A bend too tight at the very end of the curve is left out: the line ends before it. Raises OffsetError
    as `offset` does where the line folds over more than that.
    """
    try:
        return offset(curve, distance, tolerance=tolerance)
    except OffsetError as refused:
        stretches = _without_folds(curve, distance)
        if stretches is None:
            raise
        try:
            lines = [offset(curve.part(a, b), distance, tolerance=tolerance) for a, b in stretches]
        except (OffsetError, ValueError):
            raise refused from None
    made = list(lines[0].segments)
    for after in lines[1:]:
        (ax, ay), (bx, by) = (made[-1].p3.x, made[-1].p3.y), after.start
        if math.hypot(bx - ax, by - ay) > tolerance:
            raise OffsetError("folds_near", distance=abs(distance), x=ax, y=ay)
        corner = ((ax + bx) / 2.0, (ay + by) / 2.0)
        made[-1] = _end_at(made[-1], corner)
        made += [_start_at(after.segments[0], corner), *after.segments[1:]]
    return Curve(tuple(made))


def _without_folds(curve: Curve, distance: float) -> list[tuple[float, float]] | None:
    """From where to where, by arc length, the curve's parallel runs between the bends in which it folds; else None."""
    spots: list[tuple[float, Pt, bool]] = []
    before = 0.0
    for s in curve.segments:
        length = s.arclen(1e-6)
        # Closely where the segment bends too much, lest a fold between two samples is missed.
        samples = CROSSING_SAMPLES * (8 if _tightest(s, distance, 0.0, 1.0, CURVATURE_SAMPLES)[0] > 0.5 else 1)
        for k in range(samples):
            at = before + length * (k + 0.5) / samples
            (x, y), (tx, ty), bend = _at(curve, at)
            spots.append((at, (x - distance * ty, y + distance * tx), 1.0 - distance * bend <= 0.0))
        before += length
    out: list[tuple[float, float]] = []
    start, k = 0.0, 0
    while k < len(spots):
        if not spots[k][2]:
            k += 1
            continue
        end = k
        while end + 1 < len(spots) and (spots[end + 1][2] or spots[end + 1][0] - spots[k][0] < STEP):
            end += 1
        crossing = _crossing(curve, distance, spots, start, k, end)
        if crossing is not None:
            out.append((start, crossing[0]))
            start = crossing[1]
        elif not out and spots[end][0] < min(LONGEST_BEND, curve.length - spots[k][0]):
            # It folds to the curve's very start: the line begins behind the bend.
            free = next((at for at, _, folds in spots[end + 1 :] if not folds), None)
            if free is None:
                return None
            start = min(free, _fold_ends(curve, distance, free, spots[end][0]) + CLEAR)
        elif curve.length - spots[k][0] < LONGEST_BEND:
            free = max((at for at, _, folds in spots[:k] if not folds), default=0.0)
            stop = max(free, _fold_ends(curve, distance, free, spots[k][0]) - CLEAR)
            return [*out, (start, stop)] if stop > start else None
        else:
            return None
        k = max(end + 1, next((i for i, spot in enumerate(spots) if spot[0] >= start), len(spots)))
    return [*out, (start, curve.length)]


def _fold_ends(curve: Curve, distance: float, free: float, folds: float) -> float:
    """Where between two arc lengths the parallel begins to fold: at `free` it does not, at `folds` it does."""
    while abs(folds - free) > CLEAR / 10.0:
        middle = (free + folds) / 2.0
        free, folds = (middle, folds) if 1.0 - distance * _at(curve, middle)[2] > 0.0 else (free, middle)
    return free


def _crossing(
    curve: Curve, distance: float, spots: Sequence[tuple[float, Pt, bool]], start: float, first: int, last: int
) -> tuple[float, float] | None:
    """The two arc lengths, before and behind a fold, at which the parallel is at one point; the nearest to the fold."""
    before = [i for i in range(first) if spots[i][0] > max(start, spots[first][0] - LONGEST_BEND)]
    behind = [j for j in range(last, len(spots) - 1) if spots[j + 1][0] < spots[last][0] + LONGEST_BEND]
    for i in reversed(before):
        for j in behind:
            if spots[j + 1][0] - spots[i][0] > LONGEST_BEND:
                break
            if not _cross(spots[i][1], spots[i + 1][1], spots[j][1], spots[j + 1][1]):
                continue
            # From outside the fold: inside it the parallel runs backwards.
            met = meet(curve, spots[i][0], curve, spots[j + 1][0], left_of_a=distance, left_of_b=distance)
            if met and abs(met[0] - spots[i][0]) + abs(met[1] - spots[j + 1][0]) < CROSSING_NEAR + 2.0 * (
                spots[i + 1][0] - spots[i][0] + spots[j + 1][0] - spots[j][0]
            ):
                return met if start < met[0] < met[1] < curve.length else None
    return None


def _cross(a: Pt, b: Pt, c: Pt, d: Pt) -> bool:
    """Whether the straight lines from a to b and from c to d cross."""

    def turn(p: Pt, q: Pt, r: Pt) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) <= 0.0 and turn(c, d, a) * turn(c, d, b) <= 0.0


def _refuse_fold(s: CubicBez, distance: float) -> None:
    """Refuse where 1 - distance * curvature falls to 0 (parallel curves; any text on differential geometry)."""
    if abs(distance) * bend_bound(s) < 0.5:
        return
    n = CURVATURE_SAMPLES
    tightest, at = _tightest(s, distance, 0.0, 1.0, n)
    if tightest > 0.5:
        tightest, at = max((tightest, at), _tightest(s, distance, max(0.0, at - 1.0 / n), min(1.0, at + 1.0 / n), n))
    if tightest >= 1.0:
        p = s.eval(at)
        way, radius = "left" if distance > 0.0 else "right", abs(distance) / tightest
        raise OffsetError("folds_at", distance=abs(distance), way=way, x=p.x, y=p.y, radius=radius)


def _tightest(s: CubicBez, distance: float, t0: float, t1: float, n: int) -> tuple[float, float]:
    """The greatest distance * curvature among n + 1 samples, and its parameter; places without curvature count as 0."""
    best = (0.0, t0)
    for k in range(n + 1):
        t = t0 + (t1 - t0) * k / n
        # kurbopy counts curvature positive to the right of travel when y grows upwards.
        bend = -distance * s.curvature(t)
        if bend > best[0]:
            best = (bend, t)
    return best


def _joined(a: CubicBez, b: CubicBez, tolerance: float, distance: float) -> tuple[CubicBez, CubicBez]:
    dx, dy = b.p0.x - a.p3.x, b.p0.y - a.p3.y
    gap = math.hypot(dx, dy)
    if gap == 0.0:
        return a, b
    if gap > tolerance:
        raise OffsetError("breaks", distance=abs(distance), gap=gap, x=a.p3.x, y=a.p3.y)
    return _end_at(a, (a.p3.x + dx / 2.0, a.p3.y + dy / 2.0)), _start_at(b, (b.p0.x - dx / 2.0, b.p0.y - dy / 2.0))


def _end_at(s: CubicBez, p: Pt) -> CubicBez:
    return CubicBez(s.p0, s.p1, Point(s.p2.x + p[0] - s.p3.x, s.p2.y + p[1] - s.p3.y), Point(*p))


def _start_at(s: CubicBez, p: Pt) -> CubicBez:
    return CubicBez(Point(*p), Point(s.p1.x + p[0] - s.p0.x, s.p1.y + p[1] - s.p0.y), s.p2, s.p3)


def _cut_to(curve: Curve, start: float, end: float) -> Curve:
    """The curve with `start` and `end` mm cut off its ends, or run on straight along the tangent where negative."""
    a, b = max(start, 0.0), curve.length - max(end, 0.0)
    if b - a <= JOIN:
        raise OffsetError("vanishes", length=curve.length)
    out = curve.part(a, b) if a > 0.0 or b < curve.length else curve
    if start < -JOIN:
        (x, y), (tx, ty) = out.start, out.tangent(0.0)
        out = Curve(line((x + start * tx, y + start * ty), (x, y)).segments + out.segments)
    if end < -JOIN:
        (x, y), (tx, ty) = out.end, out.tangent(out.length)
        out = Curve(out.segments + line((x, y), (x - end * tx, y - end * ty)).segments)
    return out


# --- where two lines meet ------------------------------------------------------------------------------------------


def _at(curve: Curve, s: float) -> tuple[Pt, Pt, float]:
    """Point, unit tangent and curvature at arc length `s`, the curve being run on straight beyond its ends."""
    inside = min(max(s, 0.0), curve.length)
    # Once located for all three: this is the innermost loop of every corner.
    i, t = curve.locate(inside)
    segment = curve.segments[i]
    p, v = segment.eval(t), segment.deriv().eval(t)
    speed = math.hypot(v.x, v.y)
    tx, ty = (v.x / speed, v.y / speed) if speed > 1e-9 else curve.tangent(inside)
    over = s - inside
    if over != 0.0:
        return (p.x + over * tx, p.y + over * ty), (tx, ty), 0.0
    bend = segment.curvature(t)
    if not math.isfinite(bend):
        # At a handle of no length, as fitted offsets have now and then: what it is right beside it.
        bend = segment.curvature(t + math.copysign(BESIDE, 0.5 - t))
    # kurbopy counts curvature positive to the right of travel when y grows upwards.
    return (p.x, p.y), (tx, ty), -bend if math.isfinite(bend) else 0.0


def meet(
    a: Curve, sa: float, b: Curve, sb: float, *, left_of_a: float = 0.0, left_of_b: float = 0.0
) -> tuple[float, float] | None:
    """Arc lengths in mm at which `a` and `b`, both run on straight beyond their ends, meet near `sa` and `sb`.

    With `left_of_a` or `left_of_b` it is the parallel that many mm to the left of the curve that is meant (right where
    negative); its point is that to the left of the arc length given. Newton's method on both curves at once, to 1e-6
    mm; None where they are parallel, where a parallel folds, or where it does not settle. Which of several meeting
    points is found depends on the guess.
    """
    for _ in range(ROUNDS):
        (ax, ay), (tx, ty), bend_a = _at(a, sa)
        (bx, by), (ux, uy), bend_b = _at(b, sb)
        dx = bx - left_of_b * uy - (ax - left_of_a * ty)
        dy = by + left_of_b * ux - (ay + left_of_a * tx)
        if abs(dx) < STEP and abs(dy) < STEP:
            return sa, sb
        det = tx * uy - ty * ux
        speed_a, speed_b = 1.0 - left_of_a * bend_a, 1.0 - left_of_b * bend_b
        if abs(det) < PARALLEL or speed_a <= 0.0 or speed_b <= 0.0:
            return None
        step_a = (dx * uy - dy * ux) / det / speed_a
        step_b = (dx * ty - dy * tx) / det / speed_b
        sa, sb = sa + step_a, sb + step_b
        if abs(step_a) < STEP and abs(step_b) < STEP:
            return sa, sb
    return None


# --- corners -------------------------------------------------------------------------------------------------------


def _mitre(a: Curve, before: Margin, b: Curve, after: Margin, limit: float) -> tuple[float, float, tuple[Curve, ...]]:
    """What to trim off the end of cut line `a` and the start of `b` (negative: run on), and what to put between."""
    if math.dist(a.end, b.start) < JOIN:
        return 0.0, 0.0, ()
    met = meet(a, a.length, b, 0.0)
    if met is not None:
        sa, sb = met
        tip = _at(b, sb)[0]
        runs_on = sa > a.length and sb < 0.0
        if not runs_on or math.dist(tip, before.curve.end) <= limit * max(before.distance, after.distance):
            return a.length - sa, sb, ()
    # Cut off: straight across, or square on to a side that has no margin.
    if after.distance == 0.0:
        foot = _along(b.start, b.tangent(0.0), a.end)
        return 0.0, foot, (line(a.end, _at(b, foot)[0]),)
    if before.distance == 0.0:
        foot = _along(a.end, a.tangent(a.length), b.start)
        return -foot, 0.0, (line(_at(a, a.length + foot)[0], b.start),)
    return 0.0, 0.0, (line(a.end, b.start),)


def _along(origin: Pt, direction: Pt, p: Pt) -> float:
    return (p[0] - origin[0]) * direction[0] + (p[1] - origin[1]) * direction[1]


def _flush(
    seam: Curve, distance: float, neighbour: Curve, *, right: bool, farthest: float, tolerance: float
) -> tuple[float, float, tuple[Curve, ...]] | None:
    """The flush corner at the end of net line `seam`, whose margin lies on its `right` (else on its left).

    `neighbour` is the cut line of the side that follows, leading away from the corner. Gives what to trim off the
    seam's net line and off the neighbour's start (negative: run on), and the curves from the seam's cut line to the
    neighbour's; or None where those would reach beyond `farthest` mm from the net corner.

    A point of the neighbour at distance w from the seam's net line, with its foot at s, is carried to distance w on
    the other side of the same foot. On a curved seam this is what pressing does to a margin that is let in or
    stretched to lie flat, and to first order in curvature what paper does.
    """
    inward = 1.0 if right else -1.0
    met = meet(seam, seam.length, neighbour, 0.0)
    # The neighbour at the full width of the margin: where the seam's parallel inside the panel crosses it.
    wide = meet(seam, seam.length, neighbour, distance, left_of_a=inward * distance) if met else None
    if met is None or wide is None or wide[1] <= met[1]:
        return None
    u0, u1 = met[1], wide[1]

    def image(u: float, s: float) -> tuple[Pt, Pt, float]:
        """The mirrored point of neighbour(u), its derivative by u, and the foot; `s` is a guess of the foot."""
        (px, py), (vx, vy), _ = _at(neighbour, u)
        for _ in range(ROUNDS):
            (cx, cy), (tx, ty), bend = _at(seam, s)
            nx, ny = -inward * ty, inward * tx
            w = (px - cx) * nx + (py - cy) * ny
            speed = 1.0 - inward * bend * w
            step = ((px - cx) * tx + (py - cy) * ty) / max(speed, 0.1)
            if abs(step) < STEP:
                break
            s += step
        ds = (vx * tx + vy * ty) / speed * (1.0 + inward * bend * w)
        dw = vx * nx + vy * ny
        return (cx - w * nx, cy - w * ny), (ds * tx - dw * nx, ds * ty - dw * ny), s

    def hermite(a: tuple[float, Pt, Pt, float], b: tuple[float, Pt, Pt, float], depth: int) -> list[CubicBez]:
        """Cubics from image `a` to image `b`, halved until the middle lies within a tenth of the tolerance."""
        (ua, (ax, ay), (dax, day), fa), (ub, (bx, by), (dbx, dby), fb) = a, b
        h = (ub - ua) / 3.0
        s = CubicBez(Point(ax, ay), Point(ax + h * dax, ay + h * day), Point(bx - h * dbx, by - h * dby), Point(bx, by))
        um = (ua + ub) / 2.0
        at, slope, foot = image(um, (fa + fb) / 2.0)
        m = s.eval(0.5)
        if depth == 0 or math.dist(at, (m.x, m.y)) < tolerance / 10.0:
            return [s]
        middle = (um, at, slope, foot)
        return hermite(a, middle, depth - 1) + hermite(middle, b, depth - 1)

    tip, tip_slope, tip_foot = image(u0, met[0])
    heel, heel_slope, heel_foot = image(u1, wide[0])
    if math.dist(heel, seam.end) > farthest:
        return None
    # The image starts on the net line itself (at the tip) and is walked backwards, from the seam's cut line inwards.
    # Six halvings cut the error by more than a million: only a corner in the neighbour could exhaust them.
    made = hermite((u0, tip, tip_slope, tip_foot), (u1, heel, heel_slope, heel_foot), 6)
    return seam.length - heel_foot, u0, (Curve(tuple(made)).reversed(),)


def _bridged(curves: list[Curve]) -> list[Curve]:
    """The same curves with a straight line where the end of a parallel was left out, up to BRIDGED mm."""
    out: list[Curve] = []
    for c, after in zip(curves, [*curves[1:], curves[0]], strict=True):
        out.append(c)
        if 100.0 * JOIN < math.dist(c.end, after.start) <= BRIDGED:
            out.append(line(c.end, after.start))
    return out


def _closed(curves: list[Curve]) -> tuple[Curve, ...]:
    """The same curves, ends that differ by more than rounding pulled together; raises OffsetError at real gaps."""
    out = list(curves)
    for i, c in enumerate(out):
        j = (i + 1) % len(out)
        p = out[j].start
        gap = math.dist(c.end, p)
        # A hundred roundings of the arc length: more is an error of this file.
        if gap > 100.0 * JOIN:
            raise OffsetError("open", gap=gap, x=p[0], y=p[1])
        if gap > JOIN / 10.0:
            out[i] = Curve((*c.segments[:-1], _end_at(c.segments[-1], p)))
    return tuple(out)


def _refuse_crossing(cut: tuple[Curve, ...]) -> None:
    from shapely import LinearRing  # type: ignore[import-untyped]

    # 0.1 mm polylines tell every crossing that a blade would notice.
    ring = LinearRing(closed_points(cut, tolerance=0.1))
    if not ring.is_simple:
        raise OffsetError("crosses")
    if not ring.is_ccw:
        raise OffsetError("inside_out")
