"""An order: one garment for one client. Frozen data; lengths in mm, money in decimal, percent as percent.

These classes hold what was read and checked; reading is `coutil.order.read`, the limits of every key are in
`coutil.order.keys`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final, Literal

from coutil.body import Body
from coutil.order.costs import Hours, Money, Notions
from coutil.order.own import OwnPattern

Unit = Literal["cm", "mm", "in"]
Neckline = Literal["plunge", "sweetheart", "straight"]
Closing = Literal["lacing", "zip", "hooks"]

# The version of the order file that this coutil reads and writes.
VERSION: Final = 1
# The gap at the centre back that a lacing leaves open where none is stated, in mm (common practice, no source).
LACING_GAP: Final = 50.0
# Seam allowance: 1/2 in (common practice, no source).
ALLOWANCE: Final = 12.7


@dataclass(frozen=True, slots=True)
class Client:
    label: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Ease:
    """What the garment measures more than the body at each level, in mm; negative draws in."""

    bust: float = 0.0
    underbust: float = 0.0
    waist: float = 0.0
    high_hip: float = 0.0


@dataclass(frozen=True, slots=True)
class Style:
    """What the garment looks like, in mm. None: not stated, the draft takes it from the body.

    `plunge` is the lowest point of the neckline above the underbust level, `cup_height` the end of the centre front
    above the bust point, `peak` the side front above that, `side_top` and `back_top` heights above the waist, `hem` the
    depth below it, `hem_point` what the centre front hangs lower. `foam_ease` adds to the front what the foam's
    thickness takes up.
    """

    neckline: Neckline = "sweetheart"
    plunge: float | None = None
    cup_height: float | None = None
    peak: float = 0.0
    side_top: float | None = None
    back_top: float | None = None
    hem: float | None = None
    hem_point: float = 0.0
    closing: Closing = "lacing"
    lacing_gap: float | None = None
    ease: Ease = field(default_factory=Ease)
    foam_ease: bool = False

    @property
    def gap(self) -> float:
        """What the closing leaves open at the centre back, in mm: the lacing's gap, 0 for any other closing."""
        if self.closing != "lacing":
            return 0.0
        return LACING_GAP if self.lacing_gap is None else self.lacing_gap


@dataclass(frozen=True, slots=True)
class PadBuild:
    """How the pad lies on the panels, in mm. The defaults are common practice, no source (docs/method.md, the pad).

    `top_drop`: the pad starts this far below the end of the centre front (1 cm, said for 3/8 in); `side_inset` and
    `side_dip`: its outer top corner from the side seam (1 in) and below the top (1/4 in); `catch`: what the princess
    seam catches of it (1/8 in); `thickness` of the foam, None if not known; `on`: the layers that carry pads.
    """

    top_drop: float = 10.0
    side_inset: float = 25.4
    side_dip: float = 6.35
    catch: float = 3.175
    thickness: float | None = None
    on: tuple[str, ...] = ("shell",)


@dataclass(frozen=True, slots=True)
class Lining:
    """A lining; `fused` says whether it is interfaced as the shell is."""

    fused: bool = False


@dataclass(frozen=True, slots=True)
class Build:
    """How it is made. `allowances` by edge role override `allowance`; both in mm. `lining` None: no lining."""

    allowance: float = ALLOWANCE
    allowances: Mapping[str, float] = field(default_factory=dict, hash=False)
    pad: PadBuild = field(default_factory=PadBuild)
    lining: Lining | None = None

    def allowance_for(self, role: str) -> float:
        """The allowance of an edge by its role, in mm."""
        return self.allowances.get(role, self.allowance)


@dataclass(frozen=True, slots=True)
class Cloth:
    """A material on the shelf. Lengths in mm, shrinkage in percent; None: not stated.

    `layers` are those it is for; `price` is per `price_per` mm of length, or per sheet; `sheet` and `remnants` are
    (width, length); `thickness` is that of one ply.
    """

    name: str
    layers: tuple[str, ...]
    width: float | None = None
    selvedge: float | None = None
    on_hand: float | None = None
    price: Decimal | None = None
    currency: str | None = None
    price_per: float = 1000.0
    sold_by: float | None = None
    direction: Literal["one-way", "two-way"] | None = None
    laid: Literal["single", "folded"] | None = None
    gap: float | None = None
    shrink_length: float | None = None
    shrink_width: float | None = None
    sheet: tuple[float, float] | None = None
    remnants: tuple[tuple[float, float], ...] = ()
    thickness: float | None = None


@dataclass(frozen=True, slots=True)
class Order:
    """One garment for one client. `unit` is that of the file; everything in here is in mm.

    `pattern`: one that exists already, which goes before the style; of that only closing and gap count then.
    """

    name: str
    body: Body
    unit: Unit = "cm"
    client: Client = field(default_factory=Client)
    style: Style = field(default_factory=Style)
    pattern: OwnPattern | None = None
    build: Build = field(default_factory=Build)
    cloth: tuple[Cloth, ...] = ()
    money: Money = field(default_factory=Money)
    hours: Hours = field(default_factory=Hours)
    notions: Notions = field(default_factory=Notions)
