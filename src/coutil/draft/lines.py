"""Where the hem and the top cross each seam of a half: how far along the seam, and leaning by how much.

`tilt` is the angle in radians by which the line rises, going from the centre front to the centre back, against a line
square to the seam. Both panels of a seam are given the same tilt there, so the line runs on across it without a turn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coutil.draft.frame import Frame
from coutil.draft.refusal import DraftError
from coutil.draft.rise import Rise
from coutil.draft.style import SettledStyle
from coutil.pattern import LEVELS
from coutil.units import both


@dataclass(frozen=True, slots=True)
class Crossing:
    """One end of a hem or a top on a seam: distance along the seam from the waist, in mm, and tilt."""

    along: float
    tilt: float


@dataclass(frozen=True, slots=True)
class Lines:
    """Crossings of one half. `centre_*` are heights above the waist on the straight centre edges."""

    hem_front: Crossing
    hem_side: Crossing
    hem_back: Crossing
    hem_centre_front: float
    hem_centre_front_slope: float
    hem_centre_back: float
    top_front: float  # end of the centre front's princess edge, along it from the waist
    peak: float
    top_side: Crossing
    top_back: Crossing
    top_centre_back: float
    reaches_high_hip: bool


def lines(frame: Frame, style: SettledStyle, depth: float) -> Lines:
    """Lay the hem and the top across the seams of one half. `depth` is the body's high_hip_depth."""

    def skirt(rise: Rise) -> float:
        return rise.lengths()[("high_hip", "waist")]

    def hem(length: float) -> float:
        """How far below the waist the hem lies on a line whose high hip lies `length` below it."""
        return length + style.hem - depth if style.hem >= depth else length * style.hem / depth

    # A point at the centre front fades out to nothing at the side seam, along half a parabola: depth (1 - u)^2.
    width = frame.half.width
    front, side_front = width["centre front"]["high_hip"], width["side front"]["high_hip"]
    u = front / (front + side_front)
    point = style.hem_point
    at_princess = point * (1.0 - u) ** 2
    slope_princess = 2.0 * point * (1.0 - u) / (front + side_front)
    slope_centre = 2.0 * point / (front + side_front)

    # The back's top runs from the side to the centre back along a smooth step, square to both.
    side_back, centre_back = width["side back"]["bust"], width["centre back"]["bust"]
    v = side_back / (side_back + centre_back)
    drop = style.back_top - style.side_top
    top_back = style.side_top + drop * v * v * (3.0 - 2.0 * v)
    slope_back = drop * 6.0 * v * (1.0 - v) / (side_back + centre_back)

    bust = sum(n for (low, _), n in frame.cf_princess.lengths().items() if low != LEVELS[0])
    return Lines(
        hem_front=Crossing(-hem(skirt(frame.cf_princess)) - at_princess, math.atan(slope_princess)),
        hem_side=Crossing(-hem(skirt(frame.sf_side)), 0.0),
        hem_back=Crossing(-hem(skirt(frame.sb_princess)), 0.0),
        hem_centre_front=-hem(-frame.centre_front["high_hip"]) - point,
        hem_centre_front_slope=math.atan(slope_centre),
        hem_centre_back=-hem(-frame.centre_back["high_hip"]),
        top_front=bust + style.cup_height,
        peak=style.peak,
        top_side=Crossing(style.side_top, 0.0),
        top_back=Crossing(top_back, math.atan(slope_back)),
        top_centre_back=style.back_top,
        reaches_high_hip=style.hem >= depth - 1e-6,
    )


@dataclass(frozen=True, slots=True)
class Neckline:
    """The top of the centre front panel: its height at the centre front, and its directions at both ends.

    `leave` is the angle above the horizontal at the centre front; `arrive` at the princess seam. `corner_tilt` is the
    tilt with which the side front's top goes on.
    """

    low: float
    leave: float
    arrive: float
    corner_tilt: float


# The lowest the neckline may come above the underbust level at the centre front, and the highest above the princess
# end, in mm: below, nothing holds the front together; above, the line would rise to a bib. Found by trial.
LOWEST_PLUNGE = 10.0
HIGHEST_PLUNGE = 30.0
# Default plunge: its lowest point, as a part of the height from the underbust to the princess end. Found by trial.
PLUNGE_PART = 0.30
# Default sweetheart: its dip below the princess end, as a part of the panel's width there. Found by trial.
SWEETHEART_DIP = 0.45


def low_point(style: SettledStyle, underbust: float, end: tuple[float, float], seam: float) -> float:
    """Height of the neckline at the centre front, for a princess edge that ends at `end` heading at angle `seam`.

    `underbust` is the height of that level at the centre front; all in mm and radians (90 degrees is upright). Raises
    DraftError for a plunge out of reach.
    """
    x, y = end
    if style.plunge is not None:
        floor, ceiling = underbust + LOWEST_PLUNGE, y + HIGHEST_PLUNGE
        if not floor <= underbust + style.plunge <= ceiling:
            raise DraftError(
                ("style.plunge",),
                f"{both(style.plunge)} given; under this top it may be {both(LOWEST_PLUNGE)} to "
                f"{both(ceiling - underbust)} above the underbust",
            )
        return underbust + style.plunge
    if style.neckline == "straight":
        # Square to both its ends, the line rises by about the tangent of half the angle between them.
        return y - 0.5 * x * math.tan(seam - math.pi / 2.0)
    if style.neckline == "sweetheart":
        return max(y - SWEETHEART_DIP * x, underbust + LOWEST_PLUNGE)
    return underbust + max(PLUNGE_PART * (y - underbust), LOWEST_PLUNGE)


def neckline(style: SettledStyle, low: float, end: tuple[float, float], seam: float) -> Neckline:
    """The neckline from `low` at the centre front to `end`, where the princess edge heads at angle `seam` (radians)."""
    square = seam - math.pi / 2.0  # direction square to the seam, going outwards
    chord = math.atan2(end[1] - low, end[0])
    if style.neckline == "straight":
        leave, arrive = 0.0, square
    elif chord <= 0.0:  # the low point is not low: a shallow bow, square to the centre front
        leave, arrive = 0.0, 1.5 * chord
    elif style.neckline == "sweetheart":
        # Out of a dip, steeper than the chord, over the breast and level into the seam.
        leave, arrive = chord * (1.0 + 0.6 * (1.0 - chord / (math.pi / 2.0))), 0.0
    else:
        # A V with nearly straight sides that rounds over into the seam.
        leave, arrive = 1.03 * chord, 0.55 * chord
    tilt = arrive - square
    if style.neckline == "plunge" and chord > 0.0:
        # With a peak the line may meet the seam at a corner: keep the V straight, the further the peak runs on.
        sharp = style.peak / (style.peak + 10.0)
        arrive += sharp * (0.95 * chord - arrive)
    return Neckline(low=low, leave=leave, arrive=arrive, corner_tilt=tilt)
