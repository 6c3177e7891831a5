"""Who may come in: links that work once, sessions, and the password where other machines may reach the book."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, Final

# Random bytes of every link, session and token: 256 bits cannot be guessed.
_BYTES: Final = 32
# A link that was not opened within this time is worth nothing any more, in seconds.
LINK_LIVES: Final = 600.0
# Windows of one browser share a session; more sessions than this are not in use at one table.
_SESSIONS: Final = 200
_LINKS: Final = 20
# Wrong passwords allowed within a minute, from everywhere together: slower than any list of passwords.
WRONG_A_MINUTE: Final = 5
_MINUTE: Final = 60.0


@dataclass(frozen=True, slots=True)
class Session:
    """What a browser that was let in holds: `token` goes with everything that changes state."""

    token: str


class Door:
    """Keeps only hashes of links and sessions. May be used from any thread."""

    def __init__(self, *, password: str | None = None) -> None:
        self._lock = threading.Lock()
        self._links: OrderedDict[bytes, float] = OrderedDict()
        self._sessions: OrderedDict[bytes, Session] = OrderedDict()
        self._wrong: list[float] = []
        self._hash: str | None = None
        self._hasher: Any = None
        # What another `coutil open` on this machine shows to be given a link.
        self.key = secrets.token_urlsafe(_BYTES)
        if password is not None:
            from argon2 import PasswordHasher

            # The library's own parameters: those of RFC 9106 for little memory.
            self._hasher = PasswordHasher()
            self._hash = self._hasher.hash(password)

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

    def log_in(self, password: str) -> str | None:
        """The secret of a new session for the right password; None for a wrong one. Raises TooManyError."""
        from argon2.exceptions import Argon2Error, InvalidHashError

        if self._hash is None:
            return None
        with self._lock:
            now = time.monotonic()
            self._wrong = [t for t in self._wrong if now - t < _MINUTE]
            if len(self._wrong) >= WRONG_A_MINUTE:
                raise TooManyError
            # Counted before it is looked at, so that tries at the same time count each.
            self._wrong.append(now)
        try:
            self._hasher.verify(self._hash, password)
        except (Argon2Error, InvalidHashError):
            return None
        with self._lock:
            self._wrong = [t for t in self._wrong if t != now]
        return self._admit()

    def session(self, secret: str | None) -> Session | None:
        """The session that a cookie tells, None if there is none such."""
        if not secret or len(secret) > 200:
            return None
        with self._lock:
            return self._sessions.get(_digest(secret))

    def _admit(self) -> str:
        secret = secrets.token_urlsafe(_BYTES)
        with self._lock:
            while len(self._sessions) >= _SESSIONS:
                self._sessions.popitem(last=False)
            self._sessions[_digest(secret)] = Session(secrets.token_urlsafe(_BYTES))
        return secret


class TooManyError(Exception):
    """Too many wrong passwords within a minute."""


def same(a: str, b: str) -> bool:
    """Whether two secrets are equal, in a time that does not tell where they differ."""
    return hmac.compare_digest(a.encode(), b.encode())


def _digest(secret: str) -> bytes:
    return sha256(secret.encode("utf-8", "surrogatepass")).digest()
