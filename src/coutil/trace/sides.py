"""Which sides of a shape are its top, its hem and its two upright edges."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from coutil.plane import Curve

Place = Literal["right", "top", "left", "hem"]
# In the order of an anticlockwise outline.
PLACES: tuple[Place, ...] = ("right", "top", "left", "hem")
# Up to so many sides every way to share them out is tried; beyond, each side is taken by its own direction.
MOST_SIDES = 14


@dataclass(frozen=True, slots=True)
class Placed:
    """Each side's place, and how sure that is, from 0 to 1."""

    places: tuple[Place, ...]
    sure: float

    def of(self, place: Place) -> list[int]:
        """The numbers of the sides at a place, in the order of the outline."""
        n = len(self.places)
        found = [k for k in range(n) if self.places[k] == place]
        # A run that goes over the end of the list starts in the middle of it.
        for i, k in enumerate(found):
            if self.places[k - 1] != place:
                return found[i:] + found[:i]
        return found


def placed(sides: Sequence[Curve], *, slants: float = 0.0) -> Placed:
    """The places of an anticlockwise outline's sides, upright as it lies.

    Along the right side an anticlockwise outline climbs, along the top it runs to the left, and so on: the sharing is
    the one whose sides go farthest in the directions of their places, each place one run of neighbours. How sure that
    is, is how much farther they go than in the next best sharing, as a part of a tenth of the whole way. A place whose
    sides are shorter than `slants` mm in all is taken only where there is no other way.
    """
    ways = []
    for c in sides:
        (x0, y0), (x1, y1) = c.start, c.end
        ways.append({"right": y1 - y0, "top": x0 - x1, "left": y0 - y1, "hem": x1 - x0})
    n, lengths = len(sides), [c.length for c in sides]
    if n > MOST_SIDES:
        return Placed(tuple(max(PLACES, key=lambda p: w[p]) for w in ways), 0.3)
    wanted: list[tuple[Place, ...]] = [PLACES] if n >= 4 else [tuple(p for p in PLACES if p != out) for out in PLACES]
    if n == 2:
        wanted = [("right", "left"), ("top", "hem")]
    scored: list[tuple[float, tuple[Place, ...]]] = []
    for names in wanted:
        for starts in combinations(range(n), len(names)):
            for turned in range(len(names)):
                given: list[Place] = ["hem"] * n
                for i, start in enumerate(starts):
                    end = starts[i + 1] if i + 1 < len(starts) else starts[0] + n
                    for k in range(start, end):
                        given[k % n] = names[(i + turned) % len(names)]
                goes = sum(w[p] for w, p in zip(ways, given, strict=True))
                if slants and any(
                    sum(z for z, p in zip(lengths, given, strict=True) if p == q) < slants for q in names
                ):
                    goes -= sum(lengths)
                scored.append((goes, tuple(given)))
    scored.sort(key=lambda s: -s[0])
    best = scored[0]
    other = next((s for s in scored if s[1] != best[1]), best)
    whole = sum(math.hypot(w["right"], w["hem"]) for w in ways)
    margin = (best[0] - other[0]) / (0.1 * whole) if whole > 0.0 else 0.0
    return Placed(best[1], min(1.0, margin))


def run(sides: Sequence[Curve] | Mapping[int, Curve], numbers: Sequence[int]) -> Curve | None:
    """The sides of those numbers end to end, or None where there are none."""
    if not numbers:
        return None
    return Curve(tuple(s for k in numbers for s in sides[k].segments))


def leans(c: Curve) -> float:
    """By how many degrees the chord of an upright edge leans, without sign."""
    (x0, y0), (x1, y1) = c.start, c.end
    return math.degrees(math.atan2(abs(x1 - x0), abs(y1 - y0)))


def bow(c: Curve) -> float:
    """How far the curve strays from its chord, in mm."""
    (x0, y0), (x1, y1) = c.start, c.end
    chord = math.hypot(x1 - x0, y1 - y0)
    if chord == 0.0:
        return c.length
    return max(abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / chord for x, y in c.points(tolerance=0.05))
