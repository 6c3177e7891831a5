"""How this room says lengths, and the one error that it raises."""

from __future__ import annotations

from typing import ClassVar

from coutil.pattern import Panel
from coutil.units import cm, inches, millimetres
from coutil.words import RefusingError

# Shorter lengths are said in mm, where the ruler is read closely; longer ones in cm. A way of speaking, no source.
SAID_IN_MM = 10.0
# Below 1/16 in, the finest that `inches` shows, only the metric length says anything.
SMALLEST_IN_INCHES = 25.4 / 16.0


class LayerError(RefusingError, ValueError):
    """A piece that cannot be made; the refusal names it."""

    room: ClassVar[str] = "layers"


def said(mm: float) -> str:
    """A length in a sentence, metric and in inches: "9.5 mm (3/8 in)"."""
    if abs(mm) < SMALLEST_IN_INCHES:
        return millimetres(mm)
    return f"{millimetres(mm) if abs(mm) < SAID_IN_MM else cm(mm)} ({inches(mm)})"


def panel_words(panel: Panel) -> str:
    """The panel's name, with its side where the two sides are cut apart: "left side front"."""
    return panel.name if panel.side == "both" else f"{panel.side} {panel.name}"
