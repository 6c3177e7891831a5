"""`coutil open`: open the book, start the server, show the page in the browser."""

from __future__ import annotations

import contextlib
import threading
import webbrowser
from collections.abc import Callable
from typing import Final

from coutil.book import book_address, open_book
from coutil.web.server import LOOPBACK, is_loopback, link_of_other, serving
from coutil.words import say

# The browser is called this long after the server began to start, in seconds: it answers by then.
_WAIT: Final = 0.3


def open_page(
    *,
    book: str | None = None,
    port: int | None = None,
    listen: str = LOOPBACK,
    names: tuple[str, ...] = (),
    password: str | None = None,
    browser: bool = True,
    tell: Callable[[str], None] = print,
) -> None:
    """Serve the order book until Ctrl-C; `tell` gets what there is to say, a line each.

    `listen` other than loopback lets other machines in and needs a `password`. Where this person's server runs already
    for the same book, that one is shown and nothing is started. Raises BookError, OSError for a port that is taken, and
    ValueError.
    """
    address = book_address(book)
    other = link_of_other(address) if is_loopback(listen) and port is None else None
    if other is not None:
        tell(say("open.already"))
        _show(other, browser, tell)
        return
    shelf = open_book(book)
    try:
        with serving(
            shelf, port=port, listen=listen, names=names, password=password, where=where_words(address), address=address
        ) as (made, server, sock):
            if not is_loopback(listen):
                for line in reached(made.addresses):
                    tell(line)
            tell(say("open.stop"))
            threading.Timer(_WAIT, _show, (made.link(), browser, tell)).start()
            # uvicorn ends in good order and then raises what it was stopped by; Ctrl-C is how the book is closed.
            with contextlib.suppress(KeyboardInterrupt):
                server.run([sock])
            tell(say("open.closed"))
    finally:
        shelf.close()


def reached(addresses: tuple[str, ...]) -> tuple[str, ...]:
    """What to say to whoever opens the book to other machines: what that means, and what is typed there."""
    if not addresses:
        return say("door.listen"), say("door.nowhere")
    head = say("door.address") if len(addresses) == 1 else say("door.addresses")
    return say("door.listen"), head, *(f"  {one}" for one in addresses)


def where_words(address: str) -> str:
    """Where a book lies, in words without a password or the name of a user."""
    if address.startswith("postgresql"):
        return say("where.server")
    return say("where.file")


def _show(link: str, browser: bool, tell: Callable[[str], None]) -> None:
    tell(say("open.link", link=link))
    if browser:
        webbrowser.open(link)
