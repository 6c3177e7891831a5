"""What was typed while the book did not answer: the server is killed, begun anew, and it goes in, or she is asked."""

from __future__ import annotations

import signal
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from coutil.book import open_book
from page_book import DESK, Faults, field, kept, watched
from test_page_late import Held, until
from test_web_process import Process, opened

STORE = "() => Object.entries(localStorage).filter(([name]) => name.startsWith('coutil.'))"


class Table:
    """A book served by `coutil open`, and one browser profile at it."""

    def __init__(self, browser: Any, folder: Path) -> None:
        self.place, self.home = str(folder / "book.db"), folder / "home"
        self.context = browser.new_context(viewport=DESK)
        self.faults = Faults()

    def begun(self) -> Any:
        """The book opened for the first time, at a port that nobody else has."""
        return opened(self.place, self.home, "--port", str(free_port()))

    def served(self) -> Any:
        """The book opened again, as one opens it: without a port."""
        return opened(self.place, self.home)

    def window(self, server: Process) -> Any:
        page = watched(self.context.new_page(), self.faults, server.address)
        page.goto(server.link())
        page.wait_for_selector(".panel")
        return page


@pytest.fixture
def table(browser: Any, tmp_path: Path) -> Iterator[Table]:
    made = Table(browser, tmp_path)
    yield made
    assert [f for f in made.faults if "ERR_" not in f] == []
    made.context.close()


def free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


def kill(server: Process) -> None:
    server.running.send_signal(signal.SIGKILL)
    server.running.wait()


def typed_while_dead(table: Table, *typings: tuple[str, str]) -> tuple[Any, str]:
    """A window in which the typings wait for a server that was killed, and the address that it had."""
    with table.begun() as server:
        page = table.window(server)
        page.locator("nav.tape button").first.click()
        page.wait_for_function("() => document.documentElement.dataset.spread === 'tape'")
        kill(server)
        for key, text in typings:
            field(page, key).click()
            field(page, key).fill(text)
        page.locator(".saving.away").wait_for()
        return page, server.address


def stored(page: Any) -> int:
    return len(page.evaluate(STORE))


def test_it_goes_in_after_the_server_was_killed_and_begun_anew(table: Table) -> None:
    old, address = typed_while_dead(table, ("body.waist", "73 cm"), ("body.bust", "99 cm"))
    with table.served() as server:
        assert server.address == address, "the same port, so that the browser finds what waits"
        # The old window learns that its session is gone, and says where its typing is.
        old.locator(".shut", has_text="lies in this browser").wait_for()
        page = table.window(server)
        page.wait_for_function("() => document.querySelector('[data-key=\"body.bust\"]')?.value === '99 cm'")
        kept(page)
        assert field(page, "body.waist").input_value() == "73 cm"
        until(page, lambda: stored(page) == 0)
    with open_book(table.place, make=False) as book:
        text = book.order(book.orders()[0].id).text
        assert all(value in text for value in ("73", "99"))


def test_it_goes_in_though_the_old_window_was_closed(table: Table) -> None:
    old, _ = typed_while_dead(table, ("body.waist", "73 cm"))
    old.close()
    with table.served() as server:
        page = table.window(server)
        page.wait_for_function("() => document.querySelector('[data-key=\"body.waist\"]')?.value === '73 cm'")


def test_a_beginning_in_the_book_is_restored_after_a_kill(table: Table) -> None:
    """74 was taken, its rest waited: after the kill the rest is refused, and the order is as before the hand."""
    with table.begun() as server:
        page = table.window(server)
        page.locator("nav.tape button").first.click()
        page.wait_for_function("() => document.documentElement.dataset.spread === 'tape'")
        before = field(page, "body.waist").input_value()
        field(page, "body.waist").click()
        page.keyboard.type("74")
        kept(page)
        kill(server)
        page.keyboard.type("5")
        page.locator(".saving.away").wait_for()
        page.close()
    with table.served() as server:
        page = table.window(server)
        page.locator(".beside.stop", has_text=f"The drawing uses {before}").wait_for()
        assert field(page, "body.waist").input_value() == "745"


def test_it_goes_in_although_it_stands_upon_an_edit_that_the_new_server_never_saw(table: Table) -> None:
    """The waist was taken in hand while the bust was on its way: only she has changed the order since."""
    with table.begun() as server:
        page = table.window(server)
        page.locator("nav.tape button").first.click()
        page.wait_for_function("() => document.documentElement.dataset.spread === 'tape'")
        held = Held(page, "**/edit")
        field(page, "body.bust").click()
        field(page, "body.bust").fill("95 cm")
        held.caught()
        field(page, "body.waist").click()
        held.let_go()
        kept(page)
        kill(server)
        page.keyboard.type("73")
        page.locator(".saving.away").wait_for()
        page.close()
    with table.served() as server:
        page = table.window(server)
        page.wait_for_function("() => document.querySelector('[data-key=\"body.waist\"]')?.value === '73 cm'")
        assert page.locator(".left-over").count() == 0
        assert field(page, "body.bust").input_value() == "95 cm"


