"""Fixtures that several test files share."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from itertools import count
from typing import TYPE_CHECKING, Any

import hypothesis
import pytest

# How long an example takes says more of the machine than of the code: time is measured in bench/. A test run tries the
# same examples every time; COUTIL_SEARCH=1 looks for new ones.
hypothesis.settings.register_profile("coutil", deadline=None, derandomize="COUTIL_SEARCH" not in os.environ)
hypothesis.settings.load_profile("coutil")

# Tests run in several processes: one thread each, or the threads of numpy wait for one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

if TYPE_CHECKING:
    from book_places import Clock
    from book_server import Server
    from coutil.book import Book
    from coutil.web.server import Running
    from web_page import Window

_numbers = count(1)


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """A PostgreSQL server of the tests' own."""
    from book_server import running_server

    with running_server() as s:
        yield s


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request, tmp_path) -> Iterator[str]:
    """The address of a book that is not there yet: a file, and a database on a server."""
    if request.param == "sqlite":
        yield str(tmp_path / "data" / "book.sqlite3")
        return
    server: Server = request.getfixturevalue("postgres")
    name = f"book{next(_numbers)}"
    yield server.fresh(name)
    server.drop(name)


@pytest.fixture
def clock() -> Clock:
    from book_places import Clock

    return Clock()


@pytest.fixture
def book(place, clock, tmp_path, monkeypatch) -> Iterator[Book]:
    """An open, empty book; its backups go into the test's own folder."""
    from coutil.book import open_book

    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    with open_book(place, clock=clock, patience=5) as b:
        yield b


@pytest.fixture
def page(tmp_path) -> Iterator[tuple[Running, Window]]:
    """The order book's server on a new book with the demo order, and a window that was let in; see web_page."""
    from web_page import open_page

    with open_page(tmp_path) as opened:
        yield opened


@pytest.fixture
def server(page) -> Running:
    return page[0]


@pytest.fixture
def window(page) -> Window:
    return page[1]


@pytest.fixture(scope="module")
def _standing_page(tmp_path_factory) -> Iterator[tuple[Running, Window]]:
    from web_page import open_page

    with open_page(tmp_path_factory.mktemp("book")) as opened:
        yield opened


@pytest.fixture
def attacked_page(_standing_page) -> Iterator[tuple[Running, Window]]:
    """As `page`, but one for a whole file: after each of its tests the server must still answer."""
    yield _standing_page
    assert _standing_page[1].get("/api/orders").status_code == 200


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A chromium for the tests of the page."""
    from page_book import browsing

    with browsing() as started:
        yield started


@pytest.fixture
def page_server(tmp_path) -> Iterator[Running]:
    """The page's server on a new book with the demo order in it."""
    from page_book import serving

    with serving(tmp_path / "page-book.db") as server:
        yield server


@pytest.fixture
def book_window(browser, page_server) -> Iterator[Callable[..., Any]]:
    """Opens the book in windows of their own browser profiles; see page_book."""
    from page_book import windows

    with windows(browser, page_server) as window:
        yield window
