"""Whether the measurements can belong to one body, and which of them look like a slip of the tape.

`refuse` is kept for what cannot be, or cannot be drafted at all; whatever is merely rare is a `warn`, since bodies are
more varied than tables. The limits are judgement (no source) unless said otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from coutil.body.measurements import BY_KEY, SIDE_BY_KEY
from coutil.body.resolve import Body, BodyError
from coutil.body.states import reading_words, rests_on
from coutil.units import both

RemarkKind = Literal["refuse", "warn", "note"]

# Two sides that differ by more than this factor are measured again; by more than the second, one of them is a slip.
_UNEVEN: Final = 1.25
_SLIP: Final = 3.0
# The part of a girth that the front may take. The side seam line falls from the armpit, so near a half; a full bust
# takes more of the bust girth.
_FRONT_USUAL: Final = (0.42, 0.66)
_FRONT_POSSIBLE: Final = (0.30, 0.80)
# The bust point lies within the front's half; beyond this part of it the side front would be a sliver.
_POINT_USUAL: Final = 0.62
# Parts of the body's own general value that two sides should add up to, in mm.
_SUM: Final = 15.0


@dataclass(frozen=True, slots=True)
class Remark:
    """What the judgement has to say. `refuse`: cannot be drafted; `warn`: measure again; `note`: good to know.

    `keys` are the measurements involved, a side's as "left.front_bust".
    """

    kind: RemarkKind
    keys: tuple[str, ...]
    text: str


def judge(body: Body) -> list[Remark]:
    """All remarks on a body: first what is refused, then warnings, then notes, each in the order of the tape.

    Only what was taken is judged: a reading against a standard size's says nothing of the client.
    """
    together = [*_girths(body), *_lengths(body), *_fronts(body), *_sides(body)]
    remarks = [*_ranges(body), *(r for r in together if not rests_on(body, r.keys)), *_assumed(body)]
    rank = {"refuse": 0, "warn": 1, "note": 2}
    return sorted(remarks, key=lambda r: rank[r.kind])


def require_possible(body: Body) -> None:
    """Raise BodyError with everything that `judge` refuses, naming the measurements; else do nothing."""
    refused = [r.text for r in judge(body) if r.kind == "refuse"]
    if refused:
        raise BodyError("; ".join(refused))


def _ranges(body: Body) -> Iterator[Remark]:
    for key, m in BY_KEY.items():
        if body.state(key) == "taken":
            yield from _range(key, getattr(body, key), m.possible, m.usual)
    # Sides speak only where they differ from the general value, which has been judged already.
    left, right = body.measured_sides()
    for name, side in (("left", left), ("right", right)):
        for key, value in side.items():
            m = SIDE_BY_KEY[key]
            yield from _range(f"{name}.{key}", value, m.possible, m.usual)


def _range(key: str, value: float, possible: tuple[float, float], usual: tuple[float, float]) -> Iterator[Remark]:
    if not possible[0] <= value <= possible[1]:
        low, high = possible
        yield Remark("refuse", (key,), f"{key} {both(value)} cannot be: it lies between {both(low)} and {both(high)}")
    elif not usual[0] <= value <= usual[1]:
        low, high = usual
        yield Remark(
            "warn", (key,), f"{key} {both(value)} is rare: most lie between {both(low)} and {both(high)}; measure again"
        )


def _girths(body: Body) -> Iterator[Remark]:
    b = body
    if b.underbust >= b.bust:
        yield _pair("refuse", b, "underbust", "bust", "the underbust must be smaller than the bust")
    elif b.bust - b.underbust < 40.0:
        yield _pair("warn", b, "underbust", "bust", "less than 4 cm apart, so hardly any cup; measure both again")
    elif b.bust - b.underbust > 0.45 * b.underbust:
        yield _pair("warn", b, "underbust", "bust", "a very full bust on these ribs; measure both again")
    if not 0.30 * b.bust < b.waist < 1.8 * b.bust:
        yield _pair("refuse", b, "waist", "bust", "these two cannot belong to one body")
    elif b.waist > b.bust:
        yield _pair("warn", b, "waist", "bust", "the waist is larger than the bust, so the panels widen downwards")
    elif b.waist < 0.68 * b.underbust:
        yield _pair("warn", b, "waist", "underbust", "a very small waist on these ribs; measure both again")
    if "hip" not in b.assumed and b.hip < b.waist:
        kind: RemarkKind = "refuse" if b.hip < 0.6 * b.waist else "warn"
        yield _pair(kind, b, "hip", "waist", "the hip is smaller than the waist")
    if "high_hip" not in b.assumed:
        if b.high_hip < 0.6 * b.waist:
            yield _pair("refuse", b, "high_hip", "waist", "these two cannot belong to one body")
        elif b.high_hip < b.waist:
            yield _pair("warn", b, "high_hip", "waist", "the high hip is smaller than the waist")
        elif b.high_hip > b.hip + 20.0 and "hip" not in b.assumed:
            yield _pair("warn", b, "high_hip", "hip", "the high hip is larger than the hip")
    if "upper_bust" not in b.assumed:
        if b.upper_bust > b.bust:
            yield _pair("warn", b, "upper_bust", "bust", "the upper bust is larger than the bust")
        elif b.upper_bust < 0.95 * b.underbust:
            yield _pair("warn", b, "upper_bust", "underbust", "the upper bust is smaller than the underbust")


def _lengths(body: Body) -> Iterator[Remark]:
    b = body
    if b.bust_to_underbust >= b.bust_to_waist:
        yield _pair("refuse", b, "bust_to_underbust", "bust_to_waist", "the waist must lie below the underbust")
    elif b.bust_to_waist - b.bust_to_underbust < 10.0:
        yield _pair("refuse", b, "bust_to_underbust", "bust_to_waist", "less than 1 cm of ribs cannot be shaped")
    elif b.bust_to_waist - b.bust_to_underbust < 60.0:
        yield _pair("warn", b, "bust_to_underbust", "bust_to_waist", "less than 6 cm from the underbust to the waist")
    if b.high_hip_depth >= b.hip_depth:
        yield _pair("refuse", b, "high_hip_depth", "hip_depth", "the high hip must lie above the hip")
    # Drafted flat, about 35 % of bust minus underbust closes along the princess seam below each bust point (DESIGN 3):
    # on a radius shorter than that the cup would be steeper than a half ball.
    if b.bust > b.underbust and 0.35 * (b.bust - b.underbust) > 1.4 * b.bust_to_underbust:
        yield Remark(
            "warn",
            ("bust", "underbust", "bust_to_underbust"),
            f"bust_to_underbust {both(b.bust_to_underbust)} is short for a difference of "
            f"{both(b.bust - b.underbust)} between bust and underbust; measure it along the breast",
        )
    if "side_length" not in b.assumed:
        ribs = b.bust_to_waist - b.bust_to_underbust
        if b.side_length < ribs and not rests_on(b, ("bust_to_underbust",)):
            yield _pair("warn", b, "side_length", "bust_to_waist", "the armpit would lie below the underbust")
        elif b.side_length > b.bust_to_waist + 120.0:
            yield _pair("warn", b, "side_length", "bust_to_waist", "the armpit would lie far above the bust")
    if "centre_back_length" not in b.assumed and not 0.19 * b.height < b.centre_back_length < 0.30 * b.height:
        yield _pair("warn", b, "centre_back_length", "height", "these two seldom go together")


def _fronts(body: Body) -> Iterator[Remark]:
    b = body
    if not 0.13 < b.bust_span / b.bust < 0.30:
        yield _pair("warn", b, "bust_span", "bust", "a rare distance of the bust points for this bust")
    for front, girth in (("front_bust", "bust"), ("front_waist", "waist")):
        arc = f"{front}_arc"
        total = getattr(b.left, front) + getattr(b.right, front)
        share = total / getattr(b, girth)
        keys = (*_said(b, front, arc), girth)
        says = f"the front takes {both(total)}, {100 * share:.0f} % of the {girth} {both(getattr(b, girth))}"
        if not _FRONT_POSSIBLE[0] < share < _FRONT_POSSIBLE[1]:
            yield Remark("refuse", keys, f"{' and '.join(keys)} conflict: {says}")
        elif not _FRONT_USUAL[0] < share < _FRONT_USUAL[1]:
            yield Remark("warn", keys, f"{says}; most lie near half")
        if arc not in b.assumed and abs(total - getattr(b, arc)) > _SUM:
            yield Remark(
                "warn", keys, f"the two sides' {front} add up to {both(total)}, but {arc} is {both(getattr(b, arc))}"
            )
    points = b.left.bust_point + b.right.bust_point
    if abs(points - b.bust_span) > _SUM:
        keys = (*_said(b, "bust_point", "bust_span"), "bust_span")
        yield Remark(
            "warn",
            tuple(dict.fromkeys(keys)),
            f"the two sides' bust_point add up to {both(points)}, but bust_span is {both(b.bust_span)}",
        )


def _sides(body: Body) -> Iterator[Remark]:
    b = body
    for name in ("left", "right"):
        side = b.left if name == "left" else b.right
        if side.bust_point >= side.front_bust:
            yield Remark(
                "refuse",
                (*_said(b, "bust_point", "bust_span"), *_said(b, "front_bust", "front_bust_arc")),
                f"the {name} bust point, {both(side.bust_point)} from the centre front (bust_span), lies beyond the "
                f"side seam, which is at {both(side.front_bust)} (front_bust_arc)",
            )
        elif side.bust_point > _POINT_USUAL * side.front_bust:
            yield Remark(
                "warn",
                (*_said(b, "bust_point", "bust_span"), *_said(b, "front_bust", "front_bust_arc")),
                f"the {name} bust point, {both(side.bust_point)} from the centre front, is near the side seam at "
                f"{both(side.front_bust)}; measure both again",
            )
        low, high = side.bust_to_underbust, side.bust_to_waist
        if low != b.bust_to_underbust or high != b.bust_to_waist:
            keys = (f"{name}.bust_to_underbust", f"{name}.bust_to_waist")
            if high - low < 10.0:
                yield Remark(
                    "refuse", keys, f"{keys[0]} {both(low)} and {keys[1]} {both(high)}: the waist must lie below"
                )
            elif high - low < 60.0:
                yield Remark("warn", keys, f"{keys[0]} {both(low)} and {keys[1]} {both(high)}: less than 6 cm apart")
    if b.symmetric:
        return
    for key in SIDE_BY_KEY:
        left, right = getattr(b.left, key), getattr(b.right, key)
        # The larger over the smaller, without dividing: values that cannot be may be 0.
        larger, smaller = max(left, right), min(left, right)
        keys = (f"left.{key}", f"right.{key}")
        if larger > _SLIP * smaller:
            yield Remark(
                "refuse", keys, f"{key} is {both(left)} on the left and {both(right)} on the right: one is a slip"
            )
        elif larger > _UNEVEN * smaller:
            yield Remark(
                "warn", keys, f"{key} is {both(left)} on the left and {both(right)} on the right; measure again"
            )


def _assumed(body: Body) -> Iterator[Remark]:
    if body.as_asked:
        # All of it follows from the size, which is said once.
        return
    for key in body.assumed:
        says = f"{key} is by rule, {both(getattr(body, key))}: {body.reasons.get(key, '')}"
        if rests := rests_on(body, (key,)):
            says += f"; it rests on a standard size's {reading_words(rests)}"
        yield Remark("note", (key,), says)


def _said(body: Body, side_key: str, general: str) -> tuple[str, ...]:
    """Which keys a value of the sides comes from: the sides' own where said, else the general one or what fills it."""
    own = tuple(
        f"{name}.{side_key}"
        for name, said in zip(("left", "right"), body.measured_sides(), strict=True)
        if side_key in said
    )
    return own or (general,)


def _pair(kind: RemarkKind, body: Body, a: str, b: str, says: str) -> Remark:
    return Remark(kind, (a, b), f"{a} {both(getattr(body, a))} and {b} {both(getattr(body, b))}: {says}")
