"""A book of its own for each test, served as `coutil open` serves it, and a real browser before it.

The fixtures made of it are in conftest.py. Nothing is skipped: where the browser or the built page is missing the tests
fail and say what to run.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import pytest

from coutil.book import open_book
from coutil.web.server import Running, running

ROOT = Path(__file__).parents[1]
BUILT = ROOT / "src/coutil/web/static/index.html"
AXE = ROOT / "frontend/node_modules/axe-core/axe.min.js"
SPREADS = ("tape", "shape", "pads", "checks", "cloth", "making", "money", "lesson")
DESK = {"width": 1440, "height": 900}
TABLET = {"width": 1024, "height": 768}
# Patience for one thing to appear, in ms: a machine under load, not the speed that bench/page.py measures.
PATIENCE = 30_000


def chromium_path() -> str:
    found = shutil.which("chromium")
    if found is None:
        pytest.fail("the browser tests need Debian's chromium: apt-get install chromium", pytrace=False)
    return found


def require_page() -> None:
    if not BUILT.is_file():
        pytest.fail("the page is not built: run `npm ci && npm run build` in frontend/", pytrace=False)


def axe_source() -> str:
    if not AXE.is_file():
        pytest.fail("axe-core is missing: run `npm ci` in frontend/", pytrace=False)
    return AXE.read_text("utf-8")


@contextmanager
def serving(path: Path) -> Iterator[Running]:
    """The book at `path`, made new with the demo order where there is none."""
    with open_book(path) as book, running(book) as server:
        yield server


@contextmanager
def browsing() -> Iterator[Any]:
    require_page()
    path = chromium_path()
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        pytest.fail("the browser tests need playwright: pip install playwright", pytrace=False)
    with sync_playwright() as p:
        # As root chromium runs only without its sandbox; the page under test is our own.
        started = p.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()


class Faults(list[str]):
    """What the page should never do: throw, break its own policy, ask another server for anything."""


def watched(page: Any, faults: Faults, address: str) -> Any:
    page.set_default_timeout(PATIENCE)
    page.on("pageerror", lambda e: faults.append(f"threw: {e}"))
    page.on("console", lambda m: faults.append(f"console: {m.text}") if _bad(m) else None)
    page.on("request", lambda r: None if _ours(r.url, address) else faults.append(f"asked {r.url}"))
    return page


def _bad(message: Any) -> bool:
    # A refusal (409, 422) is an answer; chromium writes it to the console all the same.
    return message.type in ("error", "warning") and "Failed to load resource" not in message.text


def _ours(url: str, address: str) -> bool:
    return url.startswith((address, "blob:", "about:"))


@contextmanager
def windows(browser: Any, server: Running) -> Iterator[Callable[..., Any]]:
    """Opens the book in windows of their own browser profiles; faults of any of them fail the test at its end."""
    faults = Faults()
    with ExitStack() as opened:

        def window(spread: str = "", **how: Any) -> Any:
            how.setdefault("viewport", DESK)
            context = browser.new_context(**how)
            opened.callback(context.close)
            context.on("page", lambda page: watched(page, faults, server.address))
            page = context.new_page()
            enter(page, server, spread)
            return page

        yield window
    assert faults == []


def enter(page: Any, server: Running, spread: str = "") -> None:
    page.goto(server.link())
    page.wait_for_selector(".panel")
    if spread:
        turn(page, spread)


def window_beside(page: Any) -> Any:
    """A second window of the same browser profile at the same address: no tab, which chromium draws once a second."""
    with page.expect_popup() as opened:
        page.evaluate("() => { open(location.href, '_blank', 'popup,noopener,width=1440,height=900') }")
    other = opened.value
    other.wait_for_selector(".panel")
    return other


def turn(page: Any, spread: str) -> None:
    """Turn to a spread and wait for what it brings along."""
    button = page.locator("nav.tape button").nth(SPREADS.index(spread))
    button.click()
    page.wait_for_function("name => document.documentElement.dataset.spread === name", arg=spread)


def field(page: Any, key: str) -> Any:
    return page.locator(f'[data-key="{key}"]')


def kept(page: Any) -> None:
    """Wait until the book has answered all that was typed, and what of it was refused is shown."""
    page.wait_for_selector(".saving.kept, .saving.refused")


def type_into(page: Any, key: str, text: str) -> None:
    """Take a value in hand, write over it, put it down."""
    one = field(page, key)
    one.click()
    one.fill(text)
    kept(page)


def version(page: Any) -> int:
    return int(page.evaluate("document.documentElement.dataset.version"))


def middle(locator: Any) -> tuple[float, float]:
    box = locator.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def handle(page: Any, name: str) -> Any:
    """The grip of a point of the drawing, by what it is called."""
    return page.locator(f'.grip[aria-label^="{name}"]').first


def net(page: Any, panel: int = 0) -> str:
    """The cut line of a panel as it is drawn now."""
    return page.locator(".panel").nth(panel).locator(".cut").last.get_attribute("d")