# The first answer to an edit breaks off behind its head.
CUT_OFF = """() => { const real = window.fetch; let cut = false;
    window.fetch = async (path, how) => {
        const answer = await real(path, how);
        if (cut || !path.endsWith('/edit')) return answer;
        cut = true;
        const broken = new ReadableStream({ start: c => c.error(new TypeError('broken off')) });
        return new Response(broken, { status: answer.status });
    }; }"""


def test_an_answer_that_breaks_off_is_asked_for_again(book_window: Callable[..., Any]) -> None:
    page = book_window("tape")
    page.evaluate(CUT_OFF)
    field(page, "body.waist").click()
    field(page, "body.waist").fill("700")
    page.locator(".saving.refused").wait_for()
    page.locator(".beside.stop", has_text="700").wait_for()
    field(page, "body.waist").fill("73 cm")
    page.locator(".saving.kept").wait_for()
    assert page.evaluate(STORE) == []


def test_where_the_order_has_changed_she_is_asked(table: Table) -> None:
    """Taken, it holds; dropped, the order stays; a reload in between asks once more."""
    old, _ = typed_while_dead(table, ("body.waist", "73 cm"), ("body.bust", "99 cm"))
    old.close()
    with open_book(table.place, make=False) as book:
        entry = book.order(book.orders()[0].id)
        text = entry.text.replace("waist = 70.5", "waist = 69")
        assert text != entry.text
        book.save(entry.id, text, based_on=entry.edit)
    with table.served() as server:
        page = table.window(server)
        asked = page.locator(".left-over", has_text="73 cm")
        asked.wait_for()
        assert all(word in asked.text_content() for word in ("69 cm", "waist"))
        page.reload()
        asked.wait_for()
        assert field(page, "body.waist").input_value() == "69 cm"
        asked.get_by_role("button", name="Take 73 cm").click()
        page.wait_for_function("() => document.querySelector('[data-key=\"body.waist\"]')?.value === '73 cm'")
        for one in page.locator(".left-over button", has_text="Drop it").all():
            one.click()
        until(page, lambda: stored(page) == 0)
        assert page.locator(".left-over").count() == 0


def test_another_book_at_the_same_port_never_gets_it(table: Table, tmp_path: Path) -> None:
    old, address = typed_while_dead(table, ("body.waist", "73 cm"))
    old.close()
    port = address.rpartition(":")[2]
    with opened(str(tmp_path / "other.db"), table.home, "--port", port) as server:
        assert server.address == address
        page = table.window(server)
        page.locator("nav.tape button").first.click()
        page.wait_for_timeout(500)
        assert field(page, "body.waist").input_value() != "73 cm"
        assert stored(page) == 1
        page.close()


def test_another_port_is_told_of(table: Table) -> None:
    old, address = typed_while_dead(table, ("body.waist", "73 cm"))
    old.close()
    with taken(int(address.rpartition(":")[2])), table.served() as server:
        assert server.address != address
        assert any(address.rpartition(":")[2] in line and "goes in when" in line for line in server.said)


@contextmanager
def taken(port: int) -> Iterator[None]:
    with socket.socket() as s:
        s.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        s.bind(("127.0.0.1", port))
        s.listen()
        yield


def test_a_window_that_lives_sends_its_own(table: Table) -> None:
    """A second window of the same browser does not take what the first one, still alive, will send."""
    with table.begun() as server:
        page = table.window(server)
        page.locator("nav.tape button").first.click()
        page.route("**/edit", lambda route: route.abort())
        field(page, "body.waist").click()
        field(page, "body.waist").fill("73 cm")
        page.locator(".saving.away").wait_for()
        second = watched(table.context.new_page(), table.faults, server.address)
        second.goto(page.url)
        second.wait_for_selector(".panel")
        second.wait_for_timeout(500)
        assert field(second, "body.waist").input_value() != "73 cm"
        page.unroute("**/edit")
        kept(page)
        second.wait_for_function("() => document.querySelector('[data-key=\"body.waist\"]')?.value === '73 cm'")


def test_nothing_is_stored_once_it_is_in_the_book(book_window: Callable[..., Any]) -> None:
    page = book_window("tape")
    field(page, "body.waist").click()
    field(page, "body.waist").fill("73 cm")
    kept(page)
    assert page.evaluate(STORE) == []
