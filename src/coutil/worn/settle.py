"""Where the cloth comes to rest: the least energy, by projected Newton.

The second derivative without its negative part always leads downhill (J. Teran et al., Robust quasistatic finite
elements and flesh simulation, 2005). As little of that part is left out as makes the rest positive, which SuperLU tells
by the signs of its pivots: near rest nothing, and Newton's method then doubles the figures at every step. Steps are
halved until the energy falls as L. Armijo asks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array  # type: ignore[import-untyped]
from scipy.sparse.linalg import SuperLU, splu  # type: ignore[import-untyped]

from coutil.worn.system import System

Floats = NDArray[np.float64]

# The greatest force in N left over at any vertex at rest: a thousandth of what a vertex commonly bears at 6 mm.
TOLERANCE = 1e-3
MOST_STEPS = 80
# From this residual on, in N, the whole second derivative is tried.
NEAR = 50.0
# No vertex goes farther than this in one step, in mm.
FARTHEST = 25.0
# Armijo's part of the fall that the slope promises.
ENOUGH = 1e-4
# Added to the diagonal in N/mm: far less than any stiffness, so that what nothing holds stays.
MORE = 1e-6
# Of the negative part this much less is left out from step to step, and no less than LEAST but nothing; after a step
# shorter than SHORT of Newton's so much more. Found by trial.
LESS, LEAST, AGAIN, SHORT = 0.5, 0.05, 4.0, 0.4
# A step is not halved below this part of it, nor is the energy told more exactly than this part of it.
SHORTEST, ROUNDING = 1e-5, 1e-14


class StoppedError(Exception):
    """Someone asked to stop."""


@dataclass(frozen=True, slots=True, eq=False)
class Rest:
    """Where it came to rest: vertices (n, 3), the greatest force left in N, steps taken, and whether it settled."""

    points: Floats
    residual: float
    steps: int
    settled: bool


def settle(
    system: System,
    start: Floats,
    *,
    tolerance: float = TOLERANCE,
    most: int = MOST_STEPS,
    told: Callable[[int, float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Rest:
    """Bring a system to rest. `tolerance` in N, absolute; `told` hears steps and the residual; `stop` is asked at every
    step. Raises StoppedError when told to stop."""
    x = start.copy()
    energy = system.energy(x)
    mind = _Mind()
    residual = np.inf
    for step in range(most):
        gradient = system.gradient(x).ravel()[system.free]
        residual = float(np.abs(gradient).max(initial=0.0))
        if told is not None:
            told(step, residual)
        if residual <= tolerance:
            return Rest(x, residual, step, True)
        if stop is not None and stop():
            raise StoppedError
        found = _step(system, x, energy, gradient, mind, whole=residual < NEAR)
        if found is None:
            break
        x, energy = found
    gradient = system.gradient(x).ravel()[system.free]
    residual = float(np.abs(gradient).max(initial=0.0))
    return Rest(x, residual, most, residual <= tolerance)


@dataclass(slots=True)
class _Mind:
    """What the last step learnt: how much of the second derivative's negative part had to be left out."""

    without: float = 1.0


def _step(
    system: System, x: Floats, energy: float, gradient: Floats, mind: _Mind, *, whole: bool
) -> tuple[Floats, float] | None:
    """A step downhill: the vertices and their energy; None where there is none."""
    without = mind.without * LESS if whole else 1.0
    if without < LEAST:
        without = 0.0
    while without < 1.0:
        found = _along(system, x, energy, gradient, without, MORE)
        if found is not None:
            # A step that had to be cut short went too far along what hardly resists: the next one is held back.
            mind.without = without if found[2] > SHORT else min(max(without, LEAST) * AGAIN, 1.0)
            return found[:2]
        without = max(2.0 * without, LEAST)
    mind.without = 1.0
    more = MORE
    while more <= 1e3:
        found = _along(system, x, energy, gradient, 1.0, more)
        if found is not None:
            return found[:2]
        more *= 100.0
    return None


def _along(
    system: System, x: Floats, energy: float, gradient: Floats, without: float, more: float
) -> tuple[Floats, float, float] | None:
    """Newton's step, halved until it leads down far enough, and what is left of it; None where it does not."""
    try:
        solved = factored(system.hessian(x, without=without, more=more))
    except RuntimeError:
        return None
    # Without exchange of rows the pivots' signs are those of the matrix (Sylvester's law of inertia).
    if without < 1.0 and not (solved.U.diagonal() > 0.0).all():
        return None
    moved: Floats = -solved.solve(gradient)
    slope = float(gradient @ moved)
    if not np.isfinite(slope) or slope >= 0.0:
        return None
    length = min(1.0, FARTHEST / max(float(np.abs(moved).max()), 1e-30))
    while length > SHORTEST:
        tried = x.copy()
        tried.ravel()[system.free] += length * moved
        e = system.energy(tried)
        if e <= energy + ENOUGH * length * slope + ROUNDING * abs(energy):
            return tried, e, length
        length *= 0.5
    return None


def factored(matrix: csc_array) -> SuperLU:
    """Sparse factors of a symmetric positive matrix, with pivots on the diagonal."""
    return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
