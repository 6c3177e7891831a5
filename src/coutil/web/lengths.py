"""Lengths as the page shows and takes them: in the person's unit, or as they were typed where they bear their own."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final, Literal

from coutil.units import INCH, cm, inches, millimetres, parse_length, parse_or_none, plain_number

PersonUnit = Literal["cm", "in"]

# What an arrow key adds, in mm: a millimetre, or the sixteenth of an inch that rulers bear.
STEPS: Final = {"cm": 1.0, "in": INCH / 16.0}
_EXACT_STEPS: Final = {"cm": Fraction(1), "in": Fraction(254, 160)}
# A number alone, in which the unit is left to be understood; fractions as units.parse_length reads them.
_BARE: Final = re.compile(r"[+−-]?[0-9.,\s/½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞⅐⅑⅒⁄-]+")
# One that TOML can bear as a number: of 15 digits at most, which a float gives back as they were.
_PLAIN: Final = re.compile(r"[+-]?(?=[0-9.,]{1,15}$)([0-9]+[.,]?[0-9]*|[.,][0-9]+)")
_INCHES: Final = re.compile(r"in(\.|ch|ches)?$|[\"″”“′’']+$", re.IGNORECASE)
# What cloth measures less than, in mm, is how thick it is: told to a hundredth, and in mm to everyone.
_THIN: Final = 1.0
# The finest part of an inch in which a length is put into the field; what does not fit is written in decimals.
_FINEST: Final = 64

# From edit to edit most of an order's lengths are what they were: their texts are kept, some forty orders' worth.
KEPT: Final = 8192


def shown(mm: float, unit: str) -> str:
    """A length in a sentence, rounded as `coutil.units` rounds: "96 cm", "≈7 1/16 in"."""
    return inches(mm) if unit == "in" else cm(mm).replace(".0 cm", " cm")


@lru_cache(maxsize=KEPT)
def said(mm: float, unit: str, table: str) -> tuple[str, str]:
    """A length of one table of the order in a sentence, and the unit that it is said in.

    What makers count in inches whatever their tape (a catch of 1/8 in) is said so where it is that exactly; cloth and
    thread are counted in metres; what is short, in mm.
    """
    if table.startswith("build") and unit == "cm" and _is_whole(mm / STEPS["in"]) and not _is_whole(mm):
        return inches(mm), "in"
    if unit == "cm" and table in ("cloth", "notions") and mm >= 1000.0 and _is_whole(mm / 10.0):
        return f"{_short(mm / 1000.0)} m", unit
    if table == "cloth" and 0.0 < mm < _THIN:
        text = f"{mm:.2f}"
        return f"{'' if abs(float(text) - mm) < 1e-6 else '≈'}{text.rstrip('0').rstrip('.')} mm", unit
    if unit == "cm" and 0.0 < abs(mm) < 10.0 and not _is_whole(mm / 10.0):
        return millimetres(mm).replace(".0 mm", " mm"), unit
    return shown(mm, unit), unit


def _is_whole(number: float) -> bool:
    return abs(number - round(number)) < 1e-6


def other(unit: str) -> PersonUnit:
    return "cm" if unit == "in" else "in"


@lru_cache(maxsize=KEPT)
def exact(mm: float, unit: str) -> str:
    """A length as it is put into the field to be changed: reads back to the very same float.

    In `unit`, or in the other where only that says it shortly (96 cm are no round figure of inches); else with as many
    decimals as it takes.
    """
    number = plain_number(mm, unit)
    long = number if isinstance(number, str) else f"{Decimal(repr(number)):f} {unit}"
    spelt = (*_spelt(mm, unit), *_spelt(mm, other(unit)), long)
    return next((text for text in spelt if is_told(text, mm)), spelt[0])


@lru_cache(maxsize=KEPT)
def near(mm: float, unit: str) -> str:
    """A length in `unit` and no other, to 1e-4 mm; a fraction where a ruler in inches bears one."""
    return next(_spelt(mm, unit))


def is_told(text: str, mm: float) -> bool:
    """Whether a text says a length exactly; one that is rounded, marked so or not, does not."""
    return parse_or_none(text) == mm


def stated(stands: object, mm: float, unit: str, order_unit: str) -> tuple[str, str]:
    """A length that stands in the order, as it is shown and as it is put into the field; `stands` is what was typed."""
    if isinstance(stands, str) and not is_bare(stands):
        return stands, stands
    text, field = shown(mm, unit), exact(mm, unit)
    return field if is_finer(text, mm, unit, order_unit) else text, field


def is_finer(text: str, mm: float, unit: str, order_unit: str) -> bool:
    """Whether a figure in the person's own unit is finer than the ruler that `text` rounds it to."""
    return ("in" if order_unit == "in" else "cm") == unit and not is_told(text, mm)


def _spelt(mm: float, unit: str) -> Iterator[str]:
    if unit == "in":
        parts = mm / INCH * _FINEST
        if _is_whole(parts):
            whole, rest = divmod(abs(Fraction(round(parts), _FINEST)), 1)
            sign = "-" if mm < 0 else ""
            text = " ".join(str(p) for p in (whole if whole or not rest else None, rest or None) if p is not None)
            yield f"{sign}{text} in"
        yield f"{_short(mm / INCH)} in"
    else:
        yield f"{_short(mm / 10.0)} cm"


def is_bare(text: str) -> bool:
    """Whether a typed length leaves its unit to be understood."""
    return _BARE.fullmatch(text.strip()) is not None


def is_in_inches(text: str) -> bool:
    return _INCHES.search(text.strip()) is not None


def written(mm: float, unit: str, order_unit: str) -> str | float | int:
    """How a length on the person's ruler is written into an order that counts in `order_unit`."""
    if unit == "in" and order_unit != "in":
        return exact(mm, "in")
    number = plain_number(round(mm, 4), order_unit)
    return int(number) if isinstance(number, float) and number.is_integer() else number


def typed(text: str, unit: str, order_unit: str) -> str | float | int:
    """What she typed, as it is written into the order: as it stands where it bears a unit.

    A bare number counts in her own unit. Raises LengthError where it cannot be read.
    """
    text = " ".join(text.split())
    # Refused here, before anything is written.
    parse_length(text, unit)
    if not is_bare(text):
        return text
    if unit == order_unit and _PLAIN.fullmatch(text):
        # The number that she typed, never by way of mm: 12.03125 stays 12.03125.
        number = float(text.replace(",", "."))
        return int(number) if number.is_integer() else number
    return f"{text} {unit}"


def stepped(mm: float, steps: int, unit: str) -> float:
    """The next place on the ruler, `steps` of the person's unit away."""
    at = mm / STEPS["in" if unit == "in" else "cm"]
    start = round(at)
    if not _is_whole(at):
        # Between two marks: the first step goes to the mark that lies on its way.
        start = int(at // 1) if steps > 0 else int(at // 1) + 1
    return _mark(start + steps, unit)


def snapped(mm: float, unit: str) -> float:
    """The nearest mark of the ruler."""
    return _mark(round(mm / STEPS["in" if unit == "in" else "cm"]), unit)


def _mark(number: int, unit: str) -> float:
    """Where a mark of the ruler lies, in mm: the very float that its fraction reads as."""
    return float(number * _EXACT_STEPS["in" if unit == "in" else "cm"])


def _short(number: float) -> str:
    text = f"{number:.5f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
