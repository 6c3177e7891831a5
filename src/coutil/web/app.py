"""The application: the guard before everything, the calls behind it, the book in the middle."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Final

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from coutil.book import Book, BookError
from coutil.web import book_calls, door_calls, order_calls, tape_calls
from coutil.web.desk import Desk
from coutil.web.door import Door
from coutil.web.events import Hub
from coutil.web.guard import Guard, Hosts
from coutil.web.lays import Lays
from coutil.web.problems import ProblemError
from coutil.web.room import Room
from coutil.web.static import read_page

# How often the book is asked what other programs changed, in seconds, for orders that a window shows.
_LOOK: Final = 2.0


def make_app(book: Book, *, door: Door, hosts: Hosts, where: str) -> Starlette:
    """The application on an open book; `where` says in words where it lies. The caller closes the book."""
    hub = Hub()

    def lays_changed(order_id: int) -> None:
        # Each window asks for the lays in its own unit.
        hub.publish("lays", {"order": f"o{order_id}", "lays": lays.brief(order_id)}, order_id=order_id)

    def order_changed(order_id: int, edit: int, window: str, what: str, keys: list[str]) -> None:
        data = {"order": f"o{order_id}", "version": edit, "window": window, "what": what, "keys": keys}
        hub.publish("changed", data, order_id=order_id)

    lays = Lays(lays_changed)
    desk = Desk(book, order_changed, lays)
    room = Room(book, desk, door, hosts, hub, lays, read_page(), where)

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        hub.open()
        looking = asyncio.create_task(_look(room))
        try:
            yield
        finally:
            looking.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await looking
            hub.close()
            await run_in_threadpool(lays.close)

    app = Starlette(
        routes=[*door_calls.ROUTES, *book_calls.ROUTES, *tape_calls.ROUTES, *order_calls.ROUTES],
        middleware=[Middleware(Guard, door=door, hosts=hosts)],
        exception_handlers={ProblemError: _problem, HTTPException: _no_route},
        lifespan=life,
    )
    app.router.redirect_slashes = False
    app.state.room = room
    return app


async def _problem(request: Request, e: Exception) -> Response:
    assert isinstance(e, ProblemError)
    return JSONResponse(e.told(), status_code=e.status)


async def _no_route(request: Request, e: Exception) -> Response:
    status = e.status_code if isinstance(e, HTTPException) else 500
    problem = ProblemError(status, "no_such_page" if status == 404 else "not_understood")
    return JSONResponse(problem.told(), status_code=status)


async def _look(room: Room) -> None:
    """Tell windows what other programs (another window's server, the command line) changed in their orders."""
    while True:
        await asyncio.sleep(_LOOK)
        for order_id in room.hub.orders():
            try:
                edit = await run_in_threadpool(room.book.edit_of, order_id)
            except BookError:
                continue
            if edit > room.hub.told.get(order_id, 0):
                data = {"order": f"o{order_id}", "version": edit, "window": "", "what": "", "keys": []}
                room.hub.publish("changed", data, order_id=order_id)
