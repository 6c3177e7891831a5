"""What stands before the page: every request is looked at here before anything else sees it.

Host (against names that are rebound to this machine), Origin and Sec-Fetch-Site (against other pages), the session
cookie, and the token for everything that changes state. Every answer leaves with the headers that keep a browser from
loading or running anything that is not ours.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from http.cookies import CookieError, SimpleCookie
from typing import Any, Final

from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from coutil.web.addresses import as_address
from coutil.web.door import Door, same
from coutil.web.problems import ProblemError
from coutil.words import say

# No script or style that stands in the page itself, nothing from elsewhere, no frame around us.
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS: Final = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    # Not "no-referrer": with that a browser sends "Origin: null" along with our own form, and the password is refused.
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), payment=(), usb=()"),
)
TOKEN: Final = b"x-coutil-token"
_METHODS: Final = ("GET", "HEAD", "POST")
_LOOPBACK: Final = ("127.0.0.1", "localhost", "::1")
# Reached without a session; each looks after itself.
_OPEN: Final = ("/", "/login", "/again", "/favicon.ico")
_OPEN_BELOW: Final = ("/open/", "/assets/")

log = logging.getLogger("coutil.web")


class Hosts:
    """Which names and addresses the book may be called by.

    On loopback only loopback's own. Opened to other machines: any IP address (a name that is rebound is no IP address),
    and the names that were given.
    """

    def __init__(self, *, openly: bool = False, names: tuple[str, ...] = (), listen: str = _LOOPBACK[0]) -> None:
        self.openly = openly
        self.names = frozenset(n.lower() for n in names)
        # What is served on, for those who ask how other machines get here.
        self.listen = listen
        # Set when the server knows its port; until then nothing is let in.
        self.port = -1

    def allow(self, header: str) -> bool:
        name, port = _split(header)
        # 80 is what a browser leaves out.
        if (80 if port is None else port) != self.port:
            return False
        if name in _LOOPBACK or name in self.names:
            return True
        return self.openly and as_address(name) is not None


class Guard:
    """ASGI middleware. The session that was found stands in scope["state"]["session"]."""

    def __init__(self, app: ASGIApp, *, door: Door, hosts: Hosts) -> None:
        self.app = app
        self.door = door
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            # There are no WebSockets here.
            await send({"type": "websocket.close", "code": 1008})
            return
        begun = False

        async def sending(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                kept = [h for h in message.get("headers", []) if h[0].lower() not in {n for n, _ in HEADERS}]
                if not any(n.lower() == b"cache-control" for n, _ in kept):
                    kept.append((b"cache-control", b"no-store"))
                message = {**message, "headers": [*kept, *HEADERS]}
            await send(message)

        try:
            self.look(scope)
            await self.app(scope, receive, sending)
        except ProblemError as p:
            if not begun:
                await _tell(sending, p)
        except ClientDisconnect:
            log.debug("a window closed while it sent something")
        # Whatever goes wrong inside must not show itself outside; it is written to the log instead.
        except Exception:
            log.exception("a request failed: %s", scope.get("method"))
            if not begun:
                await _tell(sending, ProblemError(500, "fault"))

    def look(self, scope: Scope) -> None:
        """Raise ProblemError for a request that must not go on."""
        headers = _headers(scope)
        method, path = scope["method"], scope["path"]
        host = headers.get(b"host")
        if host is None or not self.hosts.allow(host):
            raise ProblemError(403, "foreign_host")
        origin = headers.get(b"origin")
        if origin is not None and origin.lower() != f"http://{host}".lower():
            raise ProblemError(403, "foreign_origin")
        if headers.get(b"sec-fetch-site", "none") not in ("same-origin", "none"):
            raise ProblemError(403, "foreign_origin")
        if method not in _METHODS:
            raise ProblemError(405, "not_understood")
        if path in _OPEN or path.startswith(_OPEN_BELOW):
            scope.setdefault("state", {})["session"] = self.door.session(self.cookie(headers))
            return
        session = self.door.session(self.cookie(headers))
        if session is None:
            raise ProblemError(401, "no_session", say("error.signed_out") if self.door.has_password else None)
        if method == "POST" and not same(headers.get(TOKEN, ""), session.token):
            raise ProblemError(403, "no_token")
        scope.setdefault("state", {})["session"] = session

    @property
    def cookie_name(self) -> str:
        # Cookies do not mind the port: two books on one machine must not take each other's.
        return f"coutil-{self.hosts.port}"

    def cookie(self, headers: Mapping[bytes, str]) -> str | None:
        try:
            jar = SimpleCookie(headers.get(b"cookie", "")[:8000])
        except CookieError:
            return None
        found = jar.get(self.cookie_name)
        return None if found is None else found.value


def _headers(scope: Scope) -> dict[bytes, str]:
    """Header fields by name; one that may come but once and comes twice is refused."""
    out: dict[bytes, str] = {}
    for name, value in scope["headers"]:
        key = name.lower()
        if key in out and key in (b"host", b"origin", TOKEN, b"content-length", b"content-type"):
            raise ProblemError(400, "not_understood")
        out[key] = value.decode("latin-1")
    return out


def _split(header: str) -> tuple[str, int | None]:
    """Name and port of a Host header; the name "" where it is none."""
    name, port = header.strip().lower(), ""
    if name.startswith("["):
        name, _, port = name[1:].partition("]")
        port = port.removeprefix(":")
    elif ":" in name:
        name, _, port = name.rpartition(":")
    if port and not (port.isascii() and port.isdecimal() and len(port) <= 5):
        return "", None
    return name, int(port) if port else None


async def _tell(send: Send, problem: ProblemError) -> None:
    body = json.dumps(problem.told(), ensure_ascii=False).encode()
    headers: list[tuple[bytes, bytes]] = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        # What is left of the request's body is not read: the connection is of no more use.
        (b"connection", b"close"),
    ]
    start: dict[str, Any] = {"type": "http.response.start", "status": problem.status, "headers": headers}
    await send(start)
    await send({"type": "http.response.body", "body": body})
