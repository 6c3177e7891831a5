"""How a finding names panels, places and figures, so that every check speaks alike."""

from __future__ import annotations

from coutil.pattern import Panel, Seam
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW, SEWN_END
from coutil.plane import Pt
from coutil.units import cm, millimetres

# Shorter lengths are said in mm, where the ruler is read closely; longer ones in cm. A way of speaking, no source.
SAID_IN_MM = 10.0

_MARKS = {
    SEWN_END: "the end of the centre front",
    NOTCH_BELOW: f"the notch {NOTCH_BELOW}",
    NOTCH_ABOVE: f"the notch {NOTCH_ABOVE}",
}


def panel_words(panel: Panel) -> str:
    """The panel's name; with its side where the two sides are drafted apart: "left side front"."""
    return panel.name if panel.side == "both" else f"{panel.side} {panel.name}"


def seam_words(seam: Seam) -> str:
    """The seam's name; with its side where the sides are drafted apart and it does not join them: "left side seam"."""
    name = f"{seam.name} seam"
    return name if seam.side == "both" or seam.on_itself else f"{seam.side} {name}"


def mark_words(mark: str) -> str:
    """A mark in a sentence: "high_hip" -> "the high hip"."""
    return _MARKS.get(mark, f"the {mark.replace('_', ' ')}")


def length(mm: float) -> str:
    """A length in a sentence: below 1 cm in mm to 0.1, else in cm to 0.1."""
    return millimetres(mm) if abs(mm) < SAID_IN_MM else cm(mm)


def precise(mm: float) -> str:
    """A length to a tenth of a millimetre, in cm: for two figures that are held against each other."""
    return f"{mm / 10.0:.2f} cm"


def place_words(panel: Panel, at: Pt) -> str:
    """Where a point lies on a panel, as one would find it with a ruler from the centre line and the waist."""
    centre = f"centre {panel.part}"
    across = f"{cm(abs(at[0]))} from the {centre}"
    if "waist" not in panel.levels:
        return across
    (_, y0), (_, y1) = panel.levels["waist"]
    up = at[1] - (y0 + y1) / 2.0
    return f"{across} and {cm(abs(up))} {'above' if up >= 0.0 else 'below'} the waist"


def capital(text: str) -> str:
    """The text with its first letter raised, for the start of a sentence."""
    return text[:1].upper() + text[1:]
