"""A closed run of cubics becomes the sides of a panel: anticlockwise, split at its corners, polylines fitted."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate, groupby

from kurbopy import CubicBez

from coutil.plane import Curve, Path, Pt, bezier, controls, turned_round
from coutil.trace.fit import MANY, TOLERANCE, fit_polyline
from coutil.trace.model import TraceError

# A polyline has a corner where it turns by more than this, in degrees: curves that were flattened turn by up to 20 a
# point. An outline of curves tells its corners better: there a third of it is enough. By trial on some hundred drafts:
# no edge of theirs turns by more than 2 at a join; a top that falls steeply to the centre front meets it at 12.
CORNER = 30.0
CURVES_CORNER = 1.0 / 3.0
# So it is on a polyline where both neighbours turn by so many times less: on a flattened curve they turn alike.
STANDS_OUT = 3.0
# A corner may be drawn round: a turn of so many degrees within so many mm, a radius of 10 mm. No line of a panel turns
# so tightly elsewhere (common practice, no source).
ROUND_TURN = 45.0
ROUND = 8.0
# Segments shorter than this are left out and their ends drawn together, in mm: a tenth of a pencil line.
SPECK = 0.01
# Of two corners nearer to each other than this, in mm, only the sharper one counts: a chamfer, not an edge.
SHORTEST_SIDE = 2.0
# An outline of more segments than this is not searched for corners drawn round.
MOST_ROUNDED = 20_000
# No panel has more corners than this; a scalloped hem has some dozens.
MOST_CORNERS = 250
# A point that the file calls a corner counts for the vertex within this of it, in mm.
ON_VERTEX = 0.2


def sides_of(
    path: Sequence[CubicBez],
    *,
    straight: bool,
    corner: float = CORNER,
    turns: Sequence[Pt] = (),
    tolerance: float = TOLERANCE,
) -> tuple[tuple[Curve, ...], float]:
    """The sides of a closed path, from the corner nearest the lower left on, and how far the fit strays, in mm.

    `straight`: the path is a polyline, whose runs of many points are fitted within `tolerance` mm (absolute); so are
    such runs between curves, as outlines have them that are put together from several kinds of line. `corner` is the
    least turn of a corner in degrees, on curves a third of it; `turns` are places that are corners whatever
    their angle. Always two or more sides: an outline with fewer corners is also split where it is farthest from them.
    Raises TraceError for a path that is nothing but a point.
    """
    path = _halved(anticlockwise(cleaned(path)))
    flat = [True] * len(path) if straight else _flattened(path)
    cuts = _corners(path, corner, flat=flat, turns=turns)
    cuts = _rounded(path, cuts)
    cuts = _enough(path, cuts)
    flat = flat if len(flat) == len(path) else [straight] * len(path)
    first = min(range(len(cuts)), key=lambda k: sum(_start(path[cuts[k]])))
    cuts = cuts[first:] + cuts[:first]
    sides, worst = [], 0.0
    for a, b in zip(cuts, [*cuts[1:], cuts[0]], strict=True):
        numbers = [*range(a, b)] if b > a else [*range(a, len(path)), *range(b)]
        segments: list[CubicBez] = []
        for fit, group in groupby(numbers, key=flat.__getitem__):
            run = [path[k] for k in group]
            if fit:
                points = [*map(_start, run), _end(run[-1])]
                curve, strays = fit_polyline(points, tolerance=tolerance)
                worst = max(worst, strays)
                segments += curve.segments
            else:
                segments += run
        sides.append(Curve(tuple(segments)))
    return tuple(sides), worst


def refuse_corners(path: Sequence[CubicBez], corner: float) -> None:
    """Raise TraceError for an outline with so many corners that it is no panel."""
    count = sum(1 for k in range(len(path)) if turn(path[k - 1], path[k]) > corner)
    if count > MOST_CORNERS:
        raise TraceError("too_many_corners", corners=count)


def cleaned(path: Sequence[CubicBez]) -> list[CubicBez]:
    """The closed path without specks, each segment starting exactly where the one before ended: midway in a gap."""
    out = [c for c in path if _chord(c) >= SPECK or _reach(c) >= SPECK]
    if not out:
        raise TraceError("no_size")
    # Only ends that were already taken for one come here.
    joins = [
        p if p == q else ((p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0)
        for p, q in zip(map(_end, (out[-1], *out[:-1])), map(_start, out), strict=True)
    ]
    return [_drawn_to(c, a, b) for c, a, b in zip(out, joins, [*joins[1:], joins[0]], strict=True)]


def _drawn_to(c: CubicBez, a: Pt, b: Pt) -> CubicBez:
    """The cubic with its ends moved to a and b, its handles with them: by thirds, so that a straight line stays one."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = controls(c)
    ax, ay, bx, by = a[0] - x0, a[1] - y0, b[0] - x3, b[1] - y3
    if ax == ay == bx == by == 0.0:
        return c
    return bezier(
        a,
        (x1 + (2.0 * ax + bx) / 3.0, y1 + (2.0 * ay + by) / 3.0),
        (x2 + (ax + 2.0 * bx) / 3.0, y2 + (ay + 2.0 * by) / 3.0),
        b,
    )


