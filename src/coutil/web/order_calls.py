"""Calls about one open order: its sheet, its changes, its lays, its files (docs/web-api.md, 3 to 7)."""

from __future__ import annotations

from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from coutil.docket import DocketError
from coutil.order import OrderError
from coutil.web import asking
from coutil.web.asking import identity, json_body
from coutil.web.changes import key_of, told_changes
from coutil.web.desk import Asked
from coutil.web.downloads import KINDS, ORDER_FILE, Made, make_file
from coutil.web.edits import Edit
from coutil.web.lays import LEAST, MOST
from coutil.web.outlines import ASKED
from coutil.web.pictures import pictures
from coutil.web.problems import ProblemError, not_understood
from coutil.web.refused import words_of
from coutil.web.room import answered, beside, room
from coutil.web.sentences import SPREADS
from coutil.web.settings import settings_of
from coutil.web.spreads import spread
from coutil.words import say

# Coordinates on the paper lie within this, in mm: ten metres.
_PAPER: Final = 1e4
_MOST_STEPS: Final = 1000
_VERSIONS: Final = 200
# Versions that may have taken a tape over; the others go on from one that did.
_TAKES_A_TAPE: Final = ("made", "copied", "tape")
# Above the number of any version: what a database keeps in a whole number.
_VERSION: Final = 2**31


def order_id(request: Request) -> int:
    return identity(request.path_params["order"], "o", "no_such_order")


def wanted_spread(name: str) -> str:
    if name and name not in SPREADS:
        raise not_understood()
    return name


async def sheet(request: Request) -> Response:
    r, number, unit = room(request), order_id(request), settings_of(request).unit
    name = wanted_spread(asking.query(request, "spread"))

    def work() -> dict[str, Any]:
        made = r.desk.sheet(number, unit, name)
        if r.book.setting("open") != str(number):
            r.book.set_setting("open", str(number))
        return made

    return await answered(work)


async def one_spread(request: Request) -> Response:
    r, number, unit = room(request), order_id(request), settings_of(request).unit
    name = wanted_spread(request.path_params["spread"])

    def work() -> dict[str, Any]:
        now = r.desk.opened(number)
        _, plan = r.lays.told(number, now.entry.text, unit)
        made = None if now.work is None else spread(name, now.work, unit, plan)
        return {"version": now.entry.edit, "spread": made}

    return await answered(work)


async def edit(request: Request) -> Response:
    r, body = room(request), await json_body(request)
    asked, change = _asked(request, body), _edit(body)
    preview = asking.flag(body, "preview")
    return await answered(lambda: r.desk.edit(asked, change, preview=preview))


async def drag(request: Request) -> Response:
    r, body = room(request), await json_body(request)
    asked = _asked(request, body)
    handle = asking.text(body, "handle", longest=100)
    to = (asking.number(body, "x", limit=_PAPER), asking.number(body, "y", limit=_PAPER))
    final = asking.flag(body, "final")
    return await answered(lambda: r.desk.drag(asked, handle, to, final=final))


async def undo(request: Request) -> Response:
    r, asked = room(request), _asked(request, await json_body(request))
    return await answered(lambda: r.desk.step(asked, lambda n, at: r.book.undo(n, based_on=at)))


async def redo(request: Request) -> Response:
    r, asked = room(request), _asked(request, await json_body(request))
    return await answered(lambda: r.desk.step(asked, lambda n, at: r.book.redo(n, based_on=at)))


async def restore(request: Request) -> Response:
    r, body = room(request), await json_body(request)
    asked, version = _asked(request, body), asking.whole(body, "version")
    return await answered(lambda: r.desk.step(asked, lambda n, at: r.book.bring_back(n, version, based_on=at)))


async def use_tape(request: Request) -> Response:
    r, body = room(request), await json_body(request)
    asked = _asked(request, body)
    tape = identity(asking.text(body, "tape"), "t", "no_such_tape")
    return await answered(lambda: r.desk.step(asked, lambda n, at: r.book.use_tape(n, tape, based_on=at)))


async def versions(request: Request) -> Response:
    r, number = room(request), order_id(request)
    limit = asking.query_whole(request, "limit", 100, _VERSIONS)

    def work() -> dict[str, Any]:
        rows = [
            {
                "version": v.number,
                "when": v.changed_at.isoformat().replace("+00:00", "Z"),
                "what": told_changes(v.changes) if v.changes else say(f"how.{v.how.replace(' ', '_')}"),
                "keys": [key_of(c) for c in v.changes],
                "tape": v.tape_on.isoformat() if v.tape_on and v.how in _TAKES_A_TAPE else None,
                "place": v.place,
                "now": v.place == "now",
            }
            for v in r.book.history(number)[:limit]
        ]
        return {"versions": rows}

    return await answered(work)


async def lays(request: Request) -> Response:
    r, number, unit = room(request), order_id(request), settings_of(request).unit

    def work() -> dict[str, Any]:
        return {"lays": r.lays.told(number, r.desk.opened(number).entry.text, unit)[0]}

    return await answered(work)


