"""What a window shows stands in its address: a reload, a step back, a kept link, two windows show what they showed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest

from coutil.book import open_book
from coutil.web.links import own
from coutil.web.server import Running, running
from page_book import DESK, Faults, field, kept, watched

Window = Callable[..., Any]


def start(page: Any, name: str) -> None:
    """A new order, from the shelf."""
    page.get_by_role("button", name="The shelf").click()
    page.get_by_role("textbox", name="A new order, called").fill(name)
    page.locator(".orders form.new button").click()
    shows(page, name)


def shows(page: Any, name: str) -> None:
    page.wait_for_function("name => document.querySelector('.order-name')?.textContent === name", arg=name)


def path(page: Any) -> str:
    return str(page.evaluate("location.pathname + location.search"))


def test_two_windows_with_two_orders_keep_them(book_window: Window) -> None:
    """The second window works on another order; the first one reloads, types, and it is its own order that changes."""
    first = book_window("tape")
    mine = first.locator(".order-name").text_content()
    second = first.context.new_page()
    second.goto(first.url)
    second.wait_for_selector(".panel")
    start(second, "the other one")
    field(second, "body.waist").click()
    field(second, "body.waist").fill("81 cm")
    kept(second)
    first.reload()
    first.wait_for_selector(".panel")
    shows(first, mine)
    field(first, "body.waist").click()
    field(first, "body.waist").fill("72 cm")
    kept(first)
    second.reload()
    second.wait_for_selector(".panel")
    shows(second, "the other one")
    assert field(second, "body.waist").input_value() == "81 cm"
    assert "the other one" in second.title()
    assert mine in first.title()


def test_a_reload_shows_the_same_order_spread_and_page(book_window: Window) -> None:
    page = book_window()
    start(page, "hers")
    page.locator("nav.tape button").nth(7).click()
    page.get_by_role("button", name="Next").click()
    title = page.locator(".lesson h3").text_content()
    assert path(page).endswith("/lesson/2")
    page.reload()
    page.wait_for_selector(".lesson h3")
    shows(page, "hers")
    assert page.locator(".lesson h3").text_content() == title
    page.get_by_role("button", name="Pages before").click()
    page.reload()
    page.locator("dialog .versions li").first.wait_for()
    page.keyboard.press("Escape")
    page.wait_for_url("**/lesson/2")


def test_back_and_on_go_through_orders_spreads_and_cards(book_window: Window) -> None:
    page = book_window("tape")
    mine = page.locator(".order-name").text_content()
    start(page, "hers")
    page.locator("nav.tape button").nth(1).click()
    page.get_by_role("button", name="The shelf").click()
    page.locator(".people button", has_text="M. T.").click()
    card = page.locator(".client-card h3").text_content()
    page.reload()
    page.locator(".client-card h3", has_text=card).wait_for()
    page.go_back()
    page.locator(".client-card").wait_for(state="detached")
    page.go_back()
    page.locator("dialog").wait_for(state="detached")
    assert path(page).endswith("/shape")
    page.go_back()
    page.wait_for_function("() => document.documentElement.dataset.spread === 'tape'")
    shows(page, "hers")
    page.go_back()
    page.go_back()
    shows(page, mine)
    page.go_forward()
    page.go_forward()
    shows(page, "hers")


def test_what_is_typed_while_another_order_is_on_its_way_stays_with_its_own(book_window: Window) -> None:
    """The sheet of the other order is late; the value typed meanwhile is the first order's."""
    page = book_window("tape")
    mine, link = page.locator(".order-name").text_content(), page.url
    start(page, "hers")
    other = page.url
    before = field(page, "body.waist").input_value()
    page.goto(link)
    page.wait_for_selector(".panel")
    held: list[Any] = []
    page.route(f"**/api/orders/{other.split('/')[4]}?*", lambda route: held.append(route))
    page.evaluate("to => { history.pushState(null, '', to); dispatchEvent(new PopStateEvent('popstate')); }", other)
    page.wait_for_timeout(300)
    assert held
    field(page, "body.waist").click()
    field(page, "body.waist").fill("73 cm")
    held[0].continue_()
    page.unroute_all()
    shows(page, "hers")
    kept(page)
    assert field(page, "body.waist").input_value() == before
    page.goto(link)
    shows(page, mine)
    assert field(page, "body.waist").input_value() == "73 cm"


@pytest.mark.parametrize(
    "wrong", ["/order/o999999/tape", "/order/o1/nothing", "/ordre", "/order/o1/lesson/x", "/order/o1/tape?over=x"]
)
def test_a_wrong_address_is_told_in_words(book_window: Window, wrong: str) -> None:
    page = book_window("tape")
    answer = page.goto(page.url.split("/order")[0] + wrong)
    assert answer.status == 404
    assert page.locator("h1").text_content() == "Nothing lies at this address"
    page.locator("main a").click()
    page.wait_for_selector(".panel")


