"""Where the book is: a file of SQLite, or a database on a PostgreSQL server."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from coutil.book.errors import BookError

# The variable that points a workroom's machines at one book.
VARIABLE: Final = "COUTIL_BOOK"
FILE_NAME: Final = "book.sqlite3"
_ALLOWED: Final = "a path, sqlite:///PATH or postgresql+psycopg://USER@HOST/DATABASE"


@dataclass(frozen=True, slots=True)
class Address:
    """`file` is the SQLite file, None for a server. `url` bears the password; `shown` never does."""

    url: URL
    file: Path | None

    @property
    def shown(self) -> str:
        return str(self.file) if self.file is not None else self.url.render_as_string(hide_password=True)


def address_of(given: str | Path | None = None) -> Address:
    """What `book_address` promises, as data."""
    said = str(given) if given is not None else os.environ.get(VARIABLE, "").strip()
    if not said:
        return _file(default_file())
    if "://" not in said:
        return _file(Path(said).expanduser())
    try:
        url = make_url(said)
    except (ArgumentError, ValueError):
        # The text may hold a password, so it is not shown.
        raise BookError("no_address", allowed=_ALLOWED) from None
    backend = url.get_backend_name()
    if backend == "sqlite":
        if not url.database or url.database == ":memory:" or url.query:
            raise BookError("no_plain_file")
        return _file(Path(url.database))
    if backend != "postgresql" or url.drivername not in ("postgresql", "postgresql+psycopg"):
        raise BookError("kept_elsewhere", kind=url.drivername, allowed=_ALLOWED)
    if not url.database:
        raise BookError("no_database")
    return Address(url.set(drivername="postgresql+psycopg"), None)


def default_file() -> Path:
    """The book's file in the user's data folder."""
    from platformdirs import user_data_path

    return user_data_path("coutil", appauthor=False) / FILE_NAME


def _file(path: Path) -> Address:
    if "\0" in str(path):
        raise BookError("zero_byte")
    whole = Path(os.path.abspath(path))
    return Address(URL.create("sqlite", database=str(whole)), whole)
