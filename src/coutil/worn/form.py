"""The form: a closed surface in three dimensions on which a bodice is tried. From the tape, or from a mesh.

x to the wearer's left, y up from the waist, z forward, in mm; triangles run anticlockwise seen from outside.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coutil.body import Body
from coutil.worn.breast import apex, raised
from coutil.worn.sections import ROUND, Floats
from coutil.worn.tape import from_tape

Ints = NDArray[np.int64]

# Rings lie no farther apart than this, in mm: by trial half of it moves no stand-off by 0.1 mm.
RING = 6.0
# The form goes on below its lowest level and above the armpit by this much, in mm, so that no hem or top hangs free.
BELOW, ABOVE = 90.0, 130.0


@dataclass(frozen=True, slots=True, eq=False)
class Form:
    """Vertices (n, 3), triangles (m, 3), heights of the levels, the bust points by side, and what was assumed.

    `symmetric`: right is the mirror image of left, so that half of it tells all. `from_mesh`: it was not the tape.
    """

    points: Floats
    faces: Ints
    levels: Mapping[str, float]
    bust_points: Mapping[str, tuple[float, float, float]]
    symmetric: bool
    assumed: tuple[str, ...]
    tilt: float = 0.0
    from_mesh: bool = False


def form_of(body: Body, *, bust: bool = True) -> Form:
    """The form of a body. Its mesh has a ring at each level, whose taut girth is the tape's within 0.01 mm."""
    made = from_tape(body, bust=bust)
    levels = made.levels
    if not bust:
        levels = {k: v for k, v in levels.items() if k in ("hip", "high_hip", "waist", "underbust")}
    marks = sorted([*levels.values(), *(m.height for m in made.mounds)])
    stops = [marks[0] - BELOW, *marks, marks[-1] + ABOVE]
    heights = [stops[0]]
    for a, b in pairwise(stops):
        n = math.ceil((b - a) / RING - 1e-9)
        heights += [a + (b - a) * k / n for k in range(1, n + 1)]
    y = np.array(heights)
    ring = raised(made.torso, made.mounds, np.repeat(y[:, None], ROUND, axis=1))
    points = np.concatenate((ring[..., :1], np.repeat(y[:, None], ROUND, axis=1)[..., None], ring[..., 1:]), axis=-1)
    sides = ("left", "right")
    apexes = {s: apex(made.torso, m) for s, m in zip(sides, made.mounds, strict=False)}
    vertices, faces = _closed(points)
    return Form(vertices, faces, levels, apexes, body.symmetric, made.assumed, made.tilt)


def _closed(rings: Floats) -> tuple[Floats, Ints]:
    """One closed surface of rings (n, ROUND, 3) from below, with a point in the middle of each end."""
    n, around = rings.shape[:2]
    k = np.arange(n * around).reshape(n, around)
    right = np.roll(k, -1, axis=1)
    a, b, c, d = k[:-1], right[:-1], right[1:], k[1:]
    # Both halves are cut along mirrored diagonals, so that the surface is its own mirror image.
    first = np.arange(around) < around // 2
    left = np.stack((np.stack((a, b, c), -1), np.stack((a, c, d), -1)), 2)
    other = np.stack((np.stack((a, b, d), -1), np.stack((b, c, d), -1)), 2)
    walls = np.where(first[None, :, None, None], left, other).reshape(-1, 3)
    low, high = n * around, n * around + 1
    bottom = np.stack((np.full(around, low), right[0], k[0]), -1)
    top = np.stack((np.full(around, high), k[-1], right[-1]), -1)
    ends = np.stack((rings[0].mean(axis=0), rings[-1].mean(axis=0)))
    return np.concatenate((rings.reshape(-1, 3), ends)), np.concatenate((walls, bottom, top)).astype(np.int64)
