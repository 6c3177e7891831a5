"""What the worn cloth weighs in energy: stretch, bending, bones, contact with the form, stays. N, mm.

Stretch: St. Venant and Kirchhoff's membrane on flat triangles, with its own stiffness along and across the grain and in
shear. Bending: the quadratic energy of M. Bergou et al., A quadratic bending model for inextensible surfaces (2006),
which is exact for cloth that hardly stretches; not over seams, which fold. Bones: rods that are straight at rest.
Contact: what presses into the form is pushed out in proportion.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Cloth:
    """Of all layers together: stiffness in N/mm along and across the grain and in shear, bending in N mm.

    Assumed, not measured: shell, strength layer and lining together stretch by 1 % under 2 N for 10 mm of width.
    Bending is that of a sheet 2.5 mm thick that stretches so: 20 N/mm times 2.5² / 12. With less cups cave in.
    """

    along: float = 20.0
    across: float = 20.0
    shear: float = 1.5
    bending: float = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class Membrane:
    """The triangles' stretch: `faces` (m, 3), gradients of their shape functions (m, 3, 2), areas in mm² (m,), and
    stiffness (m or 1, 3) in N/mm along, across and in shear."""

    faces: Ints
    gradients: Floats
    areas: Floats
    stiffness: Floats

    @classmethod
    def of(cls, faces: Ints, rest: Floats, cloth: Cloth, weaker: Floats | None = None) -> Membrane:
        """From flat corners (m, 3, 2) along and across the grain; `weaker` (m,) are parts of the cloth's stiffness."""
        e1, e2 = rest[:, 1] - rest[:, 0], rest[:, 2] - rest[:, 0]
        det = e1[:, 0] * e2[:, 1] - e1[:, 1] * e2[:, 0]
        g1 = np.stack((e2[:, 1], -e2[:, 0]), axis=1) / det[:, None]
        g2 = np.stack((-e1[:, 1], e1[:, 0]), axis=1) / det[:, None]
        gradients = np.stack((-g1 - g2, g1, g2), axis=1)
        stiffness = np.array([[cloth.along, cloth.across, cloth.shear]])
        if weaker is not None:
            stiffness = stiffness * weaker[:, None]
        return cls(faces, gradients, np.abs(det) / 2.0, stiffness)

    def deformed(self, x: Floats) -> Floats:
        """Deformation gradients (m, 3, 2): how a flat step along and across the grain lies in space."""
        out: Floats = np.matmul(x[self.faces].transpose(0, 2, 1), self.gradients)
        return out

    def strain(self, x: Floats) -> Floats:
        """Green's strain (m, 3): along, across, and the shear angle 2 E12."""
        return _green(self.deformed(x))

    def energy(self, x: Floats) -> float:
        e = self.strain(x)
        return 0.5 * float((self.areas[:, None] * e * self._stress(e)).sum())

    def stress(self, x: Floats) -> Floats:
        """Second Piola and Kirchhoff stress (m, 3) in N/mm: along, across, shear."""
        return self._stress(self.strain(x))

    def _stress(self, e: Floats) -> Floats:
        out: Floats = e * self.stiffness
        return out

    def gradient(self, x: Floats) -> Floats:
        f = self.deformed(x)
        s = self._stress(_green(f))
        force = np.matmul(np.matmul(f, _tensor(s)), self.gradients.transpose(0, 2, 1)) * self.areas[:, None, None]
        return _scattered(self.faces, force.transpose(0, 2, 1), len(x))

    def hessian(self, x: Floats, *, without: float) -> Floats:
        """Blocks (m, 9, 9) of each triangle: the second derivative, `without` a part of what is negative of it. At 0 it
        is the true one; at 1 only what pulls is kept and it is never negative (as J. Teran et al., Robust quasistatic
        finite elements and flesh simulation, 2005)."""
        f = self.deformed(x)
        g = self.gradients
        e = _green(f)
        s = self._stress(e)
        rows = np.empty((len(f), 3, 3, 3))
        rows[:, 0] = g[:, :, 0, None] * f[:, None, :, 0]
        rows[:, 1] = g[:, :, 1, None] * f[:, None, :, 1]
        rows[:, 2] = g[:, :, 1, None] * f[:, None, :, 0] + g[:, :, 0, None] * f[:, None, :, 1]
        b = rows.reshape(-1, 3, 9)
        weighted = b * (self.stiffness * self.areas[:, None])[:, :, None]
        out: Floats = np.matmul(weighted.transpose(0, 2, 1), b)
        tensor = without * _tension(s) + (1.0 - without) * _tensor(s)
        geometric = np.matmul(np.matmul(g, tensor), g.transpose(0, 2, 1)) * self.areas[:, None, None]
        blocks = out.reshape(-1, 3, 3, 3, 3)
        for k in range(3):
            blocks[:, :, k, :, k] += geometric
        return out


