"""What of a style has no place in another seaming: found by trying, taken out of the text, and kept by who asks."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from typing import Any, Final

from coutil.web.edits import Edit, RefusedError, edited, raw
from coutil.web.keys import UnknownKeyError, address

# As many lengths of a style may have no place in another seaming: all but two of them.
_MOST: Final = 6


def with_place(text: str, tried: Callable[[str], object], unit: str) -> tuple[str, tuple[str, ...]]:
    """A text for another seaming without the lengths of its style that cannot be drawn with that, and their keys.

    `tried` raises RefusedError for a text that cannot be; what else is in the way is left for it to tell.
    """
    idle: list[str] = []
    for _ in range(_MOST):
        try:
            tried(text)
        except RefusedError as e:
            doc = tomllib.loads(text)
            key = next((r.key for r in e.refusals if _is_stated_length(r.key, doc)), None)
            if key is None:
                break
            idle.append(key)
            text = edited(text, Edit(key, text=""), unit)
        else:
            break
    return text, tuple(idle)


def _is_stated_length(key: str, doc: Mapping[str, Any]) -> bool:
    """Whether it is a length of the style that the order states."""
    try:
        at = address(key)
    except UnknownKeyError:
        return False
    return at.table == "style" and at.spec.kind == "length" and raw(doc, at) is not None
