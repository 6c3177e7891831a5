"""The body of a client, every measurement filled: from the tape where it was taken, else from a stated rule.

The rules are those that `coutil.body.measurements` states in words, sources and all.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from coutil.body.breast import USUAL_DIFFERENCE, breast_length
from coutil.body.measurements import BY_KEY, REQUIRED, RULES_WITHOUT_BUST, SIDE_BY_KEY
from coutil.words import Key, RefusingError

# EN 13402-3, women: bust, waist and hip of each size, in cm. From memory of the published table, where the bust steps
# by 4 up to 104 and by 6 from there, and the waist with it; the hip steps by 4, then by 5.
EN_13402_3: Final[tuple[tuple[float, float, float], ...]] = (
    (76, 60, 84), (80, 64, 88), (84, 68, 92), (88, 72, 96), (92, 76, 100), (96, 80, 104), (100, 84, 108),
    (104, 88, 112), (110, 94, 117), (116, 100, 122), (122, 106, 127), (128, 112, 132), (134, 118, 137),
    (140, 124, 142), (146, 130, 147), (152, 136, 152),
)  # fmt: skip

# Rules of thumb in mm, no source; each is said in words with its measurement.
_HIP_DEPTH: Final = 200.0
_SIDE_ABOVE_BUST_POINT: Final = 25.0
_HEIGHT: Final = 1680.0
_NECK_TO_BUST: Final = 85.0
# From the underbust straight down to the waist, below the bust point.
RIBS: Final = 105.0
# What fills a needed reading that a garment does not use, and what a standard size has there.
SPAN_RULE: Final = "a fifth of the bust plus 0.5 cm (rule of thumb, no source)"
BREAST_RULE: Final = (
    "over a half sphere, 11.4 cm across at 75B and 8.5 mm more for each cup and for each band "
    "(tables of the trade, from memory)"
)


class BodyError(RefusingError, ValueError):
    """A body that cannot be: it names the measurements that conflict."""

    room = "body"


@dataclass(frozen=True, slots=True)
class BodySide:
    """One side of the front, in mm: the side's own value where it was measured, else the body's general one.

    `front_bust` and `front_waist` run from the centre front to the side seam, `bust_point` from the centre front to
    the bust point.
    """

    bust_to_underbust: float
    bust_to_waist: float
    side_length: float
    front_bust: float
    front_waist: float
    bust_point: float


@dataclass(frozen=True, slots=True)
class Standard:
    """The standard size that stands in the place of what was not taken: bust in mm, cup letter (EN 13402-3).

    `as_asked`: the order is for this size itself (a sample, a range, teaching), and nobody is measured for it.
    """

    bust: float
    cup: str
    as_asked: bool = False


# How a measurement of the body came about.
State = Literal["taken", "by_rule", "not_taken", "standard"]


@dataclass(frozen=True, slots=True)
class Body:
    """What the tape says about the client, in mm, nothing missing.

    The general values stand for both sides; where a side was measured apart, `left` and `right` hold what counts.
    `assumed` names what was filled by a rule, `reasons` says by which. `standard` is the standard size that was at
    hand and `drawn` names what was drawn from it; `not_taken` names what must still be taken before anything is cut:
    what is drawn, unless the size was asked for as such, and all six figures that a new order once began with, unless
    they are `confirmed`. `needed` are the readings that the garment needs. `kept_sides` names what was said of a side
    beside a general value that is drawn.
    """

    bust: float
    underbust: float
    waist: float
    high_hip: float
    high_hip_depth: float
    hip: float
    hip_depth: float
    upper_bust: float
    bust_span: float
    bust_to_underbust: float
    bust_to_waist: float
    underbust_to_waist: float
    side_length: float
    centre_back_length: float
    front_bust_arc: float
    front_upper_arc: float
    front_waist_arc: float
    bust_depth: float
    height: float
    left: BodySide
    right: BodySide
    assumed: tuple[str, ...] = ()
    reasons: Mapping[str, str] = field(default_factory=dict, hash=False)
    standard: Standard | None = None
    drawn: tuple[str, ...] = ()
    not_taken: tuple[str, ...] = ()
    confirmed: bool = False
    kept_sides: tuple[str, ...] = ()
    needed: tuple[str, ...] = REQUIRED

    @property
    def as_asked(self) -> bool:
        """Whether this is a standard size that was asked for as such, and nobody's measured body."""
        return self.standard is not None and self.standard.as_asked

    def state(self, key: str) -> State:
        """How a general value came about; "standard" is one of a size that was asked for as such."""
        if key in self.not_taken:
            return "not_taken"
        if key in self.drawn:
            return "standard"
        return "by_rule" if key in self.assumed else "taken"

    @property
    def unused(self) -> tuple[str, ...]:
        """What other garments need and this one does not, filled by a rule: nothing is drawn by it."""
        return tuple(key for key in REQUIRED if key in self.assumed and key not in self.needed)

    @property
    def symmetric(self) -> bool:
        """Whether both sides measure the same, so that one draft serves both."""
        return self.left == self.right

    def side(self, name: Literal["left", "right"]) -> BodySide:
        return self.left if name == "left" else self.right

    def measured(self) -> dict[str, float]:
        """The general values, by key, that no rule and no standard size fills: what stands in [body] of an order.

        From them, the sides', `standard`, `confirmed` and `needed` `coutil.body.order_body` gives this body again.
        """
        filled = {*self.assumed, *self.drawn}
        return {key: getattr(self, key) for key in BY_KEY if key not in filled}

    def measured_sides(self) -> tuple[dict[str, float], dict[str, float]]:
        """What `resolve_body` needs for (left, right), beside `measured()`, to give this body again."""
        general = _general_side(self)
        sides: tuple[dict[str, float], dict[str, float]] = ({}, {})
        for name, said, side in zip(("left", "right"), sides, (self.left, self.right), strict=True):
            for key in SIDE_BY_KEY:
                arc = BY_KEY.get(f"{key}_arc")
                # An arc that was added up from the sides needs both of them to come out again.
                added = arc is not None and self.reasons.get(arc.key) == arc.better_rule
                kept = f"{name}.{key}" in self.kept_sides
                if added or kept or getattr(side, key) != getattr(general, key):
                    said[key] = getattr(side, key)
        return sides


