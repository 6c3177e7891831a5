"""A real server on a port of its own, and a browser's part: cookie, token, origin."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

from coutil.book import open_book
from coutil.web.server import Running, running


@dataclass
class Window:
    """One window of the page: sends what the page would send."""

    server: Running
    client: httpx.Client
    token: str
    order: str
    name: str = "w-1"
    seq: int = 0
    version: int = 0
    headers: dict[str, str] = field(default_factory=dict)

    @property
    def cookie(self) -> str:
        """The cookies as a request's header holds them."""
        return "; ".join(f"{k}={v}" for k, v in self.client.cookies.items())

    def get(self, path: str, **query: Any) -> httpx.Response:
        return self.client.get(path, params=query)

    def post(self, path: str, body: dict[str, Any] | None = None) -> httpx.Response:
        return self.client.post(path, json=body or {}, headers=self.headers)

    def sheet(self, spread: str = "") -> dict[str, Any]:
        answer = self.get(f"/api/orders/{self.order}", spread=spread)
        assert answer.status_code == 200, answer.text
        made: dict[str, Any] = answer.json()
        self.version = made["version"]
        return made

    def change(self, call: str, **body: Any) -> httpx.Response:
        """An edit, drag, undo or redo on the newest version that this window has seen."""
        self.seq += 1
        head = {"base_version": self.version, "seq": self.seq, "window": self.name, "spread": "shape"}
        answer = self.post(f"/api/orders/{self.order}/{call}", {**head, **body})
        told = answer.json()
        if answer.status_code == 200 and "sheet" in told:
            self.version = told["sheet"]["version"] if told["saved"] else self.version
        elif answer.status_code == 422 and "version" in told:
            self.version = told["version"]
        return answer

    def edit(self, key: str, text: Any) -> httpx.Response:
        return self.change("edit", key=key, text=text)


@contextmanager
def open_page(folder: Path, **how: Any) -> Iterator[tuple[Running, Window]]:
    """A server on a new book, and a window that was let in and shows the demo order."""
    with (
        open_book(folder / "book.db") as book,
        running(book, where="a file", **how) as server,
        let_in(server) as window,
    ):
        yield server, window


@contextmanager
def let_in(server: Running, name: str = "w-1") -> Iterator[Window]:
    with httpx.Client(base_url=server.address, timeout=30.0) as client:
        answer = client.get(server.link())
        assert answer.status_code == 303
        told = client.get("/api/session").json()
        headers = {"X-Coutil-Token": told["token"], "Origin": server.address}
        window = Window(server, client, told["token"], told["open"], name, headers=headers)
        window.sheet()
        yield window


def raw(server: Running, request: bytes) -> bytes:
    """Send bytes as they are, and take what comes until the server closes or is silent for a while."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=5.0) as sock:
        sock.sendall(request)
        sock.settimeout(0.5)
        out = b""
        try:
            while part := sock.recv(65536):
                out += part
        except (TimeoutError, ConnectionResetError):
            pass
        return out


def status(answer: bytes) -> int:
    return int(answer.split(b" ", 2)[1]) if answer.startswith(b"HTTP/") else 0


# What a Python traceback or a path of the machine would show.
_INSIDE = ("Traceback", 'File "', ".py", "/src/", "site-packages", "sqlite", "Error(")


def shows_nothing(text: str) -> None:
    """An answer tells nothing of the inside of the server."""
    for word in _INSIDE:
        assert word not in text, text[:500]


def numbers_of(d: str) -> list[tuple[float, float]]:
    """The points of a path's data; M, L, C and Z are all that it may hold."""
    assert re.fullmatch(r"[MLCZ0-9 .\-]+", d), d[:100]
    flat = [float(n) for n in re.findall(r"-?[0-9.]+", d)]
    return list(zip(flat[::2], flat[1::2], strict=True))


def panel_of(sheet: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(p for p in sheet["drawing"]["panels"] if p["id"] == name)
    return found


def handle_of(sheet: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(h for h in sheet["drawing"]["handles"] if h["id"] == name)
    return found
