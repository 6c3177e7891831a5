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
from coutil.order.shelf import Maker, Shelf
from coutil.seaming import LACING_GAP, PLACES, PRINCESS_4, SIDES, Closing, Opening, Place, Seaming

Unit = Literal["cm", "mm", "in"]
Neckline = Literal["plunge", "sweetheart", "straight", "scoop", "v", "pointed"]
BackLine = Literal["straight", "scoop", "v"]
HemLine = Literal["pointed", "curved"]
# How a centre that does not open is closed.
Centre = Literal["fold", "seam"]

# The version of the order file that this coutil reads and writes.
VERSION: Final = 1
# The layers of a fused bodice with foam cups (common practice, no source).
LAID_USUALLY: Final = ("shell", "interfacing", "foam", "web")
# Seam allowance: 1/2 in (common practice, no source).
ALLOWANCE: Final = 12.7


@dataclass(frozen=True, slots=True)
class Client:
    label: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Ease:
    """What the garment measures more than the body at each level, in mm; negative draws in. None: the usual."""

    bust: float | None = None
    underbust: float | None = None
    waist: float | None = None
    high_hip: float | None = None


@dataclass(frozen=True, slots=True)
class Style:
    """What the garment looks like, in mm. None: not stated, the draft takes it from the body.

    `own` is the maker's own seaming, kept also while a ready one is used; `seaming` is the one that counts.
    `plunge` is the lowest point of the neckline above the underbust level (negative: below it), `cup_height` the end of
    the centre front above the bust point, `peak` the side front above that, `side_top` and `back_top` heights above the
    waist, `back` how the top runs over the back, `hem` the depth below the waist (negative: above it), `hem_point` and
    `hem_point_back` what the centres hang lower, to a point or in a curve (`hem_line`). `upper` is how much of what the
    top would stand off is taken in above the bust, from 0 to 1. `foam_ease` adds to the front what the foam's thickness
    takes up. `closing` and `lacing_gap` mean the centre back; where there are `openings` these count. `centre_front`
    and `centre_back` say how a centre is closed that does not open.
    """

    seaming: Seaming = PRINCESS_4
    own: Seaming | None = None
    neckline: Neckline = "sweetheart"
    plunge: float | None = None
    cup_height: float | None = None
    peak: float = 0.0
    upper: float = 0.5
    side_top: float | None = None
    back_top: float | None = None
    back: BackLine = "straight"
    hem: float | None = None
    hem_point: float = 0.0
    hem_point_back: float = 0.0
    hem_line: HemLine = "pointed"
    closing: Closing = "lacing"
    lacing_gap: float | None = None
    openings: tuple[Opening, ...] = ()
    centre_front: Centre = "fold"
    centre_back: Centre = "fold"
    ease: Ease = field(default_factory=Ease)
    foam_ease: bool = False

    @property
    def opens(self) -> tuple[Opening, ...]:
        """Where it opens: as stated, or by its closing at the centre back."""
        if self.openings:
            return self.openings
        gap = LACING_GAP if self.lacing_gap is None else self.lacing_gap
        return (Opening("centre_back", self.closing, gap if self.closing == "lacing" else 0.0),)

    def opening(self, at: str) -> Opening | None:
        """The opening at a place; None where it is closed there."""
        return next((o for o in self.opens if o.at == at), None)

    @property
    def free_places(self) -> tuple[Place, ...]:
        """Where it could open and does not: a side only where it has a seam."""
        sided = self.seaming.side is not None
        return tuple(p for p in PLACES if self.opening(p) is None and (sided or p not in SIDES))

    def folded(self, at: str) -> bool:
        """Whether a centre ("centre_front", "centre_back") is closed and lies on the fold of the cloth."""
        return self.opening(at) is None and getattr(self, at) == "fold"

    @property
    def gap(self) -> float:
        """How much of the girth nothing is cut for, in mm: lacings' gaps, and by how much elastic is drawn."""
        return sum(o.uncovered for o in self.opens)


@dataclass(frozen=True, slots=True)
class PadBuild:
    """How the pad lies on the panels, in mm. The defaults are common practice, no source (docs/method.md, the pad).

    `top_drop`: the pad starts this far below the end of the centre front (1 cm, said for 3/8 in); `side_inset` and
    `side_dip`: its outer top corner from the side seam (1 in) and below the top (1/4 in); `front_dip`: what it keeps
    from the neckline on the centre front (1/4 in); `apart`: what both pads keep from each other there (1 cm);
    `beyond`: how far it reaches outwards beyond the root of the breast at most (3 cm); `catch`: what the princess seam
    catches of it (1/8 in); `thickness` of the foam, None if not known; `on`: the layers that carry pads, none for no
    pads.
    """

    top_drop: float = 10.0
    side_inset: float = 25.4
    side_dip: float = 6.35
    front_dip: float = 6.35
    apart: float = 10.0
    beyond: float = 30.0
    catch: float = 3.175
    thickness: float | None = None
    on: tuple[str, ...] = ("shell",)


