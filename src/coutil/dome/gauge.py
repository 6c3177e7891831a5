"""The cup gauge: how deep and how full the dome will be that two flat panels make once they are sewn.

Cloth does not stretch, so all of a sewn cup's curvature lies in its seam: by Gauss and Bonnet (M. do Carmo,
Differential Geometry of Curves and Surfaces, section 4-5) the total curvature of a disc is what the turning of its rim
leaves of 2 pi. For two flat panels joined along a seam this is the seam's k_a + k_b per unit of length, the curvatures
of the two edges, each positive where its panel bulges outwards. Its sum over the seam within a distance rho of the bust
point, both ways, is K(rho). It needs no curvature: an edge's k summed over a stretch is how far its tangent turns
there.

Of all surfaces with that K the round one is taken. A circle about its apex at the distance rho along the surface has
the circumference 2 pi r(rho), and Gauss and Bonnet on the disc inside give (2 pi r)' = 2 pi - K, so

    dr/drho = 1 - K(rho) / 2 pi

and since the profile (r, height) has rho as its arc length, its height falls by sqrt(1 - (dr/drho)^2) per unit of rho.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from coutil.pattern import Cup, Edge, Pattern
from coutil.pattern.model import Side
from coutil.pattern.seams import sewn_length

Floats = NDArray[np.float64]

# Distances at which K is read. By trial depth and volume are then right to 2e-5 and 5e-5 of themselves, and halving
# the step quarters the error; the model itself is good to some 3 %.
SAMPLES = 200
# Tangents along an edge are read at this many even steps of each of its Béziers and joined by straight lines: by
# trial K is then right to 1e-4 radians on princess edges.
STEPS = 32
# The profile is kept at one sample in this many: enough to draw it.
PROFILE_EVERY = 5
MM3_PER_CC = 1000.0


def cups(pattern: Pattern, reach: dict[Side, float]) -> tuple[Cup, ...]:
    """The cup of each side in `reach`, which gives the distance R from the bust point to the underbust in mm.

    Raises KeyError where a side has no seam over the bust point, or one of its edges does not bear it.
    """
    return tuple(cup(pattern, side, r) for side, r in reach.items())


def cup(pattern: Pattern, side: Side, reach: float) -> Cup:
    """The round cup that the cup seam of one side makes within `reach` mm of the bust point.

    Where the seam ends nearer than `reach` above the bust point, K keeps there what the seam has.
    """
    edges = list(pattern.edges_of(pattern.cup_seam(side)))
    return round_cup(lambda rho: sum_of_turns(edges, rho), reach, side=side)


def round_cup(total: Callable[[Floats], Floats], reach: float, *, side: Side = "both", samples: int = SAMPLES) -> Cup:
    """The round cup of base distance `reach` (mm along the surface) whose total curvature within rho is `total(rho)`.

    `total` takes an ascending array of distances in mm from 0 to `reach` and gives radians. The error of depth and
    volume falls with the square of `samples`. A `total` outside 0 to 4 pi belongs to no round cup: such parts count as
    flat. Raises ValueError unless `reach` is positive and `samples` at least 2.
    """
    if not (reach > 0.0 and samples >= 2):
        raise ValueError(f"a cup needs a positive reach and two samples, got {reach} mm and {samples}")
    # Squares bring the samples close together at the apex, where a seam's K starts straight and the slope of the
    # profile therefore like a square root.
    rho = reach * np.linspace(0.0, 1.0, samples + 1) ** 2
    curvature = total(rho)
    outward = np.clip(1.0 - curvature / (2.0 * math.pi), -1.0, 1.0)
    falling = np.sqrt(1.0 - outward * outward)
    step = np.diff(rho)
    radius = _summed(outward, step)
    fall = _summed(falling, step)
    volume = _summed(math.pi * radius * radius * falling, step)[-1]
    depth = float(fall[-1])
    profile = np.stack((radius, depth - fall), axis=1)[::PROFILE_EVERY]
    return Cup(
        side=side,
        depth_mm=depth,
        volume_cc=float(volume) / MM3_PER_CC,
        base_radius_mm=float(radius[-1]),
        curvature_rad=float(curvature[-1]),
        profile=tuple((r, h) for r, h in profile.tolist()),
    )


def sum_of_turns(edges: list[Edge], rho: Floats) -> Floats:
    """K(rho) in radians: how far the tangents of both edges turn between rho below and rho above the bust point.

    Counted along the anticlockwise outline, so that a turn is positive where the panel bulges outwards.
    """
    total = np.zeros_like(rho)
    for edge in edges:
        at, heading = headings(edge)
        middle, end = edge.marks["bust_point"], sewn_length(edge)
        low = np.interp(np.maximum(middle - rho, 0.0), at, heading)
        high = np.interp(np.minimum(middle + rho, end), at, heading)
        total += high - low if edge.rising else low - high
    return total


def headings(edge: Edge) -> tuple[Floats, Floats]:
    """Arc lengths from the edge's lower end (mm, ascending) and the unwrapped headings of its upward tangent there."""
    controls = np.array([[(p.x, p.y) for p in (s.p0, s.p1, s.p2, s.p3)] for s in edge.upward().segments])
    # Derivatives at STEPS + 1 places and half way between them, so that Simpson's rule gives the arc length. A control
    # point that lies on its end leaves no tangent at the very end; a millionth inside there is one.
    d = np.einsum("tk,skc->stc", _DERIVATIVE, np.diff(controls, axis=1))
    speed = np.hypot(d[..., 0], d[..., 1])
    step = (speed[:, :-1:2] + 4.0 * speed[:, 1::2] + speed[:, 2::2]) / (6.0 * STEPS)
    ends = np.cumsum(step.sum(axis=1))
    starts = np.concatenate(([0.0], ends[:-1]))
    at = np.concatenate((np.zeros((len(step), 1)), np.cumsum(step, axis=1)), axis=1) + starts[:, None]
    angle = np.unwrap(np.arctan2(d[:, ::2, 1], d[:, ::2, 0]).ravel())
    return at.ravel(), angle


def _derivative_weights() -> Floats:
    t = np.clip(np.linspace(0.0, 1.0, 2 * STEPS + 1), 1e-6, 1.0 - 1e-6)
    return 3.0 * np.stack(((1.0 - t) ** 2, 2.0 * t * (1.0 - t), t * t), axis=1)


# What each of a cubic's three control point differences adds to its derivative (Bernstein form), a row for each place.
_DERIVATIVE = _derivative_weights()


def _summed(values: Floats, step: Floats) -> Floats:
    """The running integral from 0 by the trapezium rule."""
    return np.concatenate(([0.0], np.cumsum((values[1:] + values[:-1]) * 0.5 * step)))
