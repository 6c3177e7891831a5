"""Parts of a whole, typed and told: "half", "35 %"."""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from coutil.words import catalogue, say

# What an arrow key adds, by key; "" for all others.
PART_STEPS: Final = {"style.upper": 0.05, "": 0.01}
# Those that words say, and by what text each.
_WORDS: Final = (
    (0.0, "none"),
    (0.25, "quarter"),
    (1.0 / 3.0, "third"),
    (0.5, "half"),
    (2.0 / 3.0, "two_thirds"),
    (0.75, "three_quarters"),
    (1.0, "all"),
)
# A part within this of one that has a word is that one: what two decimals of percent leave.
_SAME: Final = 5e-5
# Decimals of a part that was typed: a hundredth of a percent is finer than any cloth is cut.
_DECIMALS: Final = 6


def part_typed(text: str) -> float | None:
    """The part that a text means: "half", "50 %", "0.5"; a number above 1 counts in percent. None for any other."""
    plain = " ".join(text.split()).lower()
    if plain in _spoken():
        return _spoken()[plain]
    number = plain.removesuffix("%").strip().replace(",", ".")
    if not re.fullmatch(r"[0-9]{1,3}(\.[0-9]{0,6})?", number):
        return None
    value = float(number)
    return round(value / 100.0 if plain.endswith("%") or value > 1.0 else value, _DECIMALS)


def part_words(value: float) -> str:
    """A part in a word where there is one, else in percent."""
    return next((say(f"part.{word}") for part, word in _WORDS if abs(part - value) < _SAME), percent(value))


def percent(value: float) -> str:
    """A part in percent, with what decimals it has."""
    return f"{round(100.0 * value, 2):g} %"


@cache
def _spoken() -> dict[str, float]:
    texts = catalogue()
    return {texts[f"part.{word}"].lower(): part for part, word in _WORDS}
