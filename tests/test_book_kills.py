"""200 kills during rapid editing on each database: every acknowledged edit is there, the book passes its check."""

from __future__ import annotations

import pytest

from book_kills import file_places, kill_rounds

ROUNDS = 200


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_kills_lose_no_acknowledged_edit(kind, tmp_path, request):
    if kind == "sqlite":
        places = file_places(tmp_path)
    else:
        server = request.getfixturevalue("postgres")
        places = lambda number: server.fresh(f"killed{number}")  # noqa: E731
    tally = kill_rounds(places, ROUNDS, seed=20260504)
    assert tally.rounds == ROUNDS
    # The test means something only if processes had edited, and were hit in the middle of edits.
    assert tally.acknowledged > 3 * ROUNDS
    assert tally.in_flight > ROUNDS / 4


def test_the_rounds_catch_a_book_that_acknowledges_too_early(tmp_path):
    with pytest.raises(AssertionError, match="round"):
        kill_rounds(file_places(tmp_path), 60, seed=20260504, too_early=True)
