"""How much of the front's girth the foam of the cups takes up.

Cloth that is worn over foam runs round it at the distance of its thickness t. A curve at the distance t outside of one
that turns by theta is longer by t * theta, whatever its shape (arc length of parallel curves; J. Steiner, 1840, on
parallel surfaces). Across the bust, the section of a cup through its apex turns by twice the slope at its base.
"""

from __future__ import annotations

import math

from coutil.pattern import Cup


def foam_angle(cup: Cup) -> float:
    """The angle in radians that a section of the round cup through its apex turns by, from base to base.

    Its slope at the base is acos(dr/drho) = acos(1 - K/2 pi), see coutil.dome.gauge; on a sphere of radius s this
    makes 2 R / s. A curvature outside 0 to 4 pi counts as the nearer of the two.
    """
    outward = 1.0 - cup.curvature_rad / (2.0 * math.pi)
    return 2.0 * math.acos(min(max(outward, -1.0), 1.0))


def foam_girth(thickness: float, cup: Cup) -> float:
    """Front girth in mm that foam of `thickness` mm takes up over one cup; raises ValueError if it is negative."""
    if thickness < 0.0:
        raise ValueError(f"foam cannot be {thickness} mm thick")
    return thickness * foam_angle(cup)


def foam_total(thickness: float, cups: tuple[Cup, ...]) -> float:
    """Front girth in mm that the foam takes up over both cups; a cup that stands for both sides counts twice."""
    return sum(foam_girth(thickness, c) * (2.0 if c.side == "both" else 1.0) for c in cups)
