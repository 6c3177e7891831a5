"""The seamings that come with coutil, with proportions that draw well.

PRINCESS_4: front, of the whole half's reduction at the underbust 30, 40 and 10 of 100 lie on the princess seam's two
edges and the side, 80 in all (common practice, no source). At the waist near 30 : 35 : 35 of the whole on common
figures; at the high hip the flare lies mostly over the hip bone, at the side (both found by trial). Back: found by
trial. The back princess seam takes part from the underbust down: the hollow of the back lies there and not at the side;
without it the side back's side edge alone would slant by up to 5 cm at the waist.

The others were found by trial from that one: the seam over the bust point keeps most of the breast's reduction, since
only there it makes a cup; what remains, the waist and the flare are shared so that no edge slants or flares much more
than its neighbours on the bodies that the tests draw. `python bench/bodies.py --seaming NAME` shows what each refuses.
"""

from __future__ import annotations

from typing import Final, Literal

from coutil.seaming.model import Seaming, SeamingPanel, SeamingSeam, Shares
from coutil.seaming.roles import ELASTIC

Where = Literal["front", "side", "back"]

# What panels are called, from the centre front to the side line and from the side line to the centre back, by how many
# there are; words of the trade.
_FRONTS: Final = {
    1: ("centre front",),
    2: ("centre front", "side front"),
    3: ("centre front", "front", "side front"),
    4: ("centre front", "front", "second front", "side front"),
    5: ("centre front", "front", "second front", "third front", "side front"),
}
_BACKS: Final = {k: tuple(n.replace("front", "back") for n in reversed(names)) for k, names in _FRONTS.items()}
_UNDER_ARM: Final = "side panel"


def panel_names(fronts: int, backs: int, *, under_arm: bool) -> tuple[SeamingPanel, ...]:
    """The panels of a half by how many lie in its front and its back, the one under the arm apart."""
    arm = (SeamingPanel(_UNDER_ARM, "front", under_arm=True),) if under_arm else ()
    front = (SeamingPanel(n, "front") for n in _names(_FRONTS, fronts, "front"))
    back = (SeamingPanel(n, "back") for n in _names(_BACKS, backs, "back"))
    return (*front, *arm, *back)


def _names(known: dict[int, tuple[str, ...]], n: int, word: str) -> tuple[str, ...]:
    if n in known:
        return known[n]
    ends = known[2]
    middle = tuple(f"{word} {k}" for k in range(2, n))
    return (ends[0], *middle, ends[1])


def _half(name: str, *seams: SeamingSeam, bust: bool = True, reach: float = 1.0) -> Seaming:
    """A seaming by its seams from the centre front: those before the side, or before the first one named for a back."""
    side = next((k for k, s in enumerate(seams) if s.side), None)
    front = side if side is not None else next(k for k, s in enumerate(seams) if "back" in s.name)
    fronts = front + (0 if side is None else 1)
    backs = len(seams) + 1 - fronts - (1 if side is None else 0)
    return Seaming(name, panel_names(fronts, backs, under_arm=side is None), seams, bust, reach)


def _princess(near: Shares, far: Shares) -> SeamingSeam:
    """The front's seam over the bust point."""
    return SeamingSeam("front princess", near, far, cup=True, called="princess seam", edge_called="princess edge")


def _back_princess(near: Shares, far: Shares, at: float) -> SeamingSeam:
    return SeamingSeam("back princess", near, far, at=at, edge_called="princess edge")


