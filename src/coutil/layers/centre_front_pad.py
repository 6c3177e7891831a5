"""The pad on the centre front: the princess edge, a stretch of the neckline let down, and the circle of the cup."""

from __future__ import annotations

import math

from coutil.layers.half import Half, of_role
from coutil.layers.rims import crossing, crossings, pinned, rim, shifted
from coutil.layers.words import said
from coutil.order import PadBuild
from coutil.pattern import Edge
from coutil.plane import Curve, Pt, arc_through, cubic, line

# The transition from the underbust point to the circle is this part of the radius long where that is enough to bend
# evenly: about the width of a thumb on a usual cup. Found by trial.
TRANSITION = 0.15
# The transition bends evenly enough while its two tangents meet between these parts of its length. Found by trial.
EVEN_FROM, EVEN_TO = 0.35, 0.65
# No transition is longer than this part of the radius: the underbust point would lie far off the circle.
LONGEST_TRANSITION = 0.7
# Edges shorter than this are left out and their ends drawn together, in mm: too short to cut.
SHORTEST = 0.05


def centre_front_pad(half: Half, build: PadBuild) -> tuple[tuple[Edge, ...], float]:
    """The pad's edges, and the angle inside it at the underbust point between seam and lower rim, in radians."""
    start = half.start(build)
    s_point, u_point, p = half.princess.point(start), half.princess.point(half.low), half.princess.point(half.middle)
    radius = half.middle - half.low
    away = (u_point[0] - p[0], u_point[1] - p[1])
    # The rim leaves the underbust point square to the radius, towards the centre front.
    leave = math.atan2(-away[0], away[1])
    tx, ty = half.princess.tangent(half.low)
    corner = math.remainder(leave - math.atan2(ty, tx), math.tau)

    from_angle = math.atan2(away[1], away[0])
    transition, join = _transition(half, u_point, p, radius, from_angle)
    centre = of_role(half.edges, "centre_front", half.name)
    lower, met_top, met_centre = _along_circle(half, centre.curve, p, radius, join)

    e, n = half.top.start, half.top.end
    drop_here = (s_point[0] - e[0], s_point[1] - e[1])
    edges = [half.sewn(start, rising=True)]
    lower = transition if lower is None else lower.then(transition)
    if met_top is not None:
        m = half.top.point(met_top)
        edges.append(rim("pad_top", pinned(shifted(half.top.part(0.0, met_top), drop_here, (0.0, 0.0)), s_point, m)))
        lower = pinned(lower, m, u_point)
    else:
        # Up the centre front to as far below the neckline as at the seam; a circle that ends higher is left there.
        down = met_centre if met_centre is not None else 0.0
        at = max(min(build.top_drop, down), 0.0)
        if down - at < SHORTEST:
            at = down
        t = centre.curve.point(at)
        edges.append(rim("pad_top", pinned(shifted(half.top, drop_here, (t[0] - n[0], t[1] - n[1])), s_point, t)))
        if down > at:
            edges.append(rim("pad_centre_front", centre.curve.part(at, down)))
        lower = pinned(lower, centre.curve.point(down), u_point)
    edges.append(rim("pad_lower", lower))
    return tuple(edges), corner


def _transition(half: Half, u: Pt, p: Pt, radius: float, from_angle: float) -> tuple[Curve, float]:
    """One cubic from the circle to the underbust point, and the angle about the bust point at which it leaves.

    The radius is measured along the bowed seam, so the underbust point lies a little inside the circle. The cubic's
    end tangents are those of the circle and of the square to the radius; it bends one way only, as its control points
    lie on the sides of the triangle of these tangents.
    """
    sweep = TRANSITION
    while sweep <= LONGEST_TRANSITION:
        # Clockwise from below: towards the centre front.
        angle = from_angle - sweep
        ex, ey = p[0] + radius * math.cos(angle), p[1] + radius * math.sin(angle)
        cx, cy = crossing(u, from_angle - math.pi / 2.0, (ex, ey), angle + math.pi / 2.0)
        a, b = math.dist((cx, cy), (ex, ey)), math.dist((cx, cy), u)
        if EVEN_FROM <= a / (a + b) <= EVEN_TO:
            f = 2.0 / 3.0
            made = cubic(
                (ex, ey), (ex + f * (cx - ex), ey + f * (cy - ey)), (u[0] + f * (cx - u[0]), u[1] + f * (cy - u[1])), u
            )
            return made, angle
        sweep += 0.01
    raise half.stop(
        f"The princess edge is so bowed that the underbust point lies {said(radius - math.dist(u, p))} inside the "
        "circle of the cup, and the pad's lower rim cannot join it smoothly. Check bust_to_underbust."
    )


def _along_circle(
    half: Half, centre: Curve, p: Pt, radius: float, join: float
) -> tuple[Curve | None, float | None, float | None]:
    """The circle from where it ends to where the transition takes over; and its end, on the top or the centre front.

    The first of its crossings with either, clockwise from the transition. A small cup on a wide panel may meet neither:
    then the rim leaves the circle at its place nearest to the centre front, straight up to the top edge.
    """
    found: list[tuple[float, float | None, float | None]] = []
    for curve, top in ((half.top, True), (centre, False)):
        for s in crossings(curve, lambda q: math.dist(p, q) - radius):
            q = curve.point(s)
            sweep = (join - math.atan2(q[1] - p[1], q[0] - p[0])) % math.tau
            found.append((sweep, s, None) if top else (sweep, None, s))
    # Only what lies on the centre front's side of the seam: the circle has left the panel by the seam above the point.
    found.sort(key=lambda f: f[0])
    if found:
        sweep, met_top, met_centre = found[0]
        return (_arc(p, radius, join, sweep), met_top, met_centre)
    sweep = (join + math.pi) % math.tau
    left = p[0] - radius
    up = [s for s in crossings(half.top, lambda q: q[0] - left) if half.top.point(s)[1] > p[1]]
    if not up:
        raise half.stop(
            f"The circle of the cup ({said(radius)} about the bust point) meets neither the top edge nor the centre "
            "front, so the pad's lower rim ends nowhere. Check bust_to_underbust and bust_span."
        )
    m = half.top.point(up[0])
    arc = _arc(p, radius, join, sweep)
    rise = line(m, (left, p[1]))
    return (rise if arc is None else rise.then(arc)), up[0], None


def _arc(p: Pt, radius: float, join: float, sweep: float) -> Curve | None:
    """The circle's stretch that ends at angle `join`, walked anticlockwise; None if too short to draw."""
    return arc_through(p, radius, join - sweep, sweep) if sweep * radius > SHORTEST else None
