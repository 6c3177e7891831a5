"""A seaming of the maker's own, from what her order says of its seams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coutil.seaming.model import Seaming, SeamingError, SeamingSeam, Shares
from coutil.seaming.ready import Where, panel_names
from coutil.seaming.roles import SIDE

OWN: Final = "own"


@dataclass(frozen=True, slots=True)
class ToldSeam:
    """One seam as the order tells it: `role` says where it lies; the rest as for a SeamingSeam."""

    name: str
    role: Where
    near: Shares
    far: Shares
    at: float | None = None
    cup: bool = False
    boned: bool = True


def own_seaming(told: Sequence[ToldSeam]) -> Seaming:
    """The seaming of these seams, from the centre front to the centre back; its panels get the usual names.

    Without a seam at the side a panel lies under the arm; without one over the bust point the garment ends below the
    bust. Raises SeamingError.
    """
    order = [("front", "side", "back").index(s.role) for s in told]
    if order != sorted(order):
        raise SeamingError("own_order", seaming=OWN)
    if order.count(1) > 1:
        raise SeamingError("own_sides", seaming=OWN)
    under_arm = 1 not in order
    if under_arm and not (0 in order and 2 in order):
        raise SeamingError("own_under_arm", seaming=OWN)
    fronts = order.count(0) + (0 if under_arm else 1)
    backs = order.count(2) + (0 if under_arm else 1)
    seams = tuple(
        SeamingSeam(
            SIDE if s.role == "side" else s.name,
            s.near,
            s.far,
            None if s.role == "side" else s.at,
            cup=s.cup,
            side=s.role == "side",
            boned=s.boned,
            called="" if s.role != "side" or s.name == SIDE else s.name,
        )
        for s in told
    )
    panels = panel_names(fronts, backs, under_arm=under_arm)
    return Seaming(OWN, panels, seams, bust=any(s.cup for s in told))


def told_seams(seaming: Seaming) -> tuple[ToldSeam, ...]:
    """The seams of a seaming as an order tells them: a start for one's own, from a ready one."""
    return tuple(
        ToldSeam(
            s.name,
            "front" if k < seaming.in_front else ("side" if s.side else "back"),
            s.near,
            s.far,
            s.at,
            s.cup,
            s.boned,
        )
        for k, s in enumerate(seaming.seams)
    )
