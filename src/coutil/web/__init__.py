"""The local page: the order book lying open in the browser. Holds no drafting; docs/web-api.md is its contract.

Importing this is light; the server and its libraries are loaded by what uses them.
"""

from __future__ import annotations

from collections.abc import Callable


def open_page(
    *,
    book: str | None = None,
    port: int | None = None,
    listen: str = "127.0.0.1",
    names: tuple[str, ...] = (),
    password: str | None = None,
    browser: bool = True,
    tell: Callable[[str], None] = print,
) -> None:
    """Serve the order book until Ctrl-C; see `coutil.web.opening`."""
    from coutil.web.opening import open_page as start

    start(book=book, port=port, listen=listen, names=names, password=password, browser=browser, tell=tell)


__all__ = ["open_page"]
