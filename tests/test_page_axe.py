"""WCAG 2.2 AA by axe-core on every spread and dialog: white and carbon paper, desk and tablet, 200 % zoom."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from page_book import DESK, SPREADS, TABLET, axe_source, field, turn, type_into

# Everything that axe knows for WCAG 2.0 to 2.2, levels A and AA, and its advice beyond them.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
Window = Callable[..., Any]


def findings(page: Any) -> list[str]:
    """What axe finds on the page as it stands, one line for each place."""
    if not page.evaluate("'axe' in window"):
        # Evaluated, not added as a script: the page's own Content-Security-Policy stays as it is.
        page.evaluate(axe_source())
    found = page.evaluate("rules => axe.run(document, {runOnly: rules, resultTypes: ['violations']})", RULES)
    return [f"{v['id']}: {n['target']} {n['failureSummary']}" for v in found["violations"] for n in v["nodes"]]


def test_axe_would_find_something(book_window: Window) -> None:
    """The check itself: a button without a name and pale grey words are found."""
    page = book_window()
    page.evaluate(
        """() => { const p = document.createElement('p'); p.innerHTML = '<button></button><span>pale</span>';
        p.querySelector('span').style.cssText = 'color: #bbb; background: #fff';
        document.querySelector('main').append(p); }"""
    )
    found = "\n".join(findings(page))
    assert "button-name" in found
    assert "color-contrast" in found


@pytest.mark.parametrize(("look", "size"), [("light", DESK), ("dark", DESK), ("light", TABLET)])
def test_every_spread(book_window: Window, look: str, size: dict[str, int]) -> None:
    page = book_window(viewport=size, color_scheme=look)
    for spread in SPREADS:
        turn(page, spread)
        assert findings(page) == [], spread


@pytest.mark.parametrize("look", ["light", "dark"])
def test_states_of_the_left_page(book_window: Window, look: str) -> None:
    """A value in hand, an open list, a refused value, a finding in the margin, every fold open."""
    page = book_window("shape", color_scheme=look)
    field(page, "style.neckline").click()
    assert page.locator("[role=option]").count() >= 2
    assert findings(page) == []
    page.keyboard.press("Escape")
    type_into(page, "style.plunge", "40 cm")
    page.locator(".beside.stop").wait_for()
    assert findings(page) == []
    turn(page, "tape")
    type_into(page, "body.bust", "44 in")
    page.locator(".margin .note.of-warn").first.wait_for()
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert findings(page) == []


@pytest.mark.parametrize("look", ["light", "dark"])
def test_dialogs(book_window: Window, look: str) -> None:
    page = book_window(color_scheme=look)
    page.get_by_role("button", name="The shelf").click()
    page.get_by_role("button", name="More about").first.click()
    page.locator(".people li:nth-child(2) button").click()
    page.locator(".client-card").wait_for()
    assert findings(page) == []
    page.get_by_role("button", name="What happens to measurements").click()
    page.locator(".over-body > p").first.wait_for()
    assert findings(page) == []
    page.keyboard.press("Escape")
    for name in ("Pages before", "Keys"):
        page.get_by_role("button", name=name).click()
        page.locator(".over").wait_for()
        assert findings(page) == []
        page.keyboard.press("Escape")


# 1440 wide at 200 % zoom, and the 320 pixels of WCAG 1.4.10 (1280 at 400 %).
@pytest.mark.parametrize("width", [720, 320])
def test_zoomed_in_nothing_is_cut_off(book_window: Window, width: int) -> None:
    page = book_window(viewport={"width": width, "height": 450})
    for spread in SPREADS:
        turn(page, spread)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, spread
        if spread in ("tape", "checks"):
            assert findings(page) == [], spread


def test_targets_are_large_enough_for_a_finger(book_window: Window) -> None:
    """WCAG 2.5.8 asks for 24 by 24 CSS pixels; links within sentences are let off by it, and we have none."""
    page = book_window(viewport=TABLET, has_touch=True)
    small = """() => [...document.querySelectorAll('button, input, select, summary, a[href], .grip')]
        .filter(e => e.checkVisibility() && !e.closest('.skip, .heard') && !e.classList.contains('skip'))
        .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect()])
        .filter(([, r]) => r.width > 0 && (r.width < 24 || r.height < 24))
        .map(([html, r]) => `${html} ${r.width} x ${r.height}`)"""
    for spread in SPREADS:
        turn(page, spread)
        assert page.evaluate(small) == [], spread
