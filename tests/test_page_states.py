"""The tape in a real browser: what is taken, by rule and not taken looks different, and nobody's figure is kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coutil.body import REQUIRED
from coutil.book import open_book
from coutil.web.server import running
from page_book import field, kept, turn, type_into, windows
from web_page import let_in

Window = Callable[..., Any]
HERS = {
    "bust": "96",
    "underbust": "78",
    "waist": "70.5",
    "bust_span": "19.5",
    "bust_to_underbust": "8",
    "bust_to_waist": "18.5",
}
OLD = """[client]
label = "Anna"
[body]
bust = 92
underbust = 75
waist = 76
bust_span = 18.9
bust_to_underbust = 7.8
bust_to_waist = 18.3
"""
# What a line of a value looks like: by it, not by colour, are the states told apart.
LINE = "e => { const s = getComputedStyle(e); return [s.borderBottomStyle, s.borderTopStyle, s.fontStyle].join(' '); }"


@pytest.fixture
def served(browser: Any, tmp_path: Path) -> Any:
    """A window on a book in which the order that lies open was just begun, or is the one given."""
    with open_book(tmp_path / "book.db") as book, running(book) as server, windows(browser, server) as window:

        def begin(text: str | None = None) -> Any:
            with let_in(server) as w:
                if text is None:
                    made = w.post("/api/orders", {"name": "ivory", "client": {"label": "Anna"}}).json()
                else:
                    head = {**w.headers, "content-type": "application/toml"}
                    made = w.client.post("/api/orders/import", content=text.encode(), headers=head).json()
                w.get(f"/api/orders/{made['order']['id']}")
            return window("tape")

        yield begin


def verdict(page: Any) -> str:
    turn(page, "checks")
    said = page.locator("#left .sentence").first.inner_text()
    turn(page, "tape")
    return str(said)


def test_a_new_order_says_of_nothing_that_it_was_measured(served: Any) -> None:
    page = served()
    assert page.locator(".value.measured").count() == 0
    for key in REQUIRED:
        one = field(page, f"body.{key}")
        assert one.input_value().startswith("not taken ("), key
        assert one.evaluate(LINE).startswith("dashed dashed"), key
    # A rule's value is dotted and leans; what is not taken is an empty frame.
    assert field(page, "body.hip").evaluate(LINE) == "dotted none italic"
    field(page, "body.bust").click()
    assert field(page, "body.bust").input_value() == ""
    told = page.locator("#in-hand").inner_text()
    assert "not taken" in told
    assert "bust 92, cup C (75C)" in told
    assert "from the tape" not in told
    legend = page.locator(".legend").inner_text()
    for words in ("taken: read off the tape", "by rule:", "not taken:"):
        assert words in legend
    assert verdict(page).startswith(
        "Do not cut. Not taken: bust, underbust, waist, bust span, bust to underbust, bust to"
    )
    assert "1 × stop" in page.locator("nav.tape").inner_text()


def test_typing_all_six_clears_the_verdict_and_the_tape_can_be_kept(served: Any) -> None:
    page = served()
    assert page.get_by_role("button", name="Keep these readings").count() == 0
    assert "when all are taken. Not taken: bust, underbust" in page.locator("#left").inner_text()
    for n, (key, text) in enumerate(HERS.items(), start=1):
        type_into(page, f"body.{key}", text)
        if n == 5:
            assert "Not taken: bust to waist." in page.locator("#left .untaken").inner_text()
    page.wait_for_selector(".untaken", state="detached")
    assert "not taken" not in verdict(page).lower()
    assert page.locator(".value.not_taken").count() == 0
    assert field(page, "body.waist").evaluate(LINE).startswith("solid")
    page.get_by_role("button", name="Keep these readings").click()
    kept(page)
    page.wait_for_function("() => document.body.innerText.includes('Kept as a tape of Anna')")
    # Emptied, a needed reading is not taken again.
    type_into(page, "body.waist", "")
    page.wait_for_selector(".untaken")
    page.keyboard.press("Tab")
    assert field(page, "body.waist").input_value() == "not taken (74 cm)"
    assert "Not taken: waist." in verdict(page)


def test_escape_takes_a_reading_back_to_not_taken(served: Any) -> None:
    page = served()
    one = field(page, "body.waist")
    one.click()
    page.keyboard.type("70")
    kept(page)
    page.wait_for_selector(".value.measured")
    page.keyboard.press("Escape")
    kept(page)
    page.wait_for_selector(".value.measured", state="detached")
    # Nor does putting back what a rule makes of a stranger's figures keep a reading.
    field(page, "body.hip").click()
    assert field(page, "body.hip").input_value() == ""
    page.keyboard.type("99")
    kept(page)
    page.wait_for_selector(".value.measured")
    page.keyboard.press("Escape")
    kept(page)
    page.wait_for_selector(".value.measured", state="detached")
    one.click()
    # The arrow keys would make a reading of a stranger's figure.
    page.keyboard.press("ArrowUp")
    kept(page)
    assert page.locator(".value.measured").count() == 0


def test_a_standard_size_is_asked_for_with_one_press(served: Any) -> None:
    page = served()
    type_into(page, "body.standard.bust", "104")
    page.get_by_role("button", name="It is for this standard size itself").click()
    kept(page)
    page.wait_for_selector(".untaken", state="detached")
    assert "standard size, bust 104, cup C (85C)" in page.locator("h1").inner_text()
    turn(page, "checks")
    assert "The body is a standard size, bust 104, cup C (85C), as asked for" in page.locator("#left").inner_text()
    turn(page, "tape")
    assert field(page, "body.bust").evaluate(LINE).startswith("double")
    assert page.get_by_role("button", name="Keep these readings").count() == 0
    # Put back, a figure of the size is no reading.
    field(page, "body.bust").click()
    page.keyboard.type("99")
    page.wait_for_selector(".value.measured")
    page.keyboard.press("Escape")
    kept(page)
    page.wait_for_selector(".value.measured", state="detached")
    type_into(page, "body.waist", "70")
    page.wait_for_selector(".untaken")
    assert "standard size" not in page.locator("h1").inner_text()


def test_an_old_order_is_not_taken_until_she_says_that_the_figures_are_hers(served: Any) -> None:
    page = served(OLD)
    assert page.locator(".value.not_taken").count() == 6
    assert "Not taken: bust, underbust" in page.locator("#left .untaken").inner_text()
    page.get_by_role("button", name="These are hers", exact=True).click()
    kept(page)
    page.wait_for_selector(".untaken", state="detached")
    assert page.locator(".value.measured").count() == 6
    page.reload()
    page.wait_for_selector(".panel")
    assert page.locator(".value.measured").count() == 6
    assert page.get_by_role("button", name="Keep these readings").count() == 1
    assert page.get_by_role("button", name="These are hers", exact=True).count() == 0


def test_every_printed_page_of_the_book_says_so(served: Any) -> None:
    page = served()
    for spread in ("shape", "cloth", "money", "tape"):
        turn(page, spread)
        page.emulate_media(media="print")
        shown = [p for p in page.locator(".untaken").all() if p.is_visible()]
        assert len(shown) == 2, spread
        assert all("Do not cut. Not taken: bust, underbust" in p.inner_text() for p in shown)
        page.emulate_media(media="screen")
