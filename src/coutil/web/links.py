"""The addresses of the book: which order, which spread of it, and what lies open upon it.

    /                                the order worked on last
    /order/o7/shape                  an order and a spread
    /order/o7/lesson/3               a part of the lesson, counted from 1
    /order/o7/shape?over=versions    what lies over the book: shelf, versions, keys, privacy
    /order/o7/shape?over=shelf&client=c3    the shelf with a client's card

An address that means nothing here is told apart from one that means nothing any more (an erased order, say).
"""

from __future__ import annotations

import html
import re
from typing import Final
from urllib.parse import parse_qsl

from starlette.responses import Response

from coutil.book import Book, MissingError
from coutil.web.sentences import SPREADS
from coutil.words import LANGUAGE, say

HOME: Final = "/"
# What lies over the book.
OVER: Final = ("shelf", "versions", "keys", "privacy")
# No address of the book is longer, in characters.
_LONGEST: Final = 200
_NUMBER: Final = "[1-9][0-9]{0,14}"
_PATH: Final = re.compile(
    f"/order/o(?P<order>{_NUMBER})(?:/(?P<spread>{'|'.join(SPREADS)})|/lesson/(?P<part>[1-9][0-9]{{0,2}}))?", re.ASCII
)
_CLIENT: Final = re.compile(f"c(?P<client>{_NUMBER})", re.ASCII)


def own(wanted: str) -> str:
    """An address that the door may lead to once it is open: the book's own, or else where it begins."""
    path, _, query = wanted.partition("?")
    if len(wanted) > _LONGEST or not _PATH.fullmatch(path):
        return HOME
    return wanted if not query or _over(query) is not None else path


def missing(book: Book, path: str, query: str) -> str | None:
    """Why an address shows nothing, in words; None if it shows something."""
    if path == HOME:
        return None
    found = _PATH.fullmatch(path)
    if found is None:
        return say("nowhere.address")
    over = _over(query)
    if query and over is None:
        return say("nowhere.address")
    try:
        book.edit_of(int(found["order"]))
    except MissingError:
        return say("nowhere.order")
    client = None if over is None else over.get("client")
    if client is not None:
        try:
            book.client(int(client[1:]))
        except MissingError:
            return say("nowhere.client")
    return None


def _over(query: str) -> dict[str, str] | None:
    """What a query says, None if it is none of the book's."""
    if len(query) > _LONGEST:
        return None
    pairs = parse_qsl(query, keep_blank_values=True)
    said = dict(pairs)
    if len(said) != len(pairs) or not said.keys() <= {"over", "client"} or said.get("over") not in OVER:
        return None
    if "client" in said and (said["over"] != "shelf" or not _CLIENT.fullmatch(said["client"])):
        return None
    return said


def nowhere(says: str) -> Response:
    """A page in words for an address that shows nothing, with a way back."""
    title, back = html.escape(say("nowhere.title")), html.escape(say("nowhere.back"))
    text = (
        f'<!doctype html><html lang="{LANGUAGE}"><head><meta charset="utf-8"><title>{title} · coutil</title>'
        '<meta name="viewport" content="width=device-width"><meta name="color-scheme" content="light dark"></head>'
        f'<body><main><h1>{title}</h1><p>{html.escape(says)}</p><p><a href="{HOME}">{back}</a></p></main></body></html>'
    )
    return Response(text, status_code=404, media_type="text/html; charset=utf-8")
