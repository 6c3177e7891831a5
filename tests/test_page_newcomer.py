"""A newcomer's whole job in a real browser: from the demo order to a printed pattern, and finding it again."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path
from typing import Any

import pytest

from coutil.make import work_out
from coutil.order import read_order
from page_book import PATIENCE, Faults, field, handle, kept, middle, serving, turn, type_into, watched

# How far a panel's size on the page may lie from the draft's, in mm: the width of a drawn line (0.5 mm) and the PDF's
# rounding.
TOLERANCE = 0.6


def test_the_whole_job(browser: Any, tmp_path: Path) -> None:
    faults = Faults()
    book_path = tmp_path / "book.db"
    with serving(book_path) as server:
        context = browser.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
        page = watched(context.new_page(), faults, server.address)
        page.goto(server.link())

        # A first visit opens the demo order, drawn.
        page.wait_for_selector(".panel")
        assert page.locator(".order-name").inner_text() == "sea-green bustier"
        assert page.locator(".panel").count() == 4
        small = sizes(download(page, "pattern-a0.pdf", tmp_path / "before.pdf"))

        # A tape reading that cannot be right: it is drawn, and a finding stands in the margin with a line to its place.
        turn(page, "tape")
        type_into(page, "body.bust", "44 in")
        warned = page.locator(".margin .note.of-warn")
        warned.wait_for()
        assert "bust" in warned.first.inner_text()
        assert page.locator(".leaders path").count() >= 1

        # Read again: 40 inches. The finding goes, the drawing follows, the sentence says it as she typed it.
        type_into(page, "body.bust", "40 in")
        warned.wait_for(state="detached")
        assert field(page, "body.bust").input_value() == "40 in"

        # She drags the plunge 3 squares down; the sentence changes with it.
        turn(page, "shape")
        before = field(page, "style.plunge").input_value()
        drag(page, handle(page, "lowest point of the neckline"), 0, 60)
        kept(page)
        after = field(page, "style.plunge").input_value()
        assert before == "7 cm"
        assert float(after.removesuffix(" cm")) < 7.0

        # She lays the cloth.
        turn(page, "cloth")
        page.locator(".laying select").select_option("5")
        page.locator(".laying .sewn").click()
        page.wait_for_selector(".on-cloth .cut", timeout=40_000)

        # She prints the pattern: its panel has the new size, measured in the PDF by poppler.
        turn(page, "shape")
        large = sizes(download(page, "pattern-a0.pdf", tmp_path / "after.pdf"))
        order_file = download(page, "order.toml", tmp_path / "order.toml")
        told = tomllib.loads(order_file.read_text("utf-8"))
        assert told["body"]["bust"] == "40 in"
        wanted = cut_size(order_file, "side front, shell")
        assert closest(wanted, large) < TOLERANCE
        assert closest(wanted, small) > 5.0
        context.close()

    # The server is started again; a new window finds the order on the shelf, as she left it.
    with serving(book_path) as server:
        context = browser.new_context(viewport={"width": 1440, "height": 900})
        page = watched(context.new_page(), faults, server.address)
        page.goto(server.link())
        page.wait_for_selector(".panel")
        page.get_by_role("button", name="The shelf").click()
        page.get_by_role("searchbox").fill("green")
        page.locator(".order-list .name", has_text="sea-green bustier").click()
        turn(page, "tape")
        assert field(page, "body.bust").input_value() == "40 in"
        turn(page, "shape")
        assert field(page, "style.plunge").input_value() == after
        context.close()
    assert faults == []


def drag(page: Any, grip: Any, dx: float, dy: float) -> None:
    """Take hold with the mouse, go there in steps, let go."""
    x, y = middle(grip)
    page.mouse.move(x, y)
    page.mouse.down()
    for n in range(1, 6):
        page.mouse.move(x + dx * n / 5, y + dy * n / 5)
        page.wait_for_timeout(40)
    page.mouse.up()


def download(page: Any, name: str, to: Path) -> Path:
    link = page.locator(f'.file a[download="{name}"]')
    with page.expect_download(timeout=PATIENCE * 3) as got:
        link.click()
    got.value.save_as(to)
    assert to.stat().st_size > 500
    return to


def sizes(pdf: Path) -> list[tuple[float, float]]:
    """Width and height in mm of every closed outline on every page, as poppler's pdftocairo draws them."""
    svg = pdf.with_suffix(".svg")
    out = []
    # 12 pages are more than an order has on A0.
    for number in range(1, 12):
        made = subprocess.run(
            ["pdftocairo", "-svg", "-f", str(number), "-l", str(number), str(pdf), str(svg)], capture_output=True
        )
        if made.returncode != 0:
            break
        for path in re.findall(r"<path[^>]*>", svg.read_text("utf-8")):
            d = re.search(r' d="([^"]+)"', path)
            # In points where a path has no transform of its own.
            scale = re.search(r"matrix\(([\d.]+),", path)
            points = ends(d[1]) if d else []
            if len(points) > 8:
                mm = 25.4 / 72 * (float(scale[1]) if scale else 1.0)
                xs, ys = [p[0] for p in points], [p[1] for p in points]
                out.append(((max(xs) - min(xs)) * mm, (max(ys) - min(ys)) * mm))
    return out


