"""A closed run of cubics becomes the sides of a panel: anticlockwise, split at its corners, polylines fitted."""

from __future__ import annotations

import math
from collections.abc import Sequence

from kurbopy import CubicBez, Point

from coutil.plane import Curve, Pt
from coutil.trace.fit import TOLERANCE, fit_polyline
from coutil.trace.model import Cubic, TraceError

# A polyline has a corner where it turns by more than this, in degrees: curves that were flattened turn by up to 20 a
# point. An outline of curves tells its corners better: there a third of it is enough. By trial on some hundred drafts:
# no edge of theirs turns by more than 2 at a join; a top that falls steeply to the centre front meets it at 12.
CORNER = 30.0
CURVES_CORNER = 1.0 / 3.0
# So it is on a polyline where both neighbours turn by so many times less: on a flattened curve they turn alike.
STANDS_OUT = 3.0
# Segments shorter than this are left out and their ends drawn together, in mm: a tenth of a pencil line.
SPECK = 0.01
# Of two corners nearer to each other than this, in mm, only the sharper one counts: a chamfer, not an edge.
SHORTEST_SIDE = 2.0
# No panel has more corners than this; a scalloped hem has some dozens.
MOST_CORNERS = 250
# A point that the file calls a corner counts for the vertex within this of it, in mm.
ON_VERTEX = 0.2


def sides_of(
    path: Sequence[Cubic],
    *,
    straight: bool,
    corner: float = CORNER,
    turns: Sequence[Pt] = (),
    tolerance: float = TOLERANCE,
) -> tuple[tuple[Curve, ...], float]:
    """The sides of a closed path, from the corner nearest the lower left on, and how far the fit strays, in mm.

    `straight`: the path is a polyline, whose runs of many points are fitted within `tolerance` mm (absolute). `corner`
    is the least turn of a corner in degrees, on curves a third of it; `turns` are places that are corners whatever
    their angle. Always two or more sides: an outline with fewer corners is also split where it is farthest from them.
    Raises TraceError for a path that is nothing but a point.
    """
    path = anticlockwise(cleaned(path))
    cuts = _corners(path, corner, straight=straight, turns=turns)
    cuts = _enough(path, cuts)
    first = min(range(len(cuts)), key=lambda k: path[cuts[k]][0] + path[cuts[k]][1])
    cuts = cuts[first:] + cuts[:first]
    sides, worst = [], 0.0
    for a, b in zip(cuts, [*cuts[1:], cuts[0]], strict=True):
        run = [*path[a:b]] if b > a else [*path[a:], *path[:b]]
        if straight:
            curve, strays = fit_polyline([(c[0], c[1]) for c in run] + [(run[-1][6], run[-1][7])], tolerance=tolerance)
            worst = max(worst, strays)
        else:
            curve = Curve(tuple(bezier(c) for c in run))
        sides.append(curve)
    return tuple(sides), worst


def refuse_corners(path: Sequence[Cubic], corner: float) -> None:
    """Raise TraceError for an outline with so many corners that it is no panel."""
    count = sum(1 for k in range(len(path)) if turn(path[k - 1], path[k]) > corner)
    if count > MOST_CORNERS:
        raise TraceError(
            f"an outline with {count} corners: not a panel, or drawn with noise; smooth it, or say a larger corner"
        )


def cleaned(path: Sequence[Cubic]) -> list[Cubic]:
    """The closed path without specks, each segment starting exactly where the one before ended."""
    out: list[Cubic] = []
    for c in path:
        if math.hypot(c[6] - c[0], c[7] - c[1]) < SPECK and _reach(c) < SPECK:
            continue
        out.append((out[-1][6], out[-1][7], *c[2:]) if out else c)
    if not out:
        raise TraceError("an outline without size")
    x, y = out[0][0], out[0][1]
    gap = math.hypot(out[-1][6] - x, out[-1][7] - y)
    if gap > 0.0:
        # Only ends that were already taken for one come here.
        out[-1] = (*out[-1][:6], x, y)
    return out


