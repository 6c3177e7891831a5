"""A pattern with all its layers and a plan of our own invention, for the tests of docket, card and DXF."""

from __future__ import annotations

from functools import cache

import order_texts
from coutil.draft import draft
from coutil.lay.model import Block, Lay, LayPlan
from coutil.layers import layer_up
from coutil.order import Order, parse_order
from coutil.pattern import Pattern

BODY = 'coutil = 1\nname = "green bodice"\n' + order_texts.BODY
UNEVEN = BODY + "[body.left]\nbust_to_underbust = 8.5\nbust_to_waist = 19\n"

LINED_PADDED = '[build.lining]\n[build.pad]\nthickness = "6 mm"\n'


@cache
def made(text: str = "", body: str = BODY) -> tuple[Order, Pattern]:
    """The order that `text` adds to a body, and its pattern with all layers."""
    order = parse_order(body + text)
    return order, layer_up(draft(order.body, order.style, order.name).pattern, order.build)


def plan(lengths: dict[str, tuple[str, float]], sheets: dict[str, tuple[str, int]] | None = None) -> LayPlan:
    """A plan by cloth name: (layer, what is still needed in mm), and (layer, sheets) for cloth in sheets."""
    lays = [Lay(n, "length", (x,), False, 1400.0, need, need, 0.7, ()) for n, (x, need) in lengths.items()]
    lays += [Lay(n, "sheet", (x,), False, 1000.0, 300.0, 200.0, 0.5, ()) for n, (x, _) in (sheets or {}).items()]
    to_buy = {n: need for n, (_, need) in lengths.items()} | {n: float(k) for n, (_, k) in (sheets or {}).items()}
    block = Block(
        "block A",
        "shell",
        (("side front, shell", 1),),
        ((0.0, 0.0), (420.0, 0.0), (420.0, 210.0), (0.0, 210.0)),
        quantity=2,
        mirrored_pair=True,
    )
    return LayPlan(tuple(lays), (block,), to_buy)
