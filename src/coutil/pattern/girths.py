"""The girths of a garment, from the widths of its flat panels at the levels."""

from __future__ import annotations

import math

from coutil.pattern.model import Panel, Pattern
from coutil.seaming import LEVELS


def girths(pattern: Pattern, *, gap: float = 0.0) -> dict[str, float]:
    """The garment's girth in mm at each level that all panels bear which go round the body, from the hem up.

    Those are the panels that are sewn to another one; all, where no seam is known. A panel that serves both sides
    counts twice. `gap` is how far an opening stands open when worn, in mm: the cloth is shorter by that much. Empty
    where a seam names a panel that is missing.
    """
    panels = all_round(pattern)
    out = {}
    for level in LEVELS:
        if panels and all(level in p.levels for p in panels):
            out[level] = gap + sum((2.0 if p.side == "both" else 1.0) * math.dist(*p.levels[level]) for p in panels)
    return out


def all_round(pattern: Pattern) -> list[Panel]:
    """Every panel that goes round the body; empty if a seam names one that is missing."""
    try:
        sewn = {p.name for s in pattern.seams for p in pattern.panels_of(s)}
    except KeyError:
        return []
    return [p for p in pattern.panels if not sewn or p.name in sewn]
