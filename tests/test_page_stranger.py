"""What a stranger does to the book: erases under an open window, goes back a long way, signs out midway."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from page_book import field, kept, type_into
from test_page_address import path, shows, start
from test_page_door import at_the_door, log_in, open_server
from test_page_hands import active

Window = Callable[..., Any]
__all__ = ["at_the_door", "open_server"]


def for_client(page: Any, name: str, client: str) -> None:
    """A new order for a new client, in inches."""
    page.get_by_role("button", name="The shelf").click()
    page.get_by_label("A new order, called").fill(name)
    page.get_by_role("combobox", name="The client of the new order").fill(client)
    page.get_by_role("button", name="Start it, with a new client").click()
    shows(page, name)
    page.get_by_label("Lengths in").select_option("in")
    kept(page)


def test_a_client_is_erased_while_her_order_lies_open_in_another_window(book_window: Window) -> None:
    page = book_window()
    mine = page.locator(".order-name").text_content()
    other = page.context.new_page()
    other.goto(page.url)
    other.wait_for_selector(".panel")
    for_client(other, "to be erased", "Quilla")
    other.locator("nav.tape button").first.click()
    type_into(other, "body.waist", "28 3/4")
    page.get_by_role("button", name="The shelf").click()
    page.locator(".people button", has_text="Quilla").click()
    page.locator(".client-card .erase input").fill("Quilla")
    page.get_by_role("button", name="Erase wholly").click()
    page.locator(".people button", has_text="Quilla").wait_for(state="detached")
    # The other window is told at once, in words; nothing of her stays in sight or in the browser.
    other.locator(".shut h1", has_text="Nothing lies at this address").wait_for()
    assert "Quilla" not in other.locator("body").inner_text()
    assert "Quilla" not in other.title()
    assert other.evaluate("Object.keys(localStorage).filter(n => n.includes('waiting'))") == []
    other.locator(".shut a").click()
    shows(other, mine)
    page.keyboard.press("Escape")
    shows(page, mine)
    type_into(page, "style.hem", "10 cm")
    kept(page)


def test_two_windows_on_two_orders_with_edits_in_turn_and_reloads(book_window: Window) -> None:
    first = book_window("tape")
    second = first.context.new_page()
    second.goto(first.url)
    second.wait_for_selector(".panel")
    for_client(second, "hers", "Quilla")
    second.locator("nav.tape button").first.click()
    mine = first.locator(".order-name").text_content()
    held = {first: "", second: ""}
    for n in range(6):
        for page, name, text in ((first, mine, f"7{n} cm"), (second, "hers", f"2{n + 3} 1/2 in")):
            field(page, "body.waist").click()
            page.keyboard.press("Control+a")
            page.keyboard.type(text)
            if n % 2:
                page.keyboard.press("Tab")
            kept(page)
            held[page] = text
            if n % 3 == 1:
                page.reload()
                page.wait_for_selector(".panel")
            for window in (first, second):
                shows(window, mine if window is first else "hers")
                if held[window]:
                    assert field(window, "body.waist").input_value() == held[window]
            assert page.title().split(" · ")[1] == name


def test_back_over_a_deep_chain_and_on_again(book_window: Window) -> None:
    page = book_window("tape")
    start(page, "hers")
    been = [path(page)]
    for n in (1, 2, 7, 3, 0, 4, 5):
        page.locator("nav.tape button").nth(n).click()
        page.wait_for_function("was => location.pathname + location.search !== was", arg=been[-1])
        been.append(path(page))
    page.get_by_role("button", name="The shelf").click()
    page.locator(".people button", has_text="M. T.").click()
    page.locator(".client-card").wait_for()
    page.go_back()
    page.go_back()
    for was in reversed(been[:-1]):
        page.go_back()
        page.wait_for_function("was => location.pathname + location.search === was", arg=was)
        shows(page, "hers")
    for was in been[1:]:
        page.go_forward()
        page.wait_for_function("was => location.pathname + location.search === was", arg=was)
        shows(page, "hers")


def test_signing_out_with_a_refused_text_leaves_nothing_of_it_here(at_the_door: Any) -> None:
    page = at_the_door()
    log_in(page)
    page.wait_for_selector(".panel")
    page.locator("nav.tape button").first.click()
    field(page, "body.waist").click()
    page.keyboard.type("705 furlongs")
    page.locator(".saving.refused").wait_for()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("Password").wait_for()
    stores = "[localStorage, sessionStorage].map(s => JSON.stringify({ ...s })).join()"
    assert page.evaluate(stores) == "{},{}"
    assert "furlongs" not in page.content()
    page.go_back()
    page.wait_for_timeout(300)
    assert "furlongs" not in page.content()
    assert page.locator(".panel").count() == 0


def test_keys_everywhere_in_the_list_of_clients(book_window: Window) -> None:
    """Enter, Escape and Tab in every state of the list: no order is begun by mistake, and the shelf stays."""
    page = book_window()
    page.get_by_role("button", name="The shelf").click()
    page.locator(".order-list .name").first.wait_for()
    page.get_by_label("A new order, called").fill("moss")
    who = page.get_by_role("combobox", name="The client of the new order")
    rows = page.locator("[role=option]")
    # Tab out of an open list takes nothing and closes it; the text stays.
    who.focus()
    page.keyboard.type("m. t")
    rows.first.wait_for()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")
    assert rows.count() == 0
    assert who.input_value() == "m. t"
    assert active(page) != "The client of the new order"
    page.keyboard.press("Shift+Tab")
    assert active(page) == "The client of the new order"
    assert rows.count() == 0
    # Past both ends of the list, and a row that typing has taken away.
    for key in ("ArrowUp", "ArrowUp", "ArrowUp", "ArrowDown", "ArrowDown", "ArrowDown", "ArrowDown"):
        page.keyboard.press(key)
        assert who.get_attribute("aria-activedescendant") is not None
    who.fill("m. t")
    page.keyboard.press("ArrowDown")
    page.keyboard.type("zzz")
    assert who.get_attribute("aria-activedescendant") is None
    # Escape: the list first, what was typed stays, then the shelf.
    page.keyboard.press("Escape")
    assert rows.count() == 0
    assert who.input_value() == "m. tzzz"
    assert page.locator("dialog[open]").count() == 1
    page.keyboard.press("Escape")
    page.locator("dialog").wait_for(state="detached")
    assert page.locator(".order-name").text_content() == "sea-green bustier"
    # Enter upon a row chooses, a second one begins the order.
    page.get_by_role("button", name="The shelf").click()
    page.get_by_label("A new order, called").fill("moss")
    who.focus()
    page.keyboard.type("m")
    rows.first.wait_for()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    assert who.input_value() == "M. T."
    assert page.locator("dialog[open]").count() == 1
    page.keyboard.press("Enter")
    shows(page, "moss")
    page.locator(".for-whom", has_text="M. T.").wait_for()


def test_two_tapes_of_one_day(book_window: Window) -> None:
    page = book_window("tape", locale="en-GB")
    form = page.locator(".keep-tape")
    for waist, note in (("71 cm", "before lunch"), ("73 cm", "after lunch")):
        type_into(page, "body.waist", waist)
        form.get_by_label("Taken on").fill("2026-02-14")
        form.get_by_label("Note").fill(note)
        with page.expect_response(lambda r: r.url.endswith("/tape") and r.request.method == "POST") as answer:
            form.get_by_role("button").click()
        assert answer.value.ok
    page.get_by_role("button", name="The shelf").click()
    page.locator(".people button", has_text="M. T.").click()
    page.wait_for_function("() => document.querySelectorAll('.tapes > li').length === 2")
    page.get_by_role("button", name="Two tapes side by side").click()
    table = page.locator(".two-tapes table")
    table.wait_for()
    row = table.locator("tr", has_text="waist girth").first
    assert row.locator("td").all_inner_texts() == ["71 cm", "73 cm", "+2 cm"]
    heads = [" ".join(text.split()) for text in table.locator("thead th").all_inner_texts()]
    assert heads[1:3] == ["14 February 2026 before lunch", "14 February 2026 after lunch"]
    # A new order begins with the later one of the day.
    page.get_by_label("A new order, called").fill("moss")
    page.get_by_role("button", name="Start it").click()
    shows(page, "moss")
    assert field(page, "body.waist").input_value() == "73 cm"
