"""Whether an order asks for something that harms or cannot be, beyond what its body alone tells."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from coutil.body import Remark, judge
from coutil.order.model import Order
from coutil.units import both

# How far a garment may draw a girth in, as a part of it: (remark, refuse). A bodice that is too tight harms (DESIGN 8).
# Common practice, no source, on the cautious side: corset makers draw a waist in by a few inches at most, ribs hardly.
_DRAW_IN: Final = {
    "bust": (0.04, 0.10),
    "underbust": (0.04, 0.08),
    "waist": (0.08, 0.16),
    "high_hip": (0.04, 0.10),
}


def judge_order(order: Order) -> list[Remark]:
    """The body's remarks (`coutil.body.judge`) and those on the style, refusals first. Style keys bear their table."""
    remarks = [*judge(order.body), *_tightness(order), *_idle(order)]
    rank = {"refuse": 0, "warn": 1, "note": 2}
    return sorted(remarks, key=lambda r: rank[r.kind])


def _tightness(order: Order) -> Iterator[Remark]:
    body, ease = order.body, order.style.ease
    for level, (remark, refuse) in _DRAW_IN.items():
        girth, by = getattr(body, level), -getattr(ease, level)
        keys = (f"style.ease.{level}", level)
        if by > refuse * girth:
            yield Remark(
                "refuse",
                keys,
                f"style.ease.{level} draws the {level} {both(girth)} in by {both(by)}, "
                f"more than {100 * refuse:.0f} % of it; that harms",
            )
        elif by > remark * girth:
            yield Remark(
                "warn",
                keys,
                f"style.ease.{level} draws the {level} {both(girth)} in by {both(by)}; fit it slowly, and loosen it at "
                "pain, numbness or short breath",
            )
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
    if style.plunge is not None and style.neckline == "straight":
        yield Remark("note", ("style.plunge", "style.neckline"), 'style.plunge is not used: neckline is "straight"')
    for role in order.build.allowances:
        if role != "centre_back" and order.build.allowances[role] < 4.0:
            yield Remark(
                "warn",
                (f"build.allowances.{role}",),
                f"build.allowances.{role} {both(order.build.allowances[role])} is too narrow to be pressed open",
            )
