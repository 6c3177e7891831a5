"""News for open windows, as Server-Sent Events: what other windows changed, how lays go on."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import Any, Final

# Windows that may listen at a time, and news that wait for a window that does not read: it asks anew when it is back.
_LISTENERS: Final = 100
_WAITING: Final = 200
# A line is sent at least this often, in seconds, so that a connection that is gone is noticed.
_BREATH: Final = 15.0


@dataclass(eq=False, slots=True)
class Listener:
    order_id: int | None
    window: str
    queue: asyncio.Queue[tuple[str, dict[str, Any]] | None]
    # The token of the session that listens: signing out ends its streams.
    whose: str = ""


class Hub:
    """`publish` may be called from any thread; everything else belongs to the event loop."""

    def __init__(self) -> None:
        self._listeners: set[Listener] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._closed = False
        # The edit that was last told of each order that someone listens for.
        self.told: dict[int, int] = {}

    def open(self) -> None:
        self._loop = asyncio.get_running_loop()

    def close(self) -> None:
        """Tell every window that the book closes, and end its stream."""
        self._closed = True
        for listener in tuple(self._listeners):
            _put(listener, ("closing", {}))
            _put(listener, None)

    @property
    def full(self) -> bool:
        return len(self._listeners) >= _LISTENERS

    def orders(self) -> set[int]:
        return {n.order_id for n in self._listeners if n.order_id is not None}

    def publish(self, event: str, data: dict[str, Any], *, order_id: int | None = None) -> None:
        """News for those who look at the order; without `order_id` for all."""
        loop = self._loop
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self._spread, event, data, order_id)

    def _spread(self, event: str, data: dict[str, Any], order_id: int | None) -> None:
        if event == "changed" and order_id is not None:
            self.told[order_id] = max(int(data["version"]), self.told.get(order_id, 0))
        for listener in tuple(self._listeners):
            if order_id is None or listener.order_id == order_id:
                _put(listener, (event, data))

    def end(self, whose: str) -> None:
        """Tell every window of a session that it was signed out, and end its stream."""
        for listener in tuple(self._listeners):
            if listener.whose == whose:
                _put(listener, ("left", {}))
                _put(listener, None)

    async def stream(
        self, order_id: int | None, window: str, hello: dict[str, Any], *, whose: str = ""
    ) -> AsyncIterator[bytes]:
        """The lines of one window's stream, until it goes away, is signed out, or the book closes."""
        listener = Listener(order_id, window, asyncio.Queue(_WAITING), whose)
        self._listeners.add(listener)
        if order_id is not None:
            self.told[order_id] = int(hello.get("version", 0))
        try:
            yield _line("hello", hello)
            while not self._closed:
                try:
                    news = await asyncio.wait_for(listener.queue.get(), _BREATH)
                except TimeoutError:
                    yield b": still here\n\n"
                    continue
                if news is None:
                    return
                yield _line(*news)
        finally:
            self._listeners.discard(listener)


def _put(listener: Listener, news: tuple[str, dict[str, Any]] | None) -> None:
    if listener.queue.full():
        listener.queue.get_nowait()
    listener.queue.put_nowait(news)


def _line(event: str, data: dict[str, Any]) -> bytes:
    return f"event: {event}\ndata: {json.dumps(data, ensure_ascii=False)}\n\n".encode()
