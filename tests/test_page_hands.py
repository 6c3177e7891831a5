"""With the keyboard alone, with a finger, with two windows: three ways to the same book."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from coutil.make import work_out
from coutil.order import read_order
from coutil.sheets import panels_svg
from own_drawing import plain_drawing
from page_book import ROOT, SPREADS, TABLET, Faults, enter, field, handle, kept, middle, turn, type_into, watched

Window = Callable[..., Any]
DEMO = ROOT / "examples" / "sea-green.toml"


def active(page: Any) -> str:
    """What has focus, by its name."""
    return page.evaluate(
        """() => { const e = document.activeElement;
        return e.dataset?.key ?? e.getAttribute('aria-label') ?? e.textContent.trim(); }"""
    )


def press_until(page: Any, key: str, wanted: str, most: int = 80) -> None:
    """Press a key until something of that name has focus."""
    for _ in range(most):
        if active(page).startswith(wanted):
            return
        page.keyboard.press(key)
    raise AssertionError(f"{wanted} was not reached in {most} presses of {key}; at {active(page)!r}")


def test_the_whole_walk_by_keyboard_alone(book_window: Window) -> None:
    page = book_window()
    # The first stop leads past the head of the book.
    page.keyboard.press("Tab")
    assert active(page) == "To the sentences"
    page.keyboard.press("Enter")
    page.keyboard.press("Alt+1")
    page.wait_for_function("() => document.documentElement.dataset.spread === 'tape'")
    # A tape is filled in with Enter from value to value.
    press_until(page, "Tab", "body.bust")
    page.keyboard.type("97")
    page.keyboard.press("Enter")
    assert active(page) == "body.underbust"
    page.keyboard.press("Shift+Enter")
    assert active(page) == "body.bust"
    page.keyboard.press("Enter")
    kept(page)
    assert field(page, "body.bust").input_value() == "97 cm"
    # A choice opens with the down arrow and is made with Enter.
    page.keyboard.press("Alt+2")
    page.wait_for_function("() => document.documentElement.dataset.spread === 'shape'")
    field(page, "style.neckline").focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Home")
    page.keyboard.press("Enter")
    kept(page)
    assert field(page, "style.neckline").inner_text() == "a plunge"
    assert active(page) == "style.neckline"
    # Every value of the page can be reached, and nothing holds the focus fast.
    press_until(page, "Tab", "The work on squared paper")
    # The paper is pushed and brought nearer.
    look = "() => document.querySelector('.sheet > g[transform]').getAttribute('transform')"
    # What is drawn has grown since it was fitted to the paper.
    page.keyboard.press("0")
    before = page.evaluate(look)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("+")
    assert page.evaluate(look) != before
    page.keyboard.press("0")
    assert page.evaluate(look) == before
    # The lines are one stop; arrows walk them, Enter takes the sentence in hand.
    page.keyboard.press("Tab")
    first = active(page)
    page.keyboard.press("ArrowRight")
    assert active(page) != first
    for _ in range(40):
        if "takes" in active(page):
            break
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.activeElement?.dataset?.key")
    # A point is moved by arrows.
    page.keyboard.press("Alt+2")
    page.wait_for_function("() => document.documentElement.dataset.spread === 'shape'")
    plunge = field(page, "style.plunge").input_value()
    press_until(page, "Tab", "lowest point of the neckline")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    kept(page)
    assert field(page, "style.plunge").input_value() == "7.2 cm" != plunge
    page.keyboard.press("Control+z")
    kept(page)
    assert field(page, "style.plunge").input_value() == plunge
    # The shelf opens, closes with Escape, and gives the focus back.
    press_until(page, "Shift+Tab", "The shelf")
    page.keyboard.press("Enter")
    page.locator("dialog[open]").wait_for()
    page.keyboard.press("Escape")
    page.locator("dialog[open]").wait_for(state="detached")
    assert active(page).startswith("The shelf")


def test_focus_is_always_seen(book_window: Window) -> None:
    """Every stop of the tab key shows where it is: an outline or a stroke that was not there before."""
    page = book_window("shape")
    shown = """() => { const e = document.activeElement, s = getComputedStyle(e);
        return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2
          || (e instanceof SVGElement && s.stroke !== 'none' && !s.stroke.endsWith(', 0)'))
          || e.closest('.pile label') !== null || document.activeElement === document.body; }"""
    for _ in range(45):
        page.keyboard.press("Tab")
        assert page.evaluate(shown), active(page)


class Fingers:
    """Fingers on the glass, by the browser's own input."""

    def __init__(self, page: Any) -> None:
        self.session = page.context.new_cdp_session(page)

    def at(self, kind: str, *points: tuple[float, float]) -> None:
        touches = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(points)]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": touches})


