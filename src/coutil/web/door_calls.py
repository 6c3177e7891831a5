"""Calls before and around the book: the link, the password, the page and its files, the session, news."""

from __future__ import annotations

import logging
import re
from collections.abc import AsyncIterator
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from typing import Any, Final
from urllib.parse import parse_qs

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from coutil.web import asking
from coutil.web.addresses import addresses, picture
from coutil.web.asking import bounded, identity, json_body
from coutil.web.demo import demo_text
from coutil.web.door import Session, same
from coutil.web.door_page import door_page, how_long
from coutil.web.problems import ProblemError
from coutil.web.room import Room, answered, beside, room
from coutil.web.sentences import SPREADS
from coutil.web.settings import changed, keep, settings_of
from coutil.web.tries import SlowError, Told, peer_name
from coutil.words import LANGUAGE, catalogue, say

# Texts that the page needs; those of the sentences arrive in the sheet.
_PAGE_TEXTS: Final = ("page.", "layer.", "level.", "edge.", "state.", "finding.", "spread.", "error.")
# A password's form is no longer than this, in bytes.
_FORM: Final = 4000
KEY: Final = "x-coutil-key"
# Machines with wrong passwords that are told one by one: what fits on a page.
_PEERS: Final = 12
# How the page's build marks such names.
_DIGEST: Final = re.compile(r"-[A-Za-z0-9_-]{8}\.[a-z0-9]+$")

log = logging.getLogger("coutil.web")


async def enter(request: Request) -> Response:
    """The link that works once."""
    r = room(request)
    secret = r.door.enter(request.path_params["once"])
    if secret is None:
        return _door(request, 403, say("door.used"))
    return _let_in(request, secret)


async def log_in(request: Request) -> Response:
    r = room(request)
    # A form of another page could send a password of its own choosing; only our own page sends our origin.
    if not r.door.has_password or request.headers.get("origin") is None:
        raise ProblemError(403, "foreign_origin")
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise ProblemError(415, "wrong_kind", say("error.wrong_kind", wanted="a form"))
    try:
        form = parse_qs((await bounded(request, _FORM)).decode(), max_num_fields=5)
    except ValueError:
        raise ProblemError(400, "not_understood") from None
    password = form.get("password", [""])[0]
    peer = peer_name(request.client.host if request.client else None)
    try:
        r.door.tries.begin(peer)
    except SlowError as e:
        return _door(request, 429, say("door.wait", wait=how_long(e.seconds)), e.seconds)
    async with r.door.looking:
        secret = await run_in_threadpool(r.door.log_in, password, peer)
    if secret is not None:
        return _let_in(request, secret)
    told, wait = r.door.tries.wrong(peer)
    soon = say("door.soon", wait=how_long(wait)) if wait else say("door.at_once")
    log.warning("%s", say("door.log", **_logged(told), soon=soon))
    r.hub.publish("door", {})
    says = say("door.wrong_wait", wait=how_long(wait)) if wait else say("door.wrong")
    return _door(request, 403, says, wait)


async def to_the_door(request: Request) -> Response:
    """Whoever loads the answer to a password anew, or keeps its address."""
    return RedirectResponse("/", status_code=303)


async def again(request: Request) -> Response:
    """A new link, for another `coutil open` of the same person: the key lies in a file that they alone can read."""
    r = room(request)
    if not same(request.headers.get(KEY, ""), r.door.key):
        raise ProblemError(403, "no_token")
    return await answered(lambda: {"link": f"/open/{r.door.link()}"})


async def page(request: Request) -> Response:
    r = room(request)
    if request.scope["state"]["session"] is None:
        return _door(request, 401)
    if r.page.index is None:
        return door_page(r.page, settings_of(request), status=503, asks=False, says=say("door.no_page"))
    return Response(r.page.index, media_type="text/html; charset=utf-8")


async def asset(request: Request) -> Response:
    found = room(request).page.assets.get(request.url.path)
    if found is None:
        raise ProblemError(404, "no_such_page")
    # A name that bears a digest of what is in it never means anything else.
    lasting = _DIGEST.search(request.url.path) is not None
    cache = "public, max-age=31536000, immutable" if lasting else "no-cache"
    return Response(found[0], media_type=found[1], headers={"cache-control": cache})


async def icon(request: Request) -> Response:
    found = room(request).page.assets.get("/favicon.ico")
    return Response(status_code=204) if found is None else Response(found[0], media_type=found[1])


async def session(request: Request) -> Response:
    r, settings = room(request), settings_of(request)
    own = request.scope["state"]["session"]
    assert isinstance(own, Session)

    def work() -> dict[str, Any]:
        number, first = _to_open(r)
        texts = {k: v for k, v in catalogue().items() if k.startswith(_PAGE_TEXTS)}
        return {
            "token": own.token,
            "coutil": _version(),
            "language": LANGUAGE,
            "settings": settings.told(),
            "texts": texts,
            "spreads": [{"id": s, "title": say(f"spread.{s}")} for s in SPREADS],
            "open": None if number is None else f"o{number}",
            "first_visit": first,
            "openly": r.hosts.openly,
            "by_password": own.by_password,
        }

    return await answered(work)