PRINCESS_4: Final = _half(
    "princess-4",
    _princess(Shares(0.375, 0.35, 0.25), Shares(0.5, 0.40, 0.30)),
    SeamingSeam("side", near=Shares(0.125, 0.25, 0.45), far=Shares(0.5, 0.3, 0.5), side=True),
    # 0.55: part of the back's width at the bust that the side back panel gets. Common practice.
    _back_princess(Shares(0.25, 0.35, 0.25), Shares(0.25, 0.35, 0.25), 0.55),
)
SIDE_PANEL_4: Final = _half(
    "side-panel-4",
    _princess(Shares(0.375, 0.30, 0.20), Shares(0.475, 0.30, 0.20)),
    SeamingSeam("side front", near=Shares(0.075, 0.20, 0.30), far=Shares(0.075, 0.20, 0.30), at=0.80),
    SeamingSeam("side back", near=Shares(0.5, 0.5, 0.5), far=Shares(0.5, 0.5, 0.5), at=0.35),
)
PRINCESS_5: Final = _half(
    "princess-5",
    _princess(Shares(0.375, 0.28, 0.18), Shares(0.375, 0.24, 0.16)),
    SeamingSeam("second front", near=Shares(0.09, 0.14, 0.16), far=Shares(0.09, 0.14, 0.16), at=0.72),
    SeamingSeam("side", near=Shares(0.07, 0.20, 0.34), far=Shares(0.5, 0.3, 0.5), side=True),
    _back_princess(Shares(0.25, 0.35, 0.25), Shares(0.25, 0.35, 0.25), 0.55),
)
CORSET_5: Final = _half(
    "corset-5",
    _princess(Shares(0.40, 0.30, 0.20), Shares(0.45, 0.32, 0.22)),
    SeamingSeam("side front", near=Shares(0.075, 0.19, 0.29), far=Shares(0.075, 0.19, 0.29), at=0.76),
    SeamingSeam("side back", near=Shares(0.30, 0.28, 0.30), far=Shares(0.26, 0.24, 0.26), at=0.30),
    SeamingSeam("back", near=Shares(0.22, 0.24, 0.22), far=Shares(0.22, 0.24, 0.22), at=0.66),
)
CORSET_6: Final = _half(
    "corset-6",
    _princess(Shares(0.38, 0.26, 0.16), Shares(0.38, 0.24, 0.16)),
    SeamingSeam("second front", near=Shares(0.09, 0.15, 0.17), far=Shares(0.09, 0.15, 0.17), at=0.72),
    SeamingSeam("side", near=Shares(0.06, 0.20, 0.34), far=Shares(0.30, 0.22, 0.36), side=True),
    SeamingSeam("side back", near=Shares(0.19, 0.20, 0.18), far=Shares(0.19, 0.20, 0.18), at=0.38),
    SeamingSeam("back", near=Shares(0.16, 0.19, 0.14), far=Shares(0.16, 0.19, 0.14), at=0.70),
)
CORSET_7: Final = _half(
    "corset-7",
    _princess(Shares(0.40, 0.28, 0.16), Shares(0.36, 0.20, 0.16)),
    SeamingSeam("second front", near=Shares(0.07, 0.13, 0.15), far=Shares(0.07, 0.13, 0.15), at=0.65),
    SeamingSeam("side front", near=Shares(0.05, 0.13, 0.19), far=Shares(0.05, 0.13, 0.19), at=0.86),
    SeamingSeam("side back", near=Shares(0.20, 0.23, 0.23), far=Shares(0.20, 0.15, 0.21), at=0.23),
    SeamingSeam("second back", near=Shares(0.15, 0.16, 0.15), far=Shares(0.15, 0.16, 0.15), at=0.50),
    SeamingSeam("back", near=Shares(0.15, 0.15, 0.13), far=Shares(0.15, 0.15, 0.13), at=0.76),
)


def _even(waist: float, high_hip: float) -> Shares:
    """Of a garment without a bust, which loses nothing on the way to its highest level."""
    return Shares(0.0, waist, high_hip)


UNDERBUST_4: Final = _half(
    "underbust-4",
    SeamingSeam("front", near=_even(0.30, 0.22), far=_even(0.35, 0.30), at=0.42),
    SeamingSeam("side", near=_even(0.35, 0.48), far=_even(0.35, 0.50), side=True),
    SeamingSeam("back", near=_even(0.325, 0.25), far=_even(0.325, 0.25), at=0.52),
    bust=False,
)
UNDERBUST_5: Final = _half(
    "underbust-5",
    SeamingSeam("front", near=_even(0.24, 0.16), far=_even(0.26, 0.22), at=0.36),
    SeamingSeam("side front", near=_even(0.25, 0.31), far=_even(0.25, 0.31), at=0.74),
    SeamingSeam("side back", near=_even(0.27, 0.30), far=_even(0.25, 0.26), at=0.26),
    SeamingSeam("back", near=_even(0.24, 0.22), far=_even(0.24, 0.22), at=0.64),
    bust=False,
)
UNDERBUST_6: Final = _half(
    "underbust-6",
    SeamingSeam("front", near=_even(0.19, 0.14), far=_even(0.20, 0.17), at=0.33),
    SeamingSeam("second front", near=_even(0.20, 0.19), far=_even(0.20, 0.19), at=0.66),
    SeamingSeam("side", near=_even(0.21, 0.31), far=_even(0.22, 0.32), side=True),
    SeamingSeam("side back", near=_even(0.20, 0.19), far=_even(0.20, 0.19), at=0.36),
    SeamingSeam("back", near=_even(0.19, 0.15), far=_even(0.19, 0.15), at=0.68),
    bust=False,
)
BELT_3: Final = _half(
    "belt-3",
    SeamingSeam("side front", near=_even(0.5, 0.5), far=_even(0.5, 0.5), at=0.62),
    SeamingSeam("side back", near=_even(0.5, 0.5), far=_even(0.5, 0.5), at=0.40),
    bust=False,
    reach=0.5,
)

# Seamings of the trade that a maker starts from, by name.
READY: Final[dict[str, Seaming]] = {
    s.name: s
    for s in (
        PRINCESS_4, SIDE_PANEL_4, PRINCESS_5, CORSET_5, CORSET_6, CORSET_7, UNDERBUST_4, UNDERBUST_5, UNDERBUST_6,
        BELT_3,
    )
}  # fmt: skip

# Roles of the upright edges of all of them, each once, those of the four-panel princess first; then elastic's.
READY_ROLES: Final = (
    *dict.fromkeys(r for s in READY.values() for k in range(len(s.panels)) for r in s.edges(k)),
    ELASTIC,
)
