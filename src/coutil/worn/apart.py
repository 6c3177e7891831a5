"""Trying on in a process of its own, which keeps the form while only the pattern changes.

The process is started once and kept: what it has imported and the last form it made are there for the next time. One
garment is tried on at a time; whoever asks meanwhile waits. It ends with its parent, and when it is closed.
"""

from __future__ import annotations

import multiprocessing
import threading
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

from coutil.order import Order
from coutil.pattern import Pattern
from coutil.worn.export import Solid
from coutil.worn.reading import Reading
from coutil.worn.settle import StoppedError

# How often the parent looks whether it is to stop, in seconds.
TICK = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Tried:
    """What came of trying a pattern on: what it says, and the meshes of form and cloth."""

    reading: Reading
    solids: tuple[Solid, ...]


class TryingError(Exception):
    """The process could not do it: the message is what it died of."""


class Trying:
    """The process. Use it as a context, or close it; any thread may ask."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: Any = None
        self._pipe: Connection | None = None

    def __enter__(self) -> Trying:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End the process; a later asking starts another."""
        process, pipe, self._process, self._pipe = self._process, self._pipe, None, None
        if pipe is not None:
            pipe.close()
        if process is not None:
            process.terminate()
            process.join()
            process.close()

    def on(
        self,
        order: Order,
        pattern: Pattern,
        *,
        fine: bool = False,
        told: Callable[[float, str], None] | None = None,
        stop: Callable[[], bool] | None = None,
    ) -> Tried:
        """Try a pattern on.

        Raises StoppedError when `stop` says so (the process is ended then and there), WornError as it
        arises, TryingError where it died."""
        with self._lock:
            pipe = self._started()
            pipe.send((order, pattern, fine))
            try:
                while True:
                    while not pipe.poll(TICK):
                        if stop is not None and stop():
                            self.close()
                            raise StoppedError
                    kind, what = pipe.recv()
                    if kind == "told":
                        if told is not None:
                            told(*what)
                    elif kind == "done":
                        found: Tried = what
                        return found
                    else:
                        raise what
            except (EOFError, BrokenPipeError, ConnectionResetError) as e:
                self.close()
                raise TryingError("the process that tries it on has died") from e

    def _started(self) -> Connection:
        if self._pipe is None or self._process is None or not self._process.is_alive():
            context = multiprocessing.get_context("spawn")
            ours, theirs = context.Pipe()
            self._process = context.Process(target=_serve, args=(theirs,), daemon=True)
            self._process.start()
            theirs.close()
            self._pipe = ours
        return self._pipe


def _serve(pipe: Connection) -> None:
    """In the process: try on what comes until nobody asks any more."""
    from coutil.worn.export import solids
    from coutil.worn.from_order import order_form, reaches, wear_order
    from coutil.worn.reading import read
    from coutil.worn.wear import stand_of

    kept: tuple[Any, Any] | None = None
    while True:
        try:
            order, pattern, fine = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            key = (order.body, any("bust" in p.levels for p in pattern.panels))
            if kept is None or kept[0] != key:
                pipe.send(("told", (0.0, "form")))
                kept = key, stand_of(order_form(order, pattern))
            worn = wear_order(
                order, pattern, stand=kept[1], fine=fine, told=lambda done, part: pipe.send(("told", (done, part)))
            )
            pipe.send(("done", Tried(read(worn, reaches(order, pattern)), solids(worn))))
        except BrokenPipeError:
            return
        except Exception as e:
            pipe.send(("failed", e))
