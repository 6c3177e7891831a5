"""What a docket is made of. Frozen data; lengths in mm, money and hours in decimal, percent as percent."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import ClassVar, Literal

from coutil.layers.openings import channel
from coutil.order import Maker
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
    """Bones of one length. `channel` is the stretch of finished seam, edge or line; `length` is cut and tipped.

    `seam` names the seam that it lies on; "" where it lies beside an edge that opens, or on a line within a panel.
    `where` says it in words. `clearance` is what stays free at the lower end, `clearance_top` at the upper one; a bone
    of a length that is sold may leave more. `place` is "openings", "seams" or "lines", `kind` what the bone is called,
    `width` its own, `carrier` the layer that its channel is sewn to; `sold` says whether it is bought in this length,
    `cased` whether its channel is made of tape.
    """

    where: str
    seam: str
    side: Side
    quantity: int
    channel: float
    clearance: float
    length: float
    says: str
    clearance_top: float = 0.0
    place: str = "seams"
    kind: str = ""
    width: float = 0.0
    carrier: str = "shell"
    sold: bool = False
    cased: bool = True

    @property
    def at_edge(self) -> bool:
        """Whether it lies beside an edge that opens."""
        return self.place == "openings"

    @property
    def casing(self) -> float:
        """Casing for all bones of this line, in mm: each as long as its channel."""
        return self.quantity * self.channel if self.cased else 0.0

    @property
    def tips(self) -> int:
        """Two for each bone."""
        return 2 * self.quantity

    @property
    def channel_width(self) -> float:
        """From stitching to stitching."""
        return channel(self.width)


@dataclass(frozen=True, slots=True)
class Fastening:
    """What closes an opening; "none" where the pattern has no edges that open.

    `edges` are its finished edges; `spacing` from hole to hole or hook to hook; `count` is the number of pairs (of
    eyelets, hook and eye, button and loop), 0 for the others. `cord` and `zip` (for a busk or an elastic panel its own)
    are lengths, 0 for the others. `says` is how it was worked out.
    """

    kind: Literal["lacing", "zip", "hooks", "busk", "buttons", "elastic", "none"]
    edges: tuple[float, ...]
    count: int
    spacing: float
    cord: float
    zip: float
    says: str
    # From the finished edge to the middle of the row of eyelets; 0 for the others.
    inset: float = 0.0
    # Where it opens: "centre_back", "centre_front", "side_left", "side_right".
    at: str = "centre_back"


@dataclass(frozen=True, slots=True)
class BackKit:
    """What the back kit takes beside its pieces, lengths in mm, 0 where there is none.

    `stay` is the length of the closed waist stay, `stay_cut` what is cut for it.
    """

    stay: float = 0.0
    stay_cut: float = 0.0
    gripper: float = 0.0
    ribbon: float = 0.0


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
    maker: Maker = field(default_factory=Maker)
    kit: BackKit = field(default_factory=BackKit)
    # What closes every opening; `fastening` is the first of them.
    fastenings: tuple[Fastening, ...] = ()

    @property
    def casing(self) -> float:
        return sum(b.casing for b in self.bones)

    @property
    def bone_total(self) -> float:
        return sum(b.quantity * b.length for b in self.bones)
