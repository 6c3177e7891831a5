"""Lengths: what is read, what is shown, what is refused."""

from __future__ import annotations

import contextlib
import math
import subprocess
import sys
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.units import (
    ABOUT,
    INCH,
    TELL,
    LengthError,
    both,
    cm,
    inches,
    millimetres,
    parse_length,
    plain_number,
    trade_difference,
)

UNITS = ("mm", "cm", "in")


def test_the_inch_is_that_of_1959() -> None:
    # International yard and pound agreement, 1959: 1 yd = 0.9144 m exactly, so 1 in = 25.4 mm exactly.
    assert INCH == 25.4
    assert parse_length("1 yd", "mm") == 914.4
    assert parse_length(36, "in") == pytest.approx(914.4, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1 cm", 10.0),
        ("10mm", 10.0),
        ("3/8 in", 9.525),
        ('36 1/4"', 920.75),
        ("36 1/4″", 920.75),
        ("36 1/4 ”", 920.75),
        ("36-1/4 in", 920.75),
        ("36¼ in", 920.75),
        ("1½ in", 38.1),
        ("1 ½in", 38.1),
        ("1 1/2 in", 38.1),
        ("1 1⁄2 inches", 38.1),
        ("½ inch", 12.7),
        ("⅞ in", 22.225),
        ("9.5 cm", 95.0),
        ("9,5 cm", 95.0),
        (".5 cm", 5.0),
        (",5 cm", 5.0),
        ("5. cm", 50.0),
        ("0,475 mm", 0.475),
        ("1.250 m", 1250.0),
        ("  10   MM ", 10.0),
        ("1/8 yd", 114.3),
        ("-1/2 in", -12.7),
        ("−1 cm", -10.0),
        ("+2 cm", 20.0),
        ("1''", 25.4),
        ("0", 0.0),
        ("92", 920.0),
        ("92 1/2", 925.0),
        (92, 920.0),
        (9.5, 95.0),
        (-3, -30.0),
    ],
)
def test_what_people_write_is_read(text: object, mm: float) -> None:
    assert parse_length(text, "cm") == mm


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "cm", "in", '"', "1 2 cm", "1/0 in", "1//2 in", "1/2/3 in", "1.5/2 in", "½½ in", "1 2 1/2 in",
        "1e3 mm", "nan", "inf", "-inf", "nan cm",
        "1 ell", "5' 6\"", "1.2.3 cm", "1.000,5 mm", "--1 cm", "1 cm 2", "0x10 mm",
        "١٢ cm", "1 cm\x00", "9" * 400, "1/2-3 in", "1_000 mm", "99999999999 m", "9999999 m",
    ],
)  # fmt: skip
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(LengthError):
        parse_length(text, "cm")


@pytest.mark.parametrize("text", ["1,500 mm", "10,000", "-1,500 mm", "999,999 mm"])
def test_a_comma_that_may_mean_thousands_is_refused(text: str) -> None:
    with pytest.raises(LengthError, match="comma"):
        parse_length(text, "mm")


@pytest.mark.parametrize(
    "value", [True, False, None, [], {}, b"1 cm", math.nan, math.inf, -math.inf, 10**400, 1e300, object()]
)
def test_what_is_no_number_is_refused(value: object) -> None:
    with pytest.raises(LengthError):
        parse_length(value, "cm")


@pytest.mark.parametrize("unit", ["", "km", "CM", "inch"])
def test_an_unknown_unit_is_refused(unit: str) -> None:
    with pytest.raises(LengthError, match="unit"):
        parse_length(1, unit)


@given(st.text(max_size=80), st.sampled_from(UNITS))
def test_no_text_raises_anything_but_a_length_error(text: str, unit: str) -> None:
    with contextlib.suppress(LengthError):
        assert math.isfinite(parse_length(text, unit))


@given(st.from_regex(r"[-+]?[0-9 ,./½¼-]{1,12} ?(cm|mm|in|\"|″)?", fullmatch=True))
def test_near_misses_raise_nothing_else_either(text: str) -> None:
    with contextlib.suppress(LengthError):
        assert math.isfinite(parse_length(text, "mm"))