def test_turning_a_spread_lays_the_paper_before_it_is_seen(book_window: Window) -> None:
    """A hand that is quick finds the points where the first frame shows them: the paper does not slip afterwards."""
    page = book_window("tape")
    looks = page.evaluate(
        """async names => { const seen = [];
        for (const n of names) {
          document.querySelectorAll('nav.tape button')[n].click();
          const one = [];
          for (let frame = 0; frame < 12; frame += 1) {
            await new Promise(requestAnimationFrame);
            one.push(document.querySelector('.sheet > g[transform]').getAttribute('transform'));
          }
          seen.push(one);
        }
        return seen; }""",
        [SPREADS.index(name) for name in ("shape", "tape", "pads", "checks", "shape", "tape")],
    )
    # The tape's paper keeps room for its slip, so these turns do lay the paper anew.
    assert len({frames[-1] for frames in looks}) > 1
    for frames in looks:
        assert len(set(frames)) == 1, frames


def test_a_finger_drags_the_plunge_on_a_tablet(book_window: Window) -> None:
    page = book_window("shape", viewport=TABLET, has_touch=True, is_mobile=True)
    fingers = Fingers(page)
    x, y = middle(handle(page, "lowest point of the neckline"))
    k = float(page.locator(".sheet > g[transform]").get_attribute("transform").split("scale(")[1].rstrip(")"))
    # Beside the point, as a finger takes it.
    x, y = x - 9, y + 7
    fingers.at("touchStart", (x, y))
    for n in range(1, 7):
        fingers.at("touchMove", (x, y + 2 * n))
        page.wait_for_timeout(40)
    fingers.at("touchEnd")
    kept(page)
    page.wait_for_function("() => document.querySelector('[data-key=\"style.plunge\"]').value !== '7 cm'")
    # 12 pixels down, at k pixels for a millimetre; the ruler's step is 1 mm.
    now = float(field(page, "style.plunge").input_value().removesuffix(" cm"))
    assert abs(now - (7.0 - 1.2 / k)) <= 0.11


def test_two_fingers_bring_the_paper_nearer_and_one_pushes_it(book_window: Window) -> None:
    page = book_window("shape", viewport=TABLET, has_touch=True, is_mobile=True)
    fingers = Fingers(page)
    box = page.locator(".squared").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] * 0.82

    def look() -> list[float]:
        """Offset across, offset down, scale."""
        return page.evaluate(
            "() => document.querySelector('.sheet > g[transform]').getAttribute('transform')"
            ".match(/-?[\\d.]+/g).map(Number)"
        )

    start = look()
    fingers.at("touchStart", (x, y))
    fingers.at("touchMove", (x + 30, y))
    fingers.at("touchMove", (x + 60, y))
    fingers.at("touchEnd")
    page.wait_for_timeout(60)
    pushed = look()
    assert abs(pushed[0] - start[0] - 60) < 12
    assert pushed[2] == start[2]
    fingers.at("touchStart", (x - 30, y), (x + 30, y))
    for n in range(1, 6):
        fingers.at("touchMove", (x - 30 - 10 * n, y), (x + 30 + 10 * n, y))
    fingers.at("touchEnd")
    page.wait_for_timeout(60)
    assert look()[2] > 1.5 * pushed[2]