def _green(f: Floats) -> Floats:
    return np.stack(
        (
            0.5 * (np.einsum("mx,mx->m", f[:, :, 0], f[:, :, 0]) - 1.0),
            0.5 * (np.einsum("mx,mx->m", f[:, :, 1], f[:, :, 1]) - 1.0),
            np.einsum("mx,mx->m", f[:, :, 0], f[:, :, 1]),
        ),
        axis=1,
    )


def _tensor(s: Floats) -> Floats:
    return np.stack((s[:, 0], s[:, 2], s[:, 2], s[:, 1]), axis=1).reshape(-1, 2, 2)


def _tension(s: Floats) -> Floats:
    """The part of symmetric 2 by 2 stresses that pulls."""
    mean, half = 0.5 * (s[:, 0] + s[:, 1]), 0.5 * (s[:, 0] - s[:, 1])
    radius = np.hypot(half, s[:, 2])
    high, low = np.maximum(mean + radius, 0.0), np.maximum(mean - radius, 0.0)
    safe = np.maximum(radius, 1e-30)
    cos, sin = half / safe, s[:, 2] / safe
    p, q = 0.5 * (high + low), 0.5 * (high - low)
    return np.stack((p + q * cos, q * sin, q * sin, p - q * cos), axis=1).reshape(-1, 2, 2)


def _scattered(index: Ints, values: Floats, count: int) -> Floats:
    """Sums values (m, k, 3) at vertices (m, k)."""
    flat = index.ravel()
    return np.stack([np.bincount(flat, weights=values[..., c].ravel(), minlength=count) for c in range(3)], axis=1)


def bending(faces: Ints, rest: Floats, apart: Ints, stiffness: Floats) -> tuple[Ints, Floats, Floats]:
    """The quadratic bending of every inner edge: vertices (e, 4), weights (e, 4) and factors (e,) in N/mm, so that the
    energy is half the sum of factor times the square of the weighted sum of positions.

    `faces` (m, 3) are the triangles, `apart` the number of the patch that each belongs to (edges between two patches
    are seams and do not count), `rest` (m, 3, 2) their flat corners, `stiffness` (m,) in N mm.
    """
    n = int(faces.max()) + 1
    ends = np.stack((faces[:, [1, 2, 0]], faces[:, [2, 0, 1]]), axis=2).reshape(-1, 2)
    key = np.sort(ends, axis=1)
    code = (apart.repeat(3) * n + key[:, 0]) * n + key[:, 1]
    order = np.argsort(code, kind="stable")
    same = np.flatnonzero(code[order][1:] == code[order][:-1])
    one, two = order[same], order[same + 1]
    t0, k0, t1, k1 = one // 3, one % 3, two // 3, two % 3
    a, b = faces[t0, (k0 + 1) % 3], faces[t0, (k0 + 2) % 3]
    c, d = faces[t0, k0], faces[t1, k1]

    def cot(t: Ints, at: Ints, to: Ints, also: Ints) -> Floats:
        u, v = rest[t, to] - rest[t, at], rest[t, also] - rest[t, at]
        cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        out: Floats = np.einsum("nx,nx->n", u, v) / np.abs(cross)
        return out

    # Local corners of a and b in the second triangle: it may run the same way or the other.
    same_way = faces[t1, (k1 + 1) % 3] == a
    a1 = np.where(same_way, (k1 + 1) % 3, (k1 + 2) % 3)
    b1 = np.where(same_way, (k1 + 2) % 3, (k1 + 1) % 3)
    ca0, cb0 = cot(t0, (k0 + 1) % 3, (k0 + 2) % 3, k0), cot(t0, (k0 + 2) % 3, (k0 + 1) % 3, k0)
    ca1, cb1 = cot(t1, a1, b1, k1), cot(t1, b1, a1, k1)
    weights = np.stack((cb0 + cb1, ca0 + ca1, -(ca0 + cb0), -(ca1 + cb1)), axis=1)
    area = _areas(rest[t0]) + _areas(rest[t1])
    # Bergou and others have 3 for this 1; on an evenly bent cylinder 1 gives half of B / R² for each mm², as it should.
    return np.stack((a, b, c, d), axis=1), weights, 0.5 * (stiffness[t0] + stiffness[t1]) / area


def _areas(t: Floats) -> Floats:
    u, v = t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]
    out: Floats = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2.0
    return out


def rod(vertices: Ints, at: Floats, stiffness: float) -> tuple[Ints, Floats, Floats]:
    """A bone through vertices at places `at` (mm of arc): triples, weights and factors as `bending` has them; the
    stiffness is E I in N mm²."""
    step = np.diff(at)
    middle = (step[1:] + step[:-1]) / 2.0
    weights = np.stack((1.0 / step[:-1], -1.0 / step[:-1] - 1.0 / step[1:], 1.0 / step[1:]), axis=1) / middle[:, None]
    triples = np.stack((vertices[:-2], vertices[1:-1], vertices[2:]), axis=1)
    return triples, weights, stiffness * middle
