"""The style with nothing left open: filled from the body where the order is silent, held to what can be drawn."""

from __future__ import annotations

from dataclasses import dataclass

from coutil.body import Body
from coutil.draft.refusal import DraftError
from coutil.order import BackLine, Cloth, HemLine, Neckline, Style, eased
from coutil.seaming import Opening, Seaming
from coutil.words import Length

# What the style says where the order is silent; all are proportions that draw well, found by trial, no source.
CUP_HEIGHT_PART = (
    0.80  # of bust_to_underbust: the cup's top lies a little lower over the bust point than its root below
)
SIDE_BELOW_UNDERARM = 25.0  # mm below the underarm (side_length): a top that does not rub
STRAIGHT_BELOW_UNDERARM = 12.0  # mm: a straight top runs as high as it may, or it would not cover the bust
STRAIGHT_FALL = 10.0  # mm that a straight top falls from the seam over the bust point to the side
BACK_BELOW_SIDE = 20.0  # mm that the back is lower than the side
LOW_BACK_PART = 0.55  # of the side's height: where a scoop or a V at the back has its lowest point
UNDER_THE_BUST = 5.0  # mm that an underbust garment's top keeps from the underbust
HEM_HIGH_HIP = 1.0  # the hem lies at the high hip

# What the order may leave open, as it is told.
LEFT_OPEN = (
    *("cup_height", "side_top", "back_top", "hem", "plunge"),
    *(f"ease.{v}" for v in ("bust", "underbust", "waist", "high_hip")),
)

# Limits, in mm. The notch 1 in above the bust point and a pad that starts 1 cm below the end need this much cup:
LOWEST_CUP = 38.0
# A straight top may run lower over the bust point; this much still covers it.
LOWEST_STRAIGHT_CUP = 22.0
# A front princess edge longer than this above the bust point, as a part of bust_to_underbust, runs into the shoulder.
HIGHEST_CUP_PART = 1.6
HIGHEST_PEAK = 80.0
# The side and the back must leave this much of the panel above the underbust (side) and the waist (back).
SIDE_OVER_UNDERBUST = 25.0
BACK_OVER_WAIST = 15.0
# A garment without a bust has at least this much above the waist at the side.
SIDE_OVER_WAIST = 20.0
# No panel is shorter than this from hem to top.
SHORTEST_PANEL = 40.0
# Above the bust level a side higher than this is a sleeve's business.
SIDE_OVER_BUST = 120.0
# A hem above the waist ends at least this far below the underbust; one below the hip at most this far below it.
HEM_BELOW_UNDERBUST = 25.0
HEM_BELOW_HIP = 60.0
DEEPEST_POINT = 120.0
# Where the hem goes below the high hip the skirt is drawn on to the hip; over this much of hem, in mm, the one way of
# drawing fades into the other, so that a small change of hem stays a small change. Found by trial.
HIP_FADE = 20.0


@dataclass(frozen=True, slots=True)
class SettledStyle:
    """Every value of [style] in mm; heights as in the order file. `plunge` None: left to the neckline.

    `ribs` is from the waist to the underbust. `hip` says from 0 to 1 how much the hip takes part in drawing the skirt.
    `open_front` and `open_back` are what an
    opening there leaves of the body's girth uncovered, or covers with elastic, when worn.
    """

    neckline: Neckline
    plunge: float | None
    cup_height: float
    peak: float
    upper: float
    ribs: float
    side_top: float
    back_top: float
    back: BackLine
    hem: float
    hem_point: float
    hem_point_back: float
    hem_line: HemLine
    hip: float
    openings: tuple[Opening, ...]
    ease: dict[str, float]
    assumed: tuple[str, ...]

    def ease_at(self, level: str) -> float:
        """Ease of the whole girth at a level in mm; the hip has the high hip's."""
        return self.ease["high_hip" if level == "hip" else level]

    def value(self, key: str) -> float | None:
        """What is drawn for a key of [style], "ease.waist" among them, in mm; None for a plunge left open."""
        level = key.removeprefix("ease.")
        found: float | None = self.ease[level] if level != key else getattr(self, key)
        return found

    @property
    def elastic(self) -> Opening | None:
        """The elastic panel at the centre back, if there is one."""
        return next((o for o in self.openings if o.closed_with == "elastic"), None)

    @property
    def open_front(self) -> float:
        return sum(o.worn for o in self.openings if o.at == "centre_front")

    @property
    def open_back(self) -> float:
        return sum(o.worn for o in self.openings if o.at == "centre_back")


def ribs(body: Body) -> float:
    """From the underbust to the waist in mm: on the side where that is less."""
    return min(s.bust_to_waist - s.bust_to_underbust for s in (body.left, body.right))


