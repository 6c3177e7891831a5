"""Connections to the database, and its errors put into words.

SQLite: write-ahead log, so that a page can read while another writes; every commit is on the disk before it returns
(synchronous=FULL); what is deleted is overwritten (secure_delete); temporary data stays in memory. A transaction that
will write takes the write lock at its start, so none fails half way because another came first.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from sqlalchemy import create_engine, event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from sqlalchemy.pool import NullPool

from coutil.book.address import Address
from coutil.book.errors import BookError, DamagedError

# How long a write waits for another program to finish its own, in seconds: edits take milliseconds, a restore or
# the wiping of a large book some seconds (found by trial).
PATIENCE: Final = 15.0
# Execution option that marks a transaction as one that will write.
WRITES: Final = "coutil_writes"
# How SQLite says that a book lacks a table or a column (by trial; it has no code of its own for that).
_MISSING: Final = ("no such table", "no such column", "has no column named")


def make_engine(address: Address, *, patience: float = PATIENCE, migrating: bool = False) -> Engine:
    """An engine for the book. `migrating`: one connection, without foreign keys, as moving tables needs it."""
    if address.file is not None:
        engine = create_engine(
            address.url,
            # Errors must not carry a client's text into a log.
            hide_parameters=True,
            connect_args={"timeout": patience, "check_same_thread": False},
            **({"poolclass": NullPool} if migrating else {}),
        )
        event.listen(engine, "connect", _sqlite_ready(patience, foreign_keys=not migrating))
        event.listen(engine, "begin", _sqlite_begin)
        return engine
    try:
        engine = create_engine(
            address.url,
            hide_parameters=True,
            # A server may have been restarted since the last edit.
            pool_pre_ping=True,
            connect_args={"connect_timeout": max(2, int(patience))},
            **({"poolclass": NullPool} if migrating else {}),
        )
    except ImportError:
        # The package itself, or the C library that it wraps.
        raise BookError('a book on a PostgreSQL server needs psycopg: pip install "coutil[postgres]"') from None
    event.listen(engine, "connect", _postgres_ready(patience))
    return engine


def _sqlite_ready(patience: float, *, foreign_keys: bool) -> Any:
    def ready(raw: Any, _record: object) -> None:
        # Transactions are begun by _sqlite_begin, not behind our back by the driver.
        raw.isolation_level = None
        for pragma in (
            f"busy_timeout = {int(patience * 1000)}",
            f"foreign_keys = {'ON' if foreign_keys else 'OFF'}",
            "synchronous = FULL",
            "secure_delete = ON",
            "temp_store = MEMORY",
            # A file with hostile views or triggers must not run functions behind the book's back.
            "trusted_schema = OFF",
        ):
            raw.execute(f"PRAGMA {pragma}").close()

    return ready


def _sqlite_begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _postgres_ready(patience: float) -> Any:
    def ready(raw: Any, _record: object) -> None:
        before = raw.autocommit
        raw.autocommit = True
        # A server may be set to answer before the disk has it; an acknowledged edit must be there.
        raw.execute("SET synchronous_commit = on")
        raw.execute(f"SET lock_timeout = {int(patience * 1000)}")
        raw.autocommit = before

    return ready


@contextmanager
def told(address: Address) -> Iterator[None]:
    """Turn what the database refuses into one BookError that names the book."""
    try:
        yield
    except DBAPIError as e:
        refusal = _refusal(address, e)
        if not isinstance(refusal, BookError):
            raise
        raise refusal from e
    except sqlite3.Error as e:
        refusal = _sqlite_refusal(address, e)
        if not isinstance(refusal, BookError):
            raise
        raise refusal from e
    except PoolTimeoutError as e:
        raise BookError(f"{address.shown}: too much is asked of the book at once; try again") from e


def _refusal(address: Address, e: DBAPIError) -> Exception:
    """What to raise for an error of the database; the error itself where it can only be a fault of ours."""
    if isinstance(e.orig, sqlite3.Error):
        return _sqlite_refusal(address, e.orig)
    state = getattr(e.orig, "sqlstate", None)
    where = address.shown
    if state == "55P03":
        return BookError(f"{where}: locked by another program; try again")
    if state in ("40001", "40P01"):
        return BookError(f"{where}: another program was faster; try again")
    if state in ("28P01", "28000", "3D000", "42501"):
        return BookError(f"{where}: refused by the server: {_first_line(e.orig)}")
    if state in ("53100", "53200"):
        return BookError(f"{where}: the server has no room left")
    if state is not None and state.startswith("XX"):
        return DamagedError(f"{where}: damaged, says the server: {_first_line(e.orig)}")
    if state in ("42P01", "42703"):
        return DamagedError(f"{where}: a table of the book is missing: {_first_line(e.orig)}")
    # 08 and 57P: no connection, or the server is shutting down.
    if e.connection_invalidated or (isinstance(e, OperationalError) and (state or "08").startswith(("08", "57P"))):
        return BookError(f"{where}: the server cannot be reached: {_first_line(e.orig)}")
    return BookError(f"{where}: {_first_line(e.orig)}") if isinstance(e, OperationalError) else e


def _sqlite_refusal(address: Address, e: sqlite3.Error) -> Exception:
    # The low byte is the kind of error (SQLite's own documentation, "Result and Error Codes").
    code = getattr(e, "sqlite_errorcode", 0) & 0xFF
    where = address.shown
    match code:
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return BookError(f"{where}: locked by another program; try again when it is done")
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM:
            return BookError(f"{where}: may not be written: check who owns the file and its folder")
        case sqlite3.SQLITE_CANTOPEN:
            return BookError(f"{where}: cannot be opened: check the folder and who may write there")
        case sqlite3.SQLITE_NOTADB:
            return BookError(f"{where}: not a book, or scrambled")
        case sqlite3.SQLITE_CORRUPT:
            return DamagedError(f"{where}: the file is damaged; put a backup back with: coutil book restore FILE")
        case sqlite3.SQLITE_FULL:
            return BookError(f"{where}: the disk is full; nothing was saved")
        case sqlite3.SQLITE_IOERR:
            return BookError(f"{where}: the disk reports an error: {e}")
        case sqlite3.SQLITE_ERROR if any(m in str(e) for m in _MISSING):
            return DamagedError(f"{where}: a table of the book is missing: {e}")
    return BookError(f"{where}: {e}") if isinstance(e, sqlite3.OperationalError) and code != sqlite3.SQLITE_ERROR else e


def _first_line(e: object) -> str:
    return next((line.strip() for line in str(e).splitlines() if line.strip()), "no reason given")
