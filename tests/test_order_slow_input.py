"""Files within the size limit that kept the reader busy for hours: keys of very many parts, found by an attack."""

from __future__ import annotations

import time

import pytest

from coutil.order import OrderError, parse_order


@pytest.mark.parametrize("text", ["a." * 300_000, f"[{'a.' * 300_000}a]", '"a".' * 200_000 + "a = 1", "a . " * 200_000])
def test_keys_of_very_many_parts_are_refused_at_once(text: str) -> None:
    start = time.perf_counter()
    with pytest.raises(OrderError, match="points"):
        parse_order(text)
    assert time.perf_counter() - start < 1.0


def test_many_such_lines_just_within_the_limit_take_a_bearable_time() -> None:
    start = time.perf_counter()
    with pytest.raises(OrderError):
        parse_order("\n".join(f"{'a.' * 999}b{n} = 1" for n in range(450)))
    # About 2 s on an idle machine; hours before.
    assert time.perf_counter() - start < 60.0
