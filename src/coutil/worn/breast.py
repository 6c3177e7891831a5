"""The breasts on a torso: two mounds, each raised over a round root along the torso's own normal."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from coutil.worn.sections import ANGLES, ROUND, Floats, Torso, along

# A mound of height p over a root of radius R is p (1 - (d / R)^2)^POWER high at the distance d: between a cap (1) and a
# bell (2), flat at its foot. Found by trial.
POWER = 1.15
# Where both roots overlap the mounds are joined by the mean of this power, which leaves the bust points as they are and
# fills the valley a little. Found by trial.
JOIN = 3.0
# Steps in which the way from the bust point down to the root is measured: right to 0.05 mm by trial.
STEPS = 48


@dataclass(frozen=True, slots=True)
class Mound:
    """One breast: the angle and the height (mm) of its middle, the radius of its root and how far it stands out, mm."""

    angle: float
    height: float
    radius: float
    out: float


def raised(torso: Torso, mounds: tuple[Mound, ...], y: Floats) -> Floats:
    """Points (x, z) of rings at ANGLES with the mounds on; y (n, ROUND) are the heights, one for each point."""
    at, normal = torso.points(np.broadcast_to(ANGLES, y.shape), y)
    s, whole = along(at)
    ends = np.concatenate((s, whole[:, None]), axis=1)
    total = np.zeros(y.shape)
    for m in mounds:
        # Where the mound's middle lies along each ring.
        place = (m.angle / (2.0 * math.pi) % 1.0) * ROUND
        k = int(place)
        middle = ends[:, k] + (place - k) * (ends[:, k + 1] - ends[:, k])
        away = np.abs(s - middle[:, None])
        away = np.minimum(away, whole[:, None] - away)
        rest = 1.0 - (away**2 + (y - m.height) ** 2) / m.radius**2
        total += (m.out * np.maximum(rest, 0.0) ** POWER) ** JOIN
    out: Floats = at + normal * (total ** (1.0 / JOIN))[..., None]
    return out


def apex(torso: Torso, m: Mound) -> tuple[float, float, float]:
    """The bust point (x, y, z)."""
    at, normal = torso.points(np.array(m.angle), np.array(m.height))
    x, z = (at + m.out * normal).tolist()
    return (x, m.height, z)


def way_up(torso: Torso, m: Mound, root: float) -> float:
    """The way over a mound from the height `root` straight up to its bust point, in mm."""
    # Steps by the cosine: close together at the root, where the mound rises steeply.
    down = (m.height - root) * np.cos(np.linspace(0.0, math.pi / 2.0, STEPS + 1))
    y = m.height - down
    at, normal = torso.points(np.full(y.shape, m.angle), y)
    x = at + normal * (m.out * np.maximum(1.0 - (down / m.radius) ** 2, 0.0) ** POWER)[:, None]
    path = np.concatenate((x, y[:, None]), axis=1)
    return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
