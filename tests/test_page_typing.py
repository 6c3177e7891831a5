"""Random typing in a real browser: pauses, refusals, Escape, undo, reloads, two windows; bench/typings.py does more."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from page_book import window_beside
from random_typing import type_at_random


@pytest.mark.parametrize("seed", [20260611, 20260612, 20260613])
def test_a_field_holds_what_the_model_says(book_window: Callable[..., Any], seed: int) -> None:
    first = book_window("tape")
    tally = type_at_random([first, window_beside(first)], 100, seed=seed)
    # The test means something only if all of it came about.
    assert min(tally.refused, tally.escaped, tally.undone, tally.reloads, tally.in_other_window) > 1, tally
