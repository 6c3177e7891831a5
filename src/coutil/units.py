"""Lengths in and out: mm inside; cm, mm and inches with fractions outside.

Reading is exact (fractions, not floats, until the last step). Showing rounds, and says so with `ABOUT` in front
wherever the rounding hides more than `TELL` mm: a cutter may then look at the mm instead.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final

# Exactly 25.4 mm by definition: international yard and pound agreement of 1959.
INCH: Final = 25.4
# Written before a length whose rounding is off by more than TELL.
ABOUT: Final = "≈"
# Rounding beyond this is told, in mm. A third of a millimetre is the width of a sharp pencil line, and the
# same figure as the tolerance of a seam walk (requirement of the project, no outside source).
TELL: Final = 0.3
# Shorter lengths are said in mm, where the ruler is read closely; longer ones in cm. A way of speaking, no source.
SAID_IN_MM: Final = 10.0
# Whether inches stand before cm: that is the reader's, who is the same for all that is said at one time.
_INCHES_FIRST: ContextVar[bool] = ContextVar("inches_first", default=False)
# No length of a garment, a body or a roll of cloth is longer, in mm; keeps absurd input from overflowing anything.
LONGEST: Final = 1e7

_EXACT: Final = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    # 36 in, same agreement; cloth is sold by it.
    "yd": Fraction(9144, 10),
}
_DECIMAL: Final = {name: Decimal(f.numerator) / f.denominator for name, f in _EXACT.items()}
# Digits of a product of any float's shortest decimal (17) and a unit: always exact.
_EXACTLY: Final = Context(prec=40)
# What a tape in cm and mm shows is told in cm where inches would need endless decimals: this many decimals of a mm.
_TAPE: Final = 3
# Spellings of the units as people type them; all compared in lower case.
_SPELLINGS: Final = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("in", "in.", "inch", "inches", '"', "″", "”", "“", "''", "′′", "’’"), "in"),
    **dict.fromkeys(("yd", "yd.", "yds", "yard", "yards"), "yd"),
}
_VULGAR: Final = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
# A sign, then a whole number with a fraction, a fraction, or a decimal; then what must be a unit. The whole number
# and its fraction are held apart by a space or, as in handwriting, by a hyphen. Digits are bounded so that no input is
# slow or large.
_LENGTH: Final = re.compile(
    r"""(?P<sign>[+-]?)\s*
        (?: (?:(?P<whole>[0-9]{1,9})(?:\s+|\s*-\s*))? (?P<top>[0-9]{1,9})\s*/\s*(?P<bottom>[0-9]{1,9})
          | (?P<decimal>[0-9]{1,9}(?:[.,][0-9]{0,30})?|[.,][0-9]{1,30}) )
        \s*(?P<unit>[^0-9\s/.,+-][^0-9]*)?""",
    re.VERBOSE,
)
# "1,500 mm" may mean 1.5 or 1500: a comma between one to three digits (not a lone 0) and exactly three more.
_AMBIGUOUS: Final = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


class LengthError(ValueError):
    """A text or number that cannot be read as a length, as data: a code, and what fills its text.

    The text stands in the catalogue, which comes after this room (`refusal.length.CODE`; `coutil.words.reason`).
    """

    def __init__(self, code: str, **fill: object) -> None:
        self.code, self.fill = code, fill
        super().__init__(code, fill)


def parse_length(value: object, unit: str) -> float:
    """The length in mm that `value` says.

    `value` is a number in `unit` ("mm", "cm", "in", also "m" and "yd"), or a text with its own unit: `1 cm`, `10mm`,
    `3/8 in`, `36 1/4"`, `1½ in`, `9,5 cm`. A text without a unit counts in `unit`. A number counts as the decimal that
    it is written as, so that 33 and `33 in` are the very same float. The sign is kept: whether a
    negative length makes sense is the caller's to say. Raises LengthError for anything else: other types, truth
    values, NaN, infinities, a zero denominator, an unknown unit, a comma that may stand for thousands.
    """
    if unit not in _EXACT:
        raise LengthError("unknown_unit", unit=unit, known=tuple(_EXACT))
    if isinstance(value, str):
        return _parse_text(value, unit)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise LengthError("no_length")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise LengthError("not_finite")
    return _bounded(_in_mm(number, unit))


def _parse_text(text: str, unit: str) -> float:
    if len(text.strip()) > 60:
        raise LengthError("long_text")
    match = _LENGTH.fullmatch(_plainly(text))
    if match is None:
        raise LengthError("not_read")
    spelt = (match["unit"] or "").strip().lower()
    own = _SPELLINGS.get(spelt) if spelt else unit
    if own is None:
        raise LengthError("unknown_unit", unit=spelt, known=tuple(_EXACT))
    if match["decimal"] is not None:
        if _AMBIGUOUS.fullmatch(match["decimal"]):
            raise LengthError("ambiguous_comma")
        number = Fraction(match["decimal"].replace(",", ".").rstrip("."))
    else:
        if int(match["bottom"]) == 0:
            raise LengthError("over_nothing")
        number = int(match["whole"] or 0) + Fraction(int(match["top"]), int(match["bottom"]))
    if match["sign"] == "-":
        number = -number
    return _bounded(float(number * _EXACT[own]))


def _plainly(text: str) -> str:
    """A typed length with its fractions and signs in their plain form."""
    out = text.strip()
    for sign, fraction in _VULGAR.items():
        out = out.replace(sign, f" {fraction}")
    return out.replace("−", "-").replace("⁄", "/").strip()


def _in_mm(number: float, unit: str) -> float:
    """A number in a unit, taken as its shortest decimal: exact but for the one rounding to a float."""
    return float(_EXACTLY.multiply(Decimal(repr(number)), _DECIMAL[unit]))


def _bounded(mm: float) -> float:
    if abs(mm) > LONGEST:
        raise LengthError("beyond_longest")
    return mm


def plain_number(mm: float, unit: str) -> float | str:
    """How a length is written in an order: a number in `unit`, else "... cm" or "... mm"; reads back to the same float.

    A number of at most 6 decimals in `unit` goes first, which holds every 64th of an inch; then what a tape shows in
    cm; then any number. Raises LengthError for an unknown unit or a length that is not finite.
    """
    if unit not in _EXACT or not math.isfinite(mm):
        raise LengthError("not_written", length=mm, unit=unit)
    factor = float(_EXACT[unit])
    short = round(mm / factor, 6)
    if _in_mm(short, unit) == mm:
        return short
    exact = Decimal(repr(mm))
    if unit in ("in", "yd") and exact == round(exact, _TAPE) and abs(mm) <= LONGEST:
        return f"{(exact / 10).normalize():f} cm"
    if _in_mm(mm / factor, unit) == mm:
        return mm / factor
    text = f"{exact:f} mm"
    return text if parse_or_none(text) == mm else mm / factor


def parse_or_none(text: str) -> float | None:
    """`parse_length` of a text that bears its unit, or None where it would raise."""
    try:
        return _parse_text(text, "mm")
    except LengthError:
        return None


def unit_of(text: str) -> str | None:
    """The unit that a typed length bears ("mm", "cm", "m", "in", "yd"), or None where it bears none."""
    match = _LENGTH.fullmatch(_plainly(text)) if len(text) <= 60 else None
    return None if match is None else _SPELLINGS.get((match["unit"] or "").strip().lower())


def cm(mm: float) -> str:
    """A length in cm to 0.1, halves away from zero: 95 -> "9.5 cm"; `ABOUT` leads if off by more than `TELL`."""
    shown = _tenths(mm / 10.0)
    return f"{_sign(mm - float(shown) * 10.0)}{shown} cm"


def millimetres(mm: float) -> str:
    """A length in mm to 0.1, halves away from zero: 9.525 -> "9.5 mm"; never off by more than 0.05."""
    return f"{_tenths(mm)} mm"


def inches(mm: float, nearest: int = 16) -> str:
    """A length in inches to the nearest 1/`nearest`, as a lowest fraction: 95.25 -> "3 3/4 in".

    `ABOUT` leads if that is off by more than `TELL`. Raises ValueError unless `nearest` is 1, 2, 4, 8, 16, 32 or 64,
    the divisions that rulers bear.
    """
    if nearest not in (1, 2, 4, 8, 16, 32, 64):
        raise ValueError(f"no ruler is divided in {nearest}ths of an inch")
    parts = math.floor(abs(mm) / INCH * nearest + 0.5 + 1e-9)
    whole, rest = divmod(parts, nearest)
    off = abs(mm) - parts * INCH / nearest
    minus = "-" if mm < 0 and parts else ""
    if rest == 0:
        text = f"{whole}"
    else:
        part = Fraction(rest, nearest)
        text = f"{whole} {part}" if whole else f"{part}"
    return f"{_sign(off)}{minus}{text} in"


@contextmanager
def leading(unit: str) -> Iterator[None]:
    """Within this block lengths are said with their inches first if `unit` is "in", else with cm or mm first.

    It is asked for once, where a sheet or a page is made for somebody; nothing that tells a length takes a unit.
    """
    token = _INCHES_FIRST.set(unit == "in")
    try:
        yield
    finally:
        _INCHES_FIRST.reset(token)


def lead(unit: str) -> None:
    """The same until the block of `leading` ends that this stands in."""
    _INCHES_FIRST.set(unit == "in")


def in_order(metric: str, imperial: str) -> str:
    """A length's two forms, the reader's own first: "9.5 cm (3 3/4 in)"."""
    return f"{imperial} ({metric})" if _INCHES_FIRST.get() else f"{metric} ({imperial})"


def both(mm: float, nearest: int = 16) -> str:
    """A length in cm and in inches: 95.25 -> "9.5 cm (3 3/4 in)"."""
    return in_order(cm(mm), inches(mm, nearest))


def plain(mm: float) -> str:
    """A length in the reader's unit alone: in cm to 0.1, or in inches."""
    return inches(mm) if _INCHES_FIRST.get() else cm(mm)


