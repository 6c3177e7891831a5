"""What a maker should know of the style on this body before she cuts: armpit, sitting down, a very full cup."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from coutil.body import Body, rests_on
from coutil.pattern import Edge, Finding, KeysRef, Pattern, SeamRef
from coutil.words import Key, Length

# The top of a strapless garment stands 1 to 1.5 cm below the armpit (common practice, no source): higher it rubs.
BELOW_ARMPIT: Final = 10.0
# Where the thigh bends, as a part of the depth of the hip below the waist: boned farther down, the garment is pushed up
# when she sits. Common practice, no source.
HIP_JOINT: Final = 0.70
# A cup seam that leans more than this from upright, in radians, or a bust this much larger than the underbust, in mm:
# one seam then makes a cone, and cloth that will not lie. Common practice, no source.
MOST_SLANT: Final = math.radians(45.0)
FULLEST: Final = 240.0
# Points of a seam between underbust and bust at which its slant is taken.
_SLANT_AT: Final = 24


def worth_findings(pattern: Pattern, body: Body, *, side_top: float, hem: float) -> list[Finding]:
    """`side_top` and `hem` as they were drawn, above and below the waist, in mm."""
    return [*_armpit(body, side_top), *_sitting(body, hem), *_full_cup(pattern, body)]


def _armpit(body: Body, side_top: float) -> Iterator[Finding]:
    armpit = min(body.left.side_length, body.right.side_length)
    if side_top <= armpit - BELOW_ARMPIT or (body.not_taken and rests_on(body, ("side_length",))):
        return
    by_rule = "side_length" in body.assumed
    about = KeysRef(("style.side_top", "body.side_length"))
    args = {"top": Length(side_top, "both"), "armpit": Length(armpit, "both"), "by_rule": by_rule}
    if side_top > armpit and not by_rule:
        yield Finding("worth.over_armpit", "stop", about, args)
    else:
        yield Finding("worth.near_armpit", "warn", about, args)


def _sitting(body: Body, hem: float) -> Iterator[Finding]:
    joint = HIP_JOINT * body.hip_depth
    if hem > joint:
        args = {"hem": Length(hem, "both"), "joint": Length(joint, "both")}
        yield Finding("worth.sitting", "warn", KeysRef(("style.hem", "body.hip_depth")), args)


def _full_cup(pattern: Pattern, body: Body) -> Iterator[Finding]:
    for seam in pattern.cup_seams:
        slant = max(_slant(edge) for edge in pattern.edges_of(seam))
        more = body.bust - body.underbust
        if slant <= MOST_SLANT and more <= FULLEST:
            continue
        args = {"slant": math.degrees(slant), "more": Length(more, "both"), "key": Key("style.seaming")}
        yield Finding("worth.full_cup", "note", SeamRef(seam.name), args)
        return


def _slant(edge: Edge) -> float:
    """The most that an edge leans from upright between underbust and bust, in radians."""
    if "underbust" not in edge.marks or "bust_point" not in edge.marks:
        return 0.0
    up, low, high = edge.upward(), edge.marks["underbust"], edge.marks["bust_point"]
    at = (low + (high - low) * k / _SLANT_AT for k in range(_SLANT_AT + 1))
    return max(abs(up.heading(s) - math.pi / 2.0) for s in at)