def ends(d: str) -> list[tuple[float, float]]:
    """The points that a path's segments begin and end at, and points between them on its curves."""
    out: list[tuple[float, float]] = []
    here = (0.0, 0.0)
    for letter, rest in re.findall(r"([MLCZ])([^MLCZ]*)", d):
        n = [float(v) for v in rest.split()]
        if letter in "ML":
            here = (n[0], n[1])
            out.append(here)
        elif letter == "C":
            for k in range(1, 21):
                t = k / 20
                a, b, c, e = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
                out.append((a * here[0] + b * n[0] + c * n[2] + e * n[4], a * here[1] + b * n[1] + c * n[3] + e * n[5]))
            here = (n[4], n[5])
    return out


def cut_size(order_file: Path, piece: str) -> tuple[float, float]:
    """Width and height of a piece's cut line as it is drafted from the downloaded order."""
    pattern = work_out(read_order(order_file)).pattern
    outline = next(p for p in pattern.pieces if p.name == piece).cut_outline(tolerance=0.02)
    xs, ys = [p[0] for p in outline], [p[1] for p in outline]
    return max(xs) - min(xs), max(ys) - min(ys)


def closest(wanted: tuple[float, float], found: list[tuple[float, float]]) -> float:
    """How far the nearest of the found outlines is from a size, in mm, however it was turned on the sheet."""
    assert found, "the PDF has no outlines"
    w, h = wanted
    return min(min(max(abs(a - w), abs(b - h)), max(abs(a - h), abs(b - w))) for a, b in found)


@pytest.mark.parametrize("spread", ["tape", "shape", "pads", "checks", "cloth", "making", "money", "lesson"])
def test_every_spread_gives_files_that_are_what_they_say(book_window: Any, spread: str) -> None:
    page = book_window(spread)
    links = page.locator(".file a[download]")
    assert links.count() >= 1
    begin = {"pdf": b"%PDF-", "svg": b"<?xml", "dxf": b"  0", "toml": b"", "json": b"{", "txt": b""}
    for n in range(links.count()):
        href = links.nth(n).get_attribute("href")
        answer = page.request.get(
            href if href.startswith("http") else page.url.split("/")[0] + "//" + page.url.split("/")[2] + href
        )
        assert answer.status == 200, href
        ending = href.rsplit(".", 1)[-1]
        body = answer.body()
        assert len(body) > 100, href
        assert body.startswith(begin[ending]) or (ending == "svg" and body.startswith(b"<svg")) or ending == "dxf", href
