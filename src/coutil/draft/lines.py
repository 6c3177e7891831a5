"""Where the hem and the top cross each seam of a half: how far along the seam, and leaning by how much.

`tilt` is the angle in radians by which the line rises, going from the centre front to the centre back, against a line
square to the seam. Both panels of a seam are given the same tilt there, so the line runs on across it without a turn.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from coutil.body import Body
from coutil.draft.frame import Frame
from coutil.draft.neckline import CupEnd, Neckline
from coutil.draft.rise import Rise
from coutil.draft.style import SettledStyle
from coutil.order import BackLine, HemLine
from coutil.seaming import Seaming

# Of the way from the side to the centre back: where a scoop has come down to its depth. Found by trial.
SCOOPED_BY = 0.7


@dataclass(frozen=True, slots=True)
class Crossing:
    """One end of a hem or a top on a seam: distance along the seam from the waist, in mm, and tilt."""

    along: float
    tilt: float


@dataclass(frozen=True, slots=True)
class Lines:
    """Crossings of one half by seam from the centre front. `*_centre_*` are heights above the waist on the straight
    centre edges, and the tilts there. `top` is that of the edge towards the centre front; the other edge of the cup
    seam runs on by `peak`. `reached` are the levels that the hem reaches, from the hem up.
    """

    hem: tuple[Crossing, ...]
    hem_centre_front: float
    hem_centre_front_slope: float
    hem_centre_back: float
    hem_centre_back_slope: float
    top: tuple[Crossing | None, ...]  # None: left to the neckline, see `front_top`
    peak: float
    side_top: float
    top_centre_back: float
    top_centre_back_slope: float
    reached: tuple[str, ...]


def lines(seaming: Seaming, frame: Frame, style: SettledStyle, body: Body) -> Lines:
    """Lay the hem and the top across the seams of one half."""
    half = frame.half
    # How far round from the centre front each seam stands, at the level of the hem and at that of the top.
    low, high = (_round(frame, level) for level in ("high_hip", seaming.highest))
    front, back = half.front["high_hip"], half.back["high_hip"]
    drop, behind = style.back_top - style.side_top, half.back[seaming.highest]
    hems = []
    tops: list[Crossing | None] = []
    for k in range(len(seaming.seams)):
        down = _hem_along(style, body, frame.inner(k).lengths())
        if k < seaming.in_front:
            deeper, slope = _point(style.hem_line, 1.0 - min(low[k] / front, 1.0))
            hems.append(Crossing(down - style.hem_point * deeper, math.atan(style.hem_point * slope / front)))
            tops.append(None)
            continue
        deeper, slope = _point(style.hem_line, max(low[k] / back - front / back, 0.0))
        hems.append(Crossing(down - style.hem_point_back * deeper, -math.atan(style.hem_point_back * slope / back)))
        step, steep = _step(style.back, max((high[k] - half.front[seaming.highest]) / behind, 0.0))
        tops.append(Crossing(style.side_top + drop * step, math.atan(drop * steep / behind)))
    if seaming.cup is not None:
        tops[seaming.cup] = Crossing(_to_highest(frame.inner(seaming.cup)) + style.cup_height, 0.0)
    _, slope = _point(style.hem_line, 1.0)
    _, steep = _step(style.back, 1.0)
    return Lines(
        hem=tuple(hems),
        hem_centre_front=_hem_along(style, body, _spaced(frame.centre_front)) - style.hem_point,
        hem_centre_front_slope=math.atan(style.hem_point * slope / front),
        hem_centre_back=_hem_along(style, body, _spaced(frame.centre_back)) - style.hem_point_back,
        hem_centre_back_slope=-math.atan(style.hem_point_back * slope / back),
        top=tuple(tops),
        peak=style.peak,
        side_top=style.side_top,
        top_centre_back=style.back_top,
        top_centre_back_slope=math.atan(drop * steep / behind),
        reached=_reached(style, body, half.levels),
    )


def _round(frame: Frame, level: str) -> list[float]:
    """How far from the centre front, round the body, each seam stands at a level, in mm."""
    out, before = [], 0.0
    for width in frame.half.width[:-1]:
        before += width[level]
        out.append(before)
    return out


def _hem_along(style: SettledStyle, body: Body, lengths: Mapping[tuple[str, str], float]) -> float:
    """Where the hem lies along a line from the waist, negative below it; `lengths` are those between its levels.

    Between two levels it lies in proportion; above the waist and beyond the lowest level by its own measure.
    """
    hem, depth = style.hem, body.high_hip_depth
    if hem <= 0.0:
        return -hem
    skirt = lengths["high_hip", "waist"]
    if hem <= depth:
        return -skirt * hem / depth
    if ("hip", "high_hip") not in lengths or hem > body.hip_depth:
        below = lengths.get(("hip", "high_hip"), 0.0)
        return -(skirt + below + hem - (body.hip_depth if below else depth))
    return -(skirt + lengths["hip", "high_hip"] * (hem - depth) / (body.hip_depth - depth))


def _spaced(heights: Mapping[str, float]) -> dict[tuple[str, str], float]:
    """Distances between neighbouring levels on a straight centre."""
    names = list(heights)
    return {(a, b): heights[b] - heights[a] for a, b in pairwise(names)}


def _reached(style: SettledStyle, body: Body, levels: tuple[str, ...]) -> tuple[str, ...]:
    depth = {"hip": body.hip_depth, "high_hip": body.high_hip_depth, "waist": 0.0}
    return tuple(v for v in levels if style.hem >= depth.get(v, -math.inf) - 1e-6)


def _point(line: HemLine, t: float) -> tuple[float, float]:
    """What part of its extra depth a hem has, and its slope; t runs from 0 at the side line to 1 at the centre.

    A point fades out along half a parabola; a curve is level at the centre too.
    """
    if line == "pointed":
        return t * t, 2.0 * t
    return t * t * (3.0 - 2.0 * t), 6.0 * t * (1.0 - t)


def _step(back: BackLine, v: float) -> tuple[float, float]:
    """How much of the way from the side's height to the centre back's the top has gone, and its slope; v from 0 at the
    side line to 1 at the centre back. All begin level at the side; a V alone meets the centre back at a slant."""
    if back == "v":
        return v * v * (2.0 - v), v * (4.0 - 3.0 * v)
    span = SCOOPED_BY if back == "scoop" else 1.0
    t = min(v / span, 1.0)
    return t * t * (3.0 - 2.0 * t), 6.0 * t * (1.0 - t) / span


def virtual_cup_end(frame: Frame, style: SettledStyle, bust_point: float) -> CupEnd:
    """The end of a cup seam that a half without one would have."""
    return CupEnd((bust_point, frame.centre_front["bust"] + style.cup_height), math.pi / 2.0)


def front_top(seaming: Seaming, frame: Frame, ln: Lines, neck: Neckline, end: CupEnd | None) -> tuple[Crossing, ...]:
    """The top's crossings with every seam, those of the front between its fixed points filled in.

    From the centre front to the end of the cup and from there to the side the top runs along two cubics of Hermite's,
    with the neckline's slopes; without a cup (`end` None) along one. Between seams each panel then joins its two
    crossings with a curve of its own.
    """
    x_side = frame.half.front[seaming.highest]
    first: tuple[float, float, float] = (0.0, neck.low, math.tan(neck.leave))
    last: tuple[float, float, float] = (x_side, side_height(seaming, frame, ln), 0.0)
    spans = [(first, last)]
    if end is not None:
        x, y = end.at
        beyond = neck.corner_tilt + end.heading - math.pi / 2.0
        slope = (last[1] - y) / (x_side - x) if neck.cornered else math.tan(beyond)
        spans = [(first, (x, y, math.tan(neck.arrive))), ((x, y, slope), last)]
    out = []
    for x, k in zip(_round(frame, seaming.highest), range(len(seaming.seams)), strict=True):
        crossing = ln.top[k]
        if crossing is None:
            y, slope = _hermite(x, *(spans[0] if x < spans[0][1][0] else spans[-1]))
            crossing = Crossing(_along(frame.inner(k), y), math.atan(slope))
        out.append(crossing)
    return tuple(out)


def side_height(seaming: Seaming, frame: Frame, ln: Lines) -> float:
    """How high above the waist the top lies at the side line, in the panels' coordinates, in mm."""
    beside = frame.inner(seaming.side) if seaming.side is not None else frame.outer(seaming.in_front - 1)
    return _height(beside, ln.side_top)


def _to_highest(rise: Rise) -> float:
    """Length of an edge from the waist to its highest level, in mm."""
    return sum(n for (lower, _), n in rise.lengths().items() if lower not in ("hip", "high_hip"))


def _along(rise: Rise, height: float) -> float:
    """Distance along an edge from the waist of what lies at `height`; above its highest level it stands upright."""
    return _to_highest(rise) + height - rise.points[-1][1]


def _height(rise: Rise, along: float) -> float:
    return along - _to_highest(rise) + rise.points[-1][1]


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
