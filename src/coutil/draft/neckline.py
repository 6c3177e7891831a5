"""The neckline: the top from the centre front to the end of the cup, and how it goes on from there."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coutil.draft.refusal import DraftError
from coutil.draft.style import SHORTEST_PANEL, STRAIGHT_FALL, SettledStyle
from coutil.order import Neckline as Kind
from coutil.words import Length

# The lowest that a neckline is put above the underbust level where the order is silent, and the highest above the
# princess end that it may be, in mm: above, the line would rise to a bib. Found by trial.
LOWEST_PLUNGE = 10.0
HIGHEST_PLUNGE = 30.0
# Default plunge: its lowest point, as a part of the height from the underbust to the princess end. Found by trial.
PLUNGE_PART = 0.30
# Default sweetheart: its dip below the princess end, as a part of the panel's width there. Found by trial.
SWEETHEART_DIP = 0.45
# Necklines that end at the seam over the bust point in a corner, both edges at one height.
CORNERED: tuple[Kind, ...] = ("v", "pointed")


@dataclass(frozen=True, slots=True)
class CupEnd:
    """Where the neckline ends and the top begins: the end of the cup seam, or where it would be over the bust point.

    `at` in the first panel's coordinates, mm; `heading` of the seam there in radians (90 degrees is upright). `turned`
    is by how many of them it leans further than without the style's shaping above the bust.
    """

    at: tuple[float, float]
    heading: float
    turned: float = 0.0


@dataclass(frozen=True, slots=True)
class Neckline:
    """The top of the centre front panel: its height at the centre front, and its directions at both ends.

    `leave` is the angle above the horizontal at the centre front; `arrive` at the princess seam. `corner_tilt` is the
    tilt with which the side front's top goes on; where it is `cornered`, that falls towards the side instead.
    """

    low: float
    leave: float
    arrive: float
    corner_tilt: float
    cornered: bool = False


def low_point(
    style: SettledStyle, underbust: float, hem: float, end: CupEnd | None, side: float | None = None
) -> float:
    """Height of the neckline at the centre front, for a princess edge that ends at `end`; None: there is no bust.

    `underbust` and `hem` are the heights of these at the centre front, `side` that of the top at the side, None where
    the order states it; all in mm. A straight top lies no lower than that, and at most STRAIGHT_FALL higher. Raises
    DraftError for a plunge out of reach.
    """
    y = underbust if end is None else end.at[1]
    if style.plunge is not None:
        floor, ceiling = hem + SHORTEST_PANEL, y + HIGHEST_PLUNGE
        if not floor <= underbust + style.plunge <= ceiling:
            raise DraftError(
                ("style.plunge",),
                "deep_plunge_out_of_reach" if floor < underbust else "plunge_out_of_reach",
                given=Length(style.plunge, "both"),
                low=Length(abs(floor - underbust), "both"),
                high=Length(ceiling - underbust, "both"),
            )
        return underbust + style.plunge
    if end is None:
        # As far from the underbust as the top is at the side, where the underbust lies `ribs` above the waist.
        return underbust + style.side_top - style.ribs
    x = end.at[0]
    if style.neckline == "straight":
        # Square to both its ends, the line rises by about the tangent of half the angle between them.
        square = y - 0.5 * x * math.tan(end.heading - math.pi / 2.0)
        return square if side is None else min(max(square, side), side + STRAIGHT_FALL)
    if style.neckline in ("sweetheart", "pointed"):
        return max(y - SWEETHEART_DIP * x, underbust + LOWEST_PLUNGE)
    return underbust + max(PLUNGE_PART * (y - underbust), LOWEST_PLUNGE)


def neckline(style: SettledStyle, low: float, end: CupEnd | None) -> Neckline:
    """The neckline from `low` at the centre front to `end`; level where there is none."""
    if end is None:
        return Neckline(low=low, leave=0.0, arrive=0.0, corner_tilt=0.0)
    square = end.heading - math.pi / 2.0  # direction square to the seam, going outwards
    chord = math.atan2(end.at[1] - low, end.at[0])
    cornered = style.neckline in CORNERED and chord > 0.0
    if style.neckline == "straight":
        leave, arrive = 0.0, square
    elif chord <= 0.0:  # the low point is not low: a shallow bow, square to the centre front
        leave, arrive = 0.0, 1.5 * chord
    elif style.neckline == "sweetheart":
        # Out of a dip, steeper than the chord, over the breast and level into the seam.
        leave, arrive = chord * (1.0 + 0.6 * (1.0 - chord / (math.pi / 2.0))), 0.0
    elif style.neckline == "scoop":
        # Out of a round, level at the centre front, and over into the seam.
        leave, arrive = 0.0, 0.35 * chord
    elif style.neckline == "v":
        leave, arrive = chord, chord
    elif style.neckline == "pointed":
        # Out of a round into a tip: steeper than the chord at the seam, but never upright.
        leave, arrive = 0.0, chord + 0.35 * chord * (1.0 - chord / (math.pi / 2.0))
    else:
        # A V with nearly straight sides that rounds over into the seam.
        leave, arrive = 1.03 * chord, 0.55 * chord
    if style.neckline != "straight" and not cornered:
        # The sewn line runs as level over the seam as without the shaping: else the side front would end in a spike.
        arrive = max(arrive, end.turned) if chord > 0.0 else arrive + end.turned
    tilt = arrive - square
    if style.neckline == "plunge" and chord > 0.0:
        # With a peak the line may meet the seam at a corner: keep the V straight, the further the peak runs on.
        sharp = style.peak / (style.peak + 10.0)
        arrive += sharp * (0.95 * chord - arrive)
    return Neckline(low=low, leave=leave, arrive=arrive, corner_tilt=tilt, cornered=cornered)
