"""Lists in an order file: lengths, places, roles, an edge. Each raises WrongError with what is allowed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from coutil.order.key import Key
from coutil.order.refusal import WrongError

# More entries than this in one list is a slip.
MOST = 60


def read_list(key: Key, value: Any, length: Callable[[Key, Any], float]) -> tuple[Any, ...]:
    """The value of a key of one of the kinds lengths, place, places, roles, edge; `length` reads one length."""
    wrong = WrongError("must_be", allowed=key.allowed)
    if not isinstance(value, list) or not 0 < len(value) <= MOST:
        raise wrong
    match key.kind:
        case "lengths":
            return tuple(length(key, v) for v in value)
        case "place":
            if len(value) != 2:
                raise wrong
            return length(key, value[0]), length(key, value[1])
        case "places":
            if not all(isinstance(v, list) and len(v) == 2 for v in value):
                raise wrong
            return tuple((length(key, x), length(key, y)) for x, y in value)
        case "roles":
            if not all(isinstance(v, str) and v in key.choices for v in value):
                raise wrong
            return tuple(value)
        case "edge":
            short = all(isinstance(v, str) and 0 < len(v) <= key.high and v.isprintable() for v in value)
            if len(value) != 2 or not short:
                raise wrong
            return value[0], value[1]
    raise AssertionError(key.kind)