async def door(request: Request) -> Response:
    """How other machines get in, and which of them tried wrong passwords."""
    r = room(request)

    def work() -> dict[str, Any]:
        if not r.hosts.openly:
            return {"openly": False, "addresses": [], "wrong": 0, "machines": 0, "tries": []}
        tries = r.door.tries.told()
        found = addresses(r.hosts.listen, r.hosts.port, r.hosts.names)
        return {
            "openly": True,
            "addresses": [{"address": one, "picture": picture(one)} for one in found],
            "wrong": sum(one.wrong for one in tries),
            "machines": len(tries),
            "since": min((_utc(one.since) for one in tries), default=None),
            "tries": [
                {
                    "peer": one.peer,
                    "wrong": one.wrong,
                    "unread": one.unread,
                    "since": _utc(one.since),
                    "last": _utc(one.last),
                }
                for one in tries[:_PEERS]
            ],
        }

    return await answered(work)


async def leave(request: Request) -> Response:
    """Sign out: the cookie and its token are void from now on, and the browser is told to forget what lies there."""
    r = room(request)
    await json_body(request)
    ended = r.door.leave(request.cookies.get(_cookie(r)))
    if ended is not None:
        r.hub.end(ended.token)
    response = Response("{}", media_type="application/json", headers={"clear-site-data": '"storage"'})
    response.delete_cookie(_cookie(r), httponly=True, samesite="strict", path="/")
    return response


async def settings(request: Request) -> Response:
    made = changed(settings_of(request), await json_body(request))
    response = await answered(lambda: dict(made.told()))
    keep(response, made)
    return response


async def events(request: Request) -> Response:
    r = room(request)
    own = request.scope["state"]["session"]
    assert isinstance(own, Session)
    if r.hub.full:
        raise ProblemError(503, "closing", say("error.full"))
    window = asking.query(request, "window", longest=100)
    whose = asking.query(request, "order")
    number = identity(whose, "o", "no_such_order") if whose else None
    unit = settings_of(request).unit

    def work() -> dict[str, Any]:
        if number is None:
            return {"order": None}
        now = r.desk.opened(number)
        lays = r.lays.told(number, now.entry.text, unit)[0]
        return {"order": f"o{number}", "version": now.entry.edit, "lays": lays}

    hello = await beside(work)

    async def lines() -> AsyncIterator[bytes]:
        async for line in r.hub.stream(number, window, hello, whose=own.token):
            yield line

    return StreamingResponse(lines(), media_type="text/event-stream", headers={"cache-control": "no-store"})


def _to_open(r: Room) -> tuple[int | None, bool]:
    """The order to show, and whether this is the first visit to this book: then the demo order is put in it."""
    last = r.book.setting("open")
    lines = r.book.orders()
    if last is not None and any(str(n.id) == last for n in lines):
        return int(last), False
    if lines:
        return lines[0].id, False
    if r.book.setting("visited") is not None:
        return None, False
    r.book.set_setting("visited", "1")
    return r.book.add_order(demo_text()).id, True


def _let_in(request: Request, secret: str) -> Response:
    r = room(request)
    response = RedirectResponse("/", status_code=303)
    # Not "secure": it goes over plain HTTP on this machine; whoever opens the book to others is told what that means.
    response.set_cookie(_cookie(r), secret, httponly=True, samesite="strict", path="/")
    return response


def _cookie(r: Room) -> str:
    # Cookies do not mind the port; see `coutil.web.guard`.
    return f"coutil-{r.hosts.port}"


def _door(request: Request, status: int, says: str = "", wait: float = 0.0) -> Response:
    r = room(request)
    return door_page(r.page, settings_of(request), status=status, asks=r.door.has_password, says=says, wait=wait)


def _logged(told: Told) -> dict[str, object]:
    """What the log says of a wrong password, in the time of the machine; the password is not among it."""
    at = [moment.astimezone().isoformat(" ", "seconds") for moment in (told.last, told.since)]
    return {"when": at[0], "since": at[1], "peer": told.peer, "n": told.wrong}


def _utc(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


def _version() -> str:
    try:
        return version("coutil")
    except PackageNotFoundError:
        return ""


ROUTES: Final = [
    Route("/", page, methods=["GET"]),
    Route("/open/{once}", enter, methods=["GET"]),
    Route("/login", log_in, methods=["POST"]),
    Route("/login", to_the_door, methods=["GET"]),
    Route("/again", again, methods=["POST"]),
    Route("/assets/{path:path}", asset, methods=["GET"]),
    Route("/favicon.ico", icon, methods=["GET"]),
    Route("/api/session", session, methods=["GET"]),
    Route("/api/door", door, methods=["GET"]),
    Route("/api/leave", leave, methods=["POST"]),
    Route("/api/settings", settings, methods=["POST"]),
    Route("/api/events", events, methods=["GET"]),
]
