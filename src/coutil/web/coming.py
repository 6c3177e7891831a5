"""What comes into the book by the page: an order file, with its own pattern if it has one, or a pattern alone."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any, Final

from coutil.order import OrderError, OwnPattern, Unit, new_order, parse_own, tables_of, with_own
from coutil.order.read import LARGEST
from coutil.trace import TraceError, carried, carrying
from coutil.web.problems import ProblemError, not_understood
from coutil.words import say

# An order, its description, its drawing: more than this is a folder taken by mistake.
_MOST_FILES: Final = 5
_LONGEST_NAME: Final = 255


@dataclass(frozen=True, slots=True)
class Come:
    """One file as the browser sent it: its name without folders, its bytes."""

    name: str
    data: bytes


def new_text(name: str, label: str, unit: Unit) -> str:
    """The text of a new order for which no reading is taken yet."""
    return new_order(name=name, label=label, unit=unit)


def files_of(body: dict[str, Any]) -> tuple[Come, ...]:
    """The files in a request: {"files": [{"name": ..., "data": base64}, ...]}. Raises ProblemError."""
    rows = body.get("files")
    if not isinstance(rows, list) or not 1 <= len(rows) <= _MOST_FILES:
        raise not_understood()
    out = []
    for row in rows:
        name, data = (row.get("name"), row.get("data")) if isinstance(row, dict) else (None, None)
        if not isinstance(name, str) or not 1 <= len(name) <= _LONGEST_NAME or not isinstance(data, str):
            raise not_understood()
        try:
            out.append(Come(PurePosixPath(name.replace("\\", "/")).name, base64.b64decode(data, validate=True)))
        except (binascii.Error, ValueError):
            raise not_understood() from None
    return tuple(out)


def order_text(files: Sequence[Come], unit: Unit) -> str:
    """The text of the order that comes in, with its drawing in it where it has one. Raises ProblemError, in words.

    Of a drawing alone, with or without its description, a new order is made, in `unit`, nothing of its body taken.
    """
    orders = [f for f in files if _is_order(f)]
    if len(orders) > 1:
        raise _refused(say("coming.two", a=orders[0].name, b=orders[1].name))
    try:
        if orders:
            return carrying(_text(orders[0]), lambda name: _named(files, name))
        return _pattern_alone(files, unit)
    except OrderError as e:
        raise _refused("\n".join(e.problems)) from None
    except TraceError as e:
        raise _refused(f"{e}") from None


def _pattern_alone(files: Sequence[Come], unit: Unit) -> str:
    described = [f for f in files if _is_toml(f)]
    if len(described) > 1:
        raise _refused(say("coming.two", a=described[0].name, b=described[1].name))
    if described:
        own = parse_own(_text(described[0]), described[0].name)
        if not own.drawing:
            own = carried(own, _named(files, own.file))
    elif len(files) == 1:
        own = carried(OwnPattern(files[0].name), files[0].data)
    else:
        raise _refused(say("coming.two", a=files[0].name, b=files[1].name))
    name = PurePosixPath(own.file).stem[:100].strip() or say("new.order")
    return with_own(new_text(name, "", unit), own)


def _is_toml(f: Come) -> bool:
    return f.name.lower().endswith(".toml")


def _is_order(f: Come) -> bool:
    """Whether it is an order file rather than the description of a drawing; a broken one is told of by its reader."""
    if not _is_toml(f):
        return False
    try:
        top = tables_of(_text(f))
    except OrderError:
        return True
    return "body" in top or "pattern" not in top


def _text(f: Come) -> str:
    if len(f.data) > LARGEST:
        raise _refused(say("coming.large", name=f.name))
    try:
        return f.data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ProblemError(415, "wrong_kind", say("error.wrong_kind", wanted="UTF-8")) from None


def _named(files: Sequence[Come], name: str) -> bytes:
    """The file that an order names: by its last part, since a browser tells no folders."""
    last = PurePosixPath(name.replace("\\", "/")).name
    for f in files:
        if f.name == last:
            return f.data
    raise _refused(say("coming.missing", name=last))


def _refused(says: str) -> ProblemError:
    return ProblemError(422, "refused", says)
