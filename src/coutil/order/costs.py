"""What an order says about money, hours, bones, closings and thread. Frozen data; money and hours in decimal."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from coutil.seaming import USUAL_ROLES

# Seams and edges that can bear bones, from the front to the back.
BONED: Final = USUAL_ROLES


@dataclass(frozen=True, slots=True)
class Money:
    """Rates from which the price is made; percents as percent. None: not stated.

    `hour` is the rate of one hour; `overhead` comes on top of materials and labour; `margin` is the part of the price
    before tax that is left when all costs are paid; `tax` comes on top of the price. `valid_days`: how long a quote
    stands.
    """

    currency: str | None = None
    locale: str = "en"
    hour: Decimal | None = None
    overhead: Decimal = Decimal(0)
    margin: Decimal = Decimal(0)
    tax: Decimal = Decimal(0)
    tax_name: str = "tax"
    valid_days: int = 30


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours for each operation of one garment. The defaults are a start to be corrected by the clock, no source."""

    measure: Decimal = Decimal(1)
    pattern: Decimal = Decimal(1)
    cut: Decimal = Decimal("1.5")
    fuse: Decimal = Decimal(1)
    pad: Decimal = Decimal(1)
    sew: Decimal = Decimal(3)
    bone: Decimal = Decimal("1.5")
    closing: Decimal = Decimal("1.5")
    lining: Decimal = Decimal("2.5")
    fit: Decimal = Decimal(2)
    finish: Decimal = Decimal("1.5")
    other: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Notions:
    """Bones, closings and thread: what is used, how, and what it costs. Lengths in mm; prices None: not stated.

    `bones`: edge roles whose seams or edges bear bones; `bone_clearance` and `bone_clearance_top` what a bone stops
    short of the lower and the upper end of its channel; `eyelet_spacing` and `hook_spacing` the wished distances along
    the edge, `closing_inset` from hem and top to the first and last, `eyelet_inset` from the edge to the row (None:
    what the bone and the rim need), `eyelet_spares` what is bought beyond those that are set; `cord_open` how far the
    back must open to dress beyond its gap, `cord_tail` what is left to tie at each end; `stitch` the ISO 4915 type of
    the seams; `wastage` of thread in percent. Prices: bone, casing and cord per metre, eyelets, hooks and zip each,
    thread per spool of `thread_spool`, the kit's ribbons and tape per metre.
    """

    bones: tuple[str, ...] = USUAL_ROLES[1:]
    # 1 cm at the hem, 5 to 6 mm at the top (common practice, no source).
    bone_clearance: float = 10.0
    bone_clearance_top: float = 6.0
    # 2.5 cm for eyelets, 2 cm for hooks, 1 cm from the ends (common practice, no source).
    eyelet_spacing: float = 25.0
    eyelet_inset: float | None = None
    # Some spoil in the setting (judgement, no source).
    eyelet_spares: int = 4
    hook_spacing: float = 20.0
    closing_inset: float = 10.0
    # Judgement, no source: opens by a hand's width, and a bow that can be tied.
    cord_open: float = 100.0
    cord_tail: float = 400.0
    stitch: Literal["301", "401"] = "301"
    # 2.5 mm, that is 4 stitches to the centimetre, about 10 to the inch (common practice, no source).
    stitch_length: float = 2.5
    # Between the 10 and the 15 % of textile calculation handbooks.
    wastage: Decimal = Decimal("12.5")
    # A household spool (common practice, no source).
    thread_spool: float = 200_000.0
    bone_price: Decimal | None = None
    casing_price: Decimal | None = None
    eyelet_price: Decimal | None = None
    cord_price: Decimal | None = None
    zip_price: Decimal | None = None
    hook_price: Decimal | None = None
    thread_price: Decimal | None = None
    busk_price: Decimal | None = None
    button_price: Decimal | None = None
    stay_price: Decimal | None = None
    gripper_price: Decimal | None = None
    ribbon_price: Decimal | None = None
