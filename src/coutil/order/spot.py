"""Where something stands in an order file, and how that place and its key are called."""

from __future__ import annotations

import re
from dataclasses import dataclass

from coutil.words import Key, in_words


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in an order file: a table ("" for the top of the file), an entry of its list, a key.

    `number` counts the entries of a list of tables from 1; 0 where the table is no list. `key` is None where the table
    itself is meant. `stands` is what stands there, as it may be shown, "" if nothing does.
    """

    table: str
    key: str | None = None
    number: int = 0
    stands: str = ""

    @property
    def full(self) -> str:
        """The value by its full key, as the page addresses it: "style.ease.waist", "cloth.0.width"."""
        table = f"{self.table}.{self.number - 1}" if self.number else self.table
        return ".".join(p for p in (table, self.key) if p)


@dataclass(frozen=True, slots=True)
class Here(Key):
    """A value by its full key, of which the file says the last word only, as its table is told."""


@in_words.register
def _(spot: Spot, spec: str = "") -> str:
    header = f"[{spot.table}]" if spot.table else ""
    if spot.number:
        header = f"[[{spot.table}]] no. {spot.number}"
    said = "" if spot.key is None else bare(spot.key)
    return " ".join(p for p in (header, f"{said} = {spot.stands}" if said and spot.stands else said) if p)


@in_words.register
def _(value: Here, spec: str = "") -> str:
    return value.key.rpartition(".")[2]


def one_line(text: str, longest: int = 80) -> str:
    """Text cut to `longest` signs, with whatever does not print, line ends among it, escaped."""
    short = text if len(text) <= longest else f"{text[: longest - 3]}..."
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in short)


def bare(key: str) -> str:
    """A key as it stands in a file: in quotes where it has to be."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]{1,60}", key) else f'"{one_line(key)}"'
