"""The pad on the side front: the princess edge, the top edge let down, and a round lower rim clear of the side seam."""

from __future__ import annotations

import math

from coutil.layers.half import Half, rim
from coutil.layers.words import LayerError
from coutil.order import PadBuild
from coutil.pattern import Edge
from coutil.pattern.refs import PadRef, PanelRef
from coutil.plane import Curve, Pt, crossing, cubic, pinned, shifted
from coutil.plane.offset import meet
from coutil.words import Length

# How full the lower rim is drawn: handles of this part of the way to the corner of its tangents; an ellipse has
# 0.5523 (4/3 tan(22.5 degrees)). At the underbust point it may lie between the other two,
# to carry on the circle's bend.
FULLNESS, LEAST, MOST = 0.5523, 0.4, 0.75
# The lower rim starts at least this much lower than straight towards the outer corner, in radians, so that it can be
# round; where the seam leaves the underbust point too slanting for that, the rim turns at the seam. Found by trial.
LEAST_BELLY = math.radians(8.0)
# The distance to the side seam is measured between polylines within this of their curves, in mm.
FLATNESS = 0.02


def side_front_pad(half: Half, build: PadBuild, corner: float) -> tuple[tuple[Edge, ...], float]:
    """The pad's edges, and by how much its lower rim starts lower than asked for.

    `corner` is the angle asked for, inside the pad at the underbust point, in radians.
    """
    start = half.start(build)
    s_point, u_point = half.princess.point(start), half.princess.point(half.low)
    side = half.other.curve
    # The outline runs up the side and then along the top: both have the panel on their left.
    met = meet(side, side.length, half.top, 0.0, left_of_a=build.side_inset, left_of_b=build.side_dip)
    if met is None or not (0.0 < met[0] <= side.length + build.side_dip and 0.0 <= met[1] < half.top.length):
        inset, dip = Length(build.side_inset, "full"), Length(build.side_dip, "full")
        raise half.stop("no_pad.no_corner", panel=PanelRef(half.name), inset=inset, dip=dip)
    foot = half.top.point(met[1])
    tx, ty = half.top.tangent(met[1])
    q = (foot[0] - build.side_dip * ty, foot[1] + build.side_dip * tx)

    hx, hy = half.princess.tangent(half.low)
    chord = math.atan2(q[1] - u_point[1], q[0] - u_point[0])
    asked = math.atan2(hy, hx) - corner
    leave = min(asked, chord - LEAST_BELLY)
    sx, sy = side.tangent(min(met[0], side.length))
    lower = _outer_rim(half, build, u_point, leave, q, math.atan2(sy, sx), side)

    top = _top_rim(half, build, met[1], q, s_point)
    edges = (rim("pad_lower", lower), rim("pad_top", pinned(top, q, s_point)), half.sewn(start, rising=False))
    return edges, asked - leave


def _top_rim(half: Half, build: PadBuild, foot: float, q: Pt, s: Pt) -> Curve:
    """The top edge from `foot`, the outer corner's, let down to the corner `q` and to the start `s`.

    A steep top let down would come nearer than `side_dip`; there the rim is bowed away from it, as little as it takes.
    """
    from shapely import LineString  # type: ignore[import-untyped]

    stretch = half.top.part(foot, half.top.length)
    (ax, ay), (bx, by) = stretch.start, stretch.end
    first, last = (q[0] - ax, q[1] - ay), (s[0] - bx, s[1] - by)
    top = LineString(half.top.points(tolerance=FLATNESS))
    tx, ty = stretch.tangent(stretch.length / 2.0)

    def bowed(by_mm: float) -> Curve:
        return shifted(stretch, first, last, (-ty * by_mm, tx * by_mm))

    def clear(made: Curve) -> bool:
        # Both are polylines: twice their flatness may be missing though the curves keep their distance.
        return bool(top.distance(LineString(made.points(tolerance=FLATNESS))) >= build.side_dip - 2.0 * FLATNESS)

    made = bowed(0.0)
    if clear(made):
        return made
    low, high = 0.0, build.side_dip + build.top_drop
    if not clear(bowed(high)):
        # The start itself lies nearer to the top than the corner does: top_drop is asked for, and the shorter.
        return made
    for _ in range(16):
        middle = (low + high) / 2.0
        if clear(bowed(middle)):
            high = middle
        else:
            low = middle
    return bowed(high)


def _outer_rim(half: Half, build: PadBuild, u: Pt, leave: float, q: Pt, side_heading: float, side: Curve) -> Curve:
    """A convex curve from the underbust point to the outer corner that keeps `side_inset` from the side seam.

    It arrives along the side seam; where the side is hollow below the corner it leans away from it, by as little as
    keeps the distance.
    """
    from shapely import LineString

    edge = LineString(side.points(tolerance=FLATNESS))
    radius = half.middle - half.low

    def drawn(lean: float) -> Curve | None:
        arrive = side_heading - lean
        c = crossing(u, leave, q, arrive + math.pi)
        a = (c[0] - u[0]) * math.cos(leave) + (c[1] - u[1]) * math.sin(leave)
        b = (q[0] - c[0]) * math.cos(arrive) + (q[1] - c[1]) * math.sin(arrive)
        if a <= 0.0 or b <= 0.0:
            return None
        # At its start a cubic bends by 2/3 of the third point's distance from the tangent over the handle squared.
        rise = (1.0 - FULLNESS) * b * abs(math.sin(arrive - leave))
        f = min(max(math.sqrt(2.0 / 3.0 * rise * radius) / a, LEAST), MOST)
        return cubic(
            u,
            (u[0] + f * (c[0] - u[0]), u[1] + f * (c[1] - u[1])),
            (q[0] + FULLNESS * (c[0] - q[0]), q[1] + FULLNESS * (c[1] - q[1])),
            q,
        )

    def short(lean: float) -> float:
        """By how much the rim comes too near the side seam."""
        made = drawn(lean)
        if made is None:
            return math.inf
        return build.side_inset - float(edge.distance(LineString(made.points(tolerance=FLATNESS))))

    # Leaning further it would arrive straighter than it starts.
    most = side_heading - math.atan2(q[1] - u[1], q[0] - u[0]) - LEAST_BELLY
    # Both are polylines: twice their flatness may be missing though the curves keep their distance.
    enough = 2.0 * FLATNESS
    if short(0.0) <= enough:
        lean = 0.0
    elif short(most) <= enough:
        low, lean = 0.0, most
        for _ in range(24):
            middle = (low + lean) / 2.0
            if short(middle) <= enough:
                lean = middle
            else:
                low = middle
    else:
        raise half.stop("no_pad.no_rim", panel=PanelRef(half.name), inset=Length(build.side_inset, "full"))
    made = drawn(lean)
    if made is None:
        raise LayerError("rim_lost", PadRef(half.name, half.side), panel=half.words)
    return made
