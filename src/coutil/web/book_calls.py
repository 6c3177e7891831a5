"""Calls about the book: lists, clients, copies, what comes in and goes out as a file (docs/web-api.md, 2 and 8)."""

from __future__ import annotations

import tempfile
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from coutil.book import ClientEntry
from coutil.order import Unit
from coutil.web import asking
from coutil.web.asking import identity, json_body, upload
from coutil.web.coming import Come, files_of, new_text, order_text
from coutil.web.order_calls import order_id
from coutil.web.problems import ProblemError, not_understood
from coutil.web.readings import tape_in_order, unit_of
from coutil.web.room import Room, answered, beside, room
from coutil.web.settings import settings_of
from coutil.web.sheet import order_line
from coutil.web.tape_calls import tape_told
from coutil.words import say

_MOST_LINES: Final = 500
_TOML: Final = ("application/toml", "text/plain", "application/octet-stream")
_BOOK: Final = ("application/octet-stream", "application/zip")


def client_id(request: Request) -> int:
    return identity(request.path_params["client"], "c", "no_such_client")


async def orders(request: Request) -> Response:
    r = room(request)
    find = asking.query(request, "find")
    whose = asking.query(request, "client")
    client = identity(whose, "c", "no_such_client") if whose else None
    limit = asking.query_whole(request, "limit", 100, _MOST_LINES)
    offset = asking.query_whole(request, "offset", 0, 10**9)

    def work() -> dict[str, Any]:
        lines = r.book.orders(find, client_id=client)
        # What is due comes first, the earliest on top; the rest stays as it comes: the last changed first.
        lines = tuple(sorted(lines, key=lambda n: (n.due is None, n.due or date.max)))
        return {"orders": [order_line(n) for n in lines[offset : offset + limit]], "total": len(lines)}

    return await answered(work, missing="no_such_client")


async def add_order(request: Request) -> Response:
    r, body = room(request), await json_body(request)
    name = asking.text(body, "name", say("new.order"), longest=120).strip() or say("new.order")
    unit: Unit = "in" if settings_of(request).unit == "in" else "cm"
    who = body.get("client")
    label = asking.text(who, "label", longest=200).strip() if isinstance(who, dict) else None
    number = None
    if who is not None and label is None:
        number = identity(asking.text(body, "client", longest=30), "c", "no_such_client")

    def work() -> dict[str, Any]:
        called = r.book.client(number).label if number is not None else label or ""
        kept = r.book.tapes(number) if number is not None else ()
        # In the tape's own unit, in which its readings are round numbers; the page shows each person hers.
        text = new_text(name, called, unit_of(kept[0]) if kept else unit)
        entry = r.book.begin_order(text, client_id=number, new_client=label)
        r.hub.publish("book", {})
        return {"order": order_line(entry), "tape": tape_in_order(entry.tape)}

    return await answered(work, missing="no_such_client")


async def copy_order(request: Request) -> Response:
    r, number, body = room(request), order_id(request), await json_body(request)
    client, keep = _whose(r, body), asking.flag(body, "keep_body")

    def work() -> dict[str, Any]:
        whose, _ = client()
        entry = r.book.copy_order(number, whose or r.book.order(number).client_id, keep_body=keep)
        r.hub.publish("book", {})
        return {"order": order_line(entry)}

    return await answered(work)


async def about_order(request: Request) -> Response:
    r, number, body = room(request), order_id(request), await json_body(request)
    if "due" not in body:
        raise not_understood()
    due = None if body["due"] is None else _day(asking.text(body, "due", longest=10))

    def work() -> dict[str, Any]:
        entry = r.book.set_due(number, due, based_on=r.book.edit_of(number))
        r.hub.publish("changed", _changed(number, entry.edit, body), order_id=number)
        r.hub.publish("book", {})
        return {"order": order_line(entry)}

    return await answered(work)


async def erase_order(request: Request) -> Response:
    r, number, body = room(request), order_id(request), await json_body(request)
    name = asking.text(body, "name", longest=200)

    def work() -> dict[str, Any]:
        entry = r.book.order(number)
        if entry.name != name:
            raise ProblemError(422, "name_again")
        r.book.remove_order(number, based_on=entry.edit)
        _gone(r, number)
        r.hub.publish("book", {})
        return {}

    return await answered(work)


async def clients(request: Request) -> Response:
    r, find = room(request), asking.query(request, "find")
    return await answered(lambda: {"clients": [_client(c) for c in r.book.clients(find)]})


async def add_client(request: Request) -> Response:
    r, body = room(request), await json_body(request)
    label, note = asking.text(body, "label", longest=200), asking.text(body, "note", "")

    def work() -> dict[str, Any]:
        made = r.book.add_client(label.strip(), note=note)
        r.hub.publish("book", {})
        return {"client": _client(made)}

    return await answered(work)


async def one_client(request: Request) -> Response:
    r, number, unit = room(request), client_id(request), settings_of(request).unit

    def work() -> dict[str, Any]:
        return {
            "client": _client(r.book.client(number)),
            "orders": [order_line(n) for n in r.book.orders(client_id=number)],
            "tapes": [tape_told(r, t, unit) for t in r.book.tapes(number)],
        }

    return await answered(work, missing="no_such_client")


async def change_client(request: Request) -> Response:
    r, number, body = room(request), client_id(request), await json_body(request)
    label = asking.text(body, "label", longest=200) if "label" in body else None
    note = asking.text(body, "note") if "note" in body else None
    base = asking.whole(body, "base_version") if "base_version" in body else None

    def work() -> dict[str, Any]:
        now = r.book.client(number)
        made = r.book.change_client(number, based_on=now.edit if base is None else base, label=label, note=note)
        for line in r.book.orders(client_id=number):
            r.hub.publish("changed", _changed(line.id, line.edit, body), order_id=line.id)
        r.hub.publish("book", {})
        return {"client": _client(made)}

    return await answered(work, missing="no_such_client")


