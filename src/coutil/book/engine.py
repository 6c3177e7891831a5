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
        raise BookError("no_psycopg") from None
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
        raise BookError("too_busy", book=address.shown) from e


def _refusal(address: Address, e: DBAPIError) -> Exception:
    """What to raise for an error of the database; the error itself where it can only be a fault of ours."""
    if isinstance(e.orig, sqlite3.Error):
        return _sqlite_refusal(address, e.orig)
    state = getattr(e.orig, "sqlstate", None)
    where = address.shown
    if state == "55P03":
        return BookError("locked", book=where)
    if state in ("40001", "40P01"):
        return BookError("overtaken", book=where)
    if state in ("28P01", "28000", "3D000", "42501"):
        return BookError("refused_by_server", book=where, why=_first_line(e.orig))
    if state in ("53100", "53200"):
        return BookError("server_full", book=where)
    if state is not None and state.startswith("XX"):
        return DamagedError("server_damaged", book=where, why=_first_line(e.orig))
    if state in ("42P01", "42703"):
        return DamagedError("table_missing", book=where, why=_first_line(e.orig))
    # 08 and 57P: no connection, or the server is shutting down.
    if e.connection_invalidated or (isinstance(e, OperationalError) and (state or "08").startswith(("08", "57P"))):
        return BookError("no_server", book=where, why=_first_line(e.orig))
    return BookError("database", book=where, why=_first_line(e.orig)) if isinstance(e, OperationalError) else e


def _sqlite_refusal(address: Address, e: sqlite3.Error) -> Exception:
    # The low byte is the kind of error (SQLite's own documentation, "Result and Error Codes").
    code = getattr(e, "sqlite_errorcode", 0) & 0xFF
    where = address.shown
    match code:
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return BookError("locked_long", book=where)
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM:
            return BookError("not_writable", book=where)
        case sqlite3.SQLITE_CANTOPEN:
            return BookError("not_opened", book=where)
        case sqlite3.SQLITE_NOTADB:
            return BookError("no_book", book=where)
        case sqlite3.SQLITE_CORRUPT:
            return DamagedError("damaged", book=where)
        case sqlite3.SQLITE_FULL:
            return BookError("disk_full", book=where)
        case sqlite3.SQLITE_IOERR:
            return BookError("disk_error", book=where, why=str(e))
        case sqlite3.SQLITE_ERROR if any(m in str(e) for m in _MISSING):
            return DamagedError("table_missing", book=where, why=str(e))
    return (
        BookError("database", book=where, why=str(e))
        if isinstance(e, sqlite3.OperationalError) and code != sqlite3.SQLITE_ERROR
        else e
    )


def _first_line(e: object) -> str:
    return next((line.strip() for line in str(e).splitlines() if line.strip()), "no reason given")
