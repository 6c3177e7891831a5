"""What a seaming is made of. Frozen data; lengths in mm, parts from 0 to 1, y up.

A seaming describes one half from the centre front to the centre back. Its first panel lies at the centre front, its
last at the centre back; seam k joins panel k to panel k + 1. The side line parts the front from the back: it is a seam,
or it runs unsewn down the middle of a panel under the arm, which is then part of both.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from coutil.seaming.roles import CENTRE_BACK, CENTRE_FRONT, SIDE
from coutil.words import RefusingError, Told

Part = Literal["front", "back"]

# The levels of the body, from the hem up; a pattern carries those that it reaches. The hip takes part only where the
# hem goes below the high hip.
LEVELS: Final = ("hip", "high_hip", "waist", "underbust", "bust")

# Shares of one front or back add up to one within this; what TOML's decimals leave.
ADDS_UP: Final = 1e-6
# A half of fewer panels has no side, of more no panel wide enough to sew. Limits of what was tried.
FEWEST_PANELS, MOST_PANELS = 2, 12


class SeamingError(RefusingError, ValueError):
    """A seaming that cannot be."""

    room = "seaming"


def seam_role(name: str) -> str:
    """The role of a seam's edges: its name with underscores."""
    return name.replace(" ", "_")


@dataclass(frozen=True, slots=True)
class Shares:
    """Which part of what a front (or back) loses from one level to the next an edge takes; gains count as losses.

    Keyed by the lower level of each two neighbours: underbust (from the bust), waist, high_hip. What is gained from
    the high hip to the hip is shared as what was gained down to the high hip.
    """

    underbust: float
    waist: float
    high_hip: float

    def of(self, level: str) -> float:
        """The share on the way down to `level`."""
        return float(getattr(self, "high_hip" if level == "hip" else level))


@dataclass(frozen=True, slots=True)
class SeamingPanel:
    """One panel. `part` says from which side it is drawn: a front counts x from the centre front, a back from the
    centre back. A panel `under_arm` is part of front and back, unsewn between, and drawn as a front."""

    name: str
    part: Part
    under_arm: bool = False


@dataclass(frozen=True, slots=True)
class SeamingSeam:
    """A seam between neighbours.

    `at` is where it stands at the bust: a part of the front's width from the centre front, or of the back's width from
    the side; None where that is settled otherwise, over the bust point (`cup`) or at the side (`side`). `near` are the
    shares of the edge towards the centre front, `far` of the other. `called` is how the seam, `edge_called` how its
    edge is called while a panel that has but one of the kind is drawn ("the princess seam").
    """

    name: str
    near: Shares
    far: Shares
    at: float | None = None
    cup: bool = False
    side: bool = False
    boned: bool = True
    called: str = ""
    edge_called: str = ""

    @property
    def role(self) -> str:
        return seam_role(self.name)

    @property
    def spoken(self) -> str:
        """How the seam is called while it is drawn."""
        return self.called or f"{self.name} seam"

    @property
    def edge_spoken(self) -> str:
        """How its edge is called on a panel: "princess edge"."""
        return self.edge_called or f"{self.name} edge"