def brief(mm: float) -> str:
    """A length in a sentence, in one unit: below 1 cm in mm to 0.1, else in cm to 0.1; or in inches.

    Below 1/16 in it is said in mm to everyone.
    """
    if _INCHES_FIRST.get() and abs(mm) >= INCH / 16.0:
        return inches(mm)
    return millimetres(mm) if abs(mm) < SAID_IN_MM else cm(mm)


def precise(mm: float) -> str:
    """A length to a tenth of a millimetre, in cm: for two figures that are held against each other."""
    exact = f"{mm / 10.0:.2f} cm"
    return in_order(exact, inches(mm)) if _INCHES_FIRST.get() and abs(mm) >= INCH / 16.0 else exact


def stepped(mm: float) -> str:
    """A distance that is stepped off many times, to the mm's tenth, and in inches: what rounding takes off adds up."""
    return in_order(millimetres(mm), inches(mm))


def width(mm: float) -> str:
    """A width that is sold in mm (a bone, an eyelet): to the mm's tenth; behind inches where these come first."""
    return stepped(mm) if _INCHES_FIRST.get() and abs(mm) >= INCH / 16.0 else millimetres(mm)


def bare(mm: float, decimals: int = 0) -> str:
    """A length's figure alone, in mm or in inches, for a term of a sum whose outcome bears its unit."""
    return inches(mm).removesuffix(" in") if _INCHES_FIRST.get() else f"{mm:.{decimals}f}"


