"""What a seaming is made of. Frozen data; lengths in mm, parts from 0 to 1, y up.

A seaming describes one half from the centre front to the centre back. Its first panel lies at the centre front, its
last at the centre back; seam k joins panel k to panel k + 1. One seam is the side: what lies before it is the front,
what lies behind it the back.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from coutil.seaming.roles import CENTRE_BACK, CENTRE_FRONT, SIDE

Part = Literal["front", "back"]

# The levels of the body, from the hem up; a pattern carries those that its hem reaches.
LEVELS: Final = ("high_hip", "waist", "underbust", "bust")

# Shares of one front or back add up to one within this; what TOML's decimals leave.
ADDS_UP: Final = 1e-6
# A half of fewer panels has no side, of more no panel wide enough to sew. Limits of what was tried.
FEWEST_PANELS, MOST_PANELS = 2, 12


class SeamingError(ValueError):
    """A seaming that cannot be: what is wrong with it, in words."""


def seam_role(name: str) -> str:
    """The role of a seam's edges: its name with underscores."""
    return name.replace(" ", "_")


@dataclass(frozen=True, slots=True)
class Shares:
    """Which part of what a front (or back) loses from one level to the next an edge takes; gains count as losses.

    Keyed by the lower level of each two neighbours: underbust (from the bust), waist, high_hip.
    """

    underbust: float
    waist: float
    high_hip: float

    def of(self, level: str) -> float:
        """The share on the way down to `level`."""
        return float(getattr(self, level))


@dataclass(frozen=True, slots=True)
class SeamingPanel:
    """One panel. `part` says from which side it is drawn: a front counts x from the centre front, a back from the
    centre back."""

    name: str
    part: Part


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
class Opening:
    """Where the bodice opens and with what: `at` is the role of the line; the gap stays open when worn, in mm."""

    at: str
    closed_with: str
    gap: float = 0.0


@dataclass(frozen=True, slots=True)
class Seaming:
    """The arrangement of one half. Raises SeamingError where its parts do not make one."""

    name: str
    panels: tuple[SeamingPanel, ...]
    seams: tuple[SeamingSeam, ...]
    openings: tuple[Opening, ...] = ()

    def __post_init__(self) -> None:
        _check(self)

    @property
    def side(self) -> int:
        """The number of the side seam; the last panel of the front has the same."""
        return next(k for k, s in enumerate(self.seams) if s.side)

    @property
    def cup(self) -> int | None:
        """The number of the seam over the bust point; None where there is none."""
        return next((k for k, s in enumerate(self.seams) if s.cup), None)

    @property
    def front(self) -> tuple[SeamingPanel, ...]:
        return self.panels[: self.side + 1]

    @property
    def back(self) -> tuple[SeamingPanel, ...]:
        return self.panels[self.side + 1 :]

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
        raise SeamingError(f"{s.name}: {len(s.panels)} panels; a half has {FEWEST_PANELS} to {MOST_PANELS}")
    if len(s.seams) != len(s.panels) - 1:
        raise SeamingError(f"{s.name}: {len(s.panels)} panels need {len(s.panels) - 1} seams, not {len(s.seams)}")
    for what, names in (("panel", [p.name for p in s.panels]), ("seam", [q.name for q in s.seams])):
        for name in names:
            if not name.strip() or names.count(name) > 1:
                raise SeamingError(f"{s.name}: each {what} needs a name of its own, not {name!r}")
    sides = [k for k, q in enumerate(s.seams) if q.side]
    if len(sides) != 1 or s.seams[sides[0]].role != SIDE:
        raise SeamingError(f"{s.name}: one seam, called side, must lie at the side")
    cups = [k for k, q in enumerate(s.seams) if q.cup]
    if len(cups) > 1 or any(k >= sides[0] for k in cups):
        raise SeamingError(f"{s.name}: at most one seam passes over the bust point, and it lies in the front")
    for k, p in enumerate(s.panels):
        part = "front" if k <= sides[0] else "back"
        if p.part != part:
            raise SeamingError(f"{s.name}: the panel {p.name} lies in the {part}, not in the {p.part}")
    for k, q in enumerate(s.seams):
        settled = q.cup or q.side
        if settled != (q.at is None) or (q.at is not None and not 0.0 < q.at < 1.0):
            raise SeamingError(
                f"{s.name}: the {q.name} seam's place must be a part between 0 and 1 of the "
                f"{'front' if k < sides[0] else 'back'}'s width, and none over the bust point or at the side"
            )
    for part, low, high in (("front", 0, sides[0]), ("back", sides[0] + 1, len(s.seams))):
        places = [q.at for q in s.seams[low:high] if q.at is not None]
        if any(b <= a for a, b in pairwise(places)):
            raise SeamingError(f"{s.name}: the {part}'s seams must follow one another outwards from the centre front")
        for level in LEVELS[:-1]:
            taken = [r.of(level) for q in s.seams[low:high] for r in (q.near, q.far)]
            taken.append((s.seams[sides[0]].near if part == "front" else s.seams[sides[0]].far).of(level))
            if abs(sum(taken) - 1.0) > ADDS_UP:
                raise SeamingError(
                    f"{s.name}: on the way to the {level.replace('_', ' ')} the {part}'s edges take "
                    f"{sum(taken):.4g} of what it loses; their shares must add up to 1"
                )