@dataclass(frozen=True, slots=True)
class Seaming:
    """The arrangement of one half. Raises SeamingError where its parts do not make one.

    Without a `bust` the garment ends below it: its highest level is the underbust, and it needs no readings of the
    breast. `reach` is how far up from the waist to its highest level such a garment goes where the style does not say.
    """

    name: str
    panels: tuple[SeamingPanel, ...]
    seams: tuple[SeamingSeam, ...]
    bust: bool = True
    reach: float = 1.0

    def __post_init__(self) -> None:
        _check(self)

    @property
    def side(self) -> int | None:
        """The number of the side seam; None where a panel lies under the arm."""
        return next((k for k, s in enumerate(self.seams) if s.side), None)

    @property
    def under_arm(self) -> int | None:
        """The number of the panel under the arm; None where there is a side seam."""
        return next((k for k, p in enumerate(self.panels) if p.under_arm), None)

    @property
    def in_front(self) -> int:
        """How many seams lie in the front, before the side line; also the number of the front's last panel."""
        return next(k for k in (self.side, self.under_arm) if k is not None)

    @property
    def behind(self) -> int:
        """The number of the first seam that lies in the back, behind the side line."""
        return self.in_front + (0 if self.side is None else 1)

    @property
    def cup(self) -> int | None:
        """The number of the seam over the bust point; None where there is none."""
        return next((k for k, s in enumerate(self.seams) if s.cup), None)

    @property
    def front(self) -> tuple[SeamingPanel, ...]:
        """The panels that are drawn as fronts: the one under the arm is the last of them."""
        return self.panels[: self.in_front + 1]

    @property
    def back(self) -> tuple[SeamingPanel, ...]:
        return self.panels[self.in_front + 1 :]

    @property
    def highest(self) -> str:
        """The highest level on which the widths are shared out."""
        return "bust" if self.bust else "underbust"

    def levels(self, *, hip: bool) -> tuple[str, ...]:
        """The levels that the half is drawn by, from the hem up; with the `hip` or from the high hip."""
        return LEVELS[0 if hip else 1 : LEVELS.index(self.highest) + 1]

    def front_shares(self) -> tuple[Shares, ...]:
        """Of the front's edges, from the centre front out; a side seam's is the last."""
        inner = tuple(s for q in self.seams[: self.in_front] for s in (q.near, q.far))
        return inner if self.side is None else (*inner, self.seams[self.side].near)

    def back_shares(self) -> tuple[Shares, ...]:
        """Of the back's edges, from the side in; a side seam's is the first."""
        inner = tuple(s for q in self.seams[self.behind :] for s in (q.near, q.far))
        return inner if self.side is None else (self.seams[self.side].far, *inner)

    def edges(self, k: int) -> tuple[str, str]:
        """Roles of panel k's two upright edges: the one towards the centre front, the one towards the centre back."""
        near = CENTRE_FRONT if k == 0 else self.seams[k - 1].role
        far = CENTRE_BACK if k == len(self.seams) else self.seams[k].role
        return near, far

    def numbers(self, k: int) -> tuple[int, int]:
        """The numbers that the points of panel k's two upright edges bear in the lesson: W4 and W5 on the third."""
        return 2 * k, 2 * k + 1

    def number(self, panel: str) -> int:
        """The place of a panel, from 0 at the centre front; raises KeyError."""
        for k, p in enumerate(self.panels):
            if p.name == panel:
                return k
        raise KeyError(f"the seaming {self.name} has no panel {panel}")


def _check(s: Seaming) -> None:
    if not FEWEST_PANELS <= len(s.panels) <= MOST_PANELS:
        raise SeamingError("panel_count", seaming=s.name, panels=len(s.panels), fewest=FEWEST_PANELS, most=MOST_PANELS)
    if len(s.seams) != len(s.panels) - 1:
        raise SeamingError(
            "seam_count", seaming=s.name, panels=len(s.panels), needed=len(s.panels) - 1, seams=len(s.seams)
        )
    for of_panels, names in ((True, [p.name for p in s.panels]), (False, [q.name for q in s.seams])):
        for name in names:
            if not name.strip() or names.count(name) > 1:
                raise SeamingError("panel_name" if of_panels else "seam_name", seaming=s.name, name=name)
    _check_side(s)
    cups = [k for k, q in enumerate(s.seams) if q.cup]
    if len(cups) > 1 or any(k >= s.in_front for k in cups) or (cups and not s.bust):
        raise SeamingError("one_cup", seaming=s.name)
    for k, p in enumerate(s.panels):
        part = "front" if k <= s.in_front else "back"
        if p.part != part:
            raise SeamingError("part", seaming=s.name, panel=p.name, lies=part, told=p.part)
    for k, q in enumerate(s.seams):
        settled = q.cup or q.side
        if settled != (q.at is None) or (q.at is not None and not 0.0 < q.at < 1.0):
            raise SeamingError("place", seaming=s.name, seam=q.name, part="front" if k < s.in_front else "back")
    for part, seams, shares in (
        ("front", s.seams[: s.in_front], s.front_shares()),
        ("back", s.seams[s.behind :], s.back_shares()),
    ):
        places = [q.at for q in seams if q.at is not None]
        if any(b <= a for a, b in pairwise(places)):
            raise SeamingError("order", seaming=s.name, part=part)
        for level in s.levels(hip=False)[:-1]:
            total = sum(share.of(level) for share in shares)
            if abs(total - 1.0) > ADDS_UP:
                raise SeamingError("shares", seaming=s.name, level=Told(f"level.{level}"), part=part, total=total)


def _check_side(s: Seaming) -> None:
    """One side seam or one panel under the arm, and a seam on either side of that."""
    sides = [k for k, q in enumerate(s.seams) if q.side]
    arms = [k for k, p in enumerate(s.panels) if p.under_arm]
    if len(sides) + len(arms) != 1 or any(s.seams[k].role != SIDE for k in sides):
        raise SeamingError("side", seaming=s.name)
    if any(k in (0, len(s.panels) - 1) for k in arms):
        raise SeamingError("under_arm", seaming=s.name)
