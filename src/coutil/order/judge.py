"""Whether what an order asks for goes together, beyond what its body alone tells.

How far a garment may draw the body in is judged by `coutil.check`, on the pattern.
"""

from __future__ import annotations

from collections.abc import Iterator

from coutil.body import Remark, judge, rests_on
from coutil.order.ease import eased
from coutil.order.model import Order
from coutil.seaming.roles import HEM, TOP
from coutil.words import Key, Length


def judge_order(order: Order) -> list[Remark]:
    """The body's remarks (`coutil.body.judge`) and those on the style, refusals first. Style keys bear their table."""
    remarks = [*judge(order.body), *_girths(order), *_idle(order)]
    rank = {"refuse": 0, "warn": 1, "note": 2}
    return sorted(remarks, key=lambda r: rank[r.kind])


def _girths(order: Order) -> Iterator[Remark]:
    body, ease = order.body, eased(order.style, order.body, order.cloth)
    if body.not_taken and rests_on(body, ("bust", "underbust")):
        # What stands in their place says nothing of the client: the readings are still to come.
        return
    if body.bust > body.underbust and body.bust + ease["bust"] <= body.underbust + ease["underbust"]:
        keys = ("style.ease.bust", "style.ease.underbust", "bust", "underbust")
        yield Remark("refuse", "order.no_bust", keys)


def _idle(order: Order) -> Iterator[Remark]:
    style = order.style
    if style.lacing_gap is not None and style.closing != "lacing" and not style.openings:
        keys = ("style.lacing_gap", "style.closing")
        yield Remark("note", "order.gap_unused", keys, {"closing": style.closing})
    if style.openings and (style.closing, style.lacing_gap) != ("lacing", None):
        asked = {"style.closing": style.closing != "lacing", "style.lacing_gap": style.lacing_gap is not None}
        yield Remark("note", "order.closing_unused", tuple(k for k, stated in asked.items() if stated))
    if style.own is not None and style.own is not style.seaming and style.own != style.seaming:
        yield Remark("note", "order.own_unused", ("style.seaming",), {"seaming": style.seaming.name})
    if order.pattern is None:
        yield from _without_place(order)
    for role in order.build.allowances:
        if role != "centre_back" and order.build.allowances[role] < 4.0:
            key = f"build.allowances.{role}"
            value = Length(order.build.allowances[role], "both")
            yield Remark("warn", "order.narrow", (key,), {"key": Key(key), "value": value})


def _without_place(order: Order) -> Iterator[Remark]:
    """What the order says and its seaming has no place for: it is kept, and comes back with another seaming."""
    style, seaming = order.style, order.style.seaming
    if not seaming.bust:
        stated = {"cup_height": style.cup_height is not None, "peak": style.peak > 0.0}
        for key in (k for k, is_stated in stated.items() if is_stated):
            yield Remark("note", "order.no_place", (f"style.{key}",), {"key": Key(f"style.{key}")})
    roles = {role for k in range(len(seaming.panels)) for role in seaming.edges(k)} | {TOP, HEM}
    for role in order.build.allowances:
        if role not in roles:
            key = f"build.allowances.{role}"
            yield Remark("note", "order.no_place", (key,), {"key": Key(key)})
    for opening in style.opens:
        if opening.side and seaming.side is None:
            yield Remark("refuse", "order.no_side_seam", ("style.opening", "style.seaming"), {"seaming": seaming.name})
