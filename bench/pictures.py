"""Pictures of every spread for the docs, on a desk and on a tablet, some on carbon paper, into docs/pictures/.

    python bench/pictures.py [folder]

Each shows something at work: a value in hand with its lines lit, a finding in the margin, lays on their cloth.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from page_book import DESK, ROOT, SPREADS, TABLET, browsing, enter, field, kept, serving, turn

# Enough for ruled paper, ink and a little colour; a picture takes a third of the room that it takes with all.
COLOURS = 128
# Spreads that are also shown on carbon paper.
CARBON = ("tape", "shape", "checks")
# The value in hand on each spread.
IN_HAND = {
    "tape": "body.waist",
    "shape": "style.plunge",
    "pads": "build.pad.top_drop",
    "making": "notions.eyelet_spacing",
}
# Seconds that the lays may take: enough for a tidy picture.
LAY = "20"


def lay(page: Any) -> None:
    turn(page, "cloth")
    page.locator(".laying select").select_option(LAY)
    page.locator(".laying .sewn").click()
    page.locator(".on-cloth .cut").first.wait_for(timeout=120_000)


def pose(page: Any, spread: str) -> None:
    turn(page, spread)
    page.locator(".leaf").evaluate("e => { e.scrollTop = 0; }")
    if spread in IN_HAND:
        field(page, IN_HAND[spread]).first.focus()
    if spread == "pads":
        # The shell lifted off, and what lies under it: the foam on top.
        page.locator(".pile input").nth(2).check(force=True)
    elif spread == "shape":
        page.locator(".pile input").nth(0).check(force=True)
        page.get_by_label("Lengths", exact=True).check()
    elif spread == "checks":
        page.get_by_label("Lengths", exact=True).uncheck()
        page.locator(".pile input").nth(0).check(force=True)
        page.locator(".walk .row").nth(1).focus()
    elif spread == "lesson":
        page.locator(".group-pick select").select_option(index=3)
    if spread in IN_HAND:
        field(page, IN_HAND[spread]).first.focus()
    page.wait_for_timeout(250)


def take(page: Any, to: Path) -> None:
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    picture.quantize(COLOURS, dither=Image.Dither.NONE).save(to, optimize=True)
    print(f"{to.name}  {to.stat().st_size / 1000:.0f} kB")


def main() -> int:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "docs/pictures"
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as tmp, serving(Path(tmp) / "book.db") as server, browsing() as browser:
        for device, size, touch in (("desk", DESK, False), ("tablet", TABLET, True)):
            for look in ("light", "dark"):
                context = browser.new_context(viewport=size, color_scheme=look, has_touch=touch, locale="en-GB")
                page = context.new_page()
                enter(page, server)
                page.wait_for_timeout(200)
                if device == "desk" and look == "light":
                    lay(page)
                for spread in SPREADS if look == "light" else CARBON:
                    pose(page, spread)
                    take(page, folder / f"{device}-{'carbon-' if look == 'dark' else ''}{spread}.png")
                if device == "desk" and look == "light":
                    finding(page, folder)
                context.close()
    return 0


def finding(page: Any, folder: Path) -> None:
    """A reading that cannot be right, and the shelf."""
    turn(page, "tape")
    one = field(page, "body.bust")
    one.click()
    one.fill("44 in")
    kept(page)
    page.locator(".margin .note.of-warn").first.wait_for()
    page.wait_for_timeout(200)
    take(page, folder / "desk-finding.png")
    one.fill("96 cm")
    kept(page)
    page.get_by_role("button", name="The shelf").click()
    page.get_by_role("button", name="More about").first.click()
    page.wait_for_timeout(300)
    take(page, folder / "desk-shelf.png")
    page.keyboard.press("Escape")
    kept(page)


if __name__ == "__main__":
    raise SystemExit(main())
