"""Whether what an order asks for goes together, beyond what its body alone tells.

How far a garment may draw the body in is judged by `coutil.check`, on the pattern.
"""

from __future__ import annotations

from collections.abc import Iterator

from coutil.body import Remark, judge, rests_on
from coutil.order.model import Order
from coutil.units import both


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
        yield Remark(
            "refuse",
            ("style.ease.bust", "style.ease.underbust", "bust", "underbust"),
            "with style.ease.bust and style.ease.underbust the garment's bust would not be larger than its underbust",
        )


def _idle(order: Order) -> Iterator[Remark]:
    style = order.style
    if style.lacing_gap is not None and style.closing != "lacing":
        yield Remark(
            "note", ("style.lacing_gap", "style.closing"), f'style.lacing_gap is not used: closing is "{style.closing}"'
        )
    for role in order.build.allowances:
        if role != "centre_back" and order.build.allowances[role] < 4.0:
            yield Remark(
                "warn",
                (f"build.allowances.{role}",),
                f"build.allowances.{role} {both(order.build.allowances[role])} is too narrow to be pressed open",
            )