def area(path: Sequence[CubicBez]) -> float:
    """Signed area in mm² inside a closed path, positive if it runs anticlockwise."""
    return Path(tuple(path)).area()


def anticlockwise(path: list[CubicBez]) -> list[CubicBez]:
    if area(path) >= 0.0:
        return path
    return reversed_path(path)


def reversed_path(path: Sequence[CubicBez]) -> list[CubicBez]:
    return [turned_round(c) for c in reversed(path)]


def _start(c: CubicBez) -> Pt:
    return c.p0.x, c.p0.y


def _end(c: CubicBez) -> Pt:
    return c.p3.x, c.p3.y


def _chord(c: CubicBez) -> float:
    return math.dist(_start(c), _end(c))


def turn(a: CubicBez, b: CubicBez) -> float:
    """By how many degrees the path turns from the end of `a` to the start of `b`, without sign."""
    return abs(_turned(a, b))


def _leaving(c: CubicBez) -> Pt:
    """Direction, of any length, in which a cubic leaves its start, also where handles lie on it."""
    (x0, y0), *others = controls(c)
    for x, y in others:
        dx, dy = x - x0, y - y0
        if math.hypot(dx, dy) > 1e-7:
            return dx, dy
    return 1.0, 0.0


def _reach(c: CubicBez) -> float:
    start, *others = controls(c)
    return max(math.dist(start, p) for p in others)


def _corners(path: Sequence[CubicBez], corner: float, *, flat: Sequence[bool], turns: Sequence[Pt]) -> list[int]:
    """The numbers of the segments that start at a corner, in order; `flat` are those of flattened curves."""
    n = len(path)
    sharp = {k: turn(path[k - 1], path[k]) for k in range(n)}
    told = set()
    for p in turns:
        k = min(range(n), key=lambda k: math.dist(_start(path[k]), p))
        if math.dist(_start(path[k]), p) < ON_VERTEX:
            told.add(k)
    slight = corner * CURVES_CORNER

    def is_corner(k: int) -> bool:
        if sharp[k] > corner or k in told:
            return True
        if sharp[k] <= slight:
            return False
        beside = [sharp[(k + step) % n] for step in (-1, 1)]
        return not (flat[k - 1] and flat[k]) or sharp[k] > STANDS_OUT * max(
            (b for b in beside if b <= corner), default=0.0
        )

    found = [k for k in range(n) if is_corner(k)]
    if len(found) < 3:
        return found
    # Distances along the outline, by chords: enough to tell a chamfer.
    at = [0.0]
    for c in path:
        at.append(at[-1] + _chord(c))
    keep: list[int] = []
    for k in found:
        if keep and at[k] - at[keep[-1]] < SHORTEST_SIDE:
            if (k in told, sharp[k]) > (keep[-1] in told, sharp[keep[-1]]):
                keep[-1] = k
        else:
            keep.append(k)
    if len(keep) > 1 and at[-1] - at[keep[-1]] + at[keep[0]] < SHORTEST_SIDE:
        keep.pop(0 if sharp[keep[0]] < sharp[keep[-1]] else -1)
    return keep


def _flattened(path: Sequence[CubicBez]) -> list[bool]:
    """Which segments belong to runs of MANY straight ones or more: curves that were flattened."""
    n = len(path)
    lines = [_is_line(c) for c in path]
    if all(lines):
        return [True] * n
    out = [False] * n
    # From behind a segment that is no line, so that no run is cut in two by where the path happens to start.
    first = lines.index(False) + 1
    for line, group in groupby(((first + k) % n for k in range(n)), key=lines.__getitem__):
        run = list(group)
        if line and len(run) >= MANY:
            for k in run:
                out[k] = True
    return out


