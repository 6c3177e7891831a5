"""What all handlers share: the book, the desk, the door, news; and how their work is done beside the event loop."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from coutil.book import Book, BookError, ConflictError, MissingError
from coutil.web.desk import Desk
from coutil.web.door import Door
from coutil.web.events import Hub
from coutil.web.guard import Hosts
from coutil.web.lays import Lays
from coutil.web.problems import ProblemError
from coutil.web.refused import words_of
from coutil.web.static import Page

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Room:
    book: Book
    desk: Desk
    door: Door
    hosts: Hosts
    hub: Hub
    lays: Lays
    page: Page
    # Where the book lies, in words, for the privacy page.
    where: str


def room(request: Request) -> Room:
    found = request.app.state.room
    assert isinstance(found, Room)
    return found


async def beside(work: Callable[[], T], *, missing: str = "no_such_order") -> T:
    """Do work in a thread, and turn what the book refuses into a problem that is told."""
    try:
        return await run_in_threadpool(work)
    except MissingError:
        raise ProblemError(404, missing) from None
    except ConflictError as e:
        raise ProblemError(409, "conflict", words_of(e)) from None
    except BookError as e:
        raise ProblemError(422, "refused", words_of(e)) from None


async def answered(work: Callable[[], dict[str, Any]], *, missing: str = "no_such_order") -> Response:
    """`beside`, its result sent as JSON; a "status" in it is the answer's HTTP status. Written in the thread too."""

    def do() -> tuple[int, bytes]:
        made = work()
        status = made.pop("status", 200)
        return status, json.dumps(made, ensure_ascii=False, separators=(",", ":")).encode()

    status, data = await beside(do, missing=missing)
    return Response(data, status_code=status, media_type="application/json")
