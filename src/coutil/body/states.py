"""What of a body was taken, what a rule fills, and what is only drawn from a standard size in its place.

A garment is cut for one body. A figure that nobody read off a tape is never called measured: while one of the six
needed readings is not taken, nothing may be cut by what is drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Final

from coutil.body.measurements import BY_KEY, REQUIRED, SIDE_BY_KEY
from coutil.body.resolve import Body, BodyError, Standard, missing_readings, resolve_body, standard_row
from coutil.body.standard import CUPS, USUAL_CUP, cup_difference, size_name, standard_body

# What stands in the place of readings in a new order: a middle size; any size would be as wrong for the client.
DEFAULT_STANDARD: Final = Standard(920.0, "C")
# New orders once had the figures of a standard size in [body], rounded to 1 mm or to 1/16 in. A figure this near to one
# of those, in mm, may be it: half of 1/16 in, which is more than half of 1 mm, and a little for binary floats.
ROUNDED: Final = 25.4 / 32.0 + 0.01
# What each rule works from, as `resolve_body` computes it.
_FROM: Final[Mapping[str, tuple[str, ...]]] = {
    "bust": ("underbust",),
    "bust_span": ("bust",),
    "bust_to_underbust": ("bust", "underbust"),
    "bust_to_waist": ("bust_to_underbust", "underbust_to_waist"),
    "underbust_to_waist": ("bust_to_underbust", "bust_to_waist"),
    "upper_bust": ("bust", "underbust"),
    "hip": ("waist", "high_hip"),
    "high_hip": ("waist", "hip"),
    "side_length": ("bust_to_waist",),
    "bust_depth": ("bust",),
    "front_bust_arc": ("bust", "underbust"),
    # Worked out from the underbust, and held against the front bust arc alone.
    "front_upper_arc": ("underbust", "front_bust_arc"),
    "front_waist_arc": ("waist",),
}
# The general value that a side takes what is not said of it from.
_GENERAL: Final[Mapping[str, str]] = {
    "front_bust": "front_bust_arc",
    "front_waist": "front_waist_arc",
    "bust_point": "bust_span",
}


def order_body(
    measured: Mapping[str, float],
    left: Mapping[str, float] | None = None,
    right: Mapping[str, float] | None = None,
    *,
    standard: Standard | None = None,
    confirmed: bool = False,
    needed: tuple[str, ...] = REQUIRED,
) -> Body:
    """The body of an order: what stands in its tables, in mm, and how the rest came about.

    `needed` are the readings that its garment needs (`NEEDED_WITHOUT_BUST` for one that ends at the underbust). One
    that is missing is drawn from `standard`; it is then not taken, unless the size was asked for as
    such. Six readings that are those of a standard size with which a new order once began are not taken until they are
    `confirmed`. A side's own reading is taken as it stands, but does not take the place of a general one. Raises
    BodyError where a reading is missing and there is no `standard`, for a size that cannot be, and for readings beside
    a size that was asked for as such.
    """
    left, right = left or {}, right or {}
    missing = missing_readings(measured, needed)
    if standard is not None:
        size = _size(standard.bust, standard.cup)
        if standard.as_asked and (measured or left or right):
            raise BodyError("asked_beside_readings")
        if standard.as_asked:
            # Nobody is measured: what this garment does not use is the size's as well.
            missing = tuple(key for key in BY_KEY if key in {*missing, *REQUIRED})
    if standard is None or not missing:
        body = resolve_body(measured, left, right, needed=needed)
        begun = None if confirmed else began_with(measured)
        return replace(body, standard=standard, confirmed=confirmed, not_taken=body.needed if begun is not None else ())
    filled = {key: getattr(size, key) for key in missing}
    why = {}
    if "bust_to_waist" in missing and "side_length" not in measured:
        # The rule would raise the armpit with a stranger's breast.
        filled["side_length"], why["side_length"] = size.side_length, size.reasons["side_length"]
    body = resolve_body({**measured, **filled}, left, right, reasons=why, needed=needed)
    return replace(
        body,
        standard=standard,
        confirmed=confirmed,
        drawn=missing,
        not_taken=() if standard.as_asked else missing,
        reasons={**body.reasons, **dict.fromkeys(missing, f"from a standard body, {standard_words(standard)}")},
        kept_sides=tuple(f"{name}.{key}" for name, said in (("left", left), ("right", right)) for key in said),
    )


def as_asked_body(bust: float, cup: str = USUAL_CUP) -> Body:
    """The body of a standard size that is asked for as such; bust in mm. Raises BodyError as `standard_body` does."""
    return order_body({}, standard=Standard(float(bust), cup.strip().upper(), as_asked=True))


def standard_words(standard: Standard) -> str:
    """The size as it is said everywhere: "bust 92, cup C (75C)", in cm."""
    underbust = _size(standard.bust, standard.cup).underbust
    return f"bust {standard.bust / 10.0:.4g}, cup {standard.cup} ({size_name(standard.bust, underbust)})"


def reading_words(keys: Iterable[str]) -> str:
    """Readings as they are named in a row: "bust span, waist"."""
    return ", ".join(key.replace("_", " ") for key in keys)


def began_with(measured: Mapping[str, float]) -> Standard | None:
    """The standard size whose figures, to rounding, are those of all six needed readings; None if one is another's.

    A new order once began with such figures: bust 92, cup C or B, or a size that was named. That a tape reads all six
    of them within a millimetre is so rare that it is asked about.
    """
    if any(key not in measured for key in REQUIRED):
        return None
    read = measured["bust"]
    # The size's own bust may have been rounded too: to a whole cm it is what was once asked for.
    for bust in dict.fromkeys((round(read, -1), read)):
        if not 600.0 <= bust <= 1800.0:
            continue
        for cup in CUPS:
            if abs(bust - cup_difference(cup) - measured["underbust"]) > ROUNDED:
                continue
            former = _former(bust, cup)
            if all(abs(measured[key] - former[key]) <= ROUNDED for key in REQUIRED):
                return Standard(bust, cup)
    return None


def rests_on(body: Body, keys: Iterable[str]) -> tuple[str, ...]:
    """Which readings that are nobody's (drawn, or not taken) the values of these keys were worked out from.

    A side's key, as "left.front_bust", rests on the general value unless both sides say it.
    """
    return _worked_from(body, keys, {*body.drawn, *body.not_taken})


def is_idle(body: Body, keys: Iterable[str]) -> bool:
    """Whether one of these values is, or was worked out from, one that the garment does not use and nobody took."""
    return bool(_worked_from(body, keys, set(body.unused)))


def _worked_from(body: Body, keys: Iterable[str], roots: set[str]) -> tuple[str, ...]:
    if not roots:
        return ()
    said = body.measured_sides()
    found: set[str] = set()
    seen: set[str] = set()
    open_keys = list(keys)
    while open_keys:
        key = open_keys.pop()
        if key in seen:
            continue
        seen.add(key)
        side, _, own = key.partition(".")
        if own in SIDE_BY_KEY and side in ("left", "right"):
            if not all(own in one for one in said):
                open_keys.append(_GENERAL.get(own, own))
        elif key in roots:
            found.add(key)
        elif key in body.assumed:
            open_keys += _FROM.get(key, ())
    return tuple(key for key in BY_KEY if key in found)


def _former(bust: float, cup: str) -> dict[str, float]:
    """The six figures in mm of a standard size as it was while new orders began with them.

    The waist went with the bust, the length of the breast with the cup alone.
    """
    difference = cup_difference(cup)
    to_underbust = round(35.0 + difference / 4.0, 1)
    return {
        "bust": bust,
        "underbust": bust - difference,
        "waist": standard_row(bust)[0],
        "bust_span": round(bust / 5.0 + 5.0, 1),
        "bust_to_underbust": to_underbust,
        "bust_to_waist": round(to_underbust + 105.0, 1),
    }


@lru_cache(maxsize=512)
def _size(bust: float, cup: str) -> Body:
    """The standard body; BodyError for one that cannot be a body's at all."""
    size = standard_body(bust, cup)
    for key in REQUIRED:
        low, high = BY_KEY[key].possible
        if not low <= getattr(size, key) <= high:
            raise BodyError("no_such_size", bust=bust / 10.0, cup=cup)
    return size