@given(st.integers(0, 200), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_of_an_inch_are_read_exactly(whole: int, top: int, bottom: int) -> None:
    exact = float((whole + Fraction(top, bottom)) * Fraction(254, 10))
    assert parse_length(f"{whole} {top}/{bottom} in", "mm") == exact


@pytest.mark.parametrize(
    ("mm", "text"),
    [
        (95.0, "9.5 cm"),
        (920.0, "92.0 cm"),
        (0.0, "0.0 cm"),
        (-10.0, "-1.0 cm"),
        (-0.0, "0.0 cm"),
        (95.3, "9.5 cm"),
        (95.4, "≈9.5 cm"),
        (9.525, "≈1.0 cm"),
        (4.5, "≈0.5 cm"),
        (25.4, "≈2.5 cm"),
        (-0.2, "0.0 cm"),
    ],
)
def test_cm_to_a_tenth(mm: float, text: str) -> None:
    assert cm(mm) == text


@given(st.integers(-300_000_000, 300_000_000), st.sampled_from([1, 10, 100, 1000, 100_000, 10_000_000]))
def test_tenths_are_those_of_the_decimal_that_is_written(number: int, part: int) -> None:
    # The last figure a 5 as often as not: halves go away from zero as they read, whatever the binary float is.
    for exact in (Decimal(number) / part, Decimal(number * 10 + 5) / (part * 10)):
        tenths = exact.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP)
        assert millimetres(float(exact)) == f"{abs(tenths) if tenths == 0 else tenths} mm"


@pytest.mark.parametrize(
    ("mm", "nearest", "text"),
    [
        (95.25, 16, "3 3/4 in"),
        (9.525, 16, "3/8 in"),
        (25.4, 16, "1 in"),
        (0.0, 16, "0 in"),
        (12.7, 8, "1/2 in"),
        (920.75, 8, "36 1/4 in"),
        (95.0, 16, "3 3/4 in"),  # 0.25 mm off: not told
        (10.0, 16, "≈3/8 in"),  # 0.475 mm off: told
        (10.0, 8, "≈3/8 in"),
        (10.0, 64, "25/64 in"),  # 0.078 mm off
        (-38.1, 16, "-1 1/2 in"),
        (-0.2, 16, "0 in"),
        (1.0, 8, "≈0 in"),
        (1500.0, 8, "≈59 in"),  # 59.055 in: 1.4 mm off
    ],
)
def test_inches_to_the_nearest_part(mm: float, nearest: int, text: str) -> None:
    assert inches(mm, nearest) == text


def test_a_ruler_has_no_tenths_of_an_inch() -> None:
    with pytest.raises(ValueError, match="10ths"):
        inches(95.0, 10)


def test_both_and_millimetres() -> None:
    assert both(95.25) == "9.5 cm (3 3/4 in)"
    assert millimetres(9.525) == "9.5 mm"


@given(st.floats(-3000, 3000), st.sampled_from([8, 16]))
def test_what_is_shown_reads_back_within_its_rounding_and_says_when_it_is_off(mm: float, nearest: int) -> None:
    for text, step in ((inches(mm, nearest), INCH / nearest), (cm(mm), 1.0)):
        off = abs(parse_length(text.removeprefix(ABOUT), "mm") - mm)
        assert off <= step / 2 + 1e-6
        if abs(off - TELL) > 1e-6:
            assert text.startswith(ABOUT) == (off > TELL)


def test_the_trade_says_1_cm_for_three_eighths() -> None:
    # The shorthand is common practice, no source; the difference follows from the inch: 10 - 3 * 25.4 / 8 = 0.475.
    shown = trade_difference("1 cm", "3/8 in")
    assert shown.mm == 0.475
    assert str(shown) == "1 cm for 3/8 in is 0.475 mm more"
    assert str(trade_difference("2.5 cm", "1 in")) == "2.5 cm for 1 in is 0.4 mm less"
    assert str(trade_difference("1/2 in", "12.7 mm")) == "1/2 in is 12.7 mm exactly"
    # 1/2 less 1/8 is 3/8: the placement line of the trade is exact in inches.
    assert trade_difference("3/8 in", "9.525 mm").mm == 0.0
    with pytest.raises(LengthError):
        trade_difference("1 cm", "a thumb")


@given(st.floats(-3000, 3000, allow_subnormal=False).filter(lambda x: x == 0 or abs(x) > 1e-9), st.sampled_from(UNITS))
def test_a_written_length_reads_back_to_the_same_float(mm: float, unit: str) -> None:
    assert parse_length(plain_number(mm, unit), unit) == mm


@given(st.integers(-30000, 30000))
def test_tenths_of_a_cm_are_written_as_they_are_said(tenths: int) -> None:
    assert plain_number(float(tenths), "cm") == tenths / 10


@pytest.mark.parametrize(("mm", "unit"), [(math.nan, "cm"), (math.inf, "mm"), (1.0, "furlong")])
def test_what_cannot_be_written_is_refused(mm: float, unit: str) -> None:
    with pytest.raises(LengthError):
        plain_number(mm, unit)


def test_reading_lengths_imports_nothing_heavy() -> None:
    heavy = "{'numpy', 'scipy', 'shapely', 'pydantic', 'tomlkit', 'fpdf', 'rich'}"
    code = f"import sys, coutil.units, coutil.body, coutil.order; print(sorted({heavy} & set(sys.modules)))"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
