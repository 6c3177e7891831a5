"""Bodies to start from when no client is at hand: EN 13402-3 sizes, cup letters and bands.

The standard pairs bust, waist and hip, and names cup and band; the table and the steps are from memory of the published
text, the worked sizes in the tests (107/87, 108/89, 100/82) agree with them. It has no cup in its pairing: a table of
waists by bust is one for the usual cup, and a fuller breast on the same ribs has the same waist. What the standard says
nothing of (bust span, the lengths over the bust) is a rule without source and is marked as such in the body's
`reasons`.
"""

from __future__ import annotations

import math
from typing import Final

from coutil.body.breast import USUAL_DIFFERENCE, breast_length
from coutil.body.resolve import BREAST_RULE, RIBS, SPAN_RULE, Body, BodyError, bust_span, resolve_body, standard_row
from coutil.words import Key

# Cup letters by bust minus underbust, in 2 cm steps from 10 cm: AA over 10 up to 12, A up to 14, and so on. The worked
# sizes give 18 cm as C, 19 and 20 as D, so a step's upper end belongs to it. Beyond H the alphabet simply goes on.
CUPS: Final = ("AA", "A", "B", "C", "D", "E", "F", "G", "H", "I", "J", "K", "L")
_CUP_FROM: Final = 100.0
_CUP_STEP: Final = 20.0
# The cup that the plain bust tables are taken to mean where none is named (common practice, no source); the middle of
# its step is `USUAL_DIFFERENCE`.
USUAL_CUP: Final = "B"
# How far the armpit lies above the underbust at the side, in mm: rule of thumb, no source. It does not rise with the
# breast, as the bust point's distance over its surface does.
_ARMPIT: Final = 100.0
SIDE_RULE: Final = f"{(RIBS + _ARMPIT) / 10.0:g} cm, whatever the standard size (rule of thumb, no source)"
# Bands step by 5 cm: the underbust to the nearest.
_BAND_STEP: Final = 50.0


def cup_letter(bust: float, underbust: float) -> str | None:
    """The EN 13402-3 cup of a bust and an underbust in mm, None where the difference is 10 cm or less, or beyond L."""
    # Rounded to a hundredth of a mm, so that 180 mm out of 1080.1 - 900.1 is C, as on the tape.
    step = math.ceil(round((bust - underbust - _CUP_FROM) / _CUP_STEP, 4)) - 1
    return CUPS[step] if 0 <= step < len(CUPS) else None


def cup_difference(letter: str) -> float:
    """Bust minus underbust, in mm, at the middle of a cup's step: C -> 170. Raises BodyError for an unknown letter."""
    plain = letter.strip().upper()
    if plain not in CUPS:
        raise BodyError("unknown_cup", cup=letter, known=tuple(CUPS))
    return _CUP_FROM + (CUPS.index(plain) + 0.5) * _CUP_STEP


def band(underbust: float) -> int:
    """The band in cm that EN 13402-3 gives an underbust in mm: the nearest multiple of 5, halves up."""
    return math.floor(underbust / _BAND_STEP + 0.5) * 5


def size_name(bust: float, underbust: float) -> str:
    """Band and cup as on a label: (1070, 870) -> "85D"; "85" alone where no letter fits."""
    return f"{band(underbust)}{cup_letter(bust, underbust) or ''}"


def standard_body(
    bust: float,
    under: float | str = USUAL_CUP,
    *,
    waist: float | None = None,
    hip: float | None = None,
    height: float | None = None,
) -> Body:
    """A body of standard size; lengths in mm. `under` is the underbust, or a cup letter (then the middle of its step).

    Waist and hip follow the ribs and not the bust, unless given: they are those that EN 13402-3 pairs with the bust of
    this underbust and the usual cup (between two sizes in proportion). The breast is the half sphere of
    `coutil.body.breast`. Everything but what was given is listed in `assumed`. Raises BodyError for a bust that is not
    in 60 to 180 cm, an unknown cup, or an underbust that is not below the bust.
    """
    if not (600.0 <= bust <= 1800.0):
        raise BodyError("no_standard_size", Key("bust"), bust=bust / 10.0)
    why: dict[str, str] = {}
    if isinstance(under, str):
        underbust = bust - cup_difference(under)
        why["underbust"] = f"bust less {cup_difference(under) / 10.0:g} cm, the middle of cup {under.strip().upper()}"
    else:
        underbust = float(under)
    cup = bust - underbust
    if not (0.0 < cup < bust):
        raise BodyError(
            "underbust_over_bust", Key("underbust"), Key("bust"), underbust=underbust / 10.0, bust=bust / 10.0
        )

    paired = underbust + USUAL_DIFFERENCE
    row = standard_row(paired)
    measured = {"bust": float(bust), "underbust": underbust}
    for key, given, table in (("waist", waist, row[0]), ("hip", hip, row[1])):
        measured[key] = table if given is None else float(given)
        if given is None:
            why[key] = (
                f"EN 13402-3 for bust {paired / 10.0:g} cm, which has this underbust with cup {USUAL_CUP} "
                "(table from memory)"
            )
    if height is not None:
        measured["height"] = float(height)

    measured["bust_span"] = bust_span(bust)
    why["bust_span"] = SPAN_RULE
    measured["bust_to_underbust"] = breast_length(bust, underbust)
    why["bust_to_underbust"] = BREAST_RULE
    measured["bust_to_waist"] = measured["bust_to_underbust"] + RIBS
    why["bust_to_waist"] = f"bust point to underbust plus {RIBS / 10.0:g} cm (rule of thumb, no source)"
    measured["side_length"] = RIBS + _ARMPIT
    why["side_length"] = SIDE_RULE
    return resolve_body(measured, reasons=why)
