"""Take away what deleting leaves behind in the database's files.

SQLite: deleted content is overwritten as it goes (secure_delete); VACUUM then writes the file anew, and the write-ahead
log, where older pages still stand, is emptied into it and cut to nothing. PostgreSQL: VACUUM FULL writes the tables
anew. What the server keeps elsewhere (its write-ahead log, archives, replicas, backups) is beyond a client program.
"""

from __future__ import annotations

import sqlite3
import time
from typing import Any

from sqlalchemy.engine import Engine

from coutil.book.errors import BookError
from coutil.book.tables import ALL


def wipe_file(engine: Engine, patience: float) -> None:
    """Rewrite an SQLite file and cut its log to nothing; raises BookError while another program reads in it."""
    pooled = engine.raw_connection()
    try:
        raw: Any = pooled.dbapi_connection
        _until(patience, lambda: _vacuumed(raw))
        _until(patience, lambda: raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0] == 0)
    finally:
        pooled.close()


def _vacuumed(raw: Any) -> bool:
    try:
        raw.execute("VACUUM")
    except sqlite3.OperationalError as e:
        if e.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            return False
        raise
    return True


def wipe_server(engine: Engine, patience: float) -> None:
    """Rewrite the tables on a PostgreSQL server; raises BookError while an older transaction still sees old rows."""
    with engine.connect() as plain:
        c = plain.execution_options(isolation_level="AUTOCOMMIT")
        # VACUUM keeps every row that a transaction begun earlier may still see.
        newest = c.exec_driver_sql("SELECT pg_current_xact_id()::xid::text").scalar_one()
        older = (
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid() "
            f"AND backend_xmin IS NOT NULL AND age(backend_xmin) >= age('{newest}'::xid)"
        )
        _until(patience, lambda: c.exec_driver_sql(older).scalar_one() == 0)
        c.exec_driver_sql(f"VACUUM (FULL, ANALYZE) {', '.join(t.name for t in ALL)}")


def left_behind(whom: str, *, on_server: bool) -> tuple[str, ...]:
    """Where remains may still be after erasing, that coutil cannot reach: a sentence each."""
    left = f"Backups and exports made before now hold {whom} still: erase or remake them."
    if on_server:
        return (
            left,
            "The server's write-ahead log, its archive, replicas and backups keep what was written until they are "
            "recycled: ask whoever runs the server.",
        )
    return (left, "Copies that the disk or the system keeps by itself (snapshots, file history) are not reached.")


def _until(patience: float, done: Any) -> None:
    end = time.monotonic() + patience
    while not done():
        if time.monotonic() > end:
            raise BookError("remains")
        time.sleep(0.05)
