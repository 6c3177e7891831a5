"""What changed, in words: for the list of versions and for what undo would take back."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from coutil.book import Book, Change, OrderEntry
from coutil.web.keys import LISTS, UnknownKeyError, address
from coutil.web.values import value_name
from coutil.words import has, say

# The book counts the entries of a list from 1, keys from 0.
_ENTRY: Final = re.compile(rf"^({'|'.join(map(re.escape, LISTS))}) ([0-9]{{1,3}})\b")
# The number of an entry within a key.
_NUMBER: Final = re.compile(r"\.[0-9]+(?=\.|$)")
# Changes told in one line; the rest is counted.
_TOLD: Final = 2


def conflicting(key: str, others: Iterable[str]) -> bool:
    """Whether a change of `key` meets one of the keys that others changed."""
    return any(k == key or k.startswith(f"{key}.") or key.startswith(f"{k}.") for k in others)


def key_of(change: Change) -> str:
    """The key by which the page knows what a change of the book is about."""
    return _ENTRY.sub(lambda m: f"{m[1]}.{int(m[2]) - 1}", change.key)


def book_key(key: str) -> str:
    """The key by which the book knows a value of the page (one that `address` knows): `key_of` the other way."""
    at = address(key)
    if at.table not in LISTS:
        return key
    # What an edge takes down to a level is one of three that stand there together.
    return f"{at.table} {at.number + 1}.{at.spec.name.partition('.')[0]}"


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
    if change.after == "{}" and change.before is None:
        return say("change.added", name=name)
    if change.before is None and change.after is None:
        return say("change.spelling") if change.key == "remarks" else name
    before, after = (_plain(v) for v in (change.before, change.after))
    if change.before is None:
        return f"{name}: {after}"
    return say("change.removed", name=name) if change.after is None else f"{name}: {before} → {after}"


def _name(key: str) -> str:
    plain = _NUMBER.sub("", key)
    for special in (f"change.key.{key}", f"name.{plain}"):
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
