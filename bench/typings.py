"""Random typing in real Chromium against a plain model of what each field holds, for as long as one likes.

    python bench/typings.py [typings] [seed]

The model and the kinds of typing are those of tests/random_typing.py, in two windows on one order. Any difference ends
it, with the last typings before it.
"""

from __future__ import annotations

import sys
import tempfile
import time
from dataclasses import asdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from page_book import browsing, serving, windows
from random_typing import type_at_random

# In one book: then a new one, so that a difference is found near where it began.
A_BOOK = 200


def main() -> int:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    total: dict[str, int] = {}
    began, done = time.monotonic(), 0
    with browsing() as browser:
        while done < count:
            with (
                tempfile.TemporaryDirectory() as folder,
                serving(Path(folder) / "book.db") as server,
                windows(browser, server) as window,
            ):
                first = window("tape")
                second = first.context.new_page()
                second.goto(first.url)
                second.wait_for_selector(".panel")
                tally = type_at_random([first, second], min(A_BOOK, count - done), seed + done)
            for name, number in asdict(tally).items():
                total[name] = total.get(name, 0) + number
            done += min(A_BOOK, count - done)
            print(f"{done} of {count}, no difference; {time.monotonic() - began:.0f} s", flush=True)
    print(", ".join(f"{name.replace('_', ' ')}: {number}" for name, number in total.items()))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