def test_a_tap_on_a_line_brings_its_sentence(book_window: Window) -> None:
    page = book_window("shape", viewport=TABLET, has_touch=True)
    line = page.locator('.lines path[aria-label^="hem"]').first
    at = line.evaluate(
        """e => { const p = e.getPointAtLength(e.getTotalLength() / 2).matrixTransform(e.getScreenCTM());
        return [p.x, p.y]; }"""
    )
    page.touchscreen.tap(*at)
    page.wait_for_function("() => document.activeElement?.dataset?.key?.startsWith('style.hem')")


# --- two windows


def test_the_second_window_sees_the_first_ones_changes(book_window: Window, page_server: Any) -> None:
    one, other = book_window("shape"), book_window("shape")
    drawn = other.locator(".panel .cut").last.get_attribute("d")
    type_into(one, "style.hem", "11 cm")
    other.wait_for_function("() => document.querySelector('[data-key=\"style.hem\"]').value === '11 cm'")
    assert other.locator(".panel .cut").last.get_attribute("d") != drawn
    assert "11 cm" in other.locator(".heard").inner_text()


def test_other_values_are_put_together(book_window: Window) -> None:
    one, other = book_window("shape"), book_window("shape")
    field(other, "style.hem").click()
    type_into(one, "style.plunge", "6 cm")
    type_into(other, "style.hem", "10 cm")
    for page in (one, other):
        page.wait_for_function(
            "() => document.querySelector('[data-key=\"style.hem\"]').value === '10 cm'"
            " && document.querySelector('[data-key=\"style.plunge\"]').value === '6 cm'"
        )


def conflicted(one: Any, other: Any) -> Any:
    """Both windows write the plunge; `other` has it in hand, cannot hear what the first does, and writes second."""
    other.route("**/api/events*", lambda route: route.abort())
    other.reload()
    other.wait_for_selector(".panel")
    field(other, "style.plunge").click()
    type_into(one, "style.plunge", "6 cm")
    field(other, "style.plunge").fill("5 cm")
    bar = other.locator(".conflict")
    bar.wait_for()
    return bar


def test_two_windows_on_one_value_mine_after_all(book_window: Window) -> None:
    one, other = book_window("shape"), book_window("shape")
    bar = conflicted(one, other)
    says = bar.inner_text()
    assert "6 cm" in says
    assert "5 cm" in says
    assert "7" in says
    # Nothing has been overwritten yet.
    assert field(one, "style.plunge").input_value() == "6 cm"
    bar.get_by_role("button", name="Mine after all").click()
    bar.wait_for(state="detached")
    one.wait_for_function("() => document.querySelector('[data-key=\"style.plunge\"]').value === '5 cm'")


def test_two_windows_on_one_value_keep_theirs(book_window: Window) -> None:
    one, other = book_window("shape"), book_window("shape")
    bar = conflicted(one, other)
    bar.get_by_role("button", name="Keep theirs").click()
    bar.wait_for(state="detached")
    assert field(other, "style.plunge").input_value() == "6 cm"
    assert field(one, "style.plunge").input_value() == "6 cm"


def test_the_list_of_orders_hears_of_a_new_one(book_window: Window) -> None:
    one, other = book_window(), book_window()
    for page in (one, other):
        page.get_by_role("button", name="The shelf").click()
        page.locator(".order-list .name").first.wait_for()
    one.get_by_label("A new order, called").fill("moss-green bodice")
    one.get_by_role("button", name="Start it").click()
    other.locator(".order-list .name", has_text="moss-green bodice").wait_for()


# --- the shelf


