"""The book: clients, their tapes and their orders, every version kept, saved as the maker types.

    with open_book() as book:                       # COUTIL_BOOK, or the user's data folder
        order = book.add_order(text)                # the text of an order file
        order = book.save(order.id, newer_text, based_on=order.edit)
        order = book.undo(order.id, based_on=order.edit)

A method that returns has committed: the change outlives a kill at any moment. Each write of an order names the edit
that it was based on; if the book is further on, ConflictError brings the newer entry and nothing is overwritten.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path
from types import TracebackType

from coutil.book.errors import BookError, ConflictError, DamagedError, MissingError
from coutil.book.model import (
    Change,
    ClientEntry,
    Erased,
    Fault,
    Imported,
    OrderEntry,
    OrderLine,
    Restored,
    Tape,
    TapeChange,
    Version,
)


def book_address(given: str | Path | None = None) -> str:
    """Where the book is: what is given, else the variable COUTIL_BOOK, else a file in the user's data folder.

    A path, `sqlite:///path` or `postgresql+psycopg://user@host/database`. Raises BookError for anything else.
    """
    raise NotImplementedError


def open_book(address: str | Path | None = None, *, clock: Callable[[], datetime] | None = None) -> Book:
    """Open the book, made new where there is none, and bring an older one up to date.

    Raises BookError: a foreign file, a book of a newer coutil, locked, not writable, server not reached.
    """
    raise NotImplementedError


def restore_book(file: Path, address: str | Path | None = None) -> Restored:
    """`Book.restore`, also where the book is damaged: its file is then moved aside, never deleted."""
    raise NotImplementedError


class Book:
    """An open book. Threads may share it; several processes may have one book open at a time."""

    def close(self) -> None: ...
    def __enter__(self) -> Book: ...
    def __exit__(self, kind: type[BaseException] | None, e: BaseException | None, tb: TracebackType | None) -> None: ...

    # --- clients
    def add_client(self, label: str, *, note: str = "") -> ClientEntry:
        """A new client. BookError for an empty label or one that an order file would not take."""

    def client(self, client_id: int) -> ClientEntry: ...

    def clients(self, search: str = "") -> tuple[ClientEntry, ...]:
        """All clients by label, or those whose label or note holds every word; case and accents do not matter."""

    def change_client(
        self, client_id: int, *, based_on: int, label: str | None = None, note: str | None = None
    ) -> ClientEntry:
        """Change label or note. A new label is written into her orders too, a version each. ConflictError."""

    def erase_client(self, client_id: int) -> Erased:
        """Erase a client wholly: tapes, orders, every version, and what is left of them in the file's free pages."""

    def export_client(self, client_id: int, file: Path, *, force: bool = False) -> Path:
        """All that the book holds about a client, in one zip: client.json, orders and tapes as TOML."""

    # --- tapes
    def add_tape(self, client_id: int, text: str, *, taken_on: date, note: str = "") -> Tape:
        """A dated tape: the TOML text of `unit` and [body]; all else in the text is left out. BookError if not valid."""

    def tape_of(self, order_id: int, *, taken_on: date, note: str = "") -> Tape:
        """Keep the measurements of an order as a tape of its client."""

    def tapes(self, client_id: int) -> tuple[Tape, ...]:
        """The tapes of a client, newest first."""

    def tape(self, tape_id: int) -> Tape: ...
    def remove_tape(self, tape_id: int) -> None: ...

    def use_tape(self, order_id: int, tape_id: int, *, based_on: int) -> OrderEntry:
        """Put the figures of a tape of the same client into the order's [body]; a version of its own."""

    # --- orders
    def add_order(self, text: str, *, client_id: int | None = None, due: date | None = None) -> OrderEntry:
        """A new order. Without `client_id` it goes to the one client with the label in the text, or to a new one.

        With `client_id` the client's label is written into the text. BookError for a text that is no valid order.
        """

    def order(self, order_id: int) -> OrderEntry: ...

    def orders(
        self, search: str = "", *, client_id: int | None = None, due_by: date | None = None
    ) -> tuple[OrderLine, ...]:
        """Orders, the last changed first, whose name, client's label or notes hold every word of `search`.

        With `due_by` those due up to that day, the earliest first.
        """

    def edit_of(self, order_id: int) -> int:
        """The number of the last edit: a quick look whether another window changed the order."""

    def save(self, order_id: int, text: str, *, based_on: int, typed: Mapping[str, str] | None = None) -> OrderEntry:
        """Save the text; committed when this returns. `typed` replaces what was typed and cannot be used; None keeps it.

        Edits of the same key within a minute make one version, whose text is the last of them. A text that the book
        holds already is no edit. Raises ConflictError; BookError for a text that is no valid order (nothing is saved
        then: keep what was typed with `keep_typed`).
        """

    def keep_typed(self, order_id: int, typed: Mapping[str, str], *, based_on: int) -> OrderEntry:
        """Keep what was typed, by key, and cannot be used yet, so that a kill does not lose it. Counts as an edit."""

    def set_due(self, order_id: int, due: date | None, *, based_on: int) -> OrderEntry:
        """Set or take away the due date; a version like any other, so undo takes it back."""

    def undo(self, order_id: int, *, based_on: int) -> OrderEntry:
        """One step back; if there is something typed and not usable, that alone is taken away. BookError at the first."""

    def redo(self, order_id: int, *, based_on: int) -> OrderEntry:
        """One step forward again. BookError where there is none."""

    def history(self, order_id: int) -> tuple[Version, ...]:
        """Every version, newest first, those left behind by an edit after an undo among them."""

    def version(self, order_id: int, number: int) -> Version: ...

    def bring_back(self, order_id: int, number: int, *, based_on: int) -> OrderEntry:
        """Make the text and due date of an older version current, as a new version."""

    def copy_order(
        self, order_id: int, client_id: int, *, tape_id: int | None = None, keep_body: bool = False
    ) -> OrderEntry:
        """A new order like this one for another client: her label and note, and the body of her newest (or given) tape.

        The versions, due date and remarks in the text stay behind: they speak of somebody else. Without a tape
        BookError, unless `keep_body`. For the same client the body is kept where no tape is given.
        """

    def remove_order(self, order_id: int, *, based_on: int) -> None: ...

    def export_order(self, order_id: int, file: Path, *, force: bool = False) -> Path:
        """Write the order file (TOML), exactly as it stands in the book."""

    def import_order(self, file: Path, *, client_id: int | None = None) -> OrderEntry:
        """`add_order` from a file."""

    # --- the whole
    def export_book(self, file: Path, *, force: bool = False) -> Path:
        """The whole book in one file, with checksums; for either database."""

    def import_book(self, file: Path) -> Imported:
        """Add what such a file holds. What is there already is not added twice and never overwritten."""

    def backup(self, target: Path | None = None) -> Path:
        """An export named by the time, into the folder `target` (or the file), read back to prove it."""

    def restore(self, file: Path) -> Restored:
        """Replace the whole book by a backup, in one transaction; what it held before is saved beside it first."""

    def check(self) -> tuple[Fault, ...]:
        """Prove the book sound: database, references, every text, every chain of versions. Empty: all is well."""

    def setting(self, name: str) -> str | None: ...
    def set_setting(self, name: str, value: str | None) -> None: ...


__all__ = [
    "Book",
    "BookError",
    "Change",
    "ClientEntry",
    "ConflictError",
    "DamagedError",
    "Erased",
    "Fault",
    "Imported",
    "MissingError",
    "OrderEntry",
    "OrderLine",
    "Restored",
    "Tape",
    "TapeChange",
    "Version",
    "book_address",
    "open_book",
    "restore_book",
]
