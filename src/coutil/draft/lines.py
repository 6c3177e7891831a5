"""Where the hem and the top cross each seam of a half: how far along the seam, and leaning by how much.

`tilt` is the angle in radians by which the line rises, going from the centre front to the centre back, against a line
square to the seam. Both panels of a seam are given the same tilt there, so the line runs on across it without a turn.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coutil.draft.frame import Frame
from coutil.draft.refusal import DraftError
from coutil.draft.style import SettledStyle
from coutil.seaming import LEVELS, Seaming
from coutil.words import Length


@dataclass(frozen=True, slots=True)
class Crossing:
    """One end of a hem or a top on a seam: distance along the seam from the waist, in mm, and tilt."""

    along: float
    tilt: float


@dataclass(frozen=True, slots=True)
class Lines:
    """Crossings of one half by seam from the centre front. `centre_*` are heights above the waist on the straight
    centre edges. `top` is that of the edge towards the centre front; the other edge of the cup seam runs on by `peak`.
    """

    hem: tuple[Crossing, ...]
    hem_centre_front: float
    hem_centre_front_slope: float
    hem_centre_back: float
    top: tuple[Crossing | None, ...]  # None: left to the neckline, see `front_top`
    peak: float
    top_centre_back: float
    reaches_high_hip: bool


def lines(seaming: Seaming, frame: Frame, style: SettledStyle, depth: float) -> Lines:
    """Lay the hem and the top across the seams of one half. `depth` is the body's high_hip_depth."""

    def hem(length: float) -> float:
        """How far below the waist the hem lies on a line whose high hip lies `length` below it."""
        return length + style.hem - depth if style.hem >= depth else length * style.hem / depth

    side, width = seaming.side, frame.half.width
    # A point at the centre front fades out to nothing at the side seam, along half a parabola: depth (1 - u)^2.
    front = sum(w["high_hip"] for w in width[: side + 1])
    point = style.hem_point
    hems = []
    tops: list[Crossing | None] = []
    # The back's top runs from the side to the centre back along a smooth step, square to both.
    back = sum(w["bust"] for w in width[side + 1 :])
    drop = style.back_top - style.side_top
    for k in range(len(seaming.seams)):
        u = min(sum(w["high_hip"] for w in width[: k + 1]) / front, 1.0)
        down = hem(frame.inner(k).lengths()[("high_hip", "waist")])
        if k < side:
            hems.append(Crossing(-down - point * (1.0 - u) ** 2, math.atan(2.0 * point * (1.0 - u) / front)))
            tops.append(None)
        else:
            hems.append(Crossing(-down, 0.0))
            v = sum(w["bust"] for w in width[side + 1 : k + 1]) / back
            step = style.side_top + drop * v * v * (3.0 - 2.0 * v)
            tops.append(Crossing(step, math.atan(drop * 6.0 * v * (1.0 - v) / back)))
    if seaming.cup is not None:
        bust = sum(n for (low, _), n in frame.inner(seaming.cup).lengths().items() if low != LEVELS[0])
        tops[seaming.cup] = Crossing(bust + style.cup_height, 0.0)
    return Lines(
        hem=tuple(hems),
        hem_centre_front=-hem(-frame.centre_front["high_hip"]) - point,
        hem_centre_front_slope=math.atan(2.0 * point / front),
        hem_centre_back=-hem(-frame.centre_back["high_hip"]),
        top=tuple(tops),
        peak=style.peak,
        top_centre_back=style.back_top,
        reaches_high_hip=style.hem >= depth - 1e-6,
    )


@dataclass(frozen=True, slots=True)
class CupEnd:
    """Where the neckline ends and the top begins: the end of the cup seam, or where it would be over the bust point.

    `at` in the first panel's coordinates, mm; `heading` of the seam there in radians (90 degrees is upright).
    """

    at: tuple[float, float]
    heading: float


def virtual_cup_end(frame: Frame, style: SettledStyle, bust_point: float) -> CupEnd:
    """The end of a cup seam that a half without one would have."""
    return CupEnd((bust_point, frame.centre_front["bust"] + style.cup_height), math.pi / 2.0)


def front_top(seaming: Seaming, frame: Frame, ln: Lines, neck: Neckline, end: CupEnd) -> tuple[Crossing, ...]:
    """The top's crossings with every seam, those of the front between its fixed points filled in.

    From the centre front to the end of the cup and from there to the side the top runs along two cubics of Hermite's,
    with the neckline's slopes; between seams each panel then joins its two crossings with a curve of its own.
    """
    side = seaming.side
    x_side = sum(w["bust"] for w in frame.half.width[: side + 1])
    at_side = ln.top[side]
    assert at_side is not None
    beyond = neck.corner_tilt + end.heading - math.pi / 2.0
    knots = (
        (0.0, neck.low, math.tan(neck.leave)),
        (end.at[0], end.at[1], math.tan(neck.arrive)),
        (end.at[0], end.at[1], math.tan(beyond)),
        (x_side, _height(frame, side, at_side.along), 0.0),
    )
    out = []
    for k, crossing in enumerate(ln.top):
        if crossing is None:
            x = sum(w["bust"] for w in frame.half.width[: k + 1])
            y, slope = _hermite(x, *(knots[:2] if x < end.at[0] else knots[2:]))
            crossing = Crossing(_along(frame, k, y), math.atan(slope))
        out.append(crossing)
    return tuple(out)


def _reach(frame: Frame, seam: int) -> tuple[float, float]:
    """Length of a seam's inner edge from the waist to the bust, and how high that lies above the waist, in mm."""
    rise = frame.inner(seam)
    return sum(n for (low, _), n in rise.lengths().items() if low != LEVELS[0]), rise.height("bust")


def _along(frame: Frame, seam: int, height: float) -> float:
    """Distance along a seam from the waist of what lies at `height`; above the bust a seam stands upright."""
    length, bust = _reach(frame, seam)
    return length + height - bust


def _height(frame: Frame, seam: int, along: float) -> float:
    length, bust = _reach(frame, seam)
    return along - length + bust


def _hermite(x: float, a: tuple[float, float, float], b: tuple[float, float, float]) -> tuple[float, float]:
    """Height and slope at x of the cubic through two points (x, y, slope)."""
    (x0, y0, m0), (x1, y1, m1) = a, b
    h = x1 - x0
    t = (x - x0) / h
    y = (
        y0 * (1 + 2 * t) * (1 - t) ** 2
        + m0 * h * t * (1 - t) ** 2
        + y1 * t * t * (3 - 2 * t)
        + m1 * h * t * t * (t - 1)
    )
    slope = (y1 - y0) / h * 6 * t * (1 - t) + m0 * (1 - t) * (1 - 3 * t) + m1 * t * (3 * t - 2)
    return y, slope


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
                "plunge_out_of_reach",
                given=Length(style.plunge, "both"),
                low=Length(LOWEST_PLUNGE, "both"),
                high=Length(ceiling - underbust, "both"),
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
