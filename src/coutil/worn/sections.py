"""Level sections of a torso: four quarter ellipses that meet smoothly at the two centres and at the two sides.

Everything that lies on a form counts x to the wearer's left, y up from the waist, z forward, in mm. A section is four
half axes: how wide it is to the left and to the right, how deep to the front and to the back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator  # type: ignore[import-untyped]
from scipy.optimize import root  # type: ignore[import-untyped]
from scipy.spatial import ConvexHull  # type: ignore[import-untyped]
from scipy.special import ellipe  # type: ignore[import-untyped]

Floats = NDArray[np.float64]

# Points round a section, a multiple of four so that both centres and both sides are among them. By trial the polygon
# is then shorter than the curve by 4e-5 of itself; the form is made so that the polygon itself has the tape's length.
ROUND = 192
# Their angles from the centre front to the wearer's left, round the back, and on to the right.
ANGLES: Floats = np.linspace(0.0, 2.0 * math.pi, ROUND, endpoint=False)
# A front takes at least and at most this part of a girth: beyond that no ellipse is a body. Found by trial.
FRONT_PART = (0.38, 0.64)


@dataclass(frozen=True, slots=True)
class Section:
    """One level: half widths to the left and right, half depths to the front and back, in mm."""

    left: float
    right: float
    front: float
    back: float

    def scaled(self, by: float) -> Section:
        return Section(self.left * by, self.right * by, self.front * by, self.back * by)


def quarter(a: float, b: float) -> float:
    """Length in mm of a quarter of an ellipse with half axes a and b, both positive."""
    large, small = max(a, b), min(a, b)
    return large * float(ellipe(1.0 - (small / large) ** 2))


def section(girth: float, front: tuple[float, float], ratio: float) -> Section:
    """The section of a girth in mm whose fronts, left and right from the centre to the side, have these lengths.

    `ratio` is depth to width. A front beyond FRONT_PART is brought back to it. Exact to 1e-6 mm for the curve.
    """
    whole = sum(front)
    held = min(max(whole, FRONT_PART[0] * girth), FRONT_PART[1] * girth)
    left, right = (f * held / whole for f in front)
    back = girth - held
    radius = girth / (2.0 * math.pi)

    def miss(v: Floats) -> list[float]:
        a, c, f, b = np.exp(v) * radius
        return [
            (quarter(a, f) - left) / radius,
            (quarter(c, f) - right) / radius,
            (quarter(a, b) + quarter(c, b) - back) / radius,
            (f + b - ratio * (a + c)) / radius,
        ]

    found = root(miss, np.zeros(4), tol=1e-12)
    a, c, f, b = (np.exp(found.x) * radius).tolist()
    return Section(a, c, f, b)


class Torso:
    """Sections at heights, joined smoothly: PCHIP in height, which keeps between its neighbours (Fritsch and Carlson,
    Monotone piecewise cubic interpolation, 1980). Beyond the first and the last section it goes straight on."""

    def __init__(self, sections: dict[float, Section]) -> None:
        self.heights = np.array(sorted(sections))
        axes = np.array([[s.left, s.right, s.front, s.back] for _, s in sorted(sections.items())])
        self._axes = PchipInterpolator(self.heights, axes, axis=0)
        self._slope = self._axes.derivative()

    def axes(self, y: Floats) -> Floats:
        """Half axes (left, right, front, back) at heights of any shape, in a last axis of four."""
        inside = np.clip(y, self.heights[0], self.heights[-1])
        out: Floats = self._axes(inside) + self._slope(inside) * (y - inside)[..., None]
        return np.maximum(out, 1.0)

    def at(self, y: float) -> Section:
        return Section(*self.axes(np.array(y)).tolist())

    def points(self, angle: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Points (x, z) and outward unit normals in the level plane, for angles and heights that go together."""
        axes = self.axes(y)
        sin, cos = np.sin(angle), np.cos(angle)
        wide = np.where(sin >= 0.0, axes[..., 0], axes[..., 1])
        deep = np.where(cos >= 0.0, axes[..., 2], axes[..., 3])
        at = np.stack((wide * sin, deep * cos), axis=-1)
        normal = np.stack((sin / wide, cos / deep), axis=-1)
        return at, normal / np.linalg.norm(normal, axis=-1, keepdims=True)


def along(ring: Floats) -> tuple[Floats, Floats]:
    """Arc length in mm of each point of closed rings (..., ROUND, 2) from the first point on, and the whole length."""
    step = np.linalg.norm(np.roll(ring, -1, axis=-2) - ring, axis=-1)
    ahead = np.cumsum(step, axis=-1)
    s = np.concatenate((np.zeros_like(ahead[..., :1]), ahead[..., :-1]), axis=-1)
    return s, ahead[..., -1]


def taut(points: Floats) -> float:
    """Length in mm of a taut tape round points (n, 2): the perimeter of their convex hull."""
    # In the plane qhull calls the perimeter area.
    return float(ConvexHull(points).area)


def taut_front(points: Floats) -> float:
    """Length in mm of a taut tape over the front: round the hull from its rightmost to its leftmost point, where the
    front has the greater second coordinate."""
    hull = points[ConvexHull(points).vertices]
    left, right = int(np.argmax(hull[:, 0])), int(np.argmin(hull[:, 0]))
    # qhull goes anticlockwise: from the greatest x over the greatest z to the least x.
    order = [(left + k) % len(hull) for k in range((right - left) % len(hull) + 1)]
    return float(np.linalg.norm(np.diff(hull[order], axis=0), axis=1).sum())
