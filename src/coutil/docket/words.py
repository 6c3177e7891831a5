"""The garment in plain words, for a client who knows no pattern cutting."""

from __future__ import annotations

from coutil.docket.bones import back_edges, bones
from coutil.order import Order
from coutil.pattern import Pattern

_NECKLINES = {"plunge": "plunging neckline", "sweetheart": "sweetheart neckline", "straight": "straight top"}
_CLOSINGS = {
    "lacing": "laced at the centre back",
    "zip": "with a zip at the centre back",
    "hooks": "with hooks and eyes at the centre back",
}


def garment_words(order: Order, pattern: Pattern) -> str:
    """One sentence without its full stop, from the style and the layers of the pattern."""
    layers = {p.layer for p in pattern.pieces}
    # Of a pattern that was brought in nobody knows how its neckline and its hem run; [style] does not tell it.
    drafted = order.pattern is None
    made = [_NECKLINES[order.style.neckline]] if drafted else []
    if "foam" in layers:
        made.append("moulded cups")
    if order.notions.bones if drafted else bones(order, pattern):
        made.append("boned seams")
    made.append("lined" if "lining" in layers else "without a lining")
    if back_edges(pattern):
        made.append(_CLOSINGS[order.style.closing])
    if not drafted:
        return f"Bodice: {', '.join(made)}"
    point = ", pointed at the front" if order.style.hem_point > 0.0 else ""
    return f"Bodice made to measure: {', '.join(made)}; it ends below the waist{point}"
