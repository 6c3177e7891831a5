"""Who may come in: links that work once, sessions, and the password where other machines may reach the book."""

from __future__ import annotations

import asyncio
import hmac
import secrets
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, Final

from coutil.web.password import same_signs, trouble
from coutil.web.tries import Tries

# Random bytes of every link, session and token: 256 bits cannot be guessed.
_BYTES: Final = 32
# A link that was not opened within this time is worth nothing any more, in seconds.
LINK_LIVES: Final = 600.0
# Windows of one browser share a session; more sessions than this are not in use at one table.
_SESSIONS: Final = 200
_LINKS: Final = 20
# Passwords that are looked at at the same time: each takes 64 MiB and a core, and the book needs one as well.
_AT_ONCE: Final = 2


@dataclass(frozen=True, slots=True)
class Session:
    """What a browser that was let in holds: `token` goes with everything that changes state.

    `by_password`: it came in from another machine, and not by a link.
    """

    token: str
    by_password: bool = False


class Door:
    """Keeps only hashes of links and sessions. May be used from any thread.

    Raises ValueError for a password that is too short.
    """

    def __init__(self, *, password: str | None = None) -> None:
        self._lock = threading.Lock()
        self._links: OrderedDict[bytes, float] = OrderedDict()
        self._sessions: OrderedDict[bytes, Session] = OrderedDict()
        self.tries = Tries()
        # For the event loop, before it calls `log_in` in a thread: those who wait here take no thread.
        self.looking = asyncio.Semaphore(_AT_ONCE)
        self._hash: str | None = None
        self._hasher: Any = None
        # What another `coutil open` on this machine shows to be given a link.
        self.key = secrets.token_urlsafe(_BYTES)
        if password is not None:
            wrong = trouble(password)
            if wrong is not None:
                raise ValueError(wrong)
            from argon2 import PasswordHasher

            # The library's own parameters: those of RFC 9106 for little memory.
            self._hasher = PasswordHasher()
            self._hash = self._hasher.hash(same_signs(password))

    @property
    def has_password(self) -> bool:
        return self._hash is not None

    def link(self) -> str:
        """A new secret for a link that works once."""
        secret = secrets.token_urlsafe(_BYTES)
        with self._lock:
            while len(self._links) >= _LINKS:
                self._links.popitem(last=False)
            self._links[_digest(secret)] = time.monotonic() + LINK_LIVES
        return secret

    def enter(self, secret: str) -> str | None:
        """Use a link up: the secret of a new session, None if the link is not (or no longer) good."""
        with self._lock:
            until = self._links.pop(_digest(secret), 0.0)
        return self._admit() if time.monotonic() < until else None

    def log_in(self, password: str, peer: str) -> str | None:
        """The secret of a new session for the right password; None for a wrong one.

        `self.tries.begin(peer)` comes before it, and says whether this machine's password may be looked at.
        """
        from argon2.exceptions import Argon2Error, InvalidHashError

        if self._hash is None:
            return None
        try:
            self._hasher.verify(self._hash, same_signs(password))
        except (Argon2Error, InvalidHashError):
            return None
        self.tries.right(peer)
        return self._admit(by_password=True)

    def leave(self, secret: str | None) -> Session | None:
        """End a session: its cookie and its token are worth nothing from now on. The session that was ended."""
        with self._lock:
            return None if secret is None else self._sessions.pop(_digest(secret), None)

    def session(self, secret: str | None) -> Session | None:
        """The session that a cookie tells, None if there is none such."""
        if not secret or len(secret) > 200:
            return None
        with self._lock:
            return self._sessions.get(_digest(secret))

    def _admit(self, *, by_password: bool = False) -> str:
        secret = secrets.token_urlsafe(_BYTES)
        with self._lock:
            while len(self._sessions) >= _SESSIONS:
                self._sessions.popitem(last=False)
            self._sessions[_digest(secret)] = Session(secrets.token_urlsafe(_BYTES), by_password)
        return secret


def same(a: str, b: str) -> bool:
    """Whether two secrets are equal, in a time that does not tell where they differ."""
    return hmac.compare_digest(a.encode(), b.encode())


def _digest(secret: str) -> bytes:
    return sha256(secret.encode("utf-8", "surrogatepass")).digest()
