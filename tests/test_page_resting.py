"""What she is typing stays hers while she rests, whatever comes from elsewhere meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

import coutil.web.app
from page_book import field, kept, type_into

Window = Callable[..., Any]


def shows(page: Any, key: str, text: str) -> None:
    """Wait until a field holds a text."""
    page.wait_for_function(
        "([key, text]) => document.querySelector(`[data-key='${key}']`).value === text", arg=[key, text]
    )


def test_news_of_another_value_leave_a_half_typed_text_alone(book_window: Window) -> None:
    # "10" was shown anew as "10 cm", and marked: the rest of "100 mm" replaced it, was refused, and "4 in" stayed.
    one, other = book_window("tape"), book_window("tape")
    depth = field(one, "body.high_hip_depth")
    type_into(one, "body.high_hip_depth", "4 in")
    one.keyboard.press("Tab")
    kept(one)
    depth.click()
    one.keyboard.type("10")
    kept(one)
    type_into(other, "body.waist", "71 cm")
    shows(one, "body.waist", "71 cm")
    assert depth.input_value() == "10"
    one.keyboard.type("0 mm")
    kept(one)
    one.keyboard.press("Tab")
    kept(one)
    assert depth.input_value() == "100 mm"
    shows(other, "body.high_hip_depth", "100 mm")


def test_another_windows_value_is_shown_where_she_rests(book_window: Window) -> None:
    one, other = book_window("tape"), book_window("tape")
    field(one, "body.waist").click()
    one.keyboard.type("70")
    kept(one)
    type_into(other, "body.waist", "71 cm")
    shows(one, "body.waist", "71 cm")
    # And Escape goes back to that one.
    one.keyboard.type("69")
    kept(one)
    one.keyboard.press("Escape")
    shows(one, "body.waist", "71 cm")
    kept(one)
    shows(other, "body.waist", "71 cm")


def test_a_refused_text_is_told_when_its_field_is_left(book_window: Window) -> None:
    page = book_window("tape")
    # The rest in which half a number is no mistake yet never ends.
    page.clock.install()
    page.clock.pause_at("2100-01-01")
    field(page, "body.waist").click()
    with page.expect_response("**/edit"):
        page.keyboard.type("x")
    page.wait_for_function("() => document.querySelector('.saving').classList.contains('keeping')")
    page.keyboard.press("Tab")
    page.wait_for_selector(".saving.refused")
    assert field(page, "body.waist").input_value() == "x"


def test_a_refused_text_is_shown_at_once_in_another_window(
    monkeypatch: pytest.MonkeyPatch, browser: Any, tmp_path: Any
) -> None:
    from page_book import serving, windows

    # Not by the look into the book that finds what other programs did.
    monkeypatch.setattr(coutil.web.app, "_LOOK", 3600.0)
    with serving(tmp_path / "book.db") as server, windows(browser, server) as window:
        one, other = window("tape"), window("tape")
        type_into(one, "body.waist", "70x")
        shows(other, "body.waist", "70x")
        other.wait_for_selector(".saving.refused")
        # Nothing of the order has changed, so nothing is said of a change.
        assert other.locator(".heard").inner_text() == ""


def test_what_is_typed_while_an_undo_is_on_its_way_stands_upon_it(book_window: Window) -> None:
    page = book_window("tape")
    type_into(page, "body.waist", "71 cm")
    page.keyboard.press("Tab")
    kept(page)
    field(page, "body.waist").click()
    page.keyboard.type("72")
    kept(page)
    held: list[Any] = []
    page.route("**/undo", lambda route: held.append(route))
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+a")
    page.keyboard.type("69")
    page.wait_for_function("() => document.querySelector('[data-key=\"body.waist\"]').value === '69'")
    while not held:
        page.wait_for_timeout(10)
    with page.expect_response("**/undo"):
        held[0].continue_()
    page.unroute("**/undo")
    # Typed on before and after the answer.
    page.wait_for_timeout(300)
    page.keyboard.type("0 mm")
    kept(page)
    page.keyboard.press("Tab")
    kept(page)
    assert page.locator(".conflict").count() == 0
    shows(page, "body.waist", "690 mm")
    # One step back is what stood after the undo.
    page.keyboard.press("Control+z")
    shows(page, "body.waist", "71 cm")
