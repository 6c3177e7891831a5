"""Tapes on the page: an order begun from one, the client chosen while one types, day and note, two side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from coutil.book import Book, open_book
from coutil.web.demo import demo_text
from coutil.web.server import Running
from page_book import TABLET, field, kept, turn, type_into
from printed import words_of
from test_page_axe import findings
from test_page_hands import active

Window = Callable[..., Any]


@pytest.fixture
def tapes_book(page_server: Running, tmp_path: Path) -> Iterator[Book]:
    """The page's book, filled by another program: clients of one label, with tapes and without, beside the demo's."""
    with open_book(tmp_path / "page-book.db") as book:
        first = book.add_order(demo_text())
        book.add_tape(first.client_id, first.text, taken_on=date(2026, 1, 5), note="winter, thick vest")
        later = first.text.replace("waist = 70.5", "waist = 72").replace("bust = 96", "bust = 95.4")
        book.add_tape(first.client_id, later, taken_on=date(2026, 3, 1))
        book.add_client("Anna Lee", note="the sister of the baker")
        anna = book.add_client("Ánna Lee")
        fuller = first.text.replace("waist = 70.5", "waist = 74")
        book.add_tape(anna.id, fuller, taken_on=date(2026, 2, 1))
        yield book


def shelf(page: Any) -> Any:
    page.get_by_role("button", name="The shelf").click()
    page.locator(".order-list .name").first.wait_for()
    page.locator(".people li:nth-child(3)").wait_for()
    return page.get_by_role("combobox", name="The client of the new order")


def options(page: Any) -> list[str]:
    return [text.replace("\n", " ") for text in page.locator("[role=option]").all_inner_texts()]


def test_an_order_begins_with_the_tape_of_the_client_chosen_by_keyboard(book_window: Window, tapes_book: Book) -> None:
    page = book_window(locale="en-GB")
    who = shelf(page)
    page.get_by_label("A new order, called").fill("moss corset top")
    page.keyboard.press("Tab")
    assert active(page) == "The client of the new order"
    assert who.get_attribute("aria-expanded") == "false"
    page.keyboard.type("anna")
    # Part of the label, whatever the case and accents; what is known tells the two apart. The last row makes a third.
    assert [o.split(" ", 2)[:2] for o in options(page)[:2]] == [["Ánna", "Lee"], ["Anna", "Lee"]]
    other, one, new = options(page)
    assert "no tape kept" in one
    assert "the sister of the baker" in one
    assert "tape of 1 February 2026" in other
    assert "0 orders" in other
    assert "new client" in new
    assert "“anna”" in new
    assert who.get_attribute("aria-expanded") == "true"
    assert page.locator(f"#{who.get_attribute('aria-controls')}").get_attribute("role") == "listbox"
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    row = page.locator(f"#{who.get_attribute('aria-activedescendant')}")
    assert "Ánna" in row.inner_text()
    page.keyboard.press("Enter")
    assert who.input_value() == "Ánna Lee"
    assert page.locator("[role=option]").count() == 0
    assert page.locator("dialog[open]").count() == 1, "Enter chose, and began no order"
    assert "from 1 February 2026" in page.locator("#new-order-hint").inner_text()
    # Escape closes the list and not the shelf.
    page.keyboard.press("ArrowDown")
    assert len(options(page)) == 3
    page.keyboard.press("Escape")
    assert page.locator("[role=option]").count() == 0
    assert page.locator("dialog[open]").count() == 1
    assert active(page) == "The client of the new order"
    page.keyboard.press("Enter")
    page.locator("dialog").wait_for(state="detached")
    page.locator(".for-whom", has_text="Ánna Lee").wait_for()
    page.locator(".heard", has_text="Begun from the tape of 1 February 2026.").wait_for(state="attached")
    assert field(page, "body.waist").input_value() == "74 cm"
    assert page.locator(".from-tape").inner_text() == "From the tape of 1 February 2026."
    # What is changed since is said, and so it stands among the pages before.
    type_into(page, "body.waist", "75 cm")
    page.locator(".from-tape", has_text="Changed since: waist girth.").wait_for()
    page.get_by_role("button", name="Pages before").click()
    rows = page.locator(".versions li")
    rows.nth(1).wait_for()
    assert "from the tape of 1 February 2026" in rows.last.inner_text()
    assert "from the tape" not in rows.first.inner_text()


def test_a_client_is_chosen_with_a_finger(book_window: Window, tapes_book: Book) -> None:
    page = book_window(viewport=TABLET, has_touch=True, is_mobile=True, locale="en-GB")
    who = shelf(page)
    who.tap()
    page.locator("[role=option]").first.wait_for()
    for row in page.locator("[role=option]").all():
        box = row.bounding_box()
        assert box["height"] >= 44
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= TABLET["width"]
    page.locator("[role=option]", has_text="M. T.").tap()
    assert who.input_value() == "M. T."
    assert "from 1 March 2026" in page.locator("#new-order-hint").inner_text()
    # A tap beside the list closes it.
    who.tap()
    page.locator("[role=option]").first.wait_for()
    page.locator("h2", has_text="The shelf").tap()
    page.locator("[role=option]").first.wait_for(state="detached")


def test_a_new_client_is_said_before_she_is_made(book_window: Window, tapes_book: Book) -> None:
    page = book_window(locale="en-GB")
    who = shelf(page)
    before = len(tapes_book.clients())
    page.get_by_label("A new order, called").fill("moss corset top")
    who.fill("Quilla")
    hint = page.locator("#new-order-hint")
    assert "“Quilla” is not in the book yet" in hint.inner_text()
    button = page.get_by_role("button", name="Start it, with a new client")
    assert len(tapes_book.clients()) == before
    # Of several of one label one has to be chosen.
    who.fill("anna lee")
    assert "2 clients bear this label" in hint.inner_text()
    page.get_by_role("button", name="Start it").click()
    page.locator(".shelf .told", has_text="choose one").wait_for()
    assert len(tapes_book.orders()) == 1
    who.fill("Quilla")
    button.click()
    page.locator(".for-whom", has_text="Quilla").wait_for()
    assert len(tapes_book.clients()) == before + 1
    assert page.locator(".from-tape").count() == 0


def test_the_client_of_the_shelf_is_chosen_already(book_window: Window, tapes_book: Book) -> None:
    page = book_window(locale="en-GB")
    who = shelf(page)
    page.locator(".people button", has_text="M. T.").click()
    page.wait_for_function("() => document.querySelector('[role=combobox]').value === 'M. T.'")
    assert "from 1 March 2026" in page.locator("#new-order-hint").inner_text()
    # A namesake can be made all the same, by the list's last row.
    who.fill("M. T.")
    page.locator("[role=option]").last.click()
    assert "another client “M. T.”" in page.locator("#new-order-hint").inner_text()


def test_a_tape_is_kept_with_its_day_and_note(book_window: Window, page_server: Running) -> None:
    page = book_window("tape", locale="en-GB")
    form = page.locator(".keep-tape")
    day = form.get_by_label("Taken on")
    assert day.input_value() == page.evaluate("new Date().toLocaleDateString('sv')")
    day.fill("2199-01-01")
    form.get_by_role("button").click()
    form.locator("[role=alert]", has_text="1 January 2199 is still to come").wait_for()
    day.fill("2026-02-14")
    form.get_by_label("Note").fill("after lunch")
    form.get_by_role("button").click()
    page.locator(".heard", has_text="of 14 February 2026").wait_for(state="attached")
    assert form.locator("[role=alert]").count() == 0
    page.get_by_role("button", name="The shelf").click()
    page.locator(".people button", has_text="M. T.").click()
    page.locator(".tapes .line", has_text="14 February 2026").wait_for()
    assert "after lunch" in page.locator(".tapes .line").inner_text()


def test_day_and_note_are_mended_and_a_tape_is_erased(book_window: Window, tapes_book: Book) -> None:
    page = book_window(locale="en-GB")
    shelf(page)
    page.locator(".people button", has_text="M. T.").click()
    page.get_by_label("A new order, called").fill("from the tape")
    page.get_by_role("button", name="Start it").click()
    page.locator(".from-tape", has_text="From the tape of 1 March 2026.").wait_for()
    shelf(page)
    page.locator(".people button", has_text="M. T.").click()
    page.get_by_role("button", name="More about the tape of 1 March 2026").click()
    about = page.locator(".tapes .about")
    about.get_by_label("Taken on").fill("2199-01-01")
    about.get_by_role("button", name="Keep", exact=True).click()
    page.locator(".shelf .told", has_text="still to come").wait_for()
    about.get_by_label("Taken on").fill("2026-03-02")
    about.get_by_label("Note").fill("new bra")
    about.get_by_role("button", name="Keep", exact=True).click()
    page.locator(".tapes .line", has_text="2 March 2026").wait_for()
    assert "new bra" in page.locator(".tapes .line").first.inner_text()
    page.locator(".from-tape", has_text="2 March 2026").wait_for()
    # Asked first, with what goes and what stays; nothing goes until then.
    page.get_by_role("button", name="More about the tape of 2 March 2026").click()
    about.get_by_role("button", name="Erase the tape of 2 March 2026").click()
    asked = about.locator("[role=alert]").inner_text()
    assert "for good, with its note and its" in asked
    assert "stays in the orders from the tape" in asked
    about.get_by_role("button", name="Leave it").click()
    assert page.locator(".tapes > li").count() == 2
    about.get_by_role("button", name="Erase the tape").click()
    assert findings(page) == []
    about.get_by_role("button", name="Erase it for good").click()
    page.locator(".shelf .told", has_text="is erased").wait_for()
    page.wait_for_function("() => document.querySelectorAll('.tapes > li').length === 1")
    assert "Backups" in page.locator(".shelf .told").inner_text()
    page.keyboard.press("Escape")
    page.locator(".from-tape", has_text="has been erased since").wait_for()
    assert field(page, "body.waist").input_value() == "72 cm"


def side_by_side(page: Any) -> Any:
    shelf(page)
    page.locator(".people button", has_text="M. T.").click()
    page.get_by_role("button", name="Two tapes side by side").click()
    table = page.locator(".two-tapes table")
    table.wait_for()
    return table


def test_two_tapes_side_by_side_on_a_tablet(book_window: Window, tapes_book: Book) -> None:
    page = book_window(viewport=TABLET, has_touch=True, locale="en-GB")
    table = side_by_side(page)
    heads = [" ".join(text.split()) for text in table.locator("thead th").all_inner_texts()]
    assert heads == ["reading", "5 January 2026 winter, thick vest", "1 March 2026", "difference"]
    row = table.locator("tr", has_text="waist girth").first
    assert row.locator("td").all_inner_texts() == ["70.5 cm", "72 cm", "+1.5 cm"]
    assert table.locator("tr.is-less").locator("td").last.inner_text() == "−0.6 cm"
    # Nothing is cut off, and every target is large enough for a finger.
    assert table.evaluate("e => e.closest('.wide').scrollWidth <= e.closest('.wide').clientWidth")
    small = page.locator(".two-tapes :is(button, select)").evaluate_all(
        "all => all.filter(e => e.getBoundingClientRect().height < 32).map(e => e.outerHTML)"
    )
    assert small == []
    # The same tape twice is no comparison.
    page.get_by_label("One tape").select_option(index=0)
    page.locator(".two-tapes [role=status]", has_text="Choose two different tapes").wait_for()
    # The other way round shows the same: the earlier first.
    page.get_by_label("The other").select_option(index=1)
    table.wait_for()
    assert row.locator("td").all_inner_texts() == ["70.5 cm", "72 cm", "+1.5 cm"]


def test_two_tapes_in_inches_and_printed(book_window: Window, tapes_book: Book, tmp_path: Path) -> None:
    page = book_window(locale="en-GB")
    page.get_by_label("Lengths in").select_option("in")
    kept(page)
    page.wait_for_function("() => document.querySelector('[data-key=\"body.waist\"]').value.endsWith('in')")
    table = side_by_side(page)
    row = table.locator("tr", has_text="waist girth").first
    assert row.locator("td").all_inner_texts() == ["27 3/4 in", "≈28 3/8 in", "≈+9/16 in"]
    file = tmp_path / "two.pdf"
    file.write_bytes(page.pdf(format="A4"))
    words = words_of(file.read_bytes(), tmp_path)
    for word in (
        "Two tapes of M. T.",
        "5 January 2026",
        "1 March 2026",
        "waist girth",
        "28 3/8 in",
        "+9/16 in",
        "bust girth",
    ):
        assert word in words, word
    # The table alone: neither the shelf around it nor the book under it.
    for word in ("Everyone", "Print this table", "sea-green", "Taken on"):
        assert word not in words, word


@pytest.mark.parametrize("look", ["light", "dark"])
def test_axe_finds_nothing(book_window: Window, tapes_book: Book, look: str) -> None:
    page = book_window(color_scheme=look, locale="en-GB")
    who = shelf(page)
    who.fill("a")
    page.keyboard.press("ArrowDown")
    assert findings(page) == []
    page.locator("[role=option]").first.click()
    assert findings(page) == []
    page.locator(".people button", has_text="M. T.").click()
    page.get_by_role("button", name="More about the tape of 1 March 2026").click()
    page.get_by_role("button", name="Two tapes side by side").click()
    page.locator(".two-tapes table").wait_for()
    assert findings(page) == []
    page.keyboard.press("Escape")
    turn(page, "tape")
    page.locator(".keep-tape input[type=date]").fill("2199-01-01")
    page.locator(".keep-tape button").click()
    page.locator(".keep-tape [role=alert]").wait_for()
    assert findings(page) == []


@pytest.mark.parametrize("width", [720, 320])
def test_zoomed_in_the_shelf_is_not_cut_off(book_window: Window, tapes_book: Book, width: int) -> None:
    page = book_window(viewport={"width": width, "height": 450}, locale="en-GB")
    who = shelf(page)
    page.locator(".people button", has_text="M. T.").click()
    page.get_by_role("button", name="Two tapes side by side").click()
    page.locator(".two-tapes table").wait_for()
    who.click()
    page.locator("[role=option]").first.wait_for()
    assert page.locator("dialog").evaluate("e => e.scrollWidth <= e.clientWidth")
    box = page.locator(".client-pick [role=listbox]").bounding_box()
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= width
