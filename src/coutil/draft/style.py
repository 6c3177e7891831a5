"""The style with nothing left open: filled from the body where the order is silent, held to what can be drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coutil.body import Body
from coutil.draft.refusal import DraftError
from coutil.order import Style
from coutil.words import Length

# What the style says where the order is silent; all are proportions that draw well, found by trial, no source.
CUP_HEIGHT_PART = (
    0.80  # of bust_to_underbust: the cup's top lies a little lower over the bust point than its root below
)
SIDE_BELOW_UNDERARM = 25.0  # mm below the underarm (side_length): a top that does not rub
BACK_BELOW_SIDE = 20.0  # mm that the back is lower than the side
HEM_HIGH_HIP = 1.0  # the hem lies at the high hip

# Limits, in mm. The notch 1 in above the bust point and a pad that starts 1 cm below the end need this much cup:
LOWEST_CUP = 38.0
# A front princess edge longer than this above the bust point, as a part of bust_to_underbust, runs into the shoulder.
HIGHEST_CUP_PART = 1.6
HIGHEST_PEAK = 80.0
# The side and the back must leave this much of the panel above the underbust (side) and the waist (back).
SIDE_OVER_UNDERBUST = 25.0
BACK_OVER_WAIST = 40.0
# Above the bust level a side higher than this is a sleeve's business.
SIDE_OVER_BUST = 120.0
SHORTEST_HEM = 20.0
HEM_BELOW_HIGH_HIP = 80.0
DEEPEST_POINT = 120.0


@dataclass(frozen=True, slots=True)
class SettledStyle:
    """Every value of [style] in mm; heights as in the order file. `plunge` None: left to the neckline."""

    neckline: Literal["plunge", "sweetheart", "straight"]
    plunge: float | None
    cup_height: float
    peak: float
    side_top: float
    back_top: float
    hem: float
    hem_point: float
    closing: Literal["lacing", "zip", "hooks"]
    gap: float
    ease: dict[str, float]
    assumed: tuple[str, ...]


def settle(style: Style, body: Body) -> SettledStyle:
    """Fill what the order left open; raises DraftError where a value lies outside what the body allows."""
    assumed = []

    def given(name: str, fallback: float) -> float:
        value: float | None = getattr(style, name)
        if value is None:
            assumed.append(f"style.{name}")
            return fallback
        return value

    cup = min(body.left.bust_to_underbust, body.right.bust_to_underbust)
    tall = min(body.left.bust_to_waist - body.left.bust_to_underbust, body.right.bust_to_waist - cup)
    side_length = min(body.left.side_length, body.right.side_length)
    cup_height = given("cup_height", max(CUP_HEIGHT_PART * cup, LOWEST_CUP))
    _hold("style.cup_height", cup_height, LOWEST_CUP, HIGHEST_CUP_PART * cup)
    peak = style.peak
    _hold("style.peak", peak, 0.0, HIGHEST_PEAK)
    lowest_side = tall + SIDE_OVER_UNDERBUST
    side_top = given("side_top", max(side_length - SIDE_BELOW_UNDERARM, lowest_side))
    _hold(
        "style.side_top", side_top, lowest_side, max(body.left.bust_to_waist, body.right.bust_to_waist) + SIDE_OVER_BUST
    )
    back_top = given("back_top", max(side_top - BACK_BELOW_SIDE, BACK_OVER_WAIST))
    _hold("style.back_top", back_top, BACK_OVER_WAIST, side_top + SIDE_OVER_BUST)
    hem = given("hem", HEM_HIGH_HIP * body.high_hip_depth)
    _hold("style.hem", hem, SHORTEST_HEM, body.high_hip_depth + HEM_BELOW_HIGH_HIP)
    _hold("style.hem_point", style.hem_point, 0.0, DEEPEST_POINT)
    plunge = style.plunge
    if plunge is None:
        assumed.append("style.plunge")
    return SettledStyle(
        neckline=style.neckline,
        plunge=plunge,
        cup_height=cup_height,
        peak=peak,
        side_top=side_top,
        back_top=back_top,
        hem=hem,
        hem_point=style.hem_point,
        closing=style.closing,
        gap=style.gap,
        ease={
            "bust": style.ease.bust,
            "underbust": style.ease.underbust,
            "waist": style.ease.waist,
            "high_hip": style.ease.high_hip,
        },
        assumed=tuple(assumed),
    )


def _hold(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        given = {"given": Length(value, "both"), "low": Length(low, "both"), "high": Length(high, "both")}
        raise DraftError((name,), "out_of_reach", **given)