def test_the_shelf_copies_dates_finds_and_erases(book_window: Window) -> None:
    page = book_window(locale="en-GB")
    page.get_by_role("button", name="The shelf").click()
    page.locator(".people .new input").fill("A. B.")
    page.get_by_role("button", name="Add", exact=True).click()
    page.locator(".people button", has_text="A. B.").wait_for()
    page.get_by_role("button", name="Everyone").click()
    page.get_by_role("button", name="More about sea-green bustier").click()
    page.locator(".about select").select_option(label="A. B.")
    page.get_by_role("button", name="Copy", exact=True).click()
    # Nobody has measured A. B.: the book says so, and copies the figures only when told to.
    page.locator(".shelf .told", has_text="tape").wait_for()
    page.get_by_label("with the measurements of").check()
    page.get_by_role("button", name="Copy", exact=True).click()
    page.locator(".for-whom", has_text="A. B.").wait_for()

    page.get_by_role("button", name="The shelf").click()
    page.locator(".people button", has_text="A. B.").click()
    page.wait_for_function("() => document.querySelectorAll('.order-list li').length === 1")
    page.get_by_role("button", name="More about").click()
    page.locator(".about input[type=date]").fill("2027-05-01")
    page.locator(".order-list .dates b", has_text="1 May 2027").wait_for()
    page.get_by_role("searchbox").fill("no such words")
    page.locator(".orders [role=status]", has_text="No order").wait_for()
    page.get_by_role("searchbox").fill("")
    page.get_by_role("button", name="More about").wait_for()

    # A client is erased wholly only when the label is repeated.
    erase = page.get_by_role("button", name="Erase wholly")
    assert erase.is_disabled()
    page.locator(".client-card .erase input").fill("A. B.")
    erase.click()
    page.locator(".people button", has_text="A. B.").wait_for(state="detached")
    page.keyboard.press("Escape")
    page.locator(".for-whom", has_text="M. T.").wait_for()


def test_an_order_goes_out_and_comes_in_again(book_window: Window, tmp_path: Any) -> None:
    page = book_window("shape")
    type_into(page, "style.hem", "11 cm")
    with page.expect_download() as got:
        page.locator('.file a[download="order.toml"]').click()
    file = tmp_path / "order.toml"
    got.value.save_as(file)
    page.get_by_role("button", name="The shelf").click()
    page.locator(".file-in input").first.set_input_files(file)
    page.locator("dialog").wait_for(state="detached")
    assert field(page, "style.hem").input_value() == "11 cm"
    # A file of the wrong kind is refused in words, and the book goes on.
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("this is no order")
    page.get_by_role("button", name="The shelf").click()
    page.wait_for_function("() => document.querySelectorAll('.order-list > li').length === 2")
    page.locator(".file-in input").first.set_input_files(wrong)
    page.locator(".shelf .told").wait_for()


def test_a_drawn_pattern_comes_in_and_is_worked_on(book_window: Window, tmp_path: Any) -> None:
    """A maker's own drawing: read in from the shelf, held against the tape, its allowance changed, taken out whole."""
    drawing = tmp_path / "from the drawer.svg"
    drawing.write_text(panels_svg(work_out(read_order(DEMO)).pattern, "mine"), "utf-8")
    page = book_window("shape")
    page.get_by_role("button", name="The shelf").click()
    page.locator(".file-in input").first.set_input_files(drawing)
    page.locator("dialog").wait_for(state="detached")
    page.locator(".order-name", has_text="from the drawer").wait_for()
    assert page.locator(".panel").count() == 4
    assert "from the drawer.svg" in page.locator(".leaf").inner_text()
    # Nothing of it can be pulled; a touched edge brings its allowance.
    assert page.locator(".grip").count() == 0
    page.locator('.lines path[aria-label^="side"]').first.focus()
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.activeElement?.dataset?.key === 'build.allowances.side'")
    drawn = page.locator(".panel .cut").nth(1).get_attribute("d")
    type_into(page, "build.allowances.side", "3 cm")
    assert page.locator(".panel .cut").nth(1).get_attribute("d") != drawn
    # What has to be looked at stands in one row at the foot of the paper, clear of the panels' names.
    turn(page, "checks")
    assert page.locator(".margin > .note").count() >= 1
    tops = page.locator(".margin > .note").evaluate_all(
        "all => all.map(e => Math.round(e.getBoundingClientRect().bottom))"
    )
    assert len(set(tops)) == 1
    top = page.locator(".margin").bounding_box()["y"]
    assert all(
        top > name["y"] + name["height"] for name in (t.bounding_box() for t in page.locator(".names .title").all())
    )
    turn(page, "lesson")
    assert "brought in" in page.locator(".leaf").inner_text()
    with page.expect_download() as got:
        page.locator('.file a[download="order.toml"]').click()
    file = tmp_path / "order.toml"
    got.value.save_as(file)
    drawing.unlink()
    assert len(work_out(read_order(file)).pattern.panels) == 4


