"""The pad on the centre front: the princess edge, a stretch of the neckline let down, and the circle of the cup."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coutil.layers.half import Half, rim
from coutil.layers.inside import between
from coutil.layers.rims import let_down
from coutil.order import PadBuild
from coutil.pattern import Edge
from coutil.plane import Curve, Pt, arc_through, controls, crossing, crossings, cubic, line, pinned
from coutil.plane.offset import OffsetError, meet, parallel
from coutil.words import Length

# The transition from the underbust point to the circle spans at least this angle about the bust point, in radians:
# about the width of a thumb on a usual cup. Found by trial.
TRANSITION = 0.15
# It is lengthened until its two tangents meet between these parts of its length, so that it bends evenly; or, where
# nothing up to the longest does, it takes the most even. Found by trial.
EVEN_FROM, EVEN_TO = 0.35, 0.65
LONGEST_TRANSITION = 0.7
# Tangents that meet nearer to an end than this part leave no smooth curve at all.
SMOOTH_FROM = 0.1
# The lines that a pad keeps to are drawn this near to what they stand for, in mm: as cut lines are.
ON_PARALLEL = 0.01
# Edges shorter than this are left out and their ends drawn together, in mm: too short to cut.
SHORTEST = 0.05


def centre_front_pad(half: Half, build: PadBuild) -> tuple[tuple[Edge, ...], float]:
    """The pad's edges, and the angle inside it at the underbust point between seam and lower rim, in radians.

    It keeps `front_dip` from the top edge, and half of `apart` from the upright edge towards the centre.
    """
    start = half.start(build)
    s, u, p = (half.princess.point(x) for x in (start, half.low, half.middle))
    radius = half.middle - half.low
    top, centre = _bounds(half, build)
    tx, ty = half.princess.tangent(half.low)
    up = math.atan2(ty, tx)
    # The rim leaves the underbust point square to the radius; or, where the seam straightens out there, square to the
    # seam, for it would otherwise run on as a dip on the side front.
    corner = max(math.remainder(math.atan2(p[0] - u[0], u[1] - p[1]) - up, math.tau), math.pi / 2.0)
    rim_end = _lower_rim(half, top, centre, p, radius, u, up + corner)

    edges = [half.sewn(start, rising=True)]
    stretch = top if rim_end.on_top is None else top.part(0.0, rim_end.on_top)
    m = rim_end.curve.start
    # From the centre front it starts as high as the rim may reach there; a rim that ends higher is left there.
    t = stretch.end if rim_end.on_top is not None or rim_end.on_centre > SHORTEST else m
    upper = let_down(stretch, s, t, half.top, build.front_dip, most=build.front_dip + build.top_drop)
    edges.append(rim("pad_top", pinned(upper, s, t)))
    if rim_end.on_top is None and rim_end.on_centre > SHORTEST:
        edges.append(rim("pad_centre_front", centre.part(0.0, rim_end.on_centre)))
    edges.append(rim("pad_lower", pinned(rim_end.curve, t if len(edges) == 2 else m, u)))
    return tuple(edges), corner


def _bounds(half: Half, build: PadBuild) -> tuple[Curve, Curve]:
    """What the pad reaches up to and inwards to: a line below the top edge, and one beside the centre, end to end."""
    try:
        top = parallel(half.top, build.front_dip, tolerance=ON_PARALLEL)
        centre = parallel(half.other.curve, build.apart / 2.0, tolerance=ON_PARALLEL)
    except OffsetError as e:
        dip = Length(build.front_dip, "full")
        raise half.stop("no_pad.no_neckline", dip=dip, apart=Length(build.apart, "full")) from e
    met = meet(top, top.length, centre, 0.0)
    if met is None or met[0] <= SHORTEST or met[1] >= centre.length - SHORTEST:
        dip = Length(build.front_dip, "full")
        raise half.stop("no_pad.no_neckline", dip=dip, apart=Length(build.apart, "full"))
    return between(top, 0.0, met[0]), between(centre, met[1], centre.length)


@dataclass(frozen=True, slots=True)
class _Lower:
    """The lower rim up to the underbust point, and where it begins: on the top edge, or else on the centre front."""

    curve: Curve
    on_top: float | None
    on_centre: float = 0.0


def _lower_rim(half: Half, top: Curve, centre: Curve, p: Pt, radius: float, u: Pt, leave: float) -> _Lower:
    """The circle of the cup from where it first meets the top or the centre front, and the transition from it.

    A small cup on a wide panel may meet neither: then the rim leaves the circle at its place nearest to the centre
    front, straight up to the top edge. On a narrow panel the transition may reach the centre front before the circle.
    """
    transition, join = _transition(half, u, p, radius, leave)
    fixed = centre.at(0.0) if centre.straight else None

    def beside(q: Pt) -> float:
        # The panel lies to the left of its centre front, or of the seam in its place, which runs down. Of a straight
        # one any place will do; most are, and looking for the nearest takes long.
        (cx, cy), (vx, vy) = fixed or centre.at(centre.nearest(q)[0])
        return vx * (q[1] - cy) - vy * (q[0] - cx)

    # A curve lies in the hull of its control points: all of them beside a straight line, and it is not crossed.
    clear = fixed is not None and min(beside(q) for s in transition.segments for q in controls(s)) > 0.0
    over = [] if clear else crossings(transition, beside)
    if over:
        at = transition.point(over[-1])
        return _Lower(transition.part(over[-1], transition.length), None, centre.nearest(at)[0])

    def off(q: Pt) -> float:
        return math.dist(p, q) - radius

    met: list[tuple[float, float | None, float]] = [
        *((_clockwise(join, p, top.point(s)), s, 0.0) for s in crossings(top, off)),
        *((_clockwise(join, p, centre.point(s)), None, s) for s in crossings(centre, off)),
    ]
    if met:
        sweep, on_top, on_centre = min(met, key=lambda m: m[0])
        return _Lower(_arc(p, radius, join, sweep, transition), on_top, on_centre)

    left = p[0] - radius
    up = [s for s in crossings(top, lambda q: q[0] - left) if top.point(s)[1] > p[1]]
    if not up:
        raise half.stop("no_pad.no_end", radius=Length(radius, "full"))
    round_part = _arc(p, radius, join, _clockwise(join, p, (left, p[1])), transition)
    return _Lower(line(top.point(up[0]), round_part.start).then(round_part), up[0])


def _clockwise(angle: float, p: Pt, q: Pt) -> float:
    """By how much one turns clockwise about `p` from `angle` to see `q`, in [0, 2 pi)."""
    return (angle - math.atan2(q[1] - p[1], q[0] - p[0])) % math.tau


def _transition(half: Half, u: Pt, p: Pt, radius: float, leave: float) -> tuple[Curve, float]:
    """One cubic from the circle to the underbust point, and the angle about the bust point at which it leaves.

    The radius is measured along the bowed seam, so the underbust point lies a little inside the circle. The cubic
    leaves the circle along its tangent and the underbust point at heading `leave`; it bends one way only, as its
    control points lie on the sides of the triangle of these tangents.
    """
    below = math.atan2(u[1] - p[1], u[0] - p[0])
    best: tuple[float, float, Pt, Pt] | None = None
    sweep = TRANSITION
    while sweep <= LONGEST_TRANSITION:
        angle = below - sweep
        e = (p[0] + radius * math.cos(angle), p[1] + radius * math.sin(angle))
        c = crossing(u, leave, e, angle + math.pi / 2.0)
        # How far the tangents' crossing lies along the way, by the way from either end; negative behind an end.
        from_u = (c[0] - u[0]) * math.cos(leave) + (c[1] - u[1]) * math.sin(leave)
        to_e = (c[0] - e[0]) * -math.sin(angle) + (c[1] - e[1]) * math.cos(angle)
        part = from_u / (from_u + to_e) if from_u > 0.0 and to_e > 0.0 else 0.0
        even = min(part, 1.0 - part)
        if best is None or even > best[0]:
            best = (even, angle, e, c)
        if EVEN_FROM <= part <= EVEN_TO:
            break
        sweep += 0.01
    if best is None or best[0] < SMOOTH_FROM:
        raise half.stop("no_pad.bowed", edge=half.edge_called, off=Length(radius - math.dist(u, p), "full"))
    _, angle, e, c = best
    f = 2.0 / 3.0
    return (
        cubic(
            e,
            (e[0] + f * (c[0] - e[0]), e[1] + f * (c[1] - e[1])),
            (u[0] + f * (c[0] - u[0]), u[1] + f * (c[1] - u[1])),
            u,
        ),
        angle,
    )


def _arc(p: Pt, radius: float, join: float, sweep: float, transition: Curve) -> Curve:
    """The transition with the circle's stretch before it, walked anticlockwise; alone if that is too short to draw."""
    if sweep * radius <= SHORTEST:
        return transition
    return arc_through(p, radius, join - sweep, sweep).then(transition)
