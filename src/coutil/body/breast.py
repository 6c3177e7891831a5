"""How large the breast of a size is: a half sphere whose width grows with cup and band.

In the trade 75C, 80B and 70D hold the same: a cup more and a band less make up for each other. So the width of the
half sphere is one line in band and cup,

    diameter = 114 mm + 8.5 mm ((underbust - 750 mm) / 50 mm + (bust - underbust - 150 mm) / 20 mm)

with bands of 5 cm and cups of 2 cm as EN 13402-3 has them: 114 mm across at 75B. Its volume is pi diameter^3 / 12, and
over its surface it is a quarter of a great circle from the point to the root: pi diameter / 4.
"""

from __future__ import annotations

import math
from typing import Final

# Width across in mm of the cup of 75B, and by how much each cup or band more is wider: the wires that the trade sells
# step by 1/3 in and make half spheres of 240 ml at 70A, 390 at 75B, 480 at 75C, 710 at 80D and 1000 at 85E. Tables of
# the trade, from memory; the tests hold the line against them.
_WIDTH: Final = 114.0
_STEP: Final = 8.5
_BAND: Final = 750.0
_BAND_STEP: Final = 50.0
_CUP_STEP: Final = 20.0
# Bust minus underbust in mm in the middle of the cup that the plain bust tables are taken to mean (B; common practice,
# no source).
USUAL_DIFFERENCE: Final = 150.0
# No breast is narrower, in mm: over its surface it is then just the least that a tape may read (2.5 cm).
_NARROWEST: Final = 32.0


def breast_width(bust: float, underbust: float) -> float:
    """Diameter of the half sphere, in mm, of a bust and an underbust in mm."""
    steps = (underbust - _BAND) / _BAND_STEP + (bust - underbust - USUAL_DIFFERENCE) / _CUP_STEP
    return max(_WIDTH + _STEP * steps, _NARROWEST)


def breast_volume(bust: float, underbust: float) -> float:
    """Volume of the half sphere, in mm^3, of a bust and an underbust in mm."""
    return math.pi / 12.0 * breast_width(bust, underbust) ** 3


def breast_length(bust: float, underbust: float) -> float:
    """From the bust point over the breast to its root, in mm: a quarter of a great circle of the half sphere."""
    return math.pi / 4.0 * breast_width(bust, underbust)
