"""What a key of the order file is: what it says, what is allowed, what it is without."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from coutil.body import Measurement
from coutil.units import both

Kind = Literal[
    "length",
    "text",
    "choice",
    "choices",
    "flag",
    "percent",
    "money",
    "decimal",
    "whole",
    "version",
    "pair",
    "pairs",
    "lengths",
    "place",
    "places",
    "roles",
    "edge",
    "part",
    "parts",
]


@dataclass(frozen=True, slots=True)
class Key:
    """One key of one table. `low` and `high` are in mm (percent for a percent, both ends allowed)."""

    name: str
    kind: Kind
    says: str
    low: float = 0.0
    high: float = 0.0
    choices: tuple[str, ...] = ()
    default: str = "none"
    required: bool = False
    # For texts: whether line ends may stand in it.
    lines: bool = False
    # For choices: whether none of them may be chosen.
    empty: bool = False

    @property
    def allowed(self) -> str:
        """What may stand there, in words."""
        match self.kind:
            case "length":
                return f"a length from {both(self.low)} to {both(self.high)}"
            case "pair":
                return f"a list of two lengths, width and length, each from {both(self.low)} to {both(self.high)}"
            case "pairs":
                return (
                    f"a list of at most 200 pairs [width, length], each length from {both(self.low)} to "
                    f"{both(self.high)}"
                )
            case "lengths":
                return f"a list of lengths, each from {both(self.low)} to {both(self.high)}"
            case "place":
                return (
                    f"a list of two lengths, to the right and up, each from {both(self.low)} to {both(self.high)}, "
                    "from the leftmost and the lowest point of the outline"
                )
            case "places":
                return (
                    f"a list of places [right, up], each length from {both(self.low)} to {both(self.high)}, from the "
                    "leftmost and the lowest point of the outline"
                )
            case "roles":
                return "a list of " + ", ".join(f'"{c}"' for c in self.choices) + ", one for each side"
            case "part":
                return f"a number from {self.low:g} to {self.high:g}"
            case "parts":
                return (
                    f"a number from {self.low:g} to {self.high:g}, or a list of three: down to the underbust, to the "
                    "waist, and to the high hip"
                )
            case "edge":
                return 'a list of two texts, a panel and one of its edges, such as ["side front", "side"]'
            case "percent":
                return f"a number of percent from {self.low:g} to {self.high:g}"
            case "choice":
                return " or ".join(f'"{c}"' for c in self.choices)
            case "choices":
                return ("a list of any of " if self.empty else "a list of one or more of ") + ", ".join(
                    f'"{c}"' for c in self.choices
                )
            case "flag":
                return "true or false"
            case "money":
                return f'an amount from 0 to {self.high:.0f} with at most 4 decimals, such as 18.5 or "18.50"'
            case "decimal":
                return f"a number from {self.low:g} to {self.high:g} with at most 2 decimals"
            case "whole":
                return f"a whole number from {self.low:g} to {self.high:g}"
            case "version":
                return "1"
            case "text":
                kind = "a text, lines allowed," if self.lines else "one line of text"
                return f"{kind} of at most {self.high:g} signs"


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the file; `name` as in its header, "" for what stands before all headers."""

    name: str
    says: str
    keys: tuple[Key, ...]
    # Tables inside this one.
    inner: tuple[str, ...] = ()

    def key(self, name: str) -> Key:
        return next(k for k in self.keys if k.name == name)


def length_key(
    name: str,
    low: float,
    high: float,
    says: str,
    default: str = "taken from the body by the draft",
    *,
    required: bool = False,
) -> Key:
    return Key(name, "length", says, low, high, default="none" if required else default, required=required)


def left_out(m: Measurement) -> str:
    if m.required:
        return "or not taken, where [body.standard] says what stands in its place"
    return f"{m.better_rule}; else {m.rule}" if m.better_rule else m.rule or ""


def decimal_key(name: str, low: float, high: float, says: str, default: str = "0") -> Key:
    return Key(name, "decimal", says, low, high, default=default)
