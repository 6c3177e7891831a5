"""A refusal restores what the field had when it was taken in hand: a beginning of what was typed never stays."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from page_book import field, kept, type_into, version
from test_page_late import Held, until

Window = Callable[..., Any]

REFUSED = ".saving.refused"


def in_inches(page: Any) -> None:
    page.get_by_role("combobox", name="Lengths in").select_option("in")
    page.wait_for_function("() => document.querySelector('[data-key=\"body.waist\"]').value.endsWith('in')")


def take(page: Any, key: str) -> Any:
    """The field's section unfolded, the field in hand."""
    one = field(page, key)
    one.evaluate("e => { const fold = e.closest('details'); if (fold) fold.open = true; }")
    one.click()
    return one


def nets(page: Any) -> list[str]:
    """The cut lines of all panels as they are drawn now."""
    drawn: list[str] = page.locator(".panel .cut").evaluate_all("all => all.map(e => e.getAttribute('d'))")
    return drawn


def step(page: Any) -> str:
    return str(page.locator("button[aria-keyshortcuts='Control+Z']").get_attribute("title"))


def test_half_a_length_is_not_kept_when_the_whole_is_refused(book_window: Window) -> None:
    """In inches, 45 for the length of the side: 4 was taken while she typed, and must not be what is cut."""
    page = book_window("tape")
    in_inches(page)
    before, drawn, undo = field(page, "body.side_length").input_value(), nets(page), step(page)
    take(page, "body.side_length")
    page.keyboard.type("4")
    kept(page)
    assert nets(page) != drawn, "4 in can be used, so it is drawn while she types"
    page.keyboard.type("5")
    page.locator(REFUSED).wait_for()
    page.wait_for_function(
        f"() => document.querySelector('.beside.stop')?.textContent.includes('The drawing uses {before}')"
    )
    assert nets(page) == drawn
    assert field(page, "body.side_length").input_value() == "45"
    assert page.locator(".saving.kept").count() == 0
    page.keyboard.press("Tab")
    page.reload()
    page.wait_for_selector(".panel")
    assert nets(page) == drawn
    assert field(page, "body.side_length").input_value() == "45"
    page.locator(".beside.stop", has_text=f"The drawing uses {before}").wait_for()
    # One step back lets the refused text go; there is nothing else to take back.
    page.keyboard.press("Control+z")
    page.wait_for_selector(".saving.kept")
    assert field(page, "body.side_length").input_value() == before
    assert step(page) == undo


def test_half_a_tax_is_not_kept(book_window: Window) -> None:
    page = book_window("money")
    before = page.evaluate(STANDS, "money.tax")
    take(page, "money.tax")
    page.keyboard.type("8.875", delay=40)
    page.locator(REFUSED).wait_for()
    page.locator(".beside.stop", has_text=f"The order says {before}").wait_for()
    assert page.evaluate(STANDS, "money.tax") == before


STANDS = """async key => {
    const order = location.pathname.split('/')[2];
    return (await (await fetch(`/api/orders/${order}`)).json()).values[key].text;
}"""


def test_escape_leaves_neither_value_nor_step(book_window: Window) -> None:
    page = book_window("tape")
    before, drawn, undo = field(page, "body.waist").input_value(), nets(page), step(page)
    take(page, "body.waist")
    page.keyboard.type("75.5", delay=60)
    kept(page)
    page.keyboard.press("Escape")
    kept(page)
    assert (field(page, "body.waist").input_value(), nets(page), step(page)) == (before, drawn, undo)


def test_a_typed_value_is_one_step_and_the_one_before_is_another(book_window: Window) -> None:
    """Two hands on one value, within the minute: each is one step back."""
    page = book_window("tape")
    before = field(page, "body.waist").input_value()
    for text in ("74 cm", "75 cm"):
        take(page, "body.waist")
        page.keyboard.type(text, delay=30)
        kept(page)
        page.keyboard.press("Tab")
    for stands in ("74 cm", before):
        page.keyboard.press("Control+z")
        page.wait_for_function(f"() => document.querySelector('[data-key=\"body.waist\"]').value === '{stands}'")


