"""What a docket is made of. Frozen data; lengths in mm, money and hours in decimal, percent as percent."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

from coutil.pattern import Finding
from coutil.pattern.model import Layer, Side
from coutil.words import RefusingError


class DocketError(RefusingError, ValueError):
    """An order that cannot be costed as it stands; its refusal says which values conflict."""

    room: ClassVar[str] = "docket"


@dataclass(frozen=True, slots=True)
class CutLine:
    """One piece of one layer. `block` names the fusing block that it is cut from, if it is fused before it is cut."""

    layer: Layer
    piece: str
    side: Side
    quantity: int
    mirrored_pair: bool
    on_fold: bool
    block: str | None = None


@dataclass(frozen=True, slots=True)
class FuseLine:
    """A rough block that is cut and fused before its pieces are cut from it; `length` runs along the grain."""

    layer: Layer
    block: str
    quantity: int
    mirrored_pair: bool
    on_fold: bool
    length: float
    width: float
    pieces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Buy:
    """What one cloth needs from the shop. `needed` comes from the lays, stock and remnants already counted in.

    `buy` is `needed` rounded up to `sold_by`. Both are lengths in mm, or numbers of sheets where `unit` says so.
    """

    cloth: str
    layers: tuple[str, ...]
    unit: Literal["length", "sheet"]
    needed: float
    sold_by: float
    buy: float


@dataclass(frozen=True, slots=True)
class Bone:
    """Bones of one length. `channel` is the stretch of finished seam or edge; `length` is cut and tipped.

    `seam` names the seam that it lies on; "" where it lies beside an edge that opens. `where` says it in words.
    """

    where: str
    seam: str
    side: Side
    quantity: int
    channel: float
    clearance: float
    length: float
    says: str

    @property
    def at_edge(self) -> bool:
        """Whether it lies beside an edge that opens."""
        return not self.seam

    @property
    def casing(self) -> float:
        """Casing for all bones of this line, in mm: each as long as its channel."""
        return self.quantity * self.channel


@dataclass(frozen=True, slots=True)
class Fastening:
    """What closes the centre back; "none" where the pattern has no edges there that open.

    `edges` are its finished edges; `spacing` from hole to hole or hook to hook; `count` is the number of pairs (of
    eyelets, or hook and eye), 0 for a zip. `cord` and `zip` are lengths, 0 for the others. `says` is how it was worked
    out.
    """

    kind: Literal["lacing", "zip", "hooks", "none"]
    edges: tuple[float, ...]
    count: int
    spacing: float
    cord: float
    zip: float
    says: str


@dataclass(frozen=True, slots=True)
class ThreadLine:
    """Thread for one kind of sewing: `sewn` mm of seam in the ISO 4915 stitch type `stitch`.

    `thickness` of all plies under the foot and `stitch_length` in mm; `ratio` is thread over seam, `thread` without
    wastage.
    """

    what: str
    stitch: str
    sewn: float
    thickness: float
    stitch_length: float
    ratio: float
    thread: float


@dataclass(frozen=True, slots=True)
class Thread:
    lines: tuple[ThreadLine, ...]
    wastage: Decimal
    # With wastage, in mm.
    total: float
    spools: int


@dataclass(frozen=True, slots=True)
class Amount:
    """One line of the price: `quantity` of `unit` at `rate`. `cost` is rounded; None where no rate is stated."""

    what: str
    quantity: Decimal
    unit: str
    rate: Decimal | None
    cost: Decimal | None


@dataclass(frozen=True, slots=True)
class Price:
    """The price and how it comes about. Every line is rounded half up to the currency's smallest coin, then added up.

    cost = materials + labour + overhead; net = cost / (1 - margin); total = net + tax. `unpriced` names the materials
    that are not in it.
    """

    currency: str
    materials: Decimal
    labour: Decimal
    overhead_percent: Decimal
    overhead: Decimal
    cost: Decimal
    margin_percent: Decimal
    margin: Decimal
    net: Decimal
    tax_percent: Decimal
    tax: Decimal
    total: Decimal
    unpriced: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Docket:
    """The cutting ticket of one order. `price` is None where no hourly rate is stated: labour is most of the cost.

    `body` and `not_taken` are the pattern's: a standard size that was asked for as such, and the readings without which
    nothing may be cut.
    """

    order: str
    client: str
    garment: str
    cut: tuple[CutLine, ...]
    fuse: tuple[FuseLine, ...]
    buy: tuple[Buy, ...]
    bones: tuple[Bone, ...]
    fastening: Fastening
    thread: Thread
    materials: tuple[Amount, ...]
    hours: tuple[Amount, ...]
    price: Price | None
    findings: tuple[Finding, ...]
    locale: str
    tax_name: str
    valid_days: int
    body: str = ""
    not_taken: tuple[str, ...] = ()

    @property
    def casing(self) -> float:
        return sum(b.casing for b in self.bones)

    @property
    def bone_total(self) -> float:
        return sum(b.quantity * b.length for b in self.bones)
