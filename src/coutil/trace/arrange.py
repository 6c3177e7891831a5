"""In which order the panels of a half are sewn, and which way round each of them lies, by what fits best.

What speaks against an arrangement is counted in mm of mismatch: of neighbours' edges, of a centre that is not straight,
of panels turned over. Up to MOST_TRIED panels every arrangement is tried. Of more, those as they lie in the file are
taken first; where they fit badly the best of all orders is found, up to MOST_SORTED, by dynamic programming over sets
of panels (R. Bellman, Dynamic Programming Treatment of the Travelling Salesman Problem, 1962; likewise M. Held and
R. Karp, 1962).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, permutations, product

from coutil.trace.sides import Placed, bow, run
from coutil.trace.work import Work

# Up to so many panels every arrangement is tried; up to so many the best order is looked for. Seven take 0.4 s.
MOST_TRIED = 4
MOST_SORTED = 7
# A side front that is longer than its centre front by more than this, in mm, is taken for one with a peak.
PEAK_LEAST = 6.0
PEAK_MOST = 100.0
# What speaks against an arrangement is counted in mm of mismatch; these were found by trial on random drafts, their
# panels renamed, shuffled and turned over.
_BOWED_CENTRE, _MOST_BOW = 4.0, 20.0
_MOST_MISMATCH = 40.0
_TURNED_OVER = 8.0
_FRONT_SHORTER = 15.0
_NOT_ON_FOLD = 200.0
_BUST_AT_BACK = 50.0
_OUT_OF_ORDER = 5.0
_NAMED_OTHERWISE = 1000.0

Order = tuple[int, ...]
Flips = tuple[bool, ...]
# By the set of panels put down, as bits, the last of them and how it lies: the least against it, and the way there.
_Reached = dict[tuple[int, int, bool], tuple[float, Order, Flips]]


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Numbers of the panels from the centre front to the centre back; `flips` says, by panel, whether its edge towards
    the centre front lies on the left. `against` is what speaks against it, in mm; `sure` from 0 to 1 how much more
    speaks against `other`, the next best.
    """

    order: Order
    flips: Flips
    against: float
    sure: float
    other: tuple[Order, Flips] | None


@dataclass(frozen=True, slots=True)
class _Upright:
    """Lengths of a panel's edges towards the centre front and away from it, and how far each bows, in mm."""

    inner: float
    outer: float
    inner_bow: float
    outer_bow: float


def arranged(works: Sequence[Work], places: Sequence[Placed], wanted: Sequence[int | None], said: bool) -> Arrangement:
    """The best arrangement. `wanted`: the places that the panels' names give them; `said`: all were listed in order."""
    table = _Table(works, places, wanted)
    n = len(works)
    given = [k for k in wanted if k is not None]
    if len(set(given)) == n:
        orders: list[Order] = [tuple(sorted(range(n), key=lambda k: wanted[k] or 0))]
    elif said:
        orders = [tuple(range(n))]
    elif n <= MOST_TRIED:
        orders = list(permutations(range(n)))
    else:
        orders = [tuple(range(n)), tuple(reversed(range(n)))]
    free = not said and n > MOST_TRIED and len(set(given)) < n
    if n <= MOST_TRIED:
        tried = [(table.against(order, flips), order, flips) for order in orders for flips in table.all_flips()]
    else:
        tried = [table.best_flips(order) for order in orders]
        best = min(tried)[0]
        # Any other order costs at least that it is one.
        if free and n <= MOST_SORTED and best > _OUT_OF_ORDER:
            found = table.best_order(best)
            tried += [found] if found else []
        _, order, flips = min(tried)
        tried += [
            (table.against(o, f), o, f)
            for o, f in _beside(order, flips, free)
            if table.allowed(f) and (o, f) not in {t[1:] for t in tried}
        ]
    best, order, flips = min(tried)
    others = [t for t in tried if t[1:] != (order, flips)]
    other = min(others, default=None)
    margin = (other[0] if other else best + _MOST_MISMATCH) - best
    return Arrangement(order, flips, best, margin / (margin + best + 5.0), other[1:] if other else None)


def _beside(order: Order, flips: Flips, free: bool) -> Iterator[tuple[Order, Flips]]:
    """Arrangements that differ from one by little, or by being the other way round."""
    n = len(order)
    if free:
        yield order[::-1], tuple(not f for f in flips)
    for k in range(n):
        yield order, tuple(f != (i == k) for i, f in enumerate(flips))
    for i, j in combinations(range(n), 2) if free else ():
        swapped = list(order)
        swapped[i], swapped[j] = order[j], order[i]
        for turned in (set(), {order[i]}, {order[j]}, {order[i], order[j]}):
            yield tuple(swapped), tuple(f != (k in turned) for k, f in enumerate(flips))
        # A stretch of the row the other way round.
        inside = set(order[i : j + 1])
        yield (
            (*order[:i], *order[i : j + 1][::-1], *order[j + 1 :]),
            tuple(f != (k in inside) for k, f in enumerate(flips)),
        )


