"""Bring a database to the form that this coutil works with, or refuse it.

Opening a book that is up to date costs one query; Alembic is loaded only where there is something to do.
"""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any, Final

from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import OperationalError

from coutil.book.address import Address
from coutil.book.engine import WRITES, make_engine
from coutil.book.errors import BookError

# The revisions in order; the last is the form that the rest of this room works with. A test holds them to the files.
REVISIONS: Final = ("0001", "0002")
# Where Alembic keeps the revision; a name of its own, so that another program's table is not taken for it.
VERSION_TABLE: Final = "coutil_schema"
# See migrations/m0001_first.py.
APPLICATION_ID: Final = 0x636F7574
# The key of the server's lock that keeps two programs from bringing one book up to date at once: "cout" again.
_LOCK_KEY: Final = 0x636F7574
_FOLDER: Final = Path(__file__).parent / "migrations"


def prepare(address: Address, engine: Engine, patience: float, *, make: bool) -> None:
    """Make the tables, if they may be made, or bring them up to date; BookError for a foreign or a newer database."""
    missing = BookError("no_book_yet", book=address.shown)
    if address.file is not None:
        if not make and not address.file.exists():
            raise missing
        _prepare_file(address.file)
    with engine.connect() as connection:
        revision = _revision(address, connection)
    if revision == REVISIONS[-1]:
        return
    if revision is None and not make:
        raise missing
    moving = make_engine(address, patience=patience, migrating=True)
    try:
        with moving.connect() as raw:
            if address.file is not None:
                _use_write_ahead_log(raw, patience)
            connection = raw.execution_options(**{WRITES: True})
            with connection.begin():
                if address.file is None:
                    connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_LOCK_KEY})")
                # Another program may have done it while this one waited.
                if _revision(address, connection) != REVISIONS[-1]:
                    _upgrade(connection)
                    _no_broken_references(address, connection)
    finally:
        moving.dispose()


def _prepare_file(file: Path) -> None:
    """Make an empty file that only its owner may read: measurements are personal."""
    try:
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not file.exists():
            try:
                os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
            except FileExistsError:
                return
        with file.open("rb") as f:
            start = f.read(16)
    except OSError as e:
        raise BookError("file_not_opened", file=str(file), reason=e.strerror or str(e)) from None
    # The first bytes of every SQLite file (SQLite's own documentation, "Database File Format").
    if start and start != b"SQLite format 3\0":
        raise BookError("other_file", file=str(file))


def _revision(address: Address, connection: Connection) -> str | None:
    """The revision that the database is at, None for an empty one."""
    if address.file is not None:
        mark = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
        names = connection.exec_driver_sql("SELECT name FROM sqlite_schema WHERE type = 'table'").scalars().all()
        ours = mark == APPLICATION_ID and VERSION_TABLE in names
        foreign = mark not in (0, APPLICATION_ID) or (names and not ours)
    else:
        names = (
            connection.exec_driver_sql("SELECT tablename FROM pg_tables WHERE schemaname = current_schema()")
            .scalars()
            .all()
        )
        ours = VERSION_TABLE in names
        foreign = names and not ours
    if foreign:
        raise BookError("other_tables", book=address.shown)
    if not ours:
        return None
    found = connection.exec_driver_sql(f"SELECT version_num FROM {VERSION_TABLE}").scalars().all()
    if len(found) != 1 or found[0] not in REVISIONS:
        raise BookError("newer_book", book=address.shown)
    return str(found[0])


def _use_write_ahead_log(connection: Connection, patience: float) -> None:
    """Turn the write-ahead log on; the file remembers it. SQLite does not always wait here, so this does."""
    until = time.monotonic() + patience
    while True:
        try:
            raw: Any = connection.connection.dbapi_connection
            mode = raw.execute("PRAGMA journal_mode = WAL").fetchone()[0]
        except Exception as e:
            if "locked" not in str(e) or time.monotonic() > until:
                raise
            time.sleep(0.02)
            continue
        if mode != "wal":
            raise BookError("no_log")
        return


def _upgrade(connection: Connection) -> None:
    # Slow to load, and needed only when something is to be done.
    from alembic.config import Config
    from alembic.runtime.environment import EnvironmentContext

    script = script_folder()

    def steps(revision: Any, context: Any) -> Any:
        return script._upgrade_revs("head", revision)

    with EnvironmentContext(Config(), script, fn=steps) as environment:
        environment.configure(
            connection=connection,
            version_table=VERSION_TABLE,
            # SQLite cannot alter most of a table; Alembic then moves it.
            render_as_batch=True,
        )
        environment.run_migrations()


def script_folder() -> Any:
    """Alembic's view of the folder with the steps."""
    from alembic.script import ScriptDirectory

    return ScriptDirectory(str(_FOLDER), version_locations=[str(_FOLDER)])


def _no_broken_references(address: Address, connection: Connection) -> None:
    if address.file is not None and connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None:
        raise OperationalError("foreign_key_check", None, Exception("references broken by the update"))