async def start_lays(request: Request) -> Response:
    r, number, unit = room(request), order_id(request), settings_of(request).unit
    body = await json_body(request)
    seconds = asking.number(body, "seconds") if body.get("seconds") is not None else None
    if seconds is not None and not LEAST <= seconds <= MOST:
        raise not_understood()

    def work() -> dict[str, Any]:
        now = r.desk.opened(number)
        if now.work is None or not now.work.pattern.pieces:
            raise ProblemError(422, "not_laid")
        r.lays.start(number, now.entry.edit, now.entry.text, now.work, seconds, unit)
        return {"lays": r.lays.told(number, now.entry.text, unit)[0]}

    return await answered(work)


async def stop_lays(request: Request) -> Response:
    r, number, unit = room(request), order_id(request), settings_of(request).unit
    await json_body(request)

    def work() -> dict[str, Any]:
        text = r.desk.opened(number).entry.text
        r.lays.stop(number)
        return {"lays": r.lays.told(number, text, unit)[0]}

    return await answered(work)


async def file(request: Request) -> Response:
    r, number, unit = room(request), order_id(request), settings_of(request).unit
    name = request.path_params["name"]
    if name != ORDER_FILE and name not in KINDS:
        raise ProblemError(404, "no_such_page")

    def work() -> Made:
        now = r.desk.opened(number)
        if name == ORDER_FILE:
            return Made(name, now.entry.text.encode())
        if now.work is None:
            raise ProblemError(422, "refused", now.refused[0].says if now.refused else "")
        _, plan = r.lays.told(number, now.entry.text, unit)
        try:
            made = make_file(name, now.work, plan, now.entry.text)
        except (DocketError, OrderError) as e:
            raise ProblemError(422, "refused", words_of(e)) from None
        if made is None:
            raise ProblemError(404, "no_such_page")
        return made

    made = await beside(work)
    shown = request.query_params.get("show") == "1" and made.name.endswith(".pdf")
    disposition = f'{"inline" if shown else "attachment"}; filename="{made.name}"'
    return Response(made.data, media_type=made.media, headers={"content-disposition": disposition})


async def choices_drawn(request: Request) -> Response:
    return await answered(lambda: {"pictures": pictures()})


def _asked(request: Request, body: dict[str, Any]) -> Asked:
    return Asked(
        order_id=order_id(request),
        base=asking.whole(body, "base_version"),
        seq=asking.whole(body, "seq"),
        window=asking.text(body, "window", longest=100),
        unit=settings_of(request).unit,
        spread=wanted_spread(asking.text(body, "spread", "", longest=20)),
    )


def _edit(body: dict[str, Any]) -> Edit:
    key = asking.text(body, "key", longest=100)
    said = [name for name in ("text", "nudge", "add", "remove", "back") if name in body]
    hand = asking.whole(body, "hand") if body.get("hand") is not None else None
    if len(said) != 1 or (hand is not None and not 0 < hand < _VERSION):
        raise not_understood()
    match said[0]:
        case "text":
            value = body["text"]
            text = asking.texts(value) if isinstance(value, list) else asking.text(body, "text")
            return Edit(key, text=text, beside=_beside(body, key), hand=hand)
        case "nudge":
            steps = asking.whole(body, "nudge")
            if not 1 <= abs(steps) <= _MOST_STEPS:
                raise not_understood()
            return Edit(key, nudge=steps, hand=hand)
        case "back":
            if hand is None or not asking.flag(body, "back"):
                raise not_understood()
            return Edit(key, back=True, hand=hand)
        case "add":
            return Edit(key, add=asking.flag(body, "add"))
        case _:
            return Edit(key, remove=asking.flag(body, "remove"))


def _beside(body: dict[str, Any], key: str) -> tuple[tuple[str, str], ...]:
    """The other answers of the same question, where a question has several."""
    if "beside" not in body:
        return ()
    others = body["beside"]
    if not isinstance(others, dict) or (key, *others) != ASKED:
        raise not_understood()
    return tuple((k, asking.text(others, k)) for k in others)


ROUTES: Final = [
    Route("/api/pictures", choices_drawn, methods=["GET"]),
    Route("/api/orders/{order}", sheet, methods=["GET"]),
    Route("/api/orders/{order}/spread/{spread}", one_spread, methods=["GET"]),
    Route("/api/orders/{order}/edit", edit, methods=["POST"]),
    Route("/api/orders/{order}/drag", drag, methods=["POST"]),
    Route("/api/orders/{order}/undo", undo, methods=["POST"]),
    Route("/api/orders/{order}/redo", redo, methods=["POST"]),
    Route("/api/orders/{order}/restore", restore, methods=["POST"]),
    Route("/api/orders/{order}/use_tape", use_tape, methods=["POST"]),
    Route("/api/orders/{order}/versions", versions, methods=["GET"]),
    Route("/api/orders/{order}/lays", lays, methods=["GET"]),
    Route("/api/orders/{order}/lays", start_lays, methods=["POST"]),
    Route("/api/orders/{order}/lays/stop", stop_lays, methods=["POST"]),
    Route("/api/orders/{order}/file/{name}", file, methods=["GET"]),
]