def settle(style: Style, body: Body, cloth: tuple[Cloth, ...] = ()) -> SettledStyle:
    """Fill what the order left open, the ease by the `cloth` too; raises DraftError where a value lies outside what the
    body allows."""
    assumed: list[str] = []

    def given(name: str, fallback: float) -> float:
        value: float | None = getattr(style, name)
        if value is None:
            assumed.append(f"style.{name}")
            return fallback
        return value

    seaming = style.seaming
    tall = ribs(body)
    hem = given("hem", HEM_HIGH_HIP * body.high_hip_depth * seaming.reach)
    _hold("style.hem", hem, HEM_BELOW_UNDERBUST - tall, max(body.hip_depth, body.high_hip_depth) + HEM_BELOW_HIP)
    _hold("style.hem_point", style.hem_point, 0.0, DEEPEST_POINT)
    _hold("style.hem_point_back", style.hem_point_back, 0.0, DEEPEST_POINT)
    side_top, low, high = _side_top(style, body, tall)
    low = max(low, SHORTEST_PANEL - hem)
    side_top = given("side_top", max(side_top, low))
    _hold("style.side_top", side_top, low, high)
    cup_height = 0.0
    if seaming.bust:
        least = LOWEST_STRAIGHT_CUP if style.neckline == "straight" else LOWEST_CUP
        reach = min(body.left.bust_to_underbust, body.right.bust_to_underbust)
        cup_height = given("cup_height", _cup_height(style, body, side_top, reach))
        _hold("style.cup_height", cup_height, least, HIGHEST_CUP_PART * reach)
    _hold("style.peak", style.peak, 0.0, HIGHEST_PEAK)
    lowest_back = max(BACK_OVER_WAIST, SHORTEST_PANEL - hem)
    back_top = given("back_top", max(_back_top(style, seaming, side_top), lowest_back))
    _hold("style.back_top", back_top, lowest_back, side_top + SIDE_OVER_BUST)
    if style.plunge is None:
        assumed.append("style.plunge")
    levels = seaming.levels(hip=False)
    assumed += [f"style.ease.{v}" for v in levels if getattr(style.ease, v) is None]
    return SettledStyle(
        neckline=style.neckline,
        plunge=style.plunge,
        cup_height=cup_height,
        peak=style.peak if seaming.cup is not None else 0.0,
        upper=style.upper,
        ribs=tall,
        side_top=side_top,
        back_top=back_top,
        back=style.back,
        hem=hem,
        hem_point=style.hem_point,
        hem_point_back=style.hem_point_back,
        hem_line=style.hem_line,
        hip=_faded(hem - body.high_hip_depth, HIP_FADE) if body.hip_depth > body.high_hip_depth else 0.0,
        openings=style.opens,
        ease=eased(style, body, cloth),
        assumed=tuple(f"style.{name}" for name in LEFT_OPEN if f"style.{name}" in assumed),
    )


def _side_top(style: Style, body: Body, tall: float) -> tuple[float, float, float]:
    """The top's height at the side where the order is silent, and the least and the most that it may be."""
    if not style.seaming.bust:
        most = tall - UNDER_THE_BUST
        return max(most * style.seaming.reach, SIDE_OVER_WAIST), SIDE_OVER_WAIST, tall + SIDE_OVER_UNDERBUST
    low = tall + SIDE_OVER_UNDERBUST
    underarm = min(body.left.side_length, body.right.side_length)
    below = STRAIGHT_BELOW_UNDERARM if style.neckline == "straight" else SIDE_BELOW_UNDERARM
    return max(underarm - below, low), low, max(body.left.bust_to_waist, body.right.bust_to_waist) + SIDE_OVER_BUST


def _cup_height(style: Style, body: Body, side_top: float, reach: float) -> float:
    """The end of the seam over the bust point above it, where the order is silent."""
    if style.neckline != "straight":
        return max(CUP_HEIGHT_PART * reach, LOWEST_CUP)
    # As high as the side, or a little higher; the bust level lies at about the same height on both seams.
    level = min(body.left.bust_to_waist, body.right.bust_to_waist)
    return min(max(side_top - level + STRAIGHT_FALL, LOWEST_STRAIGHT_CUP), HIGHEST_CUP_PART * reach)


def _back_top(style: Style, seaming: Seaming, side_top: float) -> float:
    if style.back != "straight":
        return LOW_BACK_PART * side_top
    return side_top - BACK_BELOW_SIDE if seaming.bust else side_top


def _faded(over: float, span: float) -> float:
    """0 up to nothing over, 1 from `span` on, smoothly between."""
    t = min(max(over / span, 0.0), 1.0)
    return t * t * (3.0 - 2.0 * t)


def _hold(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        given = {"given": Length(value, "both"), "low": Length(low, "both"), "high": Length(high, "both")}
        raise DraftError((name,), "out_of_reach", **given)
