"""Open the book, wherever it is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import TracebackType

from coutil.book.address import address_of
from coutil.book.engine import PATIENCE, make_engine, told
from coutil.book.errors import BookError, DamagedError
from coutil.book.model import Restored
from coutil.book.schema import prepare
from coutil.book.whole import Whole


class Book(Whole):
    """An open book. Threads may share it; several processes may have one book open at a time.

    A process that forks opens its own.
    """

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @property
    def shown(self) -> str:
        """Where the book is, as it may be shown: without the password."""
        return self._address.shown

    def __enter__(self) -> Book:
        return self

    def __exit__(self, kind: type[BaseException] | None, e: BaseException | None, tb: TracebackType | None) -> None:
        self.close()


def book_address(given: str | Path | None = None) -> str:
    """Where the book is: what is given, else the variable COUTIL_BOOK, else a file in the user's data folder.

    A path, `sqlite:///path` or `postgresql+psycopg://user@host/database`; shown without its password. Raises BookError
    for anything else.
    """
    return address_of(given).shown


def open_book(
    address: str | Path | None = None,
    *,
    make: bool = True,
    clock: Callable[[], datetime] | None = None,
    patience: float = PATIENCE,
) -> Book:
    """Open the book, made new where there is none unless `make` is False; an older one is brought up to date.

    `patience`: how long a write waits for another program, in seconds. Raises BookError: a foreign file, a book of a
    newer coutil, none there (with `make` False), locked, not writable, server not reached.
    """
    where = address_of(address)
    with told(where):
        engine = make_engine(where, patience=patience)
        try:
            prepare(where, engine, patience, make=make)
        except BaseException:
            engine.dispose()
            raise
    book = Book(where, engine, clock, patience)
    try:
        book.require_writable()
    except BookError:
        book.close()
        raise
    return book


def restore_book(file: Path, address: str | Path | None = None) -> Restored:
    """`Book.restore`, also where the book is damaged: its file is then moved aside, never deleted.

    `before` is then the damaged file. Raises BookError.
    """
    where = address_of(address)
    try:
        with open_book(address) as book:
            return book.restore(file)
    except DamagedError:
        if where.file is None:
            raise
    # Is the backup any good? Only then is anything moved.
    from coutil.book.packing import unpack

    unpack(file)
    aside = _move_aside(where.file)
    with open_book(address) as book:
        done = book.restore(file)
    return Restored(done.clients, done.orders, done.versions, aside)


def _move_aside(file: Path) -> Path:
    aside, number = file.with_name(f"{file.name}.damaged"), 1
    while aside.exists():
        number += 1
        aside = file.with_name(f"{file.name}.damaged-{number}")
    try:
        for end in ("", "-wal", "-shm"):
            part = file.with_name(file.name + end)
            if part.exists():
                part.replace(aside.with_name(aside.name + end))
    except OSError as e:
        raise BookError("not_moved", file=str(file), reason=e.strerror or str(e)) from None
    return aside
