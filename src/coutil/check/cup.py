"""What the cup gauge says of a pattern's cups, as findings."""

from __future__ import annotations

import math

from coutil.pattern import Cup, CupRef, Finding, Pattern, edge_called
from coutil.words import Length

# How far the round cup is from a numerical sewing-up, as a part of its depth: on three drafts with bust minus underbust
# of 8, 14 and 22 cm (docs/method.md, the cup gauge).
MODEL_ERROR = 0.03
# Less curvature than this, in radians, and the cup is flat for the hand: 2 degrees, a depth of 1 in 10 of its radius.
FLAT = math.radians(2.0)


def cup_findings(pattern: Pattern, cups: tuple[Cup, ...]) -> list[Finding]:
    """A note with the depth and volume of each of the pattern's cups; a warning where the seam makes none."""
    out = []
    for c in cups:
        about = CupRef(c.side)
        if c.curvature_rad < FLAT:
            edge, _ = pattern.edges_of(pattern.cup_seam(c.side))
            out.append(Finding("cup.flat", "warn", about, {"edge": edge_called(edge)}))
            continue
        size = {
            # The text says "about" itself.
            "depth": Length(c.depth_mm, "bare"),
            "volume": c.volume_cc,
            "base": Length(2.0 * c.base_radius_mm, "cm"),
            "error": Length(MODEL_ERROR * c.depth_mm),
        }
        out.append(Finding("cup.size", "note", about, size))
    return out
