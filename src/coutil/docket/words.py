"""The garment in plain words, for a client who knows no pattern cutting."""

from __future__ import annotations

from coutil.order import Order
from coutil.pattern import Pattern

_NECKLINES = {"plunge": "a plunging neckline", "sweetheart": "a sweetheart neckline", "straight": "a straight top"}
_CLOSINGS = {
    "lacing": "laced at the centre back",
    "zip": "with a zip at the centre back",
    "hooks": "with hooks and eyes at the centre back",
}


def garment_words(order: Order, pattern: Pattern) -> str:
    """One sentence, from the style and the layers of the pattern, without a full stop."""
    layers = {p.layer for p in pattern.pieces}
    made = [_NECKLINES[order.style.neckline]]
    if "foam" in layers:
        made.append("moulded cups")
    if order.notions.bones:
        made.append("boned seams")
    inside = "lined" if "lining" in layers else "without a lining"
    point = ", pointed at the front" if order.style.hem_point > 0.0 else ""
    return (
        f"Bodice made to your measurements: {_and(made)}, {inside}, {_CLOSINGS[order.style.closing]}; it ends below "
        f"the waist{point}"
    )


def _and(items: list[str]) -> str:
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"