def test_an_order_that_is_erased_meanwhile_is_told_in_words(book_window: Window) -> None:
    page = book_window("tape")
    mine = page.locator(".order-name").text_content()
    start(page, "to be erased")
    page.get_by_role("button", name="The shelf").click()
    row = page.locator(".order-list li.now")
    row.locator("button[aria-expanded]").click()
    row.locator(".erase input").fill("to be erased")
    row.locator(".erase button").click()
    shows(page, mine)
    page.go_back()
    page.locator(".shut h1", has_text="Nothing lies at this address").wait_for()
    page.locator(".shut a").click()
    shows(page, mine)


def test_an_order_that_is_erased_is_told_at_once_in_other_windows(book_window: Window) -> None:
    one, other = book_window("tape"), book_window("tape")
    status = one.evaluate(
        """async name => {
            const { token } = await (await fetch('/api/session')).json();
            const order = location.pathname.split('/')[2];
            const headers = { 'Content-Type': 'application/json', 'X-Coutil-Token': token };
            const wish = { method: 'POST', headers, body: JSON.stringify({ name }) };
            return (await fetch(`/api/orders/${order}/erase`, wish)).status;
        }""",
        one.locator(".order-name").text_content(),
    )
    assert status == 200
    # Nothing is done in the other window: it hears of it.
    other.locator(".shut h1", has_text="Nothing lies at this address").wait_for()


# --- the door


def test_the_link_leads_to_the_address_that_was_wanted(browser: Any, page_server: Running) -> None:
    faults = Faults()
    context = browser.new_context(viewport=DESK)
    page = watched(context.new_page(), faults, page_server.address)
    with httpx.Client(base_url=page_server.address) as window:
        window.get(page_server.link())
        order = window.get("/api/session", follow_redirects=True).json()["open"]
    answer = page.goto(f"{page_server.address}/order/{order}/cloth")
    assert answer.status == 401
    page.goto(page_server.link())
    page.wait_for_selector(".laying")
    assert path(page) == f"/order/{order}/cloth"
    # Only once: the next link leads to the order worked on last.
    context.clear_cookies(name=f"coutil-{page_server.port}")
    page.goto(page_server.link())
    page.wait_for_selector(".panel")
    assert path(page) == f"/order/{order}/tape"
    assert faults == []
    context.close()


def test_the_password_leads_to_the_address_that_was_wanted(tmp_path: Path) -> None:
    with (
        open_book(tmp_path / "book.db") as book,
        running(book, listen="0.0.0.0", password="a long password") as server,
        httpx.Client(base_url=f"http://127.0.0.1:{server.port}", timeout=30.0) as stranger,
    ):
        origin = {"Origin": f"http://127.0.0.1:{server.port}"}
        door = stranger.get("/order/o1/shape?over=versions")
        assert door.status_code == 401
        assert 'value="/order/o1/shape?over=versions"' in door.text
        wrong = stranger.post("/login", data={"password": "x", "to": "/order/o1/shape"}, headers=origin)
        assert 'value="/order/o1/shape"' in wrong.text
        for to, leads in (
            ("/order/o1/shape?over=versions", "/order/o1/shape?over=versions"),
            ("//evil.example/order/o1/tape", "/"),
            ("https://evil.example/", "/"),
            ("/order/o1/tape\r\nSet-Cookie: a=b", "/"),
            ("/api/book/export", "/"),
        ):
            entered = stranger.post("/login", data={"password": "a long password", "to": to}, headers=origin)
            assert (entered.status_code, entered.headers["location"]) == (303, leads), to


def test_nobody_outside_learns_which_orders_there_are(page_server: Running) -> None:
    with httpx.Client(base_url=page_server.address) as stranger:
        answers = [stranger.get(p) for p in ("/order/o1/tape", "/order/o999/tape", "/order/o1/nothing", "/nonsense")]
    assert {(a.status_code, a.text) for a in answers} == {(401, answers[0].text)}


@pytest.mark.parametrize(
    "wanted",
    [
        *("", "/", "//x", "/\\x", "/order/o1/tape/..", "/order/o0/tape", "/order/o1/tape?over=shelf&over=keys"),
        *("/order/o١/tape", "/order/o1/tape#x", "/order/o1/lesson/0", "/order/o1/tape?over=" + "x" * 300),
        "/order/o1/tape?client=c1",
    ],
)
def test_the_door_leads_to_no_other_place(wanted: str) -> None:
    assert own(wanted) in ("/", "/order/o1/tape")
