"""When an order begins to count in another unit, its plain numbers are given the unit that they were typed in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from coutil.order.keys import LISTED, TABLES
from coutil.web.lengths import is_bare

_LENGTHS = ("length", "pair", "pairs", "lengths", "place", "places")


def order_unit(doc: Mapping[str, Any]) -> str:
    """What the plain numbers of an order count in."""
    unit = doc.get("unit", "cm")
    return str(unit) if unit in ("cm", "mm", "in") else "cm"


def spell_out(doc: Any, unit: str) -> None:
    """Give every length of a parsed order that bears no unit this one; all else stays as it is written."""
    for name, spec in TABLES.items():
        for table in _tables(doc, name):
            for key in spec.keys:
                if key.kind in _LENGTHS and key.name in table:
                    table[key.name] = spelt(table[key.name], unit)


def spelt(value: Any, unit: str) -> Any:
    """A length, or lists of them, with its unit where it bears none."""
    if isinstance(value, list):
        return [spelt(v, unit) for v in value]
    if isinstance(value, str):
        return f"{value.strip()} {unit}" if is_bare(value) else str(value)
    return f"{Decimal(repr(getattr(value, 'unwrap', lambda: value)())):f} {unit}"


def _tables(doc: Any, name: str) -> Iterator[Any]:
    """The tables of one name that are in the order."""
    found = [doc]
    for part in name.split(".") if name else ():
        found = [t[part] for t in found if part in t]
    yield from (one for table in found for one in (table if name in LISTED else [table]))