def resolve_body(
    measured: Mapping[str, float],
    left: Mapping[str, float] | None = None,
    right: Mapping[str, float] | None = None,
    *,
    reasons: Mapping[str, str] | None = None,
    needed: Collection[str] = REQUIRED,
) -> Body:
    """Fill what was not taken. All in mm, keyed as in the order file.

    `reasons` marks values of `measured` that are themselves assumed (a standard size) and says whence they come.
    `needed` are the readings that the garment needs (`NEEDED_WITHOUT_BUST` for one that ends at the underbust); what it
    does not need is filled like the rest. Raises BodyError for one that is missing or an unknown key; whether the
    values can belong to one body is `judge`'s to say.
    """
    left, right = left or {}, right or {}
    for given, known in ((measured, BY_KEY), (left, SIDE_BY_KEY), (right, SIDE_BY_KEY)):
        for key in given:
            if key not in known:
                raise BodyError("unknown_reading", Key(key), key=Key(key), known=tuple(map(Key, known)))
    # Every garment has girths at the underbust and the waist, and no rule makes those.
    missing = missing_readings(measured, tuple(key for key in BY_KEY if key in needed or key in ("underbust", "waist")))
    if missing:
        raise BodyError("missing", *map(Key, missing), missing=tuple(map(Key, missing)))

    got = {key: float(value) for key, value in measured.items()}
    why = dict(reasons or {})

    def fill(key: str, value: float, *, better: bool = False) -> float:
        if key not in got:
            got[key] = value
            why[key] = (BY_KEY[key].better_rule if better else BY_KEY[key].rule) or ""
        return got[key]

    def unneeded(key: str, value: float) -> float:
        if key not in got:
            got[key] = value
            why[key] = f"{RULES_WITHOUT_BUST[key]}; this garment does not use it"
        return got[key]

    underbust, waist = got["underbust"], got["waist"]
    bust = unneeded("bust", underbust + USUAL_DIFFERENCE)
    cup = bust - underbust
    unneeded("bust_span", bust_span(bust))
    to_underbust = unneeded("bust_to_underbust", breast_length(bust, underbust))
    to_waist = unneeded("bust_to_waist", to_underbust + got.get("underbust_to_waist", RIBS))
    fill("underbust_to_waist", to_waist - to_underbust)
    fill("upper_bust", bust - 4.0 / 9.0 * cup)

    if "hip" not in got and "high_hip" in got:
        fill("hip", max(waist + 1.5 * (got["high_hip"] - waist), got["high_hip"]), better=True)
    hip = fill("hip", standard_hip(waist))
    fill("high_hip", waist + 2.0 / 3.0 * (hip - waist))
    hip_depth = fill("hip_depth", 2.0 * got["high_hip_depth"] if "high_hip_depth" in got else _HIP_DEPTH)
    fill("high_hip_depth", hip_depth / 2.0)

    fill("side_length", to_waist + _SIDE_ABOVE_BUST_POINT)
    height = fill("height", _HEIGHT)
    fill("centre_back_length", height / 4.0 - 10.0)
    fill("bust_depth", bust / 5.0 + _NECK_TO_BUST)

    if "front_bust" in left and "front_bust" in right:
        fill("front_bust_arc", left["front_bust"] + right["front_bust"], better=True)
    fill("front_bust_arc", underbust / 2.0 + 0.8 * cup)
    fill("front_upper_arc", underbust / 2.0)
    if "front_waist" in left and "front_waist" in right:
        fill("front_waist_arc", left["front_waist"] + right["front_waist"], better=True)
    fill("front_waist_arc", waist / 2.0)

    general = {
        "bust_to_underbust": got["bust_to_underbust"],
        "bust_to_waist": got["bust_to_waist"],
        "side_length": got["side_length"],
        "front_bust": got["front_bust_arc"] / 2.0,
        "front_waist": got["front_waist_arc"] / 2.0,
        "bust_point": got["bust_span"] / 2.0,
    }
    values: dict[str, Any] = {**got}
    return Body(
        **values,
        left=BodySide(**{**general, **left}),
        right=BodySide(**{**general, **right}),
        assumed=tuple(key for key in BY_KEY if key in why),
        reasons=why,
        needed=tuple(key for key in BY_KEY if key in needed),
    )


