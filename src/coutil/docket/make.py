"""The docket of an order, from its pattern and its lays."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from decimal import Decimal

from coutil.check.body import taken_findings
from coutil.docket.bones import bones, fastenings, unboned, unclosed
from coutil.docket.kit import back_kit, kit_materials
from coutil.docket.materials import findings, materials, spoken, to_buy, without_lay
from coutil.docket.model import Amount, Bone, CutLine, Docket, Fastening, FuseLine
from coutil.docket.money import currency_of, line, price
from coutil.docket.ready import ready_findings, ready_materials
from coutil.docket.thread import thread
from coutil.docket.words import garment_words
from coutil.lay.model import Block, LayPlan
from coutil.order import Hours, Order
from coutil.pattern import ClothRef, Finding, KeysRef, Pattern
from coutil.pattern.model import Layer

# Layers from the outside in, as the docket lists them.
ORDER_OF_LAYERS: tuple[Layer, ...] = (
    "lace",
    "shell",
    "flat_lining",
    "interfacing",
    "strength",
    "foam",
    "web",
    "facing",
    "lining",
    "lining_interfacing",
    "modesty_panel",
    "guard",
    "underlap",
    "elastic",
    "net",
)
# Operations that a build does only with certain layers.
_NEEDS: dict[str, frozenset[str]] = {
    "fuse": frozenset(("interfacing", "lining_interfacing")),
    "pad": frozenset(("foam",)),
    "lining": frozenset(("lining",)),
}


def make_docket(order: Order, pattern: Pattern, plan: LayPlan | None) -> Docket:
    """The docket: what to cut and buy, bones, closing, thread, hours and, where an hourly rate is stated, the price.

    Without a `plan` nothing is known of lengths of cloth, and a finding says so. Raises DocketError for amounts in two
    currencies, an unknown one, negative prices, and a centre back too short for its closing.
    """
    currency = currency_of(order)
    boned = bones(order, pattern)
    closings = fastenings(order, pattern)
    closing = closings[0]
    threads = thread(order, pattern, boned)
    buy = () if plan is None else to_buy(order, plan)
    kit = back_kit(order, pattern)
    lines = (
        *materials(order, buy, boned, closings, threads, currency),
        *kit_materials(order, kit, currency),
        *ready_materials(order, currency),
    )
    idle = frozenset(_not_done(pattern, boned, closing))
    work = tuple(_hours(order, idle, currency))
    priced = order.money.hour is not None and currency is not None
    absent = spoken(without_lay(pattern, plan))
    made = price(order.money, currency, lines, work, absent) if priced and currency is not None else None
    unpriced = () if made is None else made.unpriced
    return Docket(
        order=order.name,
        client=order.client.label,
        garment=garment_words(order, pattern),
        cut=cut_list(pattern, plan),
        fuse=() if plan is None else tuple(_fused(b) for b in plan.blocks),
        buy=buy,
        bones=boned,
        fastening=closing,
        thread=threads,
        materials=lines,
        hours=work,
        price=made,
        findings=(
            *taken_findings(order.body),
            *findings(pattern, plan, unpriced, priced),
            *unboned(order, pattern),
            *unclosed(order, closing),
            *ready_findings(order, pattern),
            *_crushed(order, pattern),
            *_idle(order, idle),
        ),
        locale=order.money.locale,
        tax_name=order.money.tax_name,
        valid_days=order.money.valid_days,
        body=pattern.body,
        not_taken=pattern.not_taken,
        maker=order.maker,
        kit=kit,
        fastenings=closings,
    )


def cut_list(pattern: Pattern, plan: LayPlan | None) -> tuple[CutLine, ...]:
    """Every piece by layer, from the outside in, each with the fusing block that it is cut from."""
    blocks: dict[tuple[str, str], str] = {}
    for block in () if plan is None else plan.blocks:
        for piece, _ in block.pieces:
            blocks.setdefault((block.layer, piece), block.name)
    return tuple(
        CutLine(p.layer, p.name, p.side, p.quantity, p.mirrored_pair, p.on_fold, blocks.get((p.layer, p.name)))
        for layer in ORDER_OF_LAYERS
        for p in pattern.pieces
        if p.layer == layer
    )


def _fused(block: Block) -> FuseLine:
    xs, ys = zip(*block.outline, strict=True)
    return FuseLine(
        layer=next(x for x in ORDER_OF_LAYERS if x == block.layer),
        block=block.name,
        quantity=block.quantity,
        mirrored_pair=block.mirrored_pair,
        on_fold=block.on_fold,
        length=max(xs) - min(xs),
        width=max(ys) - min(ys),
        pieces=tuple(dict.fromkeys(name for name, _ in block.pieces)),
    )


def _hours(order: Order, absent: frozenset[str], currency: str | None) -> Iterator[Amount]:
    for name, hours in _worked(order.hours):
        if hours and name not in absent:
            yield line(name, hours, "h", order.money.hour, currency)


def _idle(order: Order, absent: frozenset[str]) -> Iterator[Finding]:
    usual = dict(_worked(Hours()))
    for name, hours in _worked(order.hours):
        if hours != usual[name] and hours and name in absent:
            yield Finding("hours.idle", "note", KeysRef((f"hours.{name}",)), {"hours": hours, "work": name})


def _worked(hours: Hours) -> Iterator[tuple[str, Decimal]]:
    for f in fields(hours):
        yield f.name, getattr(hours, f.name)


def _crushed(order: Order, pattern: Pattern) -> Iterator[Finding]:
    """A warning where a cloth with a pile would be fused."""
    layers = {p.layer for p in pattern.pieces}
    for cloth in order.cloth:
        fused = {"shell": "interfacing", "lining": "lining_interfacing"}
        if cloth.pile and any(fused.get(x) in layers for x in cloth.layers):
            yield Finding("cloth.pile_fused", "warn", ClothRef(cloth.name))


def _not_done(pattern: Pattern, boned: tuple[Bone, ...], closing: Fastening) -> Iterator[str]:
    """The operations that this build does not have."""
    layers = {p.layer for p in pattern.pieces}
    yield from (name for name, needs in _NEEDS.items() if not needs & layers)
    if not boned:
        yield "bone"
    if closing.kind == "none":
        yield "closing"
