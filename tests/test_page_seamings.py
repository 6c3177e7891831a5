"""Any bodice on the page, in a real browser: seamings chosen by their pictures, hems and seams dragged, openings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from coutil.seaming import READY
from coutil.words import say
from page_book import TABLET, field, handle, kept, middle, turn

Windows = Callable[..., Any]


def panels(page: Any) -> list[str]:
    """What is drawn of every panel now."""
    found: list[str] = page.locator(".panel").evaluate_all(
        "all => all.map(p => [...p.querySelectorAll('path')].map(e => e.getAttribute('d')).join('|'))"
    )
    return found


def redrawn(page: Any, before: list[str]) -> list[str]:
    """Wait until the drawing is another."""
    kept(page)
    page.wait_for_function(
        "was => JSON.stringify([...document.querySelectorAll('.panel')].map("
        "p => [...p.querySelectorAll('path')].map(e => e.getAttribute('d')).join('|'))) !== JSON.stringify(was)",
        arg=before,
    )
    return panels(page)


def choose(page: Any, key: str, text: str) -> None:
    field(page, key).click()
    # The list is laid anew when its pictures come.
    page.locator(".choices.drawn svg").first.wait_for()
    page.get_by_role("option", name=text, exact=True).click()


def drag(page: Any, name: str, right: float, down: float) -> None:
    """Take a point of the drawing and pull it, in pixels."""
    x, y = middle(handle(page, name))
    page.mouse.move(x, y)
    page.mouse.down()
    for n in range(1, 6):
        page.mouse.move(x + right * n / 5, y + down * n / 5)
    page.mouse.up()
    kept(page)


def test_each_seaming_is_chosen_by_its_picture(book_window: Windows) -> None:
    page = book_window("shape")
    field(page, "style.seaming").click()
    options = page.locator(".choices.drawn [role=option]")
    options.first.locator("svg path").first.wait_for()
    for n, seaming in enumerate(READY.values()):
        # A picture has as many outlines as the half has panels.
        assert options.nth(n).locator("svg path").count() == len(seaming.panels)
        box = options.nth(n).locator("svg").bounding_box()
        assert box["width"] > 40
        assert box["height"] > 25
    page.keyboard.press("Escape")
    drawn = panels(page)
    for name in [*list(READY)[1:], "princess-4"]:
        choose(page, "style.seaming", say(f"choice.style.seaming.{name}"))
        drawn = redrawn(page, drawn)
        assert len(drawn) == len(READY[name].panels), name
        assert page.locator(".refused-page").count() == 0
        # Every spread of it can be turned to.
        if name in ("side-panel-4", "belt-3"):
            for spread in ("tape", "pads", "checks", "cloth", "making", "money", "lesson", "shape"):
                turn(page, spread)
                page.locator(".leaf .sentence, .leaf h3").first.wait_for()


def test_the_pictures_go_by_keys(book_window: Windows) -> None:
    page = book_window("shape")
    drawn = panels(page)
    field(page, "style.seaming").focus()
    page.keyboard.press("ArrowDown")
    page.locator(".choices.drawn svg").first.wait_for()
    # Two in a row: one down and one to the right is the fourth.
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    assert len(redrawn(page, drawn)) == 5
    assert field(page, "style.seaming").inner_text().strip() == say("choice.style.seaming.corset-5")


@pytest.mark.parametrize("name", ["princess-4", "corset-7", "underbust-5"])
def test_a_hem_is_dragged(name: str, book_window: Windows) -> None:
    page = book_window("shape")
    drawn = panels(page)
    if name != "princess-4":
        choose(page, "style.seaming", say(f"choice.style.seaming.{name}"))
        drawn = redrawn(page, drawn)
    # More panels than the paper shows at first.
    page.get_by_role("button", name=say("page.paper.whole"), exact=True).click()
    before = float(field(page, "style.hem").input_value().removesuffix(" cm"))
    drag(page, say("handle.hem"), 0, -24)
    drawn = redrawn(page, drawn)
    assert float(field(page, "style.hem").input_value().removesuffix(" cm")) < before
    back = field(page, "style.hem_point_back").input_value()
    drag(page, say("handle.hem_point_back"), 0, 24)
    redrawn(page, drawn)
    assert field(page, "style.hem_point_back").input_value() != back


def test_a_busk_and_a_lacing(book_window: Windows) -> None:
    page = book_window("shape")
    drawn = panels(page)
    page.get_by_role("button", name=say("action.opening.add")).click()
    drawn = redrawn(page, drawn)
    assert field(page, "style.opening.0.with").inner_text().strip() == say("choice.style.opening.with.lacing")
    assert field(page, "style.opening.1.at").inner_text().strip() == say("choice.style.opening.at.centre_front")
    assert field(page, "style.opening.1.with").inner_text().strip() == say("choice.style.opening.with.busk")
    one = field(page, "style.opening.0.gap")
    one.click()
    one.fill("7")
    drawn = redrawn(page, drawn)
    # The centre front is closed again.
    page.get_by_role("button", name=say("action.opening.remove")).nth(1).click()
    redrawn(page, drawn)
    assert field(page, "style.opening.1.with").count() == 0


def test_a_seaming_of_her_own(book_window: Windows) -> None:
    page = book_window("shape")
    choose(page, "style.seaming", say("choice.style.seaming.princess-5"))
    kept(page)
    page.get_by_role("button", name=say("action.own.start")).click()
    field(page, "style.seam.1.at").wait_for()
    assert field(page, "style.seam.1.at").input_value() == "72 %"
    drawn = panels(page)
    drag(page, say("handle.seam", name="second front seam"), 14, 0)
    drawn = redrawn(page, drawn)
    assert field(page, "style.seam.1.at").input_value() != "72 %"
    one = field(page, "style.seam.0.near.waist")
    one.click()
    one.fill("35")
    redrawn(page, drawn)
    page.locator("#spread-title").click()
    page.wait_for_function("() => document.querySelector('[data-key=\"style.seam.0.near.waist\"]').value === '35 %'")
    # Others gave way for it.
    assert field(page, "style.seam.0.far.waist").input_value() != "24 %"


def test_by_finger_on_a_tablet(book_window: Windows) -> None:
    page = book_window("shape", viewport=TABLET, has_touch=True)
    drawn = panels(page)
    field(page, "style.neckline").tap()
    page.locator(".choices.drawn svg").first.wait_for()
    box = page.locator(".choices").bounding_box()
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= TABLET["width"]
    page.get_by_role("option", name=say("choice.style.neckline.scoop"), exact=True).tap()
    drawn = redrawn(page, drawn)
    field(page, "style.back").tap()
    page.get_by_role("option", name=say("choice.style.back.v"), exact=True).tap()
    redrawn(page, drawn)


@pytest.mark.parametrize("tablet", [False, True], ids=["desk", "tablet"])
def test_seams_of_her_own_come_and_go_one_by_one(tablet: bool, book_window: Windows) -> None:
    page = book_window("shape", **({"viewport": TABLET, "has_touch": True} if tablet else {}))
    drawn = panels(page)
    page.get_by_role("button", name=say("action.own.start")).click()
    field(page, "style.seam.0.name").wait_for()
    kept(page)
    page.get_by_role("button", name=say("action.seam.add")).first.click()
    drawn = redrawn(page, drawn)
    assert len(drawn) == 5
    assert field(page, "style.seam.1.name").input_value() == "front seam"
    page.get_by_role("button", name=say("action.seam.cup")).first.click()
    drawn = redrawn(page, drawn)
    assert field(page, "style.seam.0.at").is_visible()
    assert page.locator('[data-key="style.seam.1.at"]').count() == 0
    before = field(page, "style.seam.0.at").input_value()
    field(page, "style.seam.0.name").fill("my own line")
    page.keyboard.press("Tab")
    kept(page)
    assert field(page, "style.seam.0.name").input_value() == "my own line"
    page.get_by_role("button", name=say("action.seam.remove")).first.click()
    drawn = redrawn(page, drawn)
    assert len(drawn) == 4
    assert field(page, "style.seam.0.name").input_value() == "front seam"
    page.get_by_role("button", name="Undo").first.click()
    redrawn(page, drawn)
    assert field(page, "style.seam.0.name").input_value() == "my own line"
    assert field(page, "style.seam.0.at").input_value() == before
