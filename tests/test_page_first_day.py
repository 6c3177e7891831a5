"""A newcomer's day with a client of her own: the tape in inches, shape, lays, sheets, and nobody else's order.

At the machine itself; by finger on a tablet that the password let in; with the server killed while she types.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import terminal
from coutil.book import open_book
from coutil.web.demo import demo_text
from page_book import PATIENCE, SPREADS, TABLET, Faults, field, kept, watched
from printed import words_of
from test_page_door import log_in
from test_page_newcomer import download
from test_page_waiting import Table, kill

CLIENT, ORDER = "Anna Lee", "moss corset top"
# Her readings: between the marks of a tape in inches as they are read, plausible together.
TAPE = {
    "body.bust": "37 1/2",
    "body.underbust": "31 1/4",
    "body.waist": "28 3/4",
    "body.bust_span": "7 1/2",
    "body.bust_to_underbust": "3 1/8",
    "body.bust_to_waist": "7 1/4",
}

# Every name and client that the head of the book shows from now on, for however short.
LISTEN = """() => {
    const look = () => {
        const said = [...document.querySelectorAll('.order-name, .for-whom')].map(e => e.textContent).join(' | ');
        const known = JSON.parse(sessionStorage.getItem('seen') ?? '[]');
        if (!known.includes(said)) sessionStorage.setItem('seen', JSON.stringify([...known, said]));
    };
    look();
    new MutationObserver(look).observe(document.body, { subtree: true, childList: true, characterData: true });
}"""


def filled(path: Path) -> None:
    """A book in which others have been worked for: two clients with orders, and hers with none and no tape."""
    with open_book(path) as book:
        book.add_order(demo_text())
        other = book.add_order(demo_text().replace("M. T.", "Anne Leigh").replace("sea-green bustier", "plum bodice"))
        book.add_tape(other.client_id, other.text, taken_on=date(2026, 3, 1))
        book.add_client(CLIENT)


@dataclass
class Day:
    """One window in which she works; after each step the head must show her client and her order."""

    page: Any
    finger: bool = False

    def press(self, locator: Any) -> None:
        if self.finger:
            locator.tap()
        else:
            locator.click()

    def hers(self) -> None:
        assert self.page.locator(".order-name").inner_text() == ORDER
        assert CLIENT in self.page.locator(".for-whom").first.inner_text()
        assert self.page.title().startswith(f"{CLIENT} · {ORDER}")

    def begin(self) -> None:
        """A new order for a client who is chosen from the list, of which a part is typed."""
        page = self.page
        self.press(page.get_by_role("button", name="The shelf"))
        self.press(page.get_by_label("A new order, called"))
        page.keyboard.type(ORDER)
        who = page.get_by_role("combobox", name="The client of the new order")
        self.press(who)
        page.keyboard.type("lee")
        row = page.locator("[role=option]", has_text=CLIENT)
        self.press(row.first)
        assert who.input_value() == CLIENT
        self.press(page.get_by_role("button", name="Start it"))
        page.locator(".order-name", has_text=ORDER).wait_for()
        page.locator("dialog").wait_for(state="detached")
        self.hers()
        page.evaluate(LISTEN)
        page.get_by_label("Lengths in").select_option("in")
        kept(page)
        self.hers()

    def turn(self, spread: str) -> None:
        self.press(self.page.locator("nav.tape button").nth(SPREADS.index(spread)))
        self.page.wait_for_function("name => document.documentElement.dataset.spread === name", arg=spread)
        self.hers()

    def put(self, key: str, text: str) -> None:
        """Typed sign by sign into a value that is taken in hand."""
        self.press(field(self.page, key))
        self.page.keyboard.type(text, delay=15)

    def tape(self) -> None:
        self.turn("tape")
        assert "not taken" in self.page.locator(".leaf").inner_text().lower()
        for key, text in TAPE.items():
            self.put(key, text)
            kept(self.page)
            self.hers()
        self.measured()

    def measured(self) -> None:
        """All that she typed stands in the fields, and the verdict misses no reading."""
        self.press(self.page.locator("#spread-title"))
        kept(self.page)
        for key, text in TAPE.items():
            assert field(self.page, key).input_value() == f"{text} in"
        assert self.page.locator(".beside.stop").count() == 0
        assert self.page.locator(".note.of-stop").count() == 0
        self.hers()

    def the_rest(self, folder: Path, *, bust: str = TAPE["body.bust"]) -> None:
        page = self.page
        self.turn("shape")
        drawn = page.locator(".panel .cut").last.get_attribute("d")
        self.put("style.hem", "3 1/2")
        kept(page)
        assert page.locator(".panel .cut").last.get_attribute("d") != drawn
        self.hers()
        self.turn("cloth")
        page.locator(".laying select").select_option("5")
        self.press(page.locator(".laying .sewn"))
        page.wait_for_selector(".on-cloth .cut", timeout=PATIENCE * 2)
        self.hers()
        self.turn("shape")
        assert field(page, "style.hem").input_value() == "3 1/2 in"
        pattern = download(page, "pattern-a4.pdf", folder / "pattern.pdf").read_bytes()
        told = tomllib.loads(download(page, "order.toml", folder / "order.toml").read_text("utf-8"))
        self.hers()
        words = words_of(pattern, folder)
        assert ORDER in words
        assert CLIENT in words
        assert "not taken" not in words.lower()
        assert told["name"] == ORDER
        assert told["client"]["label"] == CLIENT
        # In an order that counts in inches a bare number is one of them, else it bears its unit.
        assert {k: str(told["body"][k.removeprefix("body.")]).removesuffix(" in") for k in TAPE} == {
            **TAPE,
            "body.bust": bust,
        }
        self.turn("lesson")
        printed = words_of(page.pdf(format="A4"), folder)
        assert ORDER in printed
        for other in ("M. T.", "Anne Leigh", "sea-green", "plum"):
            assert other not in words + printed
        self.only_hers_was_seen()

    def only_hers_was_seen(self) -> None:
        seen = self.page.evaluate("JSON.parse(sessionStorage.getItem('seen'))")
        assert seen
        assert all(ORDER in one and CLIENT in one for one in seen), seen


@contextmanager
def window(browser: Any, address: str, **how: Any) -> Iterator[Any]:
    faults = Faults()
    context = browser.new_context(accept_downloads=True, **how)
    yield watched(context.new_page(), faults, address)
    context.close()
    assert faults == []


def test_at_the_machine_itself(browser: Any, tmp_path: Path) -> None:
    filled(tmp_path / "book.db")
    table = Table(browser, tmp_path)
    with table.begun() as server:
        day = Day(table.window(server))
        day.begin()
        day.tape()
        day.the_rest(tmp_path)
    table.context.close()
    assert table.faults == []


def test_by_finger_on_a_tablet_that_the_password_let_in(browser: Any, tmp_path: Path) -> None:
    filled(tmp_path / "book.db")
    with terminal.opened(tmp_path, "--listen", "0.0.0.0") as at:
        at.until("Enter makes one up")
        at.type("\r")
        password = at.until(r"The password is: (\S+)")[1]
        at.until("/open/")
        address = f"http://127.0.0.2:{at.port}"
        with window(browser, address, viewport=TABLET, has_touch=True, is_mobile=True) as page:
            page.goto(f"{address}/")
            log_in(page, password)
            page.wait_for_selector(".panel")
            day = Day(page, finger=True)
            day.begin()
            day.tape()
            day.the_rest(tmp_path)
            # What she signs out of shows nobody anything.
            page.get_by_role("button", name="Sign out").tap()
            page.get_by_label("Password").wait_for()
            assert page.evaluate("[localStorage.length, document.title.includes('Anna')]") == [0, False]


def test_killed_while_she_types(browser: Any, tmp_path: Path) -> None:
    filled(tmp_path / "book.db")
    table = Table(browser, tmp_path)
    keys = list(TAPE)
    with table.begun() as server:
        day = Day(table.window(server))
        day.begin()
        day.turn("tape")
        for key in keys[:2]:
            day.put(key, TAPE[key])
        # In the middle of a reading, which goes on, and so does the tape, without the page looking up.
        day.press(field(day.page, keys[2]))
        text = TAPE[keys[2]]
        day.page.keyboard.type(text[:2])
        kill(server)
        day.page.keyboard.type(text[2:])
        for key in keys[3:]:
            day.put(key, TAPE[key])
            day.hers()
        day.page.locator(".saving.away").wait_for()
        day.hers()
        day.only_hers_was_seen()
        day.page.close()
    with table.served() as server:
        # The link leads to the order worked on last, which is hers.
        day = Day(table.window(server))
        day.hers()
        day.page.evaluate(LISTEN)
        day.turn("tape")
        last = keys[-1]
        day.page.wait_for_function(
            '([key, text]) => document.querySelector(`[data-key="${key}"]`)?.value === text',
            arg=[last, f"{TAPE[last]} in"],
        )
        assert day.page.locator(".left-over").all_inner_texts() == []
        day.measured()
        day.the_rest(tmp_path)
    # The others' orders are as they were.
    with open_book(table.place, make=False) as book:
        texts = {one.name: book.order(one.id).text for one in book.orders()}
    assert texts["plum bodice"] == texts["sea-green bustier"].replace("M. T.", "Anne Leigh").replace(
        "sea-green bustier", "plum bodice"
    )
    table.context.close()
    assert [f for f in table.faults if "ERR_" not in f] == []
