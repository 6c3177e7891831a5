"""A body that is an order by itself, and the problems of an order that is refused."""

from __future__ import annotations

import pytest

from coutil.order import OrderError, parse_order

BODY = """[body]
bust = 96
underbust = 78
waist = 70
bust_span = 19.5
bust_to_underbust = 8
bust_to_waist = 18.5
"""


def problems(text: str, *, after_body: bool = True) -> tuple[str, ...]:
    with pytest.raises(OrderError) as e:
        parse_order(BODY + text if after_body else text, "mt.toml")
    assert str(e.value) == "\n".join(e.value.problems)
    assert all("\n" not in p and p.startswith("mt.toml: ") for p in e.value.problems)
    return e.value.problems
