"""What the book hands out: frozen data, no connection behind it.

Times are aware datetimes in UTC, dates are calendar days without a zone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Literal

# How a version came to be: by an edit, as the first text, from another order, from a file, by bringing an older
# version back, by taking a tape into the order, by renaming the client.
How = Literal["edit", "made", "copied", "copied with readings", "imported", "brought back", "tape", "renamed"]
# Where a version stands seen from the current one: it is the current one, undo leads there, redo leads there, or it
# was left behind by an edit after an undo.
Place = Literal["now", "before", "after", "aside"]


@dataclass(frozen=True, slots=True)
class Change:
    """One key whose value changed. `before` and `after` are as TOML writes them; None: it did not stand there.

    `key` is the dotted key ("body.bust", "style.ease.waist", "cloth 1.width"); "due" for the due date, and
    "remarks" where only remarks or the spelling of a value changed (both None then).
    """

    key: str
    before: str | None
    after: str | None

    def __str__(self) -> str:
        if self.before is None and self.after is None:
            return f"{self.key} changed"
        if self.before is None:
            return f"{self.key} = {self.after} added"
        return (
            f"{self.key} = {self.before} removed" if self.after is None else f"{self.key}: {self.before} → {self.after}"
        )


@dataclass(frozen=True, slots=True)
class Hand:
    """One value in hand, to be typed: its key, as in Change, and the number of the version that it was taken upon.

    The version is what the book needs to put back what stood there: nothing of a hand is kept but in the versions, so
    it outlives the server and the page.
    """

    key: str
    since: int


@dataclass(frozen=True, slots=True)
class Before:
    """A text that has a value as it was before a hand. `whole`: all that differs from it now was done by that hand."""

    text: str
    whole: bool


@dataclass(frozen=True, slots=True)
class ClientEntry:
    """A client. `edit` counts the changes to label and note: the next change names it."""

    id: int
    uid: str
    label: str
    note: str
    edit: int
    made_at: datetime
    changed_at: datetime
    orders: int = 0
    tapes: int = 0
    # The day of the newest tape.
    taken_on: date | None = None


@dataclass(frozen=True, slots=True)
class Tape:
    """What the tape said on one day. `text` is TOML: `unit` and the table [body], as in an order."""

    id: int
    uid: str
    client_id: int
    taken_on: date
    note: str
    text: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class TapeChange:
    """A measurement that differs between two tapes, in mm; None: not taken. `side` is "", "left" or "right"."""

    key: str
    side: str
    before: float | None
    after: float | None


@dataclass(frozen=True, slots=True)
class TapeInOrder:
    """The tape that an order's measurements were last taken from.

    `changed` are the readings that differ from it by now ("waist", "left.bust_to_waist"); with the tape erased (`kept`
    false) nobody can tell, and there are none.
    """

    taken_on: date
    kept: bool
    changed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of the list of orders."""

    id: int
    uid: str
    client_id: int
    client_label: str
    name: str
    due: date | None
    edit: int
    made_at: datetime
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class OrderEntry:
    """An order as it stands in the book.

    `text` is the order file and the truth about the order; it always parses. `typed` holds, by key, what was typed but
    cannot be used yet ("36 1/"). `edit` counts every change of text, due date or typed, undo and redo among them: each
    write names the edit that it was based on. `version` is the number of the current version.
    """

    id: int
    uid: str
    client_id: int
    client_label: str
    name: str
    text: str
    due: date | None
    edit: int
    version: int
    can_undo: bool
    can_redo: bool
    made_at: datetime
    changed_at: datetime
    typed: Mapping[str, str] = field(default_factory=dict, hash=False)
    tape: TapeInOrder | None = None


@dataclass(frozen=True, slots=True)
class Version:
    """One version of an order. `parent` is the version that it was made from, None for the first.

    `changes` is what differs from the parent's text and due date. Keystrokes on one key within a minute make one
    version: `made_at` is the first of them, `changed_at` the last.
    """

    order_id: int
    number: int
    parent: int | None
    how: How
    place: Place
    text: str
    due: date | None
    changes: tuple[Change, ...]
    made_at: datetime
    changed_at: datetime
    # The day of the tape that the measurements were last taken from.
    tape_on: date | None = None


@dataclass(frozen=True, slots=True)
class ErasedTape:
    """A tape that was erased. `orders` took it over: their figures and its day stay in them.

    `left` says, a sentence each, where remains may still be that coutil cannot reach.
    """

    taken_on: date
    orders: tuple[OrderLine, ...]
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Erased:
    """What was erased with a client. `mentions` are orders of other clients whose text still holds the label.

    `left` says, a sentence each, where remains may still be that coutil cannot reach.
    """

    label: str
    orders: int
    versions: int
    tapes: int
    mentions: tuple[OrderLine, ...]
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Imported:
    """What came in with a file: how many were added, how many were there already, and what to know, a sentence each."""

    clients: int
    tapes: int
    orders: int
    versions: int
    there_already: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Restored:
    """A book put back. `before` is where what it held before was saved, None if that was nothing."""

    clients: int
    orders: int
    versions: int
    before: Path | None


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that `check` found wrong: where, and what."""

    where: str
    says: str

    def __str__(self) -> str:
        return f"{self.where}: {self.says}"
