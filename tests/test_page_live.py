"""The page while she works: impossible values, undo, arrows, lines in hand, drags given up, light and dark."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from page_book import field, handle, kept, middle, net, turn, type_into, version

Window = Callable[..., Any]


def test_an_impossible_value_keeps_the_last_good_drawing(book_window: Window) -> None:
    page = book_window("shape")
    before = net(page)
    type_into(page, "style.plunge", "40 cm")
    said = page.locator(".beside.stop", has_text="40.0 cm")
    said.wait_for()
    assert "it may lie from ≈18.4 cm (≈7 1/4 in) below the underbust to 16.3 cm" in said.inner_text(), (
        "what is allowed is not said"
    )
    assert net(page) == before
    assert field(page, "style.plunge").input_value() == "40 cm"
    assert field(page, "style.plunge").get_attribute("aria-invalid") == "true"
    # Leaving the field, turning the page and coming back loses nothing.
    field(page, "style.hem").click()
    turn(page, "pads")
    turn(page, "shape")
    assert field(page, "style.plunge").input_value() == "40 cm"
    # A value that is possible mends it.
    type_into(page, "style.plunge", "6 1/2 cm")
    said.wait_for(state="detached")
    assert net(page) != before


def test_what_was_refused_is_still_there_after_a_reload(book_window: Window) -> None:
    page = book_window("shape")
    type_into(page, "style.plunge", "40 cm")
    page.locator(".beside.stop").wait_for()
    page.reload()
    page.wait_for_selector(".panel")
    assert field(page, "style.plunge").input_value() == "40 cm"
    assert "40 cm" in page.locator(".beside.stop").inner_text()
    # Escape takes the value back that the order has.
    field(page, "style.plunge").click()
    page.keyboard.press("Escape")
    page.locator(".beside.stop").wait_for(state="detached")
    assert field(page, "style.plunge").input_value() == "7 cm"


def test_a_refused_text_goes_in_when_another_value_makes_room_for_it(book_window: Window) -> None:
    page = book_window("shape")
    # Under the top as it is the plunge ends below this; a higher cup makes room.
    type_into(page, "style.plunge", "17.5 cm")
    page.locator(".beside.stop", has_text="17.5 cm").wait_for()
    type_into(page, "style.cup_height", "8 cm")
    page.locator(".beside.stop").wait_for(state="detached")
    assert field(page, "style.plunge").input_value() == "17.5 cm"
    page.reload()
    page.wait_for_selector(".panel")
    assert field(page, "style.plunge").input_value() == "17.5 cm"
    assert page.locator(".beside.stop").count() == 0


def test_undo_and_redo_of_values_choices_and_drags(book_window: Window) -> None:
    page = book_window("shape")
    start = net(page)
    type_into(page, "style.plunge", "6 cm")
    field(page, "style.neckline").click()
    page.get_by_role("option", name="straight").click()
    kept(page)
    grip = handle(page, "top at the side seam")
    x, y = middle(grip)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 30, steps=4)
    page.mouse.up()
    kept(page)
    page.wait_for_function("() => document.querySelector('[data-key=\"style.side_top\"]').value !== '18 cm'")
    end = net(page, 1)

    for _ in range(3):
        page.keyboard.press("Control+z")
        kept(page)
    assert net(page) == start
    assert field(page, "style.plunge").input_value() == "7 cm"
    assert page.get_by_role("button", name="Undo").is_disabled()
    for _ in range(3):
        page.keyboard.press("Control+Shift+z")
        kept(page)
    assert net(page, 1) == end
    assert page.get_by_role("button", name="Redo").is_disabled()


def test_one_stay_in_a_field_is_one_step_back(book_window: Window) -> None:
    page = book_window("tape")
    field(page, "body.waist").click()
    for text in ("7", "71", "71.", "71.5"):
        field(page, "body.waist").fill(text)
        kept(page)
    field(page, "body.bust").click()
    page.keyboard.press("Control+z")
    kept(page)
    assert field(page, "body.waist").input_value() == "70.5 cm"


def test_arrow_keys_nudge_by_what_the_server_says(book_window: Window) -> None:
    page = book_window("shape")
    field(page, "style.hem").click()
    for _ in range(3):
        page.keyboard.press("ArrowUp")
    kept(page)
    assert field(page, "style.hem").input_value() == "9.3 cm"
    page.keyboard.press("Shift+ArrowDown")
    kept(page)
    assert field(page, "style.hem").input_value() == "8.3 cm"
    turn(page, "pads")
    field(page, "build.allowance").click()
    page.keyboard.press("ArrowUp")
    kept(page)
    assert field(page, "build.allowance").input_value() == "9/16 in"


def test_an_assumed_value_looks_and_sounds_different(book_window: Window) -> None:
    page = book_window("tape")
    style = "e => [getComputedStyle(e).fontStyle, getComputedStyle(e).borderBottomStyle]"
    page.locator("details.section summary").first.click()
    assumed = page.locator(".value.assumed input").first
    measured = field(page, "body.bust")
    assert assumed.evaluate(style) == ["italic", "dotted"]
    assert measured.evaluate(style) == ["normal", "solid"]
    assumed.focus()
    assert "by rule" in page.locator("#in-hand").inner_text()
    measured.focus()
    told = page.locator("#in-hand").inner_text()
    assert "taken, from the tape" in told
    assert "by rule" not in told


def test_a_value_in_hand_lights_its_lines_and_a_line_brings_its_sentence(book_window: Window) -> None:
    page = book_window("shape")
    assert page.locator(".lit path").count() == 0
    field(page, "style.hem").focus()
    page.locator(".lit path").first.wait_for(state="attached")
    page.locator('.lines path[aria-label^="top, centre front"]').first.dispatch_event("click")
    page.wait_for_function("() => document.activeElement?.dataset?.key?.startsWith('style.')")
    # A level of the body stands on another spread: the book turns to it.
    page.locator('.lines path[aria-label^="bust, centre front"]').first.dispatch_event("click")
    page.wait_for_function("() => document.activeElement?.dataset?.key?.startsWith('body.')")
    page.wait_for_function("() => document.documentElement.dataset.spread === 'tape'")


def test_layers_are_lifted_from_the_outside_in(book_window: Window) -> None:
    page = book_window("shape")
    names = page.locator(".pile label").all_inner_texts()
    assert names[0] == "shell"
    # What lies on top of the centre front, and of the centre back, which has no pad.
    tops: dict[int, list[str]] = {0: [], 3: []}
    for n in range(len(names)):
        page.locator(".pile input").nth(n).check(force=True)
        for panel, seen in tops.items():
            ground = page.locator(".panel").nth(panel).locator(".ground").last.get_attribute("class")
            seen.append(ground.removeprefix("ground "))
    assert tops[0] == ["shell", "interfacing", "foam", "web", "lining", "bare"]
    assert tops[3] == ["shell", "interfacing", "lining", "lining", "lining", "bare"]


def test_lengths_along_the_lines_on_asking(book_window: Window) -> None:
    page = book_window("shape")
    assert page.locator(".measures text").count() == 0
    page.get_by_label("Lengths", exact=True).check()
    shown = page.locator(".measures text")
    # Four panels, each with four edges at least.
    assert shown.count() >= 16
    assert all(text.endswith(("cm", "in")) for text in shown.all_text_contents())


def test_inches_or_centimetres_per_person(book_window: Window) -> None:
    one, other = book_window("shape"), book_window("shape")
    one.get_by_label("Lengths in").select_option("in")
    one.wait_for_function("() => document.querySelector('[data-key=\"style.cup_height\"]').value.endsWith('in')")
    other.reload()
    other.wait_for_selector(".panel")
    assert field(other, "style.cup_height").input_value().endswith("cm")


@pytest.mark.parametrize("order_unit", ["cm", "in"])
def test_inches_are_read_as_they_were_typed(book_window: Window, order_unit: str) -> None:
    page = book_window("tape")
    page.get_by_label("Lengths in").select_option("in")
    page.wait_for_function("() => document.querySelector('[data-key=\"body.waist\"]').value.endsWith('in')")
    if order_unit == "in":
        page.locator("summary", has_text="may be left to a rule").click()
        field(page, "unit").click()
        page.get_by_role("option").last.click()
        kept(page)
    typed = (("33", "33 in"), ("32 15/16", "32 15/16 in"))
    for text, wanted in typed:
        type_into(page, "body.waist", text)
        page.reload()
        page.wait_for_selector(".panel")
        assert field(page, "body.waist").input_value() == wanted
        field(page, "body.waist").click()
        assert field(page, "body.waist").input_value() == wanted
    turn(page, "cloth")
    type_into(page, "cloth.0.width", "12 1/16")
    page.reload()
    page.wait_for_selector("nav.tape button")
    turn(page, "cloth")
    assert field(page, "cloth.0.width").input_value() == "12 1/16 in"


def test_escape_gives_a_drag_up(book_window: Window) -> None:
    page = book_window("shape")
    before, at = net(page), version(page)
    x, y = middle(handle(page, "lowest point of the neckline"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 50, steps=5)
    page.wait_for_function(
        "d => [...document.querySelector('.panel').querySelectorAll('.cut')].at(-1).getAttribute('d') !== d", arg=before
    )
    page.keyboard.press("Escape")
    page.mouse.up()
    page.wait_for_function(
        "d => [...document.querySelector('.panel').querySelectorAll('.cut')].at(-1).getAttribute('d') === d", arg=before
    )
    assert version(page) == at


def test_a_point_dragged_out_of_reach_stays_at_the_last_good_place(book_window: Window) -> None:
    page = book_window("shape")
    x, y = middle(handle(page, "lowest point of the neckline"))
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 40, steps=5)
    page.wait_for_timeout(250)
    page.mouse.move(x, y + 400, steps=3)
    page.wait_for_timeout(250)
    page.mouse.up()
    kept(page)
    page.wait_for_timeout(200)
    # In hand a height below the underbust bears a minus, laid down it says so in words.
    page.locator("#spread-title").click()
    page.wait_for_timeout(200)
    text = field(page, "style.plunge").input_value()
    drawn = net(page)
    page.reload()
    page.wait_for_selector(".panel")
    assert field(page, "style.plunge").input_value() == text != "7 cm"
    assert net(page) == drawn


def test_script_in_a_label_is_only_words(book_window: Window) -> None:
    page = book_window("tape")
    label = "<img src=x onerror=alert(1)><script>alert(2)</script>"
    page.on("dialog", lambda d: (_ for _ in ()).throw(AssertionError("a script ran")))
    type_into(page, "client.label", label)
    page.wait_for_function("l => document.querySelector('.for-whom').textContent.includes(l)", arg=label)
    page.get_by_role("button", name="The shelf").click()
    page.locator(".people button", has_text="onerror").wait_for()
    assert page.locator("img").count() == 0


def test_reduced_motion_and_print(book_window: Window) -> None:
    page = book_window("money", reduced_motion="reduce")
    page.emulate_media(media="print", reduced_motion="reduce")
    assert not page.locator("nav.tape").is_visible()
    assert page.locator(".bill table").first.is_visible()
    pdf = page.pdf(format="A4")
    assert pdf.startswith(b"%PDF-")


# Of what is seen everywhere: words, paper, a line of the drawing, the tape.
GROUNDS = """() => [...document.querySelectorAll('body, .page, .leaf h2, .sentence, .panel .cut, nav.tape')].map(e => {
    const s = getComputedStyle(e); return [s.color, s.backgroundColor, s.stroke]; })"""


def test_the_paper_that_she_chose_outweighs_the_machine(book_window: Window) -> None:
    looks = {}
    for machine in ("light", "dark"):
        page = book_window("shape", color_scheme=machine)
        for chosen in ("auto", "light", "dark"):
            page.get_by_role("combobox", name="Paper").select_option(chosen)
            page.wait_for_function("look => document.documentElement.dataset.look === look", arg=chosen)
            looks[machine, chosen] = page.evaluate(GROUNDS)
    white, carbon = looks["light", "auto"], looks["dark", "auto"]
    assert len(white) > 6
    assert all(a != b for a, b in zip(white, carbon, strict=True)), "every one of them changes"
    assert looks["light", "light"] == looks["dark", "light"] == white
    assert looks["light", "dark"] == looks["dark", "dark"] == carbon


def test_the_printer_gets_dark_words_on_white_from_a_dark_screen(book_window: Window) -> None:
    ink = "() => { const s = getComputedStyle(document.querySelector('.page')); return [s.color, s.backgroundColor]; }"
    printed = []
    for machine in ("light", "dark"):
        for chosen in ("auto", "dark"):
            page = book_window("shape", color_scheme=machine)
            page.get_by_role("combobox", name="Paper").select_option(chosen)
            page.wait_for_function("look => document.documentElement.dataset.look === look", arg=chosen)
            page.emulate_media(media="print", color_scheme=machine)
            printed.append(page.evaluate(ink))
    assert printed == [["rgb(34, 36, 43)", "rgb(255, 255, 255)"]] * 4
