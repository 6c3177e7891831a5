"""What changed, in words: for the list of versions and for what undo would take back."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from coutil.book import Book, Change, OrderEntry
from coutil.web.keys import UnknownKeyError, address
from coutil.web.values import value_name
from coutil.words import has, say

# The book counts cloths from 1, keys from 0.
_CLOTH: Final = re.compile(r"cloth ([0-9]{1,3})\b")
# Changes told in one line; the rest is counted.
_TOLD: Final = 2


def conflicting(key: str, others: Iterable[str]) -> bool:
    """Whether a change of `key` meets one of the keys that others changed."""
    for k in others:
        if k == key or k.startswith(f"{key}.") or key.startswith(f"{k}.") or (k == "cloth" and key.startswith("cloth")):
            return True
    return False


def key_of(change: Change) -> str:
    """The key by which the page knows what a change of the book is about."""
    return _CLOTH.sub(lambda m: f"cloth.{int(m[1]) - 1}", change.key)


def told_changes(changes: Iterable[Change]) -> str:
    """Changes in one line: "plunge: 7 → 6 1/2 in, and 3 more"."""
    said = [_told(c) for c in changes]
    if not said:
        return say("change.nothing")
    more = len(said) - _TOLD
    text = ", ".join(said[:_TOLD])
    return say("change.more", text=text, n=more) if more > 0 else text


def told_version(book: Book, entry: OrderEntry) -> str:
    """What undo would take back: what was typed and cannot be used, else the current version's changes."""
    if entry.typed:
        return say("change.typed", text=", ".join(f"{_name(k)}: {v[:40]}" for k, v in entry.typed.items()))
    now = book.version(entry.id, entry.version)
    # A tape that says what stood there already changes no value.
    return say("how.tape") if now.how == "tape" and not now.changes else told_changes(now.changes)


def _told(change: Change) -> str:
    name = _name(key_of(change))
    if change.before is None and change.after is None:
        return say("change.spelling") if change.key == "remarks" else name
    before, after = (_plain(v) for v in (change.before, change.after))
    if change.before is None:
        return f"{name}: {after}"
    return say("change.removed", name=name) if change.after is None else f"{name}: {before} → {after}"


def _name(key: str) -> str:
    special = f"change.key.{key}"
    if has(special):
        return say(special)
    try:
        return value_name(address(key))
    except UnknownKeyError:
        return key.replace("_", " ").replace(".", " ")


def _plain(value: str | None) -> str:
    if value is None:
        return ""
    text = value.strip('"')
    return text if len(text) <= 40 else f"{text[:39]}…"
