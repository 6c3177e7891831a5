"""The panels' names on the drawing: they can be read on a common small screen, whatever the body."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from coutil.book import open_book
from coutil.web.server import Running, running
from page_book import turn

Window = Callable[..., Any]
LONG_AND_UNEVEN = """
[body]
bust = 101
underbust = 78
waist = 72
bust_span = 21
bust_to_underbust = 9.5
bust_to_waist = 20
high_hip_depth = 10.5
[body.left]
bust_to_underbust = 10
bust_to_waist = 20.5
[style]
hem = 14
"""
# The screens of many small desks: 1366 by 768; and a tablet upright.
SCREENS = ({"width": 1366, "height": 768}, {"width": 820, "height": 1180}, {"width": 1920, "height": 1080})


@pytest.fixture
def page_server(tmp_path: Path) -> Iterator[Running]:
    """As the fixture of all, with an order of two rows of panels in place of the demo's one."""
    with open_book(tmp_path / "page-book.db") as book:
        book.add_order(LONG_AND_UNEVEN)
        with running(book) as server:
            yield server


def names(page: Any) -> list[tuple[str, tuple[float, float, float, float]]]:
    """What stands on the drawing, each with the box of its small letters on the screen: half of its height."""
    found = page.locator(".sheet .title").evaluate_all(
        "all => all.map(e => { const b = e.getBoundingClientRect();"
        " return [e.textContent.trim(), [b.left, b.top + b.height / 4, b.right, b.bottom - b.height / 4]]; })"
    )
    return [(text, tuple(box)) for text, box in found]


def over(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    # A pixel of one box in the other is white between letters.
    return min(a[2], b[2]) - max(a[0], b[0]) > 1.0 and min(a[3], b[3]) - max(a[1], b[1]) > 1.0


@pytest.mark.parametrize("screen", SCREENS, ids=lambda s: f"{s['width']}x{s['height']}")
def test_no_name_lies_on_another(book_window: Window, screen: dict[str, int]) -> None:
    """At 1366 by 768 "side back" and "centre back" of an uneven body were written into each other."""
    page = book_window("shape", viewport=screen)
    shown = names(page)
    assert len([t for t, _ in shown if t not in ("left", "right")]) >= 6
    assert not [(a, b) for (a, x), (b, y) in combinations(shown, 2) if over(x, y)]
    # Where the paper is small for a slip's sake some are left out; brought nearer all are there.
    turn(page, "tape")
    assert not [(a, b) for (a, x), (b, y) in combinations(names(page), 2) if over(x, y)]
    for _ in range(8):
        page.locator(".zoom button").first.click()
    assert len(names(page)) == 16