def test_a_beginning_does_not_stay_though_the_line_breaks(book_window: Window) -> None:
    """74 is taken; its rest cannot be sent, and goes in later: the order has what it had before the hand."""
    page = book_window("tape")
    before = field(page, "body.waist").input_value()
    take(page, "body.waist")
    page.keyboard.type("74")
    kept(page)
    page.route("**/edit", lambda route: route.abort())
    page.keyboard.type("5 cm")
    page.locator(".saving.away").wait_for()
    page.unroute("**/edit")
    page.locator(REFUSED).wait_for()
    assert page.evaluate(STANDS, "body.waist") == before
    assert field(page, "body.waist").input_value() == "745 cm"


def test_an_answer_that_is_lost_is_no_conflict(book_window: Window) -> None:
    """The book took 74 but its answer was lost; 745 is refused all the same, and nobody is asked."""
    page = book_window("tape")
    before = field(page, "body.waist").input_value()
    lost: list[Any] = []

    def lose(route: Any) -> None:
        if lost:
            route.continue_()
        else:
            lost.append(route.fetch())
            route.abort()

    page.route("**/edit", lose)
    take(page, "body.waist")
    page.keyboard.type("74")
    until(page, lambda: bool(lost))
    page.keyboard.type("5")
    page.locator(REFUSED).wait_for()
    assert page.locator(".conflict").count() == 0
    assert page.evaluate(STANDS, "body.waist") == before


def test_kept_is_never_said_while_a_refusal_is_on_its_way(book_window: Window) -> None:
    page = book_window("tape")
    held = Held(page, "**/edit")
    take(page, "body.waist")
    page.keyboard.type("0")
    held.caught()
    assert page.locator(".saving.kept").count() == 0
    page.evaluate(
        """() => { window.said = []; new MutationObserver(() => said.push(document.querySelector('.saving').className))
        .observe(document.querySelector('.head'), { subtree: true, attributes: true, childList: true }); }"""
    )
    held.let_go()
    page.locator(REFUSED).wait_for()
    assert not any("kept" in name for name in page.evaluate("said"))
    page.keyboard.press("Tab")
    type_into(page, "body.waist", "74 cm")
    page.wait_for_selector(".saving.kept")
    assert version(page) > 1


def test_a_refusal_goes_once_another_window_has_mended_it(book_window: Window) -> None:
    """What was refused here was written over there: this window shows what holds, and says that all is kept."""
    page, other = book_window("tape"), book_window("tape")
    type_into(page, "body.hip_depth", "205")
    page.locator(REFUSED).wait_for()
    page.locator("#spread-title").click()
    other.wait_for_function("() => document.querySelector('[data-key=\"body.hip_depth\"]').value === '205'")
    type_into(other, "body.hip_depth", "19 cm")
    # A value that is in hand stays hers, whatever comes from elsewhere: it is laid down.
    other.locator("#spread-title").click()
    page.wait_for_function("() => document.querySelector('[data-key=\"body.hip_depth\"]').value === '19 cm'")
    page.locator(".saving.kept").wait_for()
    assert page.locator(".beside.stop").count() == 0
    # Another refused text from there stands here as well.
    type_into(page, "body.hip_depth", "205")
    page.locator(REFUSED).wait_for()
    page.locator("#spread-title").click()
    other.wait_for_function("() => document.querySelector('[data-key=\"body.hip_depth\"]').value === '205'")
    other.wait_for_function("v => document.documentElement.dataset.version === v", arg=str(version(page)))
    type_into(other, "body.hip_depth", "305")
    page.wait_for_function("() => document.querySelector('[data-key=\"body.hip_depth\"]').value === '305'")
    page.locator(REFUSED).wait_for()
