"""Ready cups and wires from the maker's shelf: which fits this pattern best, and what differs.

A cup fits by its base and its depth: what it differs in either, as a part of the pattern's own, counts alike (squared
and added up). A wire fits by its length along the lower half of the root, half the circle of the cup's base. Judgement,
no source: a fitting tells.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal

from coutil.docket.model import Amount
from coutil.docket.money import line
from coutil.order import Order, ReadyCup, Wire
from coutil.pattern import Cup, CupRef, Finding, Pattern
from coutil.words import Length

# What a ready cup may differ from the pattern's in base or depth, in mm, before it is warned of: what foam and cloth
# take up without a fold (judgement, no source).
TOLERANCE = 10.0


def used_cup(order: Order) -> ReadyCup | None:
    """The cup of the shelf that is set in in the place of pads."""
    return next((c for c in order.shelf.cups if c.used), None)


def best_cup(cups: tuple[ReadyCup, ...], cup: Cup) -> ReadyCup | None:
    """The cup nearest to the pattern's by base and depth; of two as near the first."""
    base, depth = 2.0 * cup.base_radius_mm, cup.depth_mm
    if not cups or base <= 0.0 or depth <= 0.0:
        return None
    return min(cups, key=lambda c: ((c.base - base) / base) ** 2 + ((c.depth - depth) / depth) ** 2)


def best_wire(wires: tuple[Wire, ...], cup: Cup) -> Wire | None:
    """The wire nearest in length to the lower half of the root."""
    return min(wires, key=lambda w: abs(w.length - wire_line(cup)), default=None)


def wire_line(cup: Cup) -> float:
    """The lower half of the root, in mm."""
    return math.pi * cup.base_radius_mm


def ready_findings(order: Order, pattern: Pattern) -> Iterator[Finding]:
    """A note for each side on the cup and the wire that fit best; a warning where the cup that is used differs much."""
    used = used_cup(order)
    for cup in pattern.cups:
        about = CupRef(cup.side)
        found = used or best_cup(order.shelf.cups, cup)
        if found is not None:
            base, depth = found.base - 2.0 * cup.base_radius_mm, found.depth - cup.depth_mm
            args = {
                "cup": _called(found),
                "base": _differs(base),
                "base_by": Length(abs(base), "both"),
                "depth": _differs(depth),
                "depth_by": Length(abs(depth), "both"),
            }
            far = max(abs(base), abs(depth)) > TOLERANCE
            warned = used is not None and far
            yield Finding("cup.ready_far" if warned else "cup.ready", "warn" if warned else "note", about, args)
        wire = best_wire(order.shelf.wires, cup)
        if wire is not None:
            off = wire.length - wire_line(cup)
            args = {"wire": wire.name, "line": Length(wire_line(cup), "both"), "off": _differs(off)}
            yield Finding("cup.wire", "note", about, {**args, "off_by": Length(abs(off), "both")})


def ready_materials(order: Order, currency: str | None) -> Iterator[Amount]:
    """The pair of cups that is set in."""
    cup = used_cup(order)
    if cup is not None:
        yield line(f"pair of cups, {_called(cup)}", Decimal(1), "each", cup.price, currency)


def _called(cup: ReadyCup) -> str:
    return f"{cup.name} {cup.size}".strip()


def _differs(mm: float) -> str:
    return "more" if mm > 0.0 else "less"
