"""What differs between two texts of an order, key by key."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final

from coutil.book.model import Change

# The key of a change that touches no value: remarks, order of the keys, empty lines.
REMARKS: Final = "remarks"
DUE: Final = "due"


def text_changes(before: str, after: str) -> tuple[Change, ...]:
    """The keys whose values differ, in the order of the newer text, those taken away last. Both must be TOML.

    A value counts as changed when it is written otherwise as a value: 92 and 92.0 differ, 0x10 and 16 do not.
    """
    if before == after:
        return ()
    old, new = values(before), values(after)
    changed = [Change(k, old.get(k), v) for k, v in new.items() if old.get(k) != v]
    changed += [Change(k, v, None) for k, v in old.items() if k not in new]
    return tuple(changed) or (Change(REMARKS, None, None),)


def all_changes(before: str, due_before: date | None, after: str, due_after: date | None) -> tuple[Change, ...]:
    """`text_changes`, and the due date."""
    changed = text_changes(before, after)
    if due_before == due_after:
        return changed
    return (*changed, Change(DUE, _day(due_before), _day(due_after)))


def values(text: str) -> dict[str, str]:
    """Every value of a TOML text by its dotted key, as TOML writes it; tables of a list are counted from 1."""
    return dict(_flat("", tomllib.loads(text)))


def to_json(changes: tuple[Change, ...]) -> str:
    return json.dumps([[c.key, c.before, c.after] for c in changes], ensure_ascii=False, separators=(",", ":"))


def from_json(text: str) -> tuple[Change, ...]:
    return tuple(Change(key, before, after) for key, before, after in json.loads(text))


def _day(day: date | None) -> str | None:
    return day.isoformat() if day is not None else None


def _flat(prefix: str, table: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        key = f"{prefix}.{name}" if prefix else name
        if isinstance(value, dict) and value:
            yield from _flat(key, value)
        elif isinstance(value, list) and value and all(isinstance(v, dict) for v in value):
            for number, entry in enumerate(value, start=1):
                yield f"{key} {number}", "{}"
                yield from _flat(f"{key} {number}", entry)
        else:
            yield key, _written(value)


def _written(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return json.dumps(value, ensure_ascii=False)
        case list():
            return "[" + ", ".join(_written(v) for v in value) + "]"
        case dict():
            inner = ", ".join(f"{k} = {_written(v)}" for k, v in value.items())
            return f"{{ {inner} }}" if inner else "{}"
        case _:
            return str(value)
