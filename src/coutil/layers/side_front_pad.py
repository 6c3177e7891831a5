"""The pad on the side front: the princess edge, the top edge let down, and a round lower rim clear of the side seam."""

from __future__ import annotations

import math

from coutil.layers.half import Half, rim
from coutil.layers.rims import FLATNESS, let_down
from coutil.layers.words import LayerError
from coutil.order import PadBuild
from coutil.pattern import Edge
from coutil.pattern.refs import PadRef, PanelRef
from coutil.plane import Curve, Pt, crossing, cubic, pinned
from coutil.plane.offset import meet
from coutil.words import Length

# How full the lower rim is drawn: handles of this part of the way to the corner of its tangents; an ellipse has
# 0.5523 (4/3 tan(22.5 degrees)). At the underbust point it may lie between the other two,
# to carry on the circle's bend.
FULLNESS, LEAST, MOST = 0.5523, 0.4, 0.75
# The lower rim starts at least this much lower than straight towards the outer corner, in radians, so that it can be
# round; where the seam leaves the underbust point too slanting for that, the rim turns at the seam. Found by trial.
LEAST_BELLY = math.radians(8.0)


# Where along the top edge a pad ends that may reach no farther is found in so many halvings.
HALVINGS = 48


def side_front_pad(half: Half, build: PadBuild, corner: float) -> tuple[tuple[Edge, ...], float]:
    """The pad's edges, and by how much its lower rim starts lower than asked for.

    `corner` is the angle asked for, inside the pad at the underbust point, in radians. The pad keeps `side_inset` from
    the side, and reaches outwards no farther than `beyond` over the root of the breast, which lies as far from the
    bust point as the underbust does.
    """
    start = half.start(build)
    s_point, u_point = half.princess.point(start), half.princess.point(half.low)
    side = half.other.curve
    # The outline runs up the side and then along the top: both have the panel on their left.
    met = meet(side, side.length, half.top, 0.0, left_of_a=build.side_inset, left_of_b=build.side_dip)
    if met is not None and -build.side_dip <= met[1] < 0.0:
        # Under a steep top that point lies beside the panel's corner: below the corner itself it is far enough in.
        met = (met[0], 0.0)
    if met is None or not (0.0 < met[0] <= side.length + build.side_dip and 0.0 <= met[1] < half.top.length):
        inset, dip = Length(build.side_inset, "full"), Length(build.side_dip, "full")
        raise half.stop("no_pad.no_corner", panel=PanelRef(half.name), inset=inset, dip=dip)
    most = half.princess.point(half.middle)[0] + (half.middle - half.low) + build.beyond
    foot = _no_farther(half.top, met[1], build.side_dip, most)
    q = _below(half.top, foot, build.side_dip)

    hx, hy = half.princess.tangent(half.low)
    chord = math.atan2(q[1] - u_point[1], q[0] - u_point[0])
    asked = math.atan2(hy, hx) - corner
    leave = min(asked, chord - LEAST_BELLY)
    sx, sy = side.tangent(min(met[0], side.length))
    lower = _outer_rim(half, build, u_point, leave, q, math.atan2(sy, sx), side, most)

    stretch = half.top.part(foot, half.top.length)
    top = let_down(stretch, q, s_point, half.top, build.side_dip, most=build.side_dip + build.top_drop)
    edges = (rim("pad_lower", lower), rim("pad_top", pinned(top, q, s_point)), half.sewn(start, rising=False))
    return edges, asked - leave


def _below(top: Curve, s: float, dip: float) -> Pt:
    """The point `dip` mm inside the top edge, by arc length along it."""
    (x, y), (tx, ty) = top.point(s), top.tangent(s)
    return (x - dip * ty, y + dip * tx)


def _no_farther(top: Curve, s: float, dip: float, most: float) -> float:
    """The place on the top edge, from `s` on towards the cup seam, below which x is no more than `most`."""
    if _below(top, s, dip)[0] <= most:
        return s
    low, high = s, top.length
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        if _below(top, middle, dip)[0] > most:
            low = middle
        else:
            high = middle
    return high


def _outer_rim(
    half: Half, build: PadBuild, u: Pt, leave: float, q: Pt, side_heading: float, side: Curve, farthest: float
) -> Curve:
    """A convex curve from the underbust point to the outer corner that keeps `side_inset` from the side seam.

    Its x stays within `farthest`.

    It arrives along the side seam; where the side is hollow below the corner it leans away from it, by as little as
    keeps the distance.
    """
    from shapely import LineString  # type: ignore[import-untyped]

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
        """By how much the rim comes too near the side seam, or too far out."""
        made = drawn(lean)
        if made is None:
            return math.inf
        points = made.points(tolerance=FLATNESS)
        near = build.side_inset - float(edge.distance(LineString(points)))
        return max(near, max(x for x, _ in points) - farthest)

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
