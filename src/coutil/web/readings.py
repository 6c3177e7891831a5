"""Readings of the tape in words: what each is called, what two tapes say of it, which tape an order took over."""

from __future__ import annotations

import tomllib
from typing import Any, Final

from coutil.body import BY_KEY, SIDE_BY_KEY
from coutil.book import Tape, TapeInOrder
from coutil.order import Unit
from coutil.units import ABOUT, millimetres
from coutil.web.lengths import shown
from coutil.words import say

# Every reading that a tape may hold, in the order in which they are taken; those of one side after the others.
ALL_READINGS: Final = (*BY_KEY, *(f"{side}.{key}" for side in ("left", "right") for key in SIDE_BY_KEY))
# Less than this between two readings, in mm, is how numbers are written, not what the tape said: below the 0.1 mm that
# the smallest difference is told in.
_NOTHING: Final = 0.05


def reading_name(key: str) -> str:
    """What a reading is called: "waist girth", "bust to waist, left"."""
    side, _, alone = key.rpartition(".")
    if side and alone in SIDE_BY_KEY:
        return say(f"reading.{side}", name=SIDE_BY_KEY[alone].name.removesuffix(say("reading.one_side")))
    return BY_KEY[key].name if key in BY_KEY else key


def compared(before: dict[str, float], after: dict[str, float], unit: str) -> list[dict[str, Any]]:
    """Every reading of two tapes, in mm by key, in the person's unit, with what is more (+) or less (−) by the later.

    `change`: "more", "less", "same", or "untold" where one tape lacks the reading.
    """
    rows = []
    for key in ALL_READINGS:
        if key not in before and key not in after:
            continue
        row: dict[str, Any] = {"key": f"body.{key}", "name": reading_name(key)}
        for name, tape in (("before", before), ("after", after)):
            row[name] = shown(tape[key], unit) if key in tape else say("beside.not_taken")
        if key not in before or key not in after:
            row |= {"change": "untold", "difference": say("beside.untold")}
        else:
            change, text = difference(after[key] - before[key], unit)
            row |= {"change": change, "difference": text}
        rows.append(row)
    return rows


def difference(mm: float, unit: str) -> tuple[str, str]:
    """A signed difference: ("more", "+1.5 cm"), ("less", "≈−3/8 in"). What rounds to nothing is said in mm."""
    if abs(mm) < _NOTHING:
        return "same", say("beside.same")
    text = shown(abs(mm), unit)
    about, text = (ABOUT, text[len(ABOUT) :]) if text.startswith(ABOUT) else ("", text)
    if text.split()[0] in ("0", "0.0"):
        about, text = "", millimetres(abs(mm))
    return ("more", f"{about}+{text}") if mm > 0 else ("less", f"{about}−{text}")


def unit_of(tape: Tape) -> Unit:
    """The unit that a tape counts in."""
    unit: Unit = tomllib.loads(tape.text).get("unit", "cm")
    return unit


def tape_in_order(tape: TapeInOrder | None) -> dict[str, Any] | None:
    """The tape that an order's figures were taken from; `changed` are what differs by now, by the readings' names."""
    if tape is None:
        return None
    changed = [reading_name(key) for key in tape.changed]
    return {"taken_on": tape.taken_on.isoformat(), "kept": tape.kept, "changed": changed}