async def erase_client(request: Request) -> Response:
    r, number, body = room(request), client_id(request), await json_body(request)
    label = asking.text(body, "label", longest=200)

    def work() -> dict[str, Any]:
        if r.book.client(number).label != label:
            raise ProblemError(422, "name_again")
        theirs = r.book.orders(client_id=number)
        gone = r.book.erase_client(number)
        for line in theirs:
            _gone(r, line.id)
        r.hub.publish("book", {})
        return {
            "orders": gone.orders,
            "versions": gone.versions,
            "tapes": gone.tapes,
            "mentions": [order_line(n) for n in gone.mentions],
            "left": list(gone.left),
        }

    return await answered(work, missing="no_such_client")


async def export_client(request: Request) -> Response:
    r, number = room(request), client_id(request)

    def work() -> bytes:
        with tempfile.TemporaryDirectory(prefix="coutil-") as folder:
            return r.book.export_client(number, Path(folder) / "client.zip").read_bytes()

    data = await beside(work, missing="no_such_client")
    return _download(data, "application/zip", "client.zip")


async def export_book(request: Request) -> Response:
    r = room(request)

    def work() -> bytes:
        with tempfile.TemporaryDirectory(prefix="coutil-") as folder:
            return r.book.export_book(Path(folder) / "book").read_bytes()

    data = await beside(work)
    return _download(data, "application/octet-stream", f"{datetime.now(UTC):%Y-%m-%d}.coutil-book")


async def import_book(request: Request) -> Response:
    r, data = room(request), await upload(request, _BOOK, asking.MOST_BOOK)

    def work() -> dict[str, Any]:
        with tempfile.TemporaryDirectory(prefix="coutil-") as folder:
            path = Path(folder) / "book"
            path.write_bytes(data)
            got = r.book.import_book(path)
        r.hub.publish("book", {})
        return {
            "orders": got.orders,
            "clients": got.clients,
            "there_already": got.there_already,
            "notes": list(got.notes),
        }

    return await answered(work)


async def import_order(request: Request) -> Response:
    """One order file as it is, or JSON with it and with what belongs to it; a pattern alone makes a new order."""
    r = room(request)
    unit: Unit = "in" if settings_of(request).unit == "in" else "cm"
    if asking.kind_of(request) == "application/json":
        files = files_of(await json_body(request, asking.MOST_FILES))
    else:
        files = (Come(say("new.file") + ".toml", await upload(request, _TOML, asking.MOST_ORDER)),)

    def work() -> dict[str, Any]:
        entry = r.book.add_order(order_text(files, unit))
        r.hub.publish("book", {})
        return {"order": order_line(entry)}

    return await answered(work)


async def privacy(request: Request) -> Response:
    r = room(request)
    names = ["stay", "see", "erase", "export", *(["openly"] if r.hosts.openly else [])]
    told = {"title": say("privacy.title"), "paragraphs": [say(f"privacy.{n}", where=r.where) for n in names]}
    return await answered(lambda: dict(told))


def _gone(r: Room, number: int) -> None:
    """An order was erased: off the desk, and told to the windows that show it."""
    r.desk.forget(number)
    r.hub.publish("gone", {"order": f"o{number}"}, order_id=number)


def _whose(r: Room, body: dict[str, Any]) -> Any:
    """Which client is meant: an id, {"label": ...} for a new one, or nobody; found out when the book is asked."""
    who = body.get("client")
    if who is None:
        return lambda: (None, "")
    if isinstance(who, dict):
        label = asking.text(who, "label", longest=200).strip()
        return lambda: (r.book.add_client(label).id, label)
    number = identity(asking.text(body, "client", longest=30), "c", "no_such_client")
    return lambda: (number, r.book.client(number).label)


def _client(c: ClientEntry) -> dict[str, Any]:
    return {
        "id": f"c{c.id}",
        "label": c.label,
        "note": c.note,
        "orders": c.orders,
        "tapes": c.tapes,
        "taken_on": c.taken_on.isoformat() if c.taken_on else None,
        "version": c.edit,
    }


def _changed(number: int, edit: int, body: dict[str, Any]) -> dict[str, Any]:
    window = body.get("window")
    return {
        "order": f"o{number}",
        "version": edit,
        "window": window if isinstance(window, str) else "",
        "what": "",
        "keys": [],
    }


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise not_understood() from None


def _download(data: bytes, media: str, name: str) -> Response:
    return Response(data, media_type=media, headers={"content-disposition": f'attachment; filename="{name}"'})


ROUTES: Final = [
    Route("/api/orders", orders, methods=["GET"]),
    Route("/api/orders", add_order, methods=["POST"]),
    Route("/api/orders/import", import_order, methods=["POST"]),
    Route("/api/orders/{order}/copy", copy_order, methods=["POST"]),
    Route("/api/orders/{order}/about", about_order, methods=["POST"]),
    Route("/api/orders/{order}/erase", erase_order, methods=["POST"]),
    Route("/api/clients", clients, methods=["GET"]),
    Route("/api/clients", add_client, methods=["POST"]),
    Route("/api/clients/{client}", one_client, methods=["GET"]),
    Route("/api/clients/{client}", change_client, methods=["POST"]),
    Route("/api/clients/{client}/erase", erase_client, methods=["POST"]),
    Route("/api/clients/{client}/export", export_client, methods=["GET"]),
    Route("/api/book/export", export_book, methods=["GET"]),
    Route("/api/book/import", import_book, methods=["POST"]),
    Route("/api/privacy", privacy, methods=["GET"]),
]
