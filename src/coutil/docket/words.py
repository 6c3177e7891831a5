"""The garment in plain words, for a client who knows no pattern cutting."""

from __future__ import annotations

from coutil.docket.bones import bones
from coutil.layers.openings import openings, place_words
from coutil.order import Order
from coutil.pattern import Pattern
from coutil.words import say

# A hem this near to a level, in mm, is said to lie at it.
AT_LEVEL = 15.0


def garment_words(order: Order, pattern: Pattern) -> str:
    """One sentence without its full stop, from the style and the layers of the pattern."""
    layers = {p.layer for p in pattern.pieces}
    # Of a pattern that was brought in nobody knows how its neckline and its hem run; [style] does not tell it.
    drafted = order.pattern is None
    made = [_top(order)] if drafted else []
    if "foam" in layers:
        made.append(say("docket.garment.cups"))
    if order.notions.bones if drafted else bones(order, pattern):
        made.append(say("docket.garment.boned"))
    made.append(say("docket.garment.lined" if "lining" in layers else "docket.garment.unlined"))
    made += [say(f"docket.garment.{o.closed_with}", at=place_words(o.at)) for o in openings(order, pattern)]
    if not drafted:
        return say("docket.garment.brought", made=", ".join(made))
    key = "docket.garment.pointed" if order.style.hem_point > 0.0 else "docket.garment.measured"
    return say(key, made=", ".join(made), hem=say(f"docket.garment.hem.{_hem(order)}"))


def _top(order: Order) -> str:
    if not order.style.seaming.bust:
        return say("docket.garment.no_bust")
    neckline = order.style.neckline
    return say("docket.garment.at_point" if neckline == "pointed" else f"docket.garment.{neckline}")


def _hem(order: Order) -> str:
    """Where the hem lies, as a word's key."""
    hem, body = order.style.hem, order.body
    if hem is None:
        return "below"
    if hem < -AT_LEVEL:
        return "above"
    if hem <= AT_LEVEL:
        return "waist"
    return "hip" if hem >= body.hip_depth - AT_LEVEL else "below"
