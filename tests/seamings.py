"""Random seamings that nobody shipped: 3 to 8 panels a half, random places and names, shares that add up."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from coutil.seaming import Seaming, SeamingPanel, SeamingSeam, Shares

# Words that say nothing of where a panel lies: a room that asks for one by its name or its ending finds none.
_WORDS = ("alder", "birch", "cedar", "elm", "fir", "hazel", "juniper", "larch")


def random_seaming(rng: Random, panels: int, *, cup: bool = True) -> Seaming:
    """A seaming of so many panels a half; without `cup` no seam passes over the bust point."""
    fronts = rng.randint(2 if cup else 1, panels - 1)
    backs = panels - fronts
    inner_front, inner_back = fronts - 1, backs - 1
    over = rng.randrange(inner_front) if cup else None
    front = _shares(rng, 2 * inner_front + 1, least=0.05)
    back = _shares(rng, 2 * inner_back + 1, least=0.05)
    if over is not None:
        # Most of what the front loses lies under the bust, as in any bodice that is to have a cup.
        front = [_fuller(s, k in (2 * over, 2 * over + 1)) for k, s in enumerate(front)]
        total = Shares(*(sum(s.of(v) for s in front) for v in ("underbust", "waist", "high_hip")))
        front = [Shares(*(s.of(v) / total.of(v) for v in ("underbust", "waist", "high_hip"))) for s in front]
    seams = []
    for k in range(inner_front):
        # A bust point lies at about 0.37 of the front: seams before it and behind it keep to their own part.
        if over is None:
            at = (k + 1 + rng.uniform(-0.2, 0.2)) / fronts
        elif k < over:
            at = 0.37 * (k + 1 + rng.uniform(-0.15, 0.15)) / (over + 1)
        else:
            at = 0.37 + 0.63 * (k - over + rng.uniform(-0.15, 0.15)) / (inner_front - over)
        name = f"seam {_WORDS[k]}"
        cupped = k == over
        seams.append(SeamingSeam(name, near=front[2 * k], far=front[2 * k + 1], at=None if cupped else at, cup=cupped))
    seams.append(SeamingSeam("side", near=front[-1], far=back[0], side=True))
    for k in range(inner_back):
        at = (k + 1 + rng.uniform(-0.2, 0.2)) / backs
        seams.append(SeamingSeam(f"join {_WORDS[k]}", near=back[2 * k + 1], far=back[2 * k + 2], at=at))
    parts = ("front",) * fronts + ("back",) * backs
    names = rng.sample(_WORDS, panels)
    made = tuple(SeamingPanel(n, p) for n, p in zip(names, parts, strict=True))  # type: ignore[arg-type]
    return Seaming(f"random-{panels}", made, tuple(seams))


def seamings(count: int, seed: int = 8) -> Iterator[Seaming]:
    """Seamings of 3 to 8 panels in turn, four of five with a cup."""
    rng = Random(seed)
    for k in range(count):
        yield random_seaming(rng, 3 + k % 6, cup=k % 5 != 4)


def _shares(rng: Random, edges: int, *, least: float) -> list[Shares]:
    columns = []
    for _ in range(3):
        weights = [least + rng.random() for _ in range(edges)]
        columns.append([w / sum(weights) for w in weights])
    return [Shares(*row) for row in zip(*columns, strict=True)]


def _fuller(s: Shares, over: bool) -> Shares:
    return Shares(s.underbust * (3.0 if over else 1.0), s.waist, s.high_hip)