def area(path: Sequence[Cubic]) -> float:
    """Signed area in mm² inside a closed path, positive if it runs anticlockwise; exact (Green's theorem)."""
    total = 0.0
    for x0, y0, x1, y1, x2, y2, x3, y3 in path:
        total += ((x0 * (6 * y1 + 3 * y2 + y3) + 3 * x1 * (-2 * y0 + y2 + y3)) + 3 * x2 * (-y0 - y1 + 2 * y3)) - x3 * (
            y0 + 3 * y1 + 6 * y2
        )
    return total / 20.0


def anticlockwise(path: list[Cubic]) -> list[Cubic]:
    if area(path) >= 0.0:
        return path
    return reversed_path(path)


def reversed_path(path: Sequence[Cubic]) -> list[Cubic]:
    return [(c[6], c[7], c[4], c[5], c[2], c[3], c[0], c[1]) for c in reversed(path)]


def bezier(c: Cubic) -> CubicBez:
    return CubicBez(Point(c[0], c[1]), Point(c[2], c[3]), Point(c[4], c[5]), Point(c[6], c[7]))


def turn(a: Cubic, b: Cubic) -> float:
    """By how many degrees the path turns from the end of `a` to the start of `b`, without sign."""
    (ax, ay), (bx, by) = _leaving(reversed_path([a])[0]), _leaving(b)
    # The first is seen from its end, so it points backwards.
    return math.degrees(abs(math.atan2(-ax * by + ay * bx, -ax * bx - ay * by)))


def _leaving(c: Cubic) -> Pt:
    """Direction, of any length, in which a cubic leaves its start, also where handles lie on it."""
    for x, y in ((c[2], c[3]), (c[4], c[5]), (c[6], c[7])):
        dx, dy = x - c[0], y - c[1]
        if math.hypot(dx, dy) > 1e-7:
            return dx, dy
    return 1.0, 0.0


def _reach(c: Cubic) -> float:
    return max(math.hypot(c[k] - c[0], c[k + 1] - c[1]) for k in (2, 4, 6))


def _corners(path: Sequence[Cubic], corner: float, *, straight: bool, turns: Sequence[Pt]) -> list[int]:
    """The numbers of the segments that start at a corner, in order."""
    n = len(path)
    sharp = {k: turn(path[k - 1], path[k]) for k in range(n)}
    told = set()
    for p in turns:
        k = min(range(n), key=lambda k: math.hypot(path[k][0] - p[0], path[k][1] - p[1]))
        if math.hypot(path[k][0] - p[0], path[k][1] - p[1]) < ON_VERTEX:
            told.add(k)
    slight = corner * CURVES_CORNER

    def is_corner(k: int) -> bool:
        if sharp[k] > corner or k in told:
            return True
        if sharp[k] <= slight:
            return False
        beside = [sharp[(k + step) % n] for step in (-1, 1)]
        return not straight or sharp[k] > STANDS_OUT * max((b for b in beside if b <= corner), default=0.0)

    found = [k for k in range(n) if is_corner(k)]
    if len(found) < 3:
        return found
    # Distances along the outline, by chords: enough to tell a chamfer.
    at = [0.0]
    for c in path:
        at.append(at[-1] + math.hypot(c[6] - c[0], c[7] - c[1]))
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


def _enough(path: list[Cubic], cuts: list[int]) -> list[int]:
    """At least two cuts: where there is none, at the vertex farthest left; where there is one, at the farthest from it.

    Splits a single closed segment in two if need be, in place.
    """
    if len(cuts) >= 2:
        return cuts
    if len(path) < 2:
        half = bezier(path[0])
        path[:] = [_plain(half.subsegment((0.0, 0.5))), _plain(half.subsegment((0.5, 1.0)))]
        return [0, 1]
    if not cuts:
        cuts = [min(range(len(path)), key=lambda k: path[k][0])]
    x, y = path[cuts[0]][0], path[cuts[0]][1]
    far = max((k for k in range(len(path)) if k != cuts[0]), key=lambda k: math.hypot(path[k][0] - x, path[k][1] - y))
    return sorted((cuts[0], far))


def _plain(c: CubicBez) -> Cubic:
    return (c.p0.x, c.p0.y, c.p1.x, c.p1.y, c.p2.x, c.p2.y, c.p3.x, c.p3.y)
