"""Everything that pulls and presses on a sewn mesh, as one energy with its gradient and second derivative.

Vertices (n, 3); some have their x held. The unknowns are the free coordinates, vertex by vertex.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array  # type: ignore[import-untyped]

from coutil.worn.cloth import Membrane
from coutil.worn.distance import Distance

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Vertices (e, k), weights (e, k) and factors (e,): half the factor times the square of the weighted sum of positions.
Springs = tuple[Ints, Floats, Floats]


@dataclass(frozen=True, slots=True, eq=False)
class Pull:
    """Springs that draw the weighted sum of some vertices' coordinates along one axis to a place, in N/mm."""

    vertices: Ints
    weights: Floats
    factors: Floats
    axis: int
    to: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Contact:
    """The form: its distances, N/mm³ with which it pushes back, and mm that the cloth's middle keeps from it (n,).

    `areas` (n,) are the vertices' shares of cloth in mm².
    """

    distance: Distance
    stiffness: float
    areas: Floats
    off: Floats

    def energy(self, x: Floats) -> float:
        d, _ = self.distance.at(x)
        deep = np.maximum(self.off - d, 0.0)
        return 0.5 * self.stiffness * float((self.areas * deep * deep).sum())

    def forces(self, x: Floats) -> tuple[Floats, Floats, Floats]:
        """By vertex: how deep it presses in mm, the form's normal there, and the force on the form in N."""
        d, g = self.distance.at(x)
        deep = np.maximum(self.off - d, 0.0)
        return deep, g, self.stiffness * self.areas * deep


class System:
    """The energy of a mesh and its derivatives, over the free coordinates only."""

    def __init__(
        self,
        count: int,
        membrane: Membrane,
        *,
        springs: Sequence[Springs] = (),
        pulls: Sequence[Pull] = (),
        contact: Contact | None = None,
        held: Ints | None = None,
    ) -> None:
        """`held` (k,) numbers the coordinates (3 vertex + axis) that are kept."""
        self.count, self.membrane, self.contact = count, membrane, contact
        self._springs, self._pulls = tuple(springs), tuple(pulls)
        free = np.ones(3 * count, dtype=bool)
        if held is not None:
            free[held] = False
        self.free = np.flatnonzero(free)
        self._number = np.full(3 * count, -1, dtype=np.int64)
        self._number[self.free] = np.arange(len(self.free))
        self._layout()

    def energy(self, x: Floats) -> float:
        total = self.membrane.energy(x)
        for at, weights, factors in self._springs:
            sums = np.einsum("ek,ekx->ex", weights, x[at])
            total += 0.5 * float(np.einsum("e,ex,ex->", factors, sums, sums))
        for p in self._pulls:
            miss = np.einsum("ek,ek->e", p.weights, x[p.vertices, p.axis]) - p.to
            total += 0.5 * float((p.factors * miss * miss).sum())
        if self.contact is not None:
            total += self.contact.energy(x)
        return total

    def gradient(self, x: Floats) -> Floats:
        """(n, 3) in N: what it would take to hold each vertex where it is."""
        out = self.membrane.gradient(x)
        for at, weights, factors in self._springs:
            sums = np.einsum("ek,ekx->ex", weights, x[at]) * factors[:, None]
            for k in range(at.shape[1]):
                for c in range(3):
                    out[:, c] += np.bincount(at[:, k], weights=weights[:, k] * sums[:, c], minlength=self.count)
        for p in self._pulls:
            miss = (np.einsum("ek,ek->e", p.weights, x[p.vertices, p.axis]) - p.to) * p.factors
            values = (p.weights * miss[:, None]).ravel()
            out[:, p.axis] += np.bincount(p.vertices.ravel(), weights=values, minlength=self.count)
        if self.contact is not None:
            _, normal, force = self.contact.forces(x)
            out -= normal * force[:, None]
        return out

    def hessian(self, x: Floats, *, without: float, more: float) -> csc_array:
        """The second derivative over the free coordinates, `without` a part of what is negative of it (at 1 it is never
        negative), `more` N/mm added to each."""
        values = [self.membrane.hessian(x, without=without).ravel()]
        if self.contact is not None:
            deep, normal, _ = self.contact.forces(x)
            pushed = self.contact.stiffness * self.contact.areas * (deep > 0.0)
            values.append((normal[:, :, None] * normal[:, None, :] * pushed[:, None, None]).ravel())
        moving = np.concatenate(values)[self._used]
        data = np.bincount(self._where, weights=moving, minlength=len(self._constant)).astype(np.float64)
        data += self._constant
        data[self._diagonal] += np.float64(more)
        n = len(self.free)
        return csc_array((data, self._rows, self._starts), shape=(n, n))

    def _layout(self) -> None:
        """The places in the sparse matrix of everything that is added to it."""
        dofs = [(3 * self.membrane.faces[:, :, None] + np.arange(3)).reshape(-1, 9)]
        if self.contact is not None:
            dofs.append(3 * np.arange(self.count)[:, None] + np.arange(3))
        rows, cols = _pairs(dofs)
        fixed_rows, fixed_cols, fixed = self._fixed()
        rows, cols, fixed_rows, fixed_cols = (self._number[v] for v in (rows, cols, fixed_rows, fixed_cols))
        self._used = np.flatnonzero((rows >= 0) & (cols >= 0))
        rows, cols = rows[self._used], cols[self._used]
        there = (fixed_rows >= 0) & (fixed_cols >= 0)
        fixed_rows, fixed_cols, fixed = fixed_rows[there], fixed_cols[there], fixed[there]
        n = len(self.free)
        diagonal = np.arange(n)
        code = np.concatenate((cols * n + rows, fixed_cols * n + fixed_rows, diagonal * n + diagonal))
        known, where = np.unique(code, return_inverse=True)
        self._where = where[: len(rows)]
        self._diagonal = where[-n:]
        self._rows = (known % n).astype(np.int32)
        self._starts = np.searchsorted(known // n, np.arange(n + 1)).astype(np.int32)
        self._constant = np.bincount(where[len(rows) : -n], weights=fixed, minlength=len(known))

    def _fixed(self) -> tuple[Ints, Ints, Floats]:
        """What of the second derivative never changes: rows, columns, values."""
        rows, cols, values = [np.empty(0, dtype=np.int64)], [np.empty(0, dtype=np.int64)], [np.empty(0)]
        for at, weights, factors in self._springs:
            block = factors[:, None, None] * weights[:, :, None] * weights[:, None, :]
            for axis in range(3):
                dofs = 3 * at + axis
                r, c = _pairs([dofs])
                rows.append(r)
                cols.append(c)
                values.append(block.ravel())
        for p in self._pulls:
            r, c = _pairs([3 * p.vertices + p.axis])
            rows.append(r)
            cols.append(c)
            values.append((p.factors[:, None, None] * p.weights[:, :, None] * p.weights[:, None, :]).ravel())
        return np.concatenate(rows), np.concatenate(cols), np.concatenate(values)


def _pairs(dofs: Sequence[Ints]) -> tuple[Ints, Ints]:
    """Rows and columns of dense blocks over each row of coordinates, in the order of their raveled values."""
    rows = [np.repeat(d[:, :, None], d.shape[1], axis=2).ravel() for d in dofs]
    cols = [np.repeat(d[:, None, :], d.shape[1], axis=1).ravel() for d in dofs]
    return np.concatenate(rows), np.concatenate(cols)