@dataclass(frozen=True, slots=True)
class Lining:
    """A lining; `fused`: interfaced as the shell is; `smaller`: over the cup, by what the foam outside it takes up."""

    fused: bool = False
    smaller: bool = False


@dataclass(frozen=True, slots=True)
class Lace:
    """Lace or net over the shell: its allowance in mm, and whether its own finished edge lies on the top line.

    2 cm: lace frays in the hand and is trimmed when the seam is sewn (common practice, no source).
    """

    allowance: float = 20.0
    scallop: bool = True


@dataclass(frozen=True, slots=True)
class Kit:
    """What an opening needs behind it, in mm. The figures are common practice, no source.

    `overlap`: how far the modesty panel reaches under each laced edge; `guard` and `underlap`: finished widths behind
    a zip or busk, and under hooks or buttons; `stay_less`: what the waist stay is shorter than the worn waist (1 to
    2 cm); `zip_allowance` along a zip; `gripper` tape inside the top; `loops` to hang it by.
    `facing_of`: the layer whose cloth facings are cut from; usually the strength layer, else the shell, but for one
    with a pile and for lace, which are too thick or too open to hold eyelets: then the lining.
    """

    modesty: bool = True
    overlap: float = 40.0
    guard: float = 30.0
    underlap: float = 25.0
    stay: bool = True
    stay_less: float = 15.0
    zip_allowance: float = 25.0
    gripper: bool = False
    loops: bool = True
    facing_of: Literal["usual", "shell", "strength", "lining"] = "usual"


@dataclass(frozen=True, slots=True)
class BoneBuild:
    """What carries bones, each with a set of its own, and whether there are further lines within the panels."""

    on: tuple[str, ...] = ("shell",)
    extra: Literal["none", "fuller", "always"] = "none"


@dataclass(frozen=True, slots=True)
class Build:
    """How it is made. `allowances` by edge role override `allowance`; both in mm.

    `layers` are those beside the lining, from the outside in. `lining` None: no lining; `kit` None: no back kit.
    """

    allowance: float = ALLOWANCE
    allowances: Mapping[str, float] = field(default_factory=dict, hash=False)
    pad: PadBuild = field(default_factory=PadBuild)
    lining: Lining | None = None
    layers: tuple[str, ...] = LAID_USUALLY
    lace: Lace = field(default_factory=Lace)
    kit: Kit | None = None
    bones: BoneBuild = field(default_factory=BoneBuild)

    def allowance_for(self, role: str) -> float:
        """The allowance of an edge by its role, in mm."""
        return self.allowances.get(role, self.allowance)


@dataclass(frozen=True, slots=True)
class Cloth:
    """A material on the shelf. Lengths in mm, shrinkage in percent; None: not stated.

    `layers` are those it is for; `price` is per `price_per` mm of length, or per sheet; `sheet` and `remnants` are
    (width, length); `thickness` is that of one ply; `pile`: it has one, as velvet has.
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
    pile: bool = False


@dataclass(frozen=True, slots=True)
class Order:
    """One garment for one client. `unit` is that of the file; everything in here is in mm.

    `typed_in` is the unit in which most of the body was typed, where that is known: its sheets tell that one first.
    `pattern`: one that exists already, which goes before the style; of that only closing and gap count then.
    """

    name: str
    body: Body
    unit: Unit = "cm"
    typed_in: Unit | None = field(default=None, compare=False)
    client: Client = field(default_factory=Client)
    style: Style = field(default_factory=Style)
    pattern: OwnPattern | None = None
    build: Build = field(default_factory=Build)
    cloth: tuple[Cloth, ...] = ()
    money: Money = field(default_factory=Money)
    hours: Hours = field(default_factory=Hours)
    notions: Notions = field(default_factory=Notions)
    maker: Maker = field(default_factory=Maker)
    shelf: Shelf = field(default_factory=Shelf)

    @property
    def told_in(self) -> Unit:
        """The unit that stands first on its sheets."""
        return self.typed_in or self.unit