def missing_readings(measured: Collection[str], needed: Collection[str] = REQUIRED) -> tuple[str, ...]:
    """Which of the needed readings are not there. The ribs' length is, where both lengths from the bust point are."""
    there = {*measured}
    if {"bust_to_underbust", "bust_to_waist"} <= there:
        there.add("underbust_to_waist")
    return tuple(key for key in needed if key not in there)


def bust_span(bust: float) -> float:
    """Distance of the bust points in mm that goes with a bust in mm: rule of thumb, no source."""
    return bust / 5.0 + 5.0


def standard_row(bust: float) -> tuple[float, float]:
    """Waist and hip in mm that EN 13402-3 pairs with a bust in mm; between two sizes in proportion.

    Beyond the table its last step goes on. The proportion is ours: the standard speaks in whole sizes.
    """
    return _between(bust, 0, 1), _between(bust, 0, 2)


def standard_hip(waist: float) -> float:
    """Hip in mm that EN 13402-3 pairs with a waist in mm; between two sizes in proportion, and on beyond the table."""
    return _between(waist, 1, 2)


def _between(value: float, by: int, column: int) -> float:
    rows = EN_13402_3
    i = min(max(bisect_right(rows, value / 10.0, key=lambda row: row[by]), 1), len(rows) - 1)
    a, b = rows[i - 1], rows[i]
    share = (value / 10.0 - a[by]) / (b[by] - a[by])
    return 10.0 * (a[column] + share * (b[column] - a[column]))


def _general_side(body: Body) -> BodySide:
    return BodySide(
        body.bust_to_underbust,
        body.bust_to_waist,
        body.side_length,
        body.front_bust_arc / 2.0,
        body.front_waist_arc / 2.0,
        body.bust_span / 2.0,
    )
