"""What is bought for the garment, rounded up to what is sold, and what each line costs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Final

from coutil.docket.model import Amount, Bone, Buy, Fastening, Thread
from coutil.docket.money import line, metres
from coutil.lay.model import LayPlan
from coutil.order import Cloth, Order
from coutil.pattern import Finding, LayerRef, Pattern, Topic
from coutil.pattern.model import Layer
from coutil.units import both
from coutil.words import in_words

# The step in which cloth is sold where the order does not say, in mm: 10 cm (common practice, no source).
SOLD_BY: Final = 100.0
# A need that exceeds a step by less than this does not call for another one, in mm: a hundredth of a shear's cut.
HAIR: Final = 0.01
# Quantities are kept to a millionth of their unit; the cost is worked out before that rounding.
SHOWN: Final = Decimal("0.000001")


def to_buy(order: Order, plan: LayPlan) -> tuple[Buy, ...]:
    """Each cloth of the plan with what the shop must cut, in the order of the plan; nothing needed is said as 0."""
    known = {c.name: c for c in order.cloth}
    out = []
    for name, needed in plan.to_buy.items():
        cloth = known.get(name)
        layers = tuple(dict.fromkeys(x for n in plan.lays if n.cloth == name for x in n.layers))
        sheets = (cloth is not None and cloth.sheet is not None) or any(
            n.on == "sheet" for n in plan.lays if n.cloth == name
        )
        step = 1.0 if sheets else SOLD_BY if cloth is None or cloth.sold_by is None else cloth.sold_by
        hair = 0.0 if sheets else HAIR
        steps = max(0, math.ceil((needed - hair) / step))
        out.append(Buy(name, layers, "sheet" if sheets else "length", needed, step, steps * step))
    return tuple(out)


def materials(
    order: Order,
    buy: tuple[Buy, ...],
    bones: tuple[Bone, ...],
    fastenings: tuple[Fastening, ...],
    thread: Thread,
    currency: str | None,
) -> tuple[Amount, ...]:
    """Every material with its amount, and its cost where a price is stated."""
    known = {c.name: c for c in order.cloth}
    n = order.notions
    out = [_cloth(b, known.get(b.cloth), currency) for b in buy]
    if bones:
        out += _boning(order, bones, currency)
        out.append(line("casing", metres(sum(b.casing for b in bones)), "m", n.casing_price, currency))
    laced = [f for f in fastenings if f.kind == "lacing"]
    if laced:
        eyelets = Decimal(sum(2 * f.count for f in laced) + n.eyelet_spares)
        price = order.shelf.eyelet.price
        out.append(line("eyelets", eyelets, "each", n.eyelet_price if price is None else price, currency))
        out.append(line("cord", metres(sum(f.cord for f in laced)), "m", n.cord_price, currency))
    for f in fastenings:
        match f.kind:
            case "hooks":
                out.append(line("hooks and eyes", Decimal(f.count), "each", n.hook_price, currency))
            case "zip":
                out.append(line("zip", Decimal(1), "each", n.zip_price, currency))
            case "busk":
                out.append(line(f"busk, {both(f.zip)}", Decimal(1), "each", n.busk_price, currency))
            case "buttons":
                out.append(line("buttons", Decimal(f.count), "each", n.button_price, currency))
    out.append(line("thread", Decimal(thread.spools), "spool", n.thread_price, currency))
    return tuple(out)


def _boning(order: Order, bones: tuple[Bone, ...], currency: str | None) -> Iterator[Amount]:
    """Boning by its kind: from the coil by the metre, what is sold in lengths length by length."""
    shelf, usual = order.shelf, order.notions.bone_price
    if not shelf.bones:
        yield line("boning", metres(sum(b.quantity * b.length for b in bones)), "m", usual, currency)
        return
    kinds = {b.name: b for b in shelf.bones}
    for name in dict.fromkeys(b.kind for b in bones):
        mine = [b for b in bones if b.kind == name]
        price = kinds[name].price if name in kinds else None
        coil = [b for b in mine if not b.sold]
        if coil:
            total = metres(sum(b.quantity * b.length for b in coil))
            yield line(name, total, "m", usual if price is None else price, currency)
        for length in sorted({b.length for b in mine if b.sold}):
            count = Decimal(sum(b.quantity for b in mine if b.sold and b.length == length))
            yield line(f"{name}, {both(length)}", count, "each", price, currency)


def _cloth(buy: Buy, cloth: Cloth | None, currency: str | None) -> Amount:
    price = None if cloth is None else cloth.price
    if buy.unit == "sheet":
        return line(buy.cloth, Decimal(round(buy.buy)), "sheet", price, currency)
    per = 1000.0 if cloth is None else cloth.price_per
    # In the length that the price is for, so that the line shows the price as it was stated.
    unit = {1000.0: "m", 914.4: "yd"}.get(per, f"× {both(per)}")
    exact = line(buy.cloth, metres(buy.buy) / metres(per), unit, price, currency)
    return replace(exact, quantity=exact.quantity.quantize(SHOWN))


def without_lay(pattern: Pattern, plan: LayPlan | None) -> tuple[Layer, ...]:
    """The layers of the pattern whose cloth the plan does not tell; all of them without a plan."""
    laid = set() if plan is None else {layer for n in plan.lays for layer in n.layers}
    return tuple(x for x in dict.fromkeys(p.layer for p in pattern.pieces) if x not in laid)


def spoken(layers: Iterable[Layer]) -> tuple[str, ...]:
    """What the cloth of layers is called in lists of what has a price."""
    return tuple(in_words(LayerRef(x)) for x in layers)


def findings(pattern: Pattern, plan: LayPlan | None, unpriced: tuple[str, ...], priced: bool) -> Iterator[Finding]:
    """What the docket cannot know: cloth without a plan, materials without a price, hours that are not counted."""
    unlaid = without_lay(pattern, plan)
    if plan is None:
        yield Finding("docket.no_lays", "warn", Topic("docket"))
    else:
        for layer in unlaid:
            yield Finding("docket.no_lay", "warn", Topic("docket"), {"layer": LayerRef(layer)})
    # What has no lay may well have a price; it is told above.
    told = spoken(unlaid)
    unstated = tuple(name for name in unpriced if name not in told)
    if priced and unstated:
        yield Finding("price.unstated", "warn", Topic("price"), {"names": unstated})
    if not priced:
        yield Finding("price.none", "note", Topic("price"))
