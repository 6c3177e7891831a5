"""Calls about tapes: kept, dated, noted, held against one another, erased (docs/web-api.md, 2)."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from coutil.book import OrderLine, Tape, readings
from coutil.web import asking
from coutil.web.asking import identity, json_body
from coutil.web.lengths import shown
from coutil.web.order_calls import order_id
from coutil.web.problems import ProblemError
from coutil.web.readings import ALL_READINGS, compared, reading_name
from coutil.web.room import Room, answered, room
from coutil.web.settings import settings_of
from coutil.web.sheet import order_line
from coutil.words import say

_LONGEST_NOTE: Final = 1000


async def keep_tape(request: Request) -> Response:
    r, number, body = room(request), order_id(request), await json_body(request)
    taken = day_of(asking.text(body, "taken_on", datetime.now(UTC).date().isoformat(), longest=40))
    note = asking.text(body, "note", "", longest=_LONGEST_NOTE)
    unit = settings_of(request).unit

    def work() -> dict[str, Any]:
        made = r.book.tape_of(number, taken_on=taken, note=note)
        r.hub.publish("book", {})
        return {"tape": tape_told(r, made, unit)}

    return await answered(work)


async def change_tape(request: Request) -> Response:
    r, number, body = room(request), tape_id(request), await json_body(request)
    taken = day_of(asking.text(body, "taken_on", longest=40)) if "taken_on" in body else None
    note = asking.text(body, "note", longest=_LONGEST_NOTE) if "note" in body else None
    unit = settings_of(request).unit

    def work() -> dict[str, Any]:
        before = r.book.tape(number)
        made = r.book.change_tape(number, taken_on=taken, note=note)
        if made.taken_on != before.taken_on:
            _tell(r, r.book.orders_from(number), body)
        r.hub.publish("book", {})
        return {"tape": tape_told(r, made, unit)}

    return await answered(work, missing="no_such_tape")


async def erase_tape(request: Request) -> Response:
    r, number, body = room(request), tape_id(request), await json_body(request)
    # Repeated, so that no tape goes whose day was changed in another window after this one asked.
    taken = day_of(asking.text(body, "taken_on", longest=40))

    def work() -> dict[str, Any]:
        if r.book.tape(number).taken_on != taken:
            raise ProblemError(422, "day_again")
        hers = r.book.orders_from(number)
        try:
            gone = r.book.erase_tape(number)
        finally:
            # Where the files could not be written anew, the tape is gone all the same.
            _tell(r, tuple(n for n in r.book.orders() if n.id in {h.id for h in hers}), body)
            r.hub.publish("book", {})
        return {"orders": [order_line(n) for n in gone.orders], "left": list(gone.left)}

    return await answered(work, missing="no_such_tape")


async def beside(request: Request) -> Response:
    """Two tapes of one client, the earlier day first, whichever way round they were asked for."""
    r, unit = room(request), settings_of(request).unit
    numbers = [identity(request.path_params[name], "t", "no_such_tape") for name in ("one", "other")]

    def work() -> dict[str, Any]:
        one, other = sorted((r.book.tape(n) for n in numbers), key=lambda t: (t.taken_on, t.made_at, t.id))
        if one.client_id != other.client_id:
            raise ProblemError(404, "no_such_tape")
        return {"tapes": [_line(one), _line(other)], "rows": compared(readings(one.text), readings(other.text), unit)}

    return await answered(work, missing="no_such_tape")


def tape_told(r: Room, tape: Tape, unit: str) -> dict[str, Any]:
    """A tape with its readings, and the orders that took it over."""
    found = readings(tape.text)
    rows = [
        {"key": f"body.{k}", "name": reading_name(k), "text": shown(found[k], unit)} for k in ALL_READINGS if k in found
    ]
    return {**_line(tape), "measurements": rows, "orders": [order_line(n) for n in r.book.orders_from(tape.id)]}


def tape_id(request: Request) -> int:
    return identity(request.path_params["tape"], "t", "no_such_tape")


def day_of(text: str) -> date:
    """The day that a text says, such as "2026-03-01". Raises ProblemError, in words."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ProblemError(422, "refused", say("error.no_day")) from None


def _line(tape: Tape) -> dict[str, Any]:
    return {"id": f"t{tape.id}", "taken_on": tape.taken_on.isoformat(), "note": tape.note}


def _tell(r: Room, lines: tuple[OrderLine, ...], body: dict[str, Any]) -> None:
    """Tell every window that shows one of these orders that it says something else of its tape now."""
    window = body.get("window")
    for line in lines:
        told = {"order": f"o{line.id}", "version": line.edit, "window": window if isinstance(window, str) else ""}
        r.hub.publish("changed", {**told, "what": "", "keys": []}, order_id=line.id)


ROUTES: Final = [
    Route("/api/orders/{order}/tape", keep_tape, methods=["POST"]),
    Route("/api/tapes/{tape}", change_tape, methods=["POST"]),
    Route("/api/tapes/{tape}/erase", erase_tape, methods=["POST"]),
    Route("/api/tapes/{one}/beside/{other}", beside, methods=["GET"]),
]
