"""How an order is worn: what its pattern is tried on, what is open, which seams are boned, how soft the body is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from coutil.body import Body
from coutil.layers.boning import bone_lines
from coutil.layers.openings import openings
from coutil.order import Order
from coutil.pattern import Pattern, girths
from coutil.pattern.model import Side
from coutil.worn.form import Form, form_of
from coutil.worn.wear import FLESH, HARD, Stand, Wearing, Worn, stand_of, wear

# A garment that is smaller than the body by more than this at a level, in mm, is tried on flesh: on a hard form it
# could only stretch.
TIGHT = 5.0


def order_form(order: Order, pattern: Pattern) -> Form:
    """The form of an order's body; without breasts where the pattern has no bust. Raises WornError."""
    return form_of(order.body, bust=any("bust" in p.levels for p in pattern.panels))


def wearing_of(order: Order, pattern: Pattern) -> Wearing:
    """How an order is worn."""
    # An elastic panel is a part of the pattern and leaves nothing open; a side is closed by a zip.
    gaps: dict[str, float] = {o.at: o.gap for o in openings(order, pattern) if o.gap and o.closed_with != "elastic"}
    boned = {line.seam: line.channel for line in bone_lines(order, pattern) if line.place == "seams"}
    tight = any(mm < -TIGHT for mm in eases(pattern, order.body, order.style.gap).values())
    return Wearing(boned=boned, gaps=gaps, hard=FLESH if tight else HARD)


def eases(pattern: Pattern, body: Body, gap: float) -> dict[str, float]:
    """What a pattern with its openings measures more than the body at each level, in mm."""
    return {level: mm - getattr(body, level) for level, mm in girths(pattern, gap=gap).items()}


def reaches(order: Order, pattern: Pattern) -> Mapping[Side, float]:
    """From the bust point to the underbust in mm, by side of each cup."""
    left, right = order.body.left.bust_to_underbust, order.body.right.bust_to_underbust
    return {s.side: right if s.side == "right" else left for s in pattern.cup_seams}


def wear_order(
    order: Order,
    pattern: Pattern,
    *,
    stand: Stand | None = None,
    fine: bool = False,
    told: Callable[[float, str], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Worn:
    """Try an order's pattern on its form, or on `stand`. Raises what `form_of` and `wear` raise."""
    wearing = wearing_of(order, pattern)
    on = stand or stand_of(order_form(order, pattern))
    worn = wear(pattern, on, wearing, fine=fine, told=told, stop=stop)
    softness = "flesh" if wearing.hard == FLESH else "hard"
    return replace(worn, assumed=(*worn.assumed, softness))