def whole_mm(mm: float) -> str:
    """A length to the whole mm; behind inches where these come first."""
    exact = f"{mm:.0f} mm"
    return in_order(exact, inches(mm)) if _INCHES_FIRST.get() and abs(mm) >= INCH / 16.0 else exact


def full(mm: float) -> str:
    """A length in a sentence, metric and in inches: "9.5 mm (3/8 in)".

    Below 1/16 in, the finest that `inches` shows, only the metric length says anything.
    """
    metric = millimetres(mm) if abs(mm) < SAID_IN_MM else cm(mm)
    return millimetres(mm) if abs(mm) < INCH / 16.0 else in_order(metric, inches(mm))


@dataclass(frozen=True, slots=True)
class TradeDifference:
    """A shorthand of the trade beside what it stands for. `mm` is shorthand minus meant: positive if it is longer."""

    shorthand: str
    meant: str
    mm: float

    def __str__(self) -> str:
        if self.mm == 0.0:
            return f"{self.shorthand} is {self.meant} exactly"
        size = f"{abs(self.mm):.3f}".rstrip("0").rstrip(".")
        return f"{self.shorthand} for {self.meant} is {size} mm {'more' if self.mm > 0 else 'less'}"


def trade_difference(shorthand: str, meant: str) -> TradeDifference:
    """The true difference behind a shorthand: ("1 cm", "3/8 in") -> "1 cm for 3/8 in is 0.475 mm more".

    Both texts bear their units (a bare number counts in mm); raises LengthError as `parse_length` does. The
    difference is rounded to a nanometre, which takes off what the binary floats add.
    """
    gap = parse_length(shorthand, "mm") - parse_length(meant, "mm")
    return TradeDifference(shorthand.strip(), meant.strip(), round(gap, 6) + 0.0)


def _tenths(value: float) -> str:
    """A number to 0.1, halves away from zero; one that is less than 5e-10 off a half counts as half."""
    # That much, so that 0.45 rounds as it reads and not as its binary float lies.
    tenths = math.floor(abs(value) * 10.0 + 0.5 + 5e-9)
    return f"{'-' if value < 0.0 and tenths else ''}{tenths // 10}.{tenths % 10}"


def _sign(off: float) -> str:
    # 1e-9: a rounding of exactly TELL, blurred by binary floats, stays untold.
    return ABOUT if abs(off) > TELL + 1e-9 else ""