def test_what_the_outlines_of_a_drawing_are_is_one_question(book_window: Window, tmp_path: Any) -> None:
    drawing = tmp_path / "plain.svg"
    drawing.write_bytes(plain_drawing(work_out(read_order(DEMO)).pattern))
    page = book_window("shape")
    page.get_by_role("button", name="The shelf").click()
    page.locator(".file-in input").first.set_input_files(drawing)
    page.locator("dialog").wait_for(state="detached")
    page.locator(".order-name", has_text="plain").wait_for()
    assert page.locator(".panel").count() == 0
    # From the paper's word of what is missing to the question, wherever the book lies open.
    page.locator("nav.tape button").first.click()
    page.locator("form.asked").wait_for(state="detached")
    page.get_by_role("button", name="outlines").click()
    page.wait_for_function("() => document.activeElement?.dataset?.key === 'pattern.line'")
    form = page.locator("form.asked")
    take = form.get_by_role("button", name="That is so")
    length = form.get_by_label("allowance in the drawing")
    # Nothing said, then half of it: refused in words beside the question, and what was typed stays.
    take.click()
    form.locator(".beside.stop", has_text="say which").wait_for()
    assert length.is_disabled()
    form.get_by_label("cut lines").check()
    take.click()
    form.locator(".beside.stop", has_text="what lies between").wait_for()
    length.fill("a thumb")
    length.press("Enter")
    form.locator(".beside.stop", has_text="not a length").wait_for()
    page.reload()
    form.wait_for()
    assert form.get_by_label("cut lines").is_checked()
    assert length.input_value() == "a thumb"
    length.fill("1 cm")
    take.click()
    page.wait_for_selector(".panel")
    kept(page)
    assert form.locator(".beside.stop").count() == 0
    assert page.locator(".panel").count() == 4
    # One step takes both back.
    page.keyboard.press("Escape")
    page.locator("h2").first.click()
    page.keyboard.press("Control+z")
    page.locator(".panel").first.wait_for(state="detached")
    assert not form.get_by_label("cut lines").is_checked()
    assert length.input_value() == ""
    form.get_by_label("net lines").check()
    take.click()
    page.wait_for_selector(".panel")


def test_a_page_before_is_brought_back(book_window: Window) -> None:
    page = book_window("shape")
    type_into(page, "style.hem", "11 cm")
    page.get_by_role("button", name="Pages before").click()
    rows = page.locator(".versions li")
    rows.nth(1).wait_for()
    assert "11 cm" in rows.first.inner_text()
    rows.last.get_by_role("button").click()
    page.wait_for_function("() => document.querySelector('[data-key=\"style.hem\"]').value === '9 cm'")


def test_without_a_session_the_way_in_is_told(browser: Any, page_server: Any) -> None:
    faults = Faults()
    context = browser.new_context()
    page = watched(context.new_page(), faults, page_server.address)
    page.goto(page_server.address)
    assert "coutil open" in page.locator("body").inner_text()
    enter(page, page_server)
    context.clear_cookies()
    # By the keys: any call that is on its way already may have closed the book's page by now.
    page.keyboard.press("Alt+4")
    page.locator(".shut", has_text="coutil open").wait_for()
    context.close()
    assert faults == []
