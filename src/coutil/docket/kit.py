"""What the back kit takes beside its pieces: waist stay, gripper tape, hanging loops. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from coutil.docket.model import Amount, BackKit
from coutil.docket.money import line, metres
from coutil.layers.kit import gripper_length, stay_length
from coutil.order import Order
from coutil.pattern import Pattern

# What is turned in at each end of a waist stay, in mm.
STAY_TURNED: Final = 25.0
# Hooks with their eyes that close a waist stay.
STAY_HOOKS: Final = 2
# Ribbon for one hanging loop, in mm; and how many there are.
LOOP: Final = 300.0
LOOPS: Final = 2


def back_kit(order: Order, pattern: Pattern) -> BackKit:
    """What the order's back kit takes beside its pieces; all of it 0 without one."""
    kit = order.build.kit
    if kit is None:
        return BackKit()
    stay = stay_length(order, pattern) or 0.0
    return BackKit(
        stay=stay,
        stay_cut=stay + 2.0 * STAY_TURNED if stay else 0.0,
        gripper=gripper_length(order, pattern) or 0.0,
        ribbon=LOOPS * LOOP if kit.loops else 0.0,
    )


def kit_materials(order: Order, kit: BackKit, currency: str | None) -> Iterator[Amount]:
    """What is bought for it."""
    n = order.notions
    for name, mm, price in (
        ("waist stay ribbon", kit.stay_cut, n.stay_price),
        ("gripper tape", kit.gripper, n.gripper_price),
        ("ribbon for loops", kit.ribbon, n.ribbon_price),
    ):
        if mm > 0.0:
            yield line(name, metres(mm), "m", price, currency)