class _Table:
    """What speaks against each panel in each place and against each pair of neighbours."""

    def __init__(self, works: Sequence[Work], places: Sequence[Placed], wanted: Sequence[int | None]) -> None:
        self.works, self.wanted, self.n = works, wanted, len(works)
        self.rows = [{flip: _upright(w, p, flip) for flip in (True, False)} for w, p in zip(works, places, strict=True)]
        self.fold_left = [
            None if w.shape.fold is None else p.places[w.shape.fold] == "left"
            for w, p in zip(works, places, strict=True)
        ]

    def allowed(self, flips: Flips) -> bool:
        """Whether no panel lies against its roles, where they were said."""
        return all(w.inner_left in (None, f) for w, f in zip(self.works, flips, strict=True))

    def choices(self, k: int) -> tuple[bool, ...]:
        left = self.works[k].inner_left
        return (True, False) if left is None else (left,)

    def all_flips(self) -> Iterable[Flips]:
        return product(*(self.choices(k) for k in range(self.n)))

    def against(self, order: Order, flips: Flips) -> float:
        """All that speaks against an arrangement, in mm."""
        turned = sum(flips)
        total = _TURNED_OVER * min(turned, self.n - turned)
        if self.n > 1 and list(order) not in (sorted(order), sorted(order, reverse=True)):
            total += _OUT_OF_ORDER
        total += sum(self.alone(k, flips[k], i) for i, k in enumerate(order))
        total += sum(self.pair(a, flips[a], b, flips[b], i) for i, (a, b) in enumerate(pairwise(order)))
        return total + self.ends(order[0], flips[order[0]], order[-1], flips[order[-1]])

    def alone(self, k: int, flip: bool, i: int) -> float:
        """Against panel k in place i."""
        row, last = self.rows[k][flip], self.n - 1
        total = 0.0
        if i == 0:
            total += min(_MOST_BOW, _BOWED_CENTRE * row.inner_bow)
        if i == last:
            total += min(_MOST_BOW, _BOWED_CENTRE * row.outer_bow)
        left = self.fold_left[k]
        if left is not None and not ((i == 0 and left == flip) or (i == last and left != flip)):
            total += _NOT_ON_FOLD
        if self.n >= 4 and i > 1 and "bust_point" in self.works[k].points:
            total += _BUST_AT_BACK
        if self.wanted[k] not in (None, i):
            total += _NAMED_OTHERWISE
        return total

    def pair(self, a: int, flip_a: bool, b: int, flip_b: bool, i: int) -> float:
        """Against the seam of panels a and b, a in place i."""
        longer = self.rows[b][flip_b].inner - self.rows[a][flip_a].outer
        off = abs(longer)
        if i == 0 and PEAK_LEAST < longer < PEAK_MOST:
            off = PEAK_LEAST + 0.1 * off
        return min(off, _MOST_MISMATCH)

    def ends(self, first: int, flip_first: bool, last: int, flip_last: bool) -> float:
        shorter = self.rows[first][flip_first].outer < self.rows[last][flip_last].inner
        return _FRONT_SHORTER if self.n >= 3 and shorter else 0.0

    def best_flips(self, order: Order) -> tuple[float, Order, Flips]:
        """The best way to lay the panels of one order: panel by panel, for each way that most of them may lie."""
        tried = []
        for most, first in product((True, False), self.choices(order[0])):
            at: dict[bool, tuple[float, Flips]] = {first: (self._step(order[0], first, 0, most), (first,))}
            for i, (a, b) in enumerate(pairwise(order)):
                at = {
                    g: min(
                        (cost + self.pair(a, f, b, g, i) + self._step(b, g, i + 1, most), (*way, g))
                        for f, (cost, way) in at.items()
                    )
                    for g in self.choices(b)
                }
            tried += [(cost + self.ends(order[0], first, order[-1], f), way) for f, (cost, way) in at.items()]
        _, way = min(tried)
        flips = [False] * self.n
        for k, f in zip(order, way, strict=True):
            flips[k] = f
        return self.against(order, tuple(flips)), order, tuple(flips)

    def _step(self, k: int, flip: bool, i: int, most: bool) -> float:
        return self.alone(k, flip, i) + (_TURNED_OVER if flip != most else 0.0)

    def best_order(self, below: float) -> tuple[float, Order, Flips] | None:
        """The best of all orders against which less than `below` speaks, or None."""
        best: tuple[float, tuple[int, ...], tuple[bool, ...]] | None = None
        for most, k0 in product((True, False), range(self.n)):
            for f0 in self.choices(k0):
                start = self._step(k0, f0, 0, most) + _OUT_OF_ORDER
                at: _Reached = {(1 << k0, k0, f0): (start, (k0,), (f0,))}
                for i in range(1, self.n):
                    after: _Reached = {}
                    for (done, a, fa), (cost, way, lies) in at.items():
                        for b in range(self.n):
                            if done >> b & 1:
                                continue
                            for fb in self.choices(b):
                                more = cost + self.pair(a, fa, b, fb, i - 1) + self._step(b, fb, i, most)
                                key = (done | 1 << b, b, fb)
                                if more < below and (key not in after or more < after[key][0]):
                                    after[key] = (more, (*way, b), (*lies, fb))
                    at = after
                for (_, a, fa), (cost, way, lies) in at.items():
                    cost += self.ends(k0, f0, a, fa)
                    if cost < below:
                        best, below = (cost, way, lies), cost
        if best is None:
            return None
        flips = [False] * self.n
        for k, f in zip(best[1], best[2], strict=True):
            flips[k] = f
        return self.against(best[1], tuple(flips)), best[1], tuple(flips)


def _upright(w: Work, p: Placed, inner_left: bool) -> _Upright:
    left, right = run(w.sides, p.of("left")), run(w.sides, p.of("right"))
    inner, outer = (left, right) if inner_left else (right, left)
    return _Upright(
        inner.length if inner else 0.0,
        outer.length if outer else 0.0,
        bow(inner) if inner else math.inf,
        bow(outer) if outer else math.inf,
    )
