"""Requests read with care: bounded in size, of the right kind, every field of the type that it must have."""

from __future__ import annotations

import json
import re
from typing import Any, Final, NoReturn

from starlette.requests import Request

from coutil.web.problems import ProblemError, not_understood, too_large
from coutil.words import say

# Bytes of a request that is no upload: the longest note in JSON is far below.
MOST_JSON: Final = 64_000
MOST_ORDER: Final = 1_000_000
# An order and a drawing, in base64: a drawing of the largest that an order carries is some 2 MB before it is packed.
MOST_FILES: Final = 12_000_000
MOST_BOOK: Final = 64_000_000
# Characters of a search, a label and the like.
_LONGEST: Final = 5_000
# The greatest number that JavaScript counts exactly.
_HIGHEST: Final = 2**53
_ID: Final = re.compile(r"[a-z]([0-9]{1,15})")


def kind_of(request: Request) -> str:
    """The media type of what was sent, without its parameters."""
    return request.headers.get("content-type", "").split(";")[0].strip().lower()


async def json_body(request: Request, most: int = MOST_JSON) -> dict[str, Any]:
    """The JSON object that was sent. Raises ProblemError."""
    if kind_of(request) != "application/json":
        raise ProblemError(415, "wrong_kind", say("error.wrong_kind", wanted="application/json"))
    data = await bounded(request, most)
    try:
        body = json.loads(data, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        raise not_understood() from None
    if not isinstance(body, dict):
        raise not_understood()
    return body


async def upload(request: Request, kinds: tuple[str, ...], most: int) -> bytes:
    """The file that was sent as the body. Raises ProblemError for another kind or one that is too large."""
    if kind_of(request) not in kinds:
        raise ProblemError(415, "wrong_kind", say("error.wrong_kind", wanted=kinds[0]))
    return await bounded(request, most)


async def bounded(request: Request, most: int) -> bytes:
    length = request.headers.get("content-length", "0")
    if not (length.isascii() and length.isdecimal() and len(length) <= 15):
        raise not_understood()
    if int(length) > most:
        raise too_large(most)
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        # The header may have said less, or nothing.
        if size > most:
            raise too_large(most)
        parts.append(part)
    return b"".join(parts)


def _no_constant(name: str) -> NoReturn:
    raise ValueError(name)


def text(body: dict[str, Any], name: str, default: str | None = None, *, longest: int = _LONGEST) -> str:
    value = body.get(name, default)
    if not isinstance(value, str) or len(value) > longest:
        raise not_understood()
    try:
        value.encode()
    except UnicodeEncodeError:
        raise not_understood() from None
    return value


def whole(body: dict[str, Any], name: str, default: int | None = None) -> int:
    value = body.get(name, default)
    if isinstance(value, bool) or not isinstance(value, int) or not -_HIGHEST < value < _HIGHEST:
        raise not_understood()
    return value


def number(body: dict[str, Any], name: str, *, limit: float = 1e6) -> float:
    value = body.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not -limit <= value <= limit:
        raise not_understood()
    return float(value)


def flag(body: dict[str, Any], name: str) -> bool:
    value = body.get(name, False)
    if not isinstance(value, bool):
        raise not_understood()
    return value


def texts(value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or len(value) > 50 or not all(isinstance(v, str) and len(v) <= 100 for v in value):
        raise not_understood()
    return tuple(value)


def identity(value: str, letter: str, missing: str) -> int:
    """The number in an id such as "o7"; what is none such is not in the book."""
    match = _ID.fullmatch(value)
    if match is None or value[0] != letter:
        raise ProblemError(404, missing)
    return int(match[1])


def query(request: Request, name: str, default: str = "", *, longest: int = 200) -> str:
    return request.query_params.get(name, default)[:longest]


def query_whole(request: Request, name: str, default: int, most: int) -> int:
    value = request.query_params.get(name, "")
    if not value:
        return default
    if not (value.isascii() and value.isdecimal() and len(value) <= 9):
        raise not_understood()
    return min(int(value), most)
