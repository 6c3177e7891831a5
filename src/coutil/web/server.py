"""The server: a socket, uvicorn on it, and the file by which a second `coutil open` finds the first."""

from __future__ import annotations

import contextlib
import json
import os
import socket
import tempfile
import threading
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any, Final
from urllib.error import URLError
from urllib.request import ProxyHandler, Request, build_opener

import uvicorn

from coutil.book import Book
from coutil.web.addresses import addresses, as_address
from coutil.web.app import make_app
from coutil.web.door import Door
from coutil.web.guard import Hosts

# Tried first, so that a bookmark holds; a free one is taken where another program has it. Any unassigned one would do.
PORT: Final = 8417
LOOPBACK: Final = "127.0.0.1"
# How long open answers may take to end when the server is closed, in seconds.
_LAST: Final = 3
# How long a server may take to be ready, and to answer another `coutil open`, in seconds.
_READY: Final = 20.0
_ANSWER: Final = 2.0


@dataclass(frozen=True, slots=True)
class Running:
    """A server that runs: where it is, and new links into it."""

    host: str
    port: int
    door: Door
    names: tuple[str, ...] = ()

    @property
    def addresses(self) -> tuple[str, ...]:
        """What another machine types to come to the door; see `coutil.web.addresses`."""
        return addresses(self.host, self.port, self.names)

    @property
    def address(self) -> str:
        name = LOOPBACK if self.host in ("0.0.0.0", "") else "[::1]" if self.host == "::" else self.host
        return f"http://{f'[{name}]' if ':' in name and not name.startswith('[') else name}:{self.port}"

    def link(self) -> str:
        """A new link that lets one browser in, once."""
        return f"{self.address}/open/{self.door.link()}"


class _Server(uvicorn.Server):
    """uvicorn, told to end the streams of news before it waits for open answers."""

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        app: Any = self.config.app
        app.state.room.hub.close()
        await super().shutdown(sockets)


@contextmanager
def running(
    book: Book,
    *,
    port: int = 0,
    listen: str = LOOPBACK,
    names: tuple[str, ...] = (),
    password: str | None = None,
    where: str = "",
) -> Iterator[Running]:
    """A server in a thread, until the block is left. Port 0 takes a free one.

    To listen on anything but loopback a password is needed; ValueError without, or for one that is too short.
    """
    server, made, sock = _prepare(book, port=port, listen=listen, names=names, password=password, where=where)
    thread = threading.Thread(target=server.run, args=([sock],), name="coutil-server", daemon=True)
    thread.start()
    until = time.monotonic() + _READY
    while not server.started and thread.is_alive() and time.monotonic() < until:
        time.sleep(0.01)
    try:
        yield made
    finally:
        server.should_exit = True
        thread.join(timeout=_READY)
        sock.close()


@contextmanager
def serving(
    book: Book,
    *,
    port: int | None = None,
    listen: str = LOOPBACK,
    names: tuple[str, ...] = (),
    password: str | None = None,
    where: str = "",
    address: str = "",
) -> Iterator[tuple[Running, _Server, socket.socket]]:
    """A server ready to `run([sock])` in the calling thread; the book's `address` names the note for others."""
    try:
        parts = _prepare(
            book, port=PORT if port is None else port, listen=listen, names=names, password=password, where=where
        )
    except OSError:
        if port is not None:
            raise
        parts = _prepare(book, port=0, listen=listen, names=names, password=password, where=where)
    server, made, sock = parts
    note = _note(address)
    _write(note, made)
    try:
        yield made, server, sock
    finally:
        sock.close()
        with contextlib.suppress(OSError):
            note.unlink()


def link_of_other(address: str) -> str | None:
    """A new link into a server that this person runs already for the book at `address`; None if there is none."""
    try:
        known = json.loads(_note(address).read_text("utf-8"))
        base, key = str(known["address"]), str(known["key"])
        # Never through a proxy: it goes to this machine.
        opener = build_opener(ProxyHandler({}))
        request = Request(f"{base}/again", data=b"", method="POST", headers={"X-Coutil-Key": key})
        with opener.open(request, timeout=_ANSWER) as answer:
            return base + str(json.loads(answer.read(10_000))["link"])
    except (OSError, URLError, ValueError, KeyError, TypeError):
        return None


def is_loopback(host: str) -> bool:
    return host in (LOOPBACK, "localhost", "::1")


def _prepare(
    book: Book, *, port: int, listen: str, names: tuple[str, ...], password: str | None, where: str
) -> tuple[_Server, Running, socket.socket]:
    openly = not is_loopback(listen)
    if openly and not password:
        raise ValueError("opening the book to other machines needs a password")
    door = Door(password=password if openly else None)
    if openly and listen and as_address(listen) is None:
        # Whoever serves on a name is called by it.
        names = (*names, listen)
    hosts = Hosts(openly=openly, names=names, listen=listen)
    sock = _socket(listen, port)
    hosts.port = int(sock.getsockname()[1])
    app = make_app(book, door=door, hosts=hosts, where=where)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        ws="none",
        lifespan="on",
        timeout_keep_alive=30,
        timeout_graceful_shutdown=_LAST,
        limit_concurrency=300,
        h11_max_incomplete_event_size=32_000,
    )
    return _Server(config), Running(listen, hosts.port, door, names), sock


def _socket(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # With the protocol named: only then asyncio turns off Nagle's delay, which cost every short answer 40 ms.
    sock = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        if os.name != "nt":
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if host == "::":
            # Every address means those of IPv4 too; systems differ in what they take it for.
            sock.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 0)
        sock.bind((host, port))
    except OSError:
        sock.close()
        raise
    return sock


def _note(address: str) -> Path:
    import platformdirs

    digest = sha256(address.encode()).hexdigest()[:16]
    # It warns of a folder that others can read, and takes another one then: no news for a maker.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            folder = platformdirs.user_runtime_path("coutil", ensure_exists=True)
        except OSError:
            folder = platformdirs.user_cache_path("coutil", ensure_exists=True)
    return folder / f"open-{digest}.json"


def _write(note: Path, made: Running) -> None:
    """The note for another `coutil open`, readable for this person alone; without it the first is only not found."""
    text = json.dumps({"address": made.address, "key": made.door.key})
    with contextlib.suppress(OSError):
        handle, name = tempfile.mkstemp(prefix=".open-", dir=note.parent)
        with os.fdopen(handle, "w", encoding="utf-8") as f:
            f.write(text)
        os.replace(name, note)
