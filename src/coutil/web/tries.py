"""Wrong passwords: each slows down the machine that it came from, and is remembered to be told."""

from __future__ import annotations

import ipaddress
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

# Wrong passwords that cost no wait: a person who mistypes twice notices nothing. Found by trial.
_FREE: Final = 2
# The wait after the next one, in seconds; it doubles with each, up to the longest. A person waits through the first
# without leaving; a program that guesses gets six tries an hour.
_FIRST_WAIT: Final = 5.0
_LONGEST_WAIT: Final = 600.0
# A machine that kept quiet this long begins anew, in seconds.
_FORGIVEN: Final = 3600.0
# Machines that are remembered: more than stand in any workroom, and some 200 kB.
MOST: Final = 1000


@dataclass(frozen=True, slots=True)
class Told:
    """What one machine tried: `wrong` passwords that were looked at, `unread` ones that came while it had to wait."""

    peer: str
    wrong: int
    unread: int
    since: datetime
    last: datetime


@dataclass(slots=True)
class _Peer:
    since: datetime
    last: datetime
    wrong: int = 0
    unread: int = 0
    # Tries since the last right one, and when the next is looked at (by the clock that only runs on).
    heat: int = 0
    until: float = 0.0


class SlowError(Exception):
    """This machine has to wait, `seconds` from now."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        super().__init__(f"{seconds:.0f} s")


class Tries:
    """The record of every machine that tried, by its address. May be used from any thread.

    Each address stands for itself, those of IPv6 too: a workroom's machines share one network of addresses there, and
    one of them must not shut out the others. Whoever can take many addresses is held up by the password's length alone.
    """

    def __init__(
        self, *, clock: Callable[[], float] = time.monotonic, now: Callable[[], datetime] | None = None
    ) -> None:
        self._lock = threading.Lock()
        self._peers: dict[str, _Peer] = {}
        self._clock = clock
        self._now = now or (lambda: datetime.now(UTC))

    def begin(self, peer: str) -> None:
        """A password has come. It counts as wrong until `right` is told, so that tries at the same time count each.

        Raises SlowError if this machine has to wait: then the password must not be looked at.
        """
        with self._lock:
            found, at = self._found(peer), self._clock()
            if at < found.until:
                found.unread += 1
                found.last = self._now()
                raise SlowError(found.until - at)
            if at - found.until > _FORGIVEN:
                found.heat = 0
            found.heat += 1
            found.until = at + _wait(found.heat)

    def right(self, peer: str) -> None:
        """It was the right one: this machine need not wait any more. What it tried before stays told."""
        with self._lock:
            found = self._found(peer)
            found.heat, found.until = 0, self._clock()

    def wrong(self, peer: str) -> tuple[Told, float]:
        """It was a wrong one: what is known of this machine now, and how long it has to wait, in seconds."""
        with self._lock:
            found, now = self._found(peer), self._now()
            found.since = found.since if found.wrong else now
            found.wrong += 1
            found.last = now
            # From now on, not from when it came: to look at it took a while.
            wait = _wait(found.heat)
            found.until = max(found.until, self._clock() + wait)
            return _told(peer, found), wait

    def told(self) -> tuple[Told, ...]:
        """Every machine that is remembered for a wrong password, the latest first."""
        with self._lock:
            known = [_told(peer, one) for peer, one in self._peers.items() if one.wrong]
        return tuple(sorted(known, key=lambda one: one.last, reverse=True))

    def _found(self, peer: str) -> _Peer:
        found = self._peers.get(peer)
        if found is None:
            while len(self._peers) >= MOST:
                # Whoever has waited longest, or need not wait, is the least harm to forget.
                del self._peers[min(self._peers, key=lambda name: self._peers[name].until)]
            now = self._now()
            found = self._peers[peer] = _Peer(now, now, until=self._clock())
        return found


def peer_name(host: str | None) -> str:
    """The address of another machine, written in one way; an IPv4 address that came in by IPv6 is one of IPv4."""
    try:
        found = ipaddress.ip_address(host or "")
    except ValueError:
        return "?"
    mapped = found.ipv4_mapped if isinstance(found, ipaddress.IPv6Address) else None
    return str(mapped or found)


def _wait(heat: int) -> float:
    # The exponent is held down so that no count of tries makes too large a number.
    return 0.0 if heat <= _FREE else min(_FIRST_WAIT * 2.0 ** min(heat - _FREE - 1, 20), _LONGEST_WAIT)


def _told(peer: str, found: _Peer) -> Told:
    return Told(peer, found.wrong, found.unread, found.since, found.last)
