"""Answers that come late, in another order than they were asked for, or not at all: the page shows what is so."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from page_book import Faults, field, kept, net, serving, watched

Window = Callable[..., Any]

LAID = """async () => {
    const order = (await (await fetch('/api/session')).json()).open;
    return (await (await fetch(`/api/orders/${order}/lays`)).json()).lays.state === 'done';
}"""


def until(page: Any, so: Callable[[], bool]) -> None:
    """Wait, with the page going on, until it is so."""
    for _ in range(600):
        if so():
            return
        page.wait_for_timeout(50)
    raise AssertionError("it never was so")


class Held:
    """The answer to the first of the calls that is one `of` these is fetched from the server and kept back."""

    def __init__(self, page: Any, calls: str, of: Callable[[Any], bool] = lambda r: r.method == "POST") -> None:
        self.page = page
        self.of = of
        self.answer: tuple[Any, Any] | None = None
        page.route(calls, self._catch)

    def _catch(self, route: Any) -> None:
        if self.answer is None and self.of(route.request):
            self.answer = (route, route.fetch())
        else:
            route.continue_()

    def caught(self) -> None:
        """Wait until the server has answered."""
        until(self.page, lambda: self.answer is not None)

    def let_go(self) -> None:
        assert self.answer is not None
        route, answer = self.answer
        route.fulfill(response=answer)


def test_an_old_answer_never_overwrites_a_newer_one(book_window: Window) -> None:
    """The first of two edits is answered late: the second still stands at the end, in the field and in the drawing."""
    page = book_window("shape")
    held: list[Any] = []

    def slow(route: Any) -> None:
        if not held:
            held.append(route)
            # Its answer is fetched, and waits while she types on.
            answer = route.fetch()
            page.wait_for_timeout(600)
            route.fulfill(response=answer)
        else:
            route.continue_()

    page.route("**/edit", slow)
    one = field(page, "style.plunge")
    one.click()
    one.fill("6 cm")
    one.fill("6.5 cm")
    one.fill("5.5 cm")
    kept(page)
    page.wait_for_timeout(800)
    assert one.input_value() == "5.5 cm"
    field(page, "style.hem").click()
    assert field(page, "style.plunge").input_value() == "5.5 cm"
    page.unroute("**/edit")
    drawn = net(page)
    page.reload()
    page.wait_for_selector(".panel")
    assert net(page) == drawn


def test_typing_faster_than_the_server_answers_sends_the_last_text(book_window: Window) -> None:
    page = book_window("tape")
    field(page, "body.bust").click()
    page.keyboard.type("97.5 cm", delay=5)
    kept(page)
    page.reload()
    page.wait_for_selector(".panel")
    assert field(page, "body.bust").input_value() == "97.5 cm"


def test_a_refusal_of_half_a_number_is_not_told_of_the_whole(book_window: Window) -> None:
    """9 is refused late, when 97 is typed already and taken: nothing is said, and 97 is shown."""
    page = book_window("tape")
    half = Held(page, "**/edit")
    field(page, "body.bust").click()
    page.keyboard.type("9")
    half.caught()
    page.keyboard.type("7")
    half.let_go()
    kept(page)
    page.keyboard.press("Enter")
    # Longer than a refusal waits for her to rest.
    page.wait_for_timeout(1200)
    assert field(page, "body.bust").input_value() == "97 cm"
    assert page.locator(".beside.stop").count() == 0


def test_half_a_number_that_is_left_is_refused_though_she_types_on_elsewhere(book_window: Window) -> None:
    page = book_window("tape")
    field(page, "body.bust").click()
    page.keyboard.type("9")
    kept(page)
    page.keyboard.press("Enter")
    page.keyboard.type("79")
    page.locator(".sentence", has=field(page, "body.bust")).locator(".beside.stop", has_text="9.0 cm").wait_for()
    assert field(page, "body.bust").input_value() == "9"


def type_while_away(page: Any) -> None:
    """The line breaks, and a bust of 98 cm waits for it."""
    page.route("**/edit", lambda route: route.abort())
    field(page, "body.bust").click()
    field(page, "body.bust").fill("98 cm")
    page.locator(".saving.away").wait_for()


def test_a_server_that_is_away_loses_nothing(book_window: Window) -> None:
    """The line breaks while she types; what she typed waits and is sent when the line is back."""
    page = book_window("tape")
    type_while_away(page)
    field(page, "body.waist").click()
    field(page, "body.waist").fill("71 cm")
    page.unroute("**/edit")
    kept(page)
    assert field(page, "body.bust").input_value() == "98 cm"
    page.reload()
    page.wait_for_selector(".panel")
    assert [field(page, f"body.{k}").input_value() for k in ("bust", "waist")] == ["98 cm", "71 cm"]


def test_kept_is_said_only_when_nothing_waits(book_window: Window) -> None:
    """Two values wait for a server that was away; when the first is in the book, the second still is not."""
    page = book_window("tape")
    type_while_away(page)
    field(page, "body.waist").fill("71 cm")
    second = Held(page, "**/edit", of=lambda request: request.post_data_json["key"] == "body.waist")
    second.caught()
    page.wait_for_timeout(200)
    assert page.locator(".saving.kept").count() == 0
    second.let_go()
    kept(page)


def test_a_page_with_edits_that_wait_is_not_closed_unasked(book_window: Window) -> None:
    page = book_window("tape")
    type_while_away(page)
    with page.expect_event("dialog") as asked:
        page.close(run_before_unload=True)
    assert asked.value.type == "beforeunload"
    asked.value.dismiss()
    page.unroute("**/edit")
    kept(page)
    # Nothing waits any more: it closes without a word.
    with page.expect_event("close"):
        page.close(run_before_unload=True)


def test_the_page_says_when_the_book_is_closed(browser: Any, tmp_path: Path) -> None:
    faults = Faults()
    context = browser.new_context()
    with serving(tmp_path / "book.db") as server:
        page = watched(context.new_page(), faults, server.address)
        page.goto(server.link())
        page.wait_for_selector(".panel")
        page.wait_for_timeout(300)
    page.locator(".shut", has_text="coutil open").wait_for()
    context.close()


def look(page: Any) -> str:
    return str(page.evaluate("document.documentElement.dataset.look"))


def test_choices_made_faster_than_they_are_kept_stay_made(book_window: Window) -> None:
    """The answer to the first of three choices is late: all of them hold, on the page and when it is opened again."""
    page = book_window("shape")
    first = Held(page, "**/api/settings")
    page.get_by_role("combobox", name="Paper").select_option("light")
    first.caught()
    page.get_by_role("combobox", name="Paper").select_option("dark")
    page.get_by_role("combobox", name="Lengths in").select_option("in")
    page.wait_for_timeout(300)
    first.let_go()
    page.wait_for_function("() => document.querySelector('[data-key=\"style.cup_height\"]').value.endsWith('in')")
    assert look(page) == "dark"
    page.reload()
    page.wait_for_selector(".panel")
    assert look(page) == "dark"
    assert field(page, "style.cup_height").input_value().endswith("in")


def test_a_lay_that_is_done_before_its_beginning_is_told(book_window: Window) -> None:
    """The news of the end overtake the answer to the call that began it: the page does not wait for ever."""
    page = book_window("cloth")
    page.locator(".laying select").select_option("5")
    begun = Held(page, "**/lays")
    page.locator(".laying .sewn").click()
    begun.caught()
    until(page, lambda: page.evaluate(LAID))
    page.wait_for_timeout(300)
    begun.let_go()
    page.wait_for_timeout(300)
    page.locator(".laying .says", has_text="Everything is laid.").wait_for()
    assert page.locator(".laying progress").count() == 0
    assert page.locator(".on-cloth .cut").count() > 0


def test_the_shelf_says_when_the_book_does_not_answer(book_window: Window) -> None:
    page = book_window("tape")
    page.get_by_role("button", name="The shelf").click()
    page.locator(".people button", has_text="M. T.").click()
    label = page.locator(".client-card form input").first
    label.wait_for()
    page.route("**/api/clients/*", lambda route: route.abort())
    label.fill("Renamed while away")
    label.press("Enter")
    page.locator(".told", has_text="The book does not answer.").wait_for()
    page.unroute("**/api/clients/*")
    label.press("Enter")
    page.locator(".people button", has_text="Renamed while away").wait_for()
    assert page.locator(".told").count() == 0


def test_the_shelf_shows_what_was_asked_last(book_window: Window) -> None:
    """The list for the first words comes after the list for the words that followed."""
    page = book_window("tape")
    page.get_by_role("button", name="The shelf").click()
    page.locator(".order-list li").first.wait_for()
    first = Held(page, "**/api/orders?find=*", of=lambda request: True)
    find = page.locator(".find input")
    find.fill("no order bears this")
    first.caught()
    find.fill("")
    page.wait_for_timeout(300)
    first.let_go()
    page.wait_for_timeout(300)
    assert page.locator(".order-list li").count() > 0
