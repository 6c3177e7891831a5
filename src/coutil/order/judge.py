"""Whether what an order asks for goes together, beyond what its body alone tells.

How far a garment may draw the body in is judged by `coutil.check`, on the pattern.
"""

from __future__ import annotations

from collections.abc import Iterator

from coutil.body import Remark, judge, rests_on
from coutil.order.model import Order
from coutil.words import Key, Length


def judge_order(order: Order) -> list[Remark]:
    """The body's remarks (`coutil.body.judge`) and those on the style, refusals first. Style keys bear their table."""
    remarks = [*judge(order.body), *_girths(order), *_idle(order)]
    rank = {"refuse": 0, "warn": 1, "note": 2}
    return sorted(remarks, key=lambda r: rank[r.kind])


def _girths(order: Order) -> Iterator[Remark]:
    body, ease = order.body, order.style.ease
    if body.not_taken and rests_on(body, ("bust", "underbust")):
        # What stands in their place says nothing of the client: the readings are still to come.
        return
    if body.bust > body.underbust and body.bust + ease.bust <= body.underbust + ease.underbust:
        keys = ("style.ease.bust", "style.ease.underbust", "bust", "underbust")
        yield Remark("refuse", "order.no_bust", keys)


def _idle(order: Order) -> Iterator[Remark]:
    style = order.style
    if style.lacing_gap is not None and style.closing != "lacing":
        keys = ("style.lacing_gap", "style.closing")
        yield Remark("note", "order.gap_unused", keys, {"closing": style.closing})
    for role in order.build.allowances:
        if role != "centre_back" and order.build.allowances[role] < 4.0:
            key = f"build.allowances.{role}"
            value = Length(order.build.allowances[role], "both")
            yield Remark("warn", "order.narrow", (key,), {"key": Key(key), "value": value})
