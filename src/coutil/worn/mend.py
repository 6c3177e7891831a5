"""The draft's value for the shaping above the bust that leaves so much stand-off at the top of the cup seam."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from coutil.pattern import Pattern
from coutil.worn.reading import Reading
from coutil.worn.refusal import WornError

# The stand-off is met within this, in mm: less than what the mesh leaves unsure.
MEETS = 0.5
# How often it is tried on at most.
TRIES = 9


@dataclass(frozen=True, slots=True)
class Mended:
    """What was found: the value before and after (0 to 1), the stand-off before and after in mm, and whether the wanted
    one is met within MEETS; where it is not, the value is at its end."""

    was: float
    upper: float
    before_mm: float
    after_mm: float
    met: bool


def cup_top(pattern: Pattern, reading: Reading) -> float:
    """The greatest stand-off in mm at the top of the seams that make the cups.

    Raises WornError where there is no such seam, or where it did not come to rest.
    """
    if not reading.settled:
        raise WornError("unsettled")
    names = {s.name for s in pattern.cup_seams}
    found = [mm for place, mm in reading.stand_off_mm["top"].items() if place.partition(", ")[0] in names]
    if not found:
        raise WornError("no_cup")
    return max(found)


def mend_top(off: Callable[[float], float], was: float, leave: float) -> Mended:
    """Find the `upper` that leaves a stand-off of `leave` mm. `off` tries a value on and gives its stand-off, which
    falls as the value grows; `was` is the one now. False position (Illinois), from there to the end of what may be.

    Raises whatever `off` raises.
    """
    before = off(was)
    if abs(before - leave) <= MEETS:
        return Mended(was, was, before, before, True)
    end = 1.0 if before > leave else 0.0
    near, far = (was, before - leave), (end, off(end) - leave if end != was else before - leave)
    if near[1] * far[1] > 0.0:
        return Mended(was, far[0], before, far[1] + leave, abs(far[1]) <= MEETS)
    best = min(near, far, key=lambda p: abs(p[1]))
    for _ in range(TRIES):
        at = near[0] - near[1] * (far[0] - near[0]) / (far[1] - near[1])
        miss = off(at) - leave
        best = min(best, (at, miss), key=lambda p: abs(p[1]))
        if abs(miss) <= MEETS:
            break
        if miss * far[1] < 0.0:
            near, far = far, (at, miss)
        else:
            near, far = (near[0], near[1] / 2.0), (at, miss)
    return Mended(was, best[0], before, best[1] + leave, abs(best[1]) <= MEETS)