def _is_line(c: CubicBez) -> bool:
    """Whether a cubic is a straight line as this program writes one, its handles at the thirds."""
    (ax, ay), p, q, (bx, by) = controls(c)
    third = ((2 * ax + bx) / 3.0, (2 * ay + by) / 3.0, (ax + 2 * bx) / 3.0, (ay + 2 * by) / 3.0)
    return max(abs(h - t) for h, t in zip((*p, *q), third, strict=True)) < 1e-6


def _halved(path: Sequence[CubicBez]) -> list[CubicBez]:
    """The path with an end of a segment in the middle of each one that rounds a corner by itself."""
    out: list[CubicBez] = []
    for c in path:
        if abs(_bend(c)) > ROUND_TURN / 2.0 and _chord(c) < ROUND * 1.5:
            out += [c.subsegment((0.0, 0.5)), c.subsegment((0.5, 1.0))]
        else:
            out.append(c)
    return out


def _bend(c: CubicBez) -> float:
    """By how many degrees a segment turns from its start to its end, positive to the left; 0 if it is straight."""
    (ax, ay), (bx, by) = _leaving(c), _leaving(turned_round(c))
    return math.degrees(math.atan2(-(ax * by - ay * bx), -(ax * bx + ay * by)))


def _rounded(path: Sequence[CubicBez], cuts: list[int]) -> list[int]:
    """The cuts, and one more in the middle of each corner that is drawn round."""
    n = len(path)
    if n > MOST_ROUNDED:
        return cuts
    # The direction of travel along the outline, by chords: before and behind each start of a segment, and in between.
    lengths = [_chord(c) for c in path]
    starts = list(accumulate(lengths, initial=0.0))
    whole = starts.pop()
    bends = [_bend(c) for c in path]
    joins = [_turned(path[k - 1], path[k]) for k in range(n)]
    behind = list(accumulate(b + j for b, j in zip(bends, [*joins[1:], joins[0]], strict=True)))
    behind, once = [0.0, *behind[:-1]], behind[-1]

    def heading(s: float) -> float:
        rounds, s = divmod(s, whole)
        k = max(bisect_right(starts, s) - 1, 0)
        part = min(1.0, (s - starts[k]) / lengths[k]) if lengths[k] > 0.0 else 0.0
        return rounds * once + behind[k] + part * bends[k]

    found: list[tuple[float, int]] = []
    for k in set(range(n)).difference(cuts):
        (into, away), (wide_into, wide_away), (far_into, far_away) = (
            (behind[k] - joins[k] - heading(starts[k] - reach), heading(starts[k] + reach) - behind[k])
            for reach in (ROUND / 2.0, ROUND, 1.5 * ROUND)
        )
        # What goes on turning beside it is no corner but a round end or a scallop.
        ends = abs(far_into + far_away) <= abs(wide_into + wide_away) + ROUND_TURN / 2.0
        if abs(into + joins[k] + away) >= ROUND_TURN and into * away >= 0.0 and ends:
            # The middle of the round corner is where both halves of it turn alike.
            found.append((abs(wide_into + joins[k] + wide_away) - abs(wide_into - wide_away), k))
    kept = list(cuts)
    for _, k in sorted(found, reverse=True):
        apart = ((abs(starts[k] - starts[c]), ROUND if c not in cuts else 1.5 * ROUND) for c in kept)
        if all(min(d, whole - d) > least for d, least in apart):
            kept.append(k)
    return sorted(kept)


def _turned(a: CubicBez, b: CubicBez) -> float:
    """As `turn`, positive to the left."""
    # The first is seen from its end, so it points backwards.
    (ax, ay), (bx, by) = _leaving(turned_round(a)), _leaving(b)
    return math.degrees(math.atan2(-(ax * by - ay * bx), -(ax * bx + ay * by)))


def _enough(path: list[CubicBez], cuts: list[int]) -> list[int]:
    """At least two cuts: where there is none, at the vertex farthest left; where there is one, at the farthest from it.

    Splits a single closed segment in two if need be, in place.
    """
    if len(cuts) >= 2:
        return cuts
    if len(path) < 2:
        whole = path[0]
        path[:] = [whole.subsegment((0.0, 0.5)), whole.subsegment((0.5, 1.0))]
        return [0, 1]
    if not cuts:
        cuts = [min(range(len(path)), key=lambda k: path[k].p0.x)]
    p = _start(path[cuts[0]])
    far = max((k for k in range(len(path)) if k != cuts[0]), key=lambda k: math.dist(_start(path[k]), p))
    return sorted((cuts[0], far))
