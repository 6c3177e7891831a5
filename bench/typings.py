"""Random typing in real Chromium against a plain model of what each field holds, for as long as one likes.

    python bench/typings.py [typings] [seed] [processes]

The model and the kinds of typing are those of tests/random_typing.py, in two windows on one order. Each book takes a
hundred typings from a seed of its own; a difference ends that book, and is told with its seed and the last typings
before it. Exit code 1 if there was any.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict
from multiprocessing import get_context
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from page_book import browsing, serving, window_beside, windows
from random_typing import type_at_random

# In one book: then a new one, so that a difference is found near where it began.
A_BOOK = 100
# More than cores: a good part of the time is spent waiting for pauses and rests.
PROCESSES = 3
# How long an answer may take, in ms: here a machine that others use is no difference.
PATIENCE = 600_000


def one_book(count: int, seed: int) -> tuple[dict[str, int], str]:
    """What was done in a book of its own, and the first difference, \"\" where there is none."""
    with (
        browsing() as browser,
        tempfile.TemporaryDirectory() as folder,
        serving(Path(folder) / "book.db") as server,
        windows(browser, server) as window,
    ):
        first = window("tape")
        both = [first, window_beside(first)]
        for page in both:
            page.set_default_timeout(PATIENCE)
        try:
            return asdict(type_at_random(both, count, seed)), ""
        # What a window waits for in vain is a difference too.
        except Exception as e:
            return {}, f"{type(e).__name__}: {e}"


def main() -> int:
    count, seed, processes = (
        int(sys.argv[n]) if len(sys.argv) > n else usual for n, usual in ((1, 10_000), (2, 1), (3, PROCESSES))
    )
    total: Counter[str] = Counter()
    began, done, differences = time.monotonic(), 0, 0
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        books = {pool.submit(one_book, min(A_BOOK, count - n), seed + n): seed + n for n in range(0, count, A_BOOK)}
        for book in as_completed(books):
            tally, difference = book.result()
            total.update(tally)
            done += A_BOOK
            if difference:
                differences += 1
                print(f"DIFFERENCE in the book of seed {books[book]}: {difference}", flush=True)
            spent = time.monotonic() - began
            print(f"{total['typings']} typings, {differences} differences; {spent:.0f} s", flush=True)
    print(", ".join(f"{name.replace('_', ' ')}: {number}" for name, number in total.items()))
    return 1 if differences else 0


if __name__ == "__main__":
    raise SystemExit(main())
