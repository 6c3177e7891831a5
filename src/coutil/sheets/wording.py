"""What is written on the sheets: quantities, names, print instructions and the cautions that apply."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from coutil.body import reading_words
from coutil.layers.pieces import SPOKEN
from coutil.pattern import Pattern, Piece
from coutil.pattern.model import INWARDS, Layer, Side
from coutil.words import say

# As pieces are called after their layers, but that web is said in full.
LAYER_WORDS: dict[Layer, str] = {**SPOKEN, "web": "adhesive web"}
# What each piece bears while a reading of the body is not taken; the sheet says which.
NOT_TAKEN = "DO NOT CUT: not taken"

# Cautions (docs/method.md): they go where the work can hurt. Common practice, no source; each with the
# layers that call for it, none where it always applies.
_CAUTIONS: tuple[tuple[frozenset[Layer], str], ...] = (
    (frozenset(), "blades"),
    (frozenset(("interfacing", "lining_interfacing", "web")), "heat"),
    (frozenset(("foam",)), "foam"),
    (frozenset(("shell",)), "bones"),
    (frozenset(), "tight"),
)


def cautions(layers: Collection[Layer]) -> tuple[str, ...]:
    """The cautions that apply to a build of these layers, in the order of the work."""
    return tuple(say(f"caution.{name}") for needs, name in _CAUTIONS if not needs or needs & set(layers))


def not_taken_line(not_taken: Sequence[str]) -> str:
    """The line that every sheet of an unmeasured body bears on its face, "" where all needed readings are taken."""
    return say("sheet.not_taken", readings=reading_words(not_taken)) if not_taken else ""


def body_line(body: str) -> str:
    """Whose body it is, where a standard size was asked for as such; "" for a client's own."""
    return say("sheet.standard_size", size=body) if body else ""


def owner_words(label: str, body: str) -> str:
    """Client and body as they stand beside an order's name: a standard size is never called the client's body."""
    return " · ".join(s for s in (body_line(body), label) if s)


def about_body(about: str, pattern: Pattern) -> str:
    """What a drawing says of itself, led by what its face says of the body."""
    said = [not_taken_line(pattern.not_taken), body_line(pattern.body)]
    return " ".join([*(f"{s}." for s in said if s), about])


def layer_words(layer: Layer) -> str:
    return LAYER_WORDS[layer]


def turned_lining(layer: Layer, side: Side) -> bool:
    """Whether a pattern that is drawn as the shell is seen must lie face down on the right side of this layer.

    A lining's right side looks at the body. Of a pair one is turned over in any case; what serves one side only is not.
    """
    return side != "both" and layer in INWARDS


def quantity(piece: Piece, *, as_laid: bool = False) -> str:
    """How many to cut, and how: "cut 2, one turned over", "cut 1 on the fold", "left: cut 1, pattern face down".

    `as_laid`: the drawing shows the piece as its own cloth is seen, so that nothing is to be turned.
    """
    says = cut_words(piece.quantity, piece.mirrored_pair, piece.on_fold)
    if turned_lining(piece.layer, piece.side) and not as_laid:
        says = say("sheet.face_down", how=says)
    return says if piece.side == "both" else f"{piece.side}: {says}"


def cut_words(n: int, pair: bool, on_fold: bool) -> str:
    """How many to cut, and how: "cut 2, one turned over"."""
    return say("sheet.cut", how=how_many(n, pair, on_fold))


def how_many(n: int, pair: bool, on_fold: bool) -> str:
    """A number of pieces and how they are cut: "2, one turned over"."""
    if on_fold:
        return say("sheet.on_fold", count=n)
    if pair:
        return say("sheet.pair" if n == 2 else "sheet.pairs", count=n)
    return str(n)
