"""Calls before and around the book: the link, the password, the page and its files, the session, news."""

from __future__ import annotations

import html
import re
from collections.abc import AsyncIterator
from importlib.metadata import PackageNotFoundError, version
from typing import Any, Final
from urllib.parse import parse_qs

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from coutil.web import addresses, asking
from coutil.web.asking import bounded, identity, json_body
from coutil.web.demo import demo_text
from coutil.web.door import LINK_LIVES, Session, TooManyError, same
from coutil.web.problems import ProblemError
from coutil.web.room import Room, answered, beside, room
from coutil.web.sentences import SPREADS
from coutil.web.settings import changed, keep, settings_of
from coutil.web.texts import LANGUAGE, catalogue, say

# Texts that the page needs; those of the sentences arrive in the sheet.
_PAGE_TEXTS: Final = ("page.", "layer.", "level.", "edge.", "state.", "finding.", "spread.", "error.")
# A password's form is no longer than this, in bytes.
_FORM: Final = 4000
KEY: Final = "x-coutil-key"
# How the page's build marks such names.
_DIGEST: Final = re.compile(r"-[A-Za-z0-9_-]{8}\.[a-z0-9]+$")


async def enter(request: Request) -> Response:
    """The link that works once."""
    r = room(request)
    secret = r.door.enter(request.path_params["once"])
    if secret is None:
        return _plain_page(request, 403, r)
    # The window in which it was asked for may be another one: the browser remembers it from there.
    return _let_in(request, secret, request.cookies.get(_wanted(r), ""))


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
    password, to = form.get("password", [""])[0], form.get("to", [""])[0]
    try:
        secret = await run_in_threadpool(r.door.log_in, password)
    except TooManyError:
        return _plain_page(request, 429, r, say("error.wait"), to)
    if secret is None:
        return _plain_page(request, 403, r, say("error.wrong_password"), to)
    return _let_in(request, secret, to)


async def again(request: Request) -> Response:
    """A new link, for another `coutil open` of the same person: the key lies in a file that they alone can read."""
    r = room(request)
    if not same(request.headers.get(KEY, ""), r.door.key):
        raise ProblemError(403, "no_token")
    return await answered(lambda: {"link": f"/open/{r.door.link()}"})


async def page(request: Request) -> Response:
    """The page, at every address that shows something of the book; whoever is not let in learns nothing of which do."""
    r = room(request)
    path, query = request.url.path, request.url.query
    if path.startswith("/api"):
        raise ProblemError(404, "no_such_page")
    if request.scope["state"]["session"] is None:
        wanted = addresses.own(f"{path}?{query}" if query else path)
        response = _plain_page(request, 401, r, to=wanted)
        if wanted != addresses.HOME and not r.door.has_password:
            response.set_cookie(
                _wanted(r), wanted, httponly=True, samesite="strict", path="/open", max_age=int(LINK_LIVES)
            )
        return response
    says = await beside(lambda: addresses.missing(r.book, path, query))
    if says is not None:
        return addresses.nowhere(says)
    if r.page.index is None:
        return _plain_page(request, 503, r, say("door.no_page"))
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
            "book": r.book.identity(),
            "open": None if number is None else f"o{number}",
            "first_visit": first,
            "openly": r.hosts.openly,
        }

    return await answered(work)


async def settings(request: Request) -> Response:
    made = changed(settings_of(request), await json_body(request))
    response = await answered(lambda: dict(made.told()))
    keep(response, made)
    return response


async def events(request: Request) -> Response:
    r = room(request)
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
        async for line in r.hub.stream(number, window, hello):
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


def _wanted(r: Room) -> str:
    """The name of the cookie that tells a link where to lead."""
    return f"coutil-{r.hosts.port}-wanted"


def _let_in(request: Request, secret: str, to: str) -> Response:
    r = room(request)
    response = RedirectResponse(addresses.own(to), status_code=303)
    response.delete_cookie(_wanted(r), path="/open", httponly=True, samesite="strict")
    # Not "secure": it goes over plain HTTP on this machine; whoever opens the book to others is told what that means.
    response.set_cookie(f"coutil-{r.hosts.port}", secret, httponly=True, samesite="strict", path="/")
    return response


def _plain_page(request: Request, status: int, r: Room, says: str = "", to: str = "") -> Response:
    """A page without script or style: what to do, or where the password goes; `to` is the address asked for."""
    if r.door.has_password:
        body = (
            '<form method="post" action="/login">'
            f'<input type="hidden" name="to" value="{html.escape(addresses.own(to))}"><p>'
            f"<label>{html.escape(say('door.password'))} "
            '<input type="password" name="password" autocomplete="current-password" required autofocus></label></p>'
            f"<p><button>{html.escape(say('door.enter'))}</button></p></form>"
        )
    else:
        body = f"<p>{html.escape(say('door.how'))}</p>"
    told = f'<p role="alert">{html.escape(says)}</p>' if says else ""
    title = html.escape(say("door.closed"))
    text = (
        f'<!doctype html><html lang="{LANGUAGE}"><head><meta charset="utf-8"><title>{title}</title>'
        '<meta name="viewport" content="width=device-width"><meta name="color-scheme" content="light dark"></head>'
        f"<body><main><h1>{title}</h1>{told}{body}</main></body></html>"
    )
    return Response(text, status_code=status, media_type="text/html; charset=utf-8")


def _version() -> str:
    try:
        return version("coutil")
    except PackageNotFoundError:
        return ""


ROUTES: Final = [
    Route("/", page, methods=["GET"]),
    Route("/order/{path:path}", page, methods=["GET"]),
    Route("/open/{once}", enter, methods=["GET"]),
    Route("/login", log_in, methods=["POST"]),
    Route("/again", again, methods=["POST"]),
    Route("/assets/{path:path}", asset, methods=["GET"]),
    Route("/favicon.ico", icon, methods=["GET"]),
    Route("/api/session", session, methods=["GET"]),
    Route("/api/settings", settings, methods=["POST"]),
    Route("/api/events", events, methods=["GET"]),
]
# Behind all others: addresses that show nothing.
LAST: Final = [Route("/{path:path}", page, methods=["GET"])]
