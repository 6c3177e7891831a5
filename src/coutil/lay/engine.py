"""The placing engine, kept at arm's length: each job in a process of its own, with a time limit, and stoppable.

The engine is spyrrow (strip packing by guided local search: Gardeyn et al., arXiv 2509.13329). It can end its whole
process on bad input, so shapes are checked before they go in; what comes out is never trusted either, see
`coutil.lay.verify`. Here a strip is `height` mm across and as long as it must be; x runs along it.
"""

from __future__ import annotations

import contextlib
import json
import math
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, ClassVar

from coutil.plane import Pt
from coutil.words import RefusingError

# The script that runs in the other process.
WORKER = Path(__file__).with_name("worker.py")
# How often time, stop and reports are looked at, in seconds.
TICK = 0.02
# What the engine may run over its time to hand over its last layout, in seconds (it takes 0.1 to 0.2, found by trial).
GRACE = 0.4
# A job without any layout is waited for at least this long, in seconds: the first one comes within 0.1 s for a garment,
# and within some seconds for the hundred shapes of a public instance, on a busy machine later.
PATIENCE = 20.0
# After a stop a job that has no layout yet is still waited for this long, in seconds, so that a stop loses no lay.
STOPPED_PATIENCE = 3.0


class EngineError(RefusingError):
    """The engine could not place the shapes; says why, in what can follow its name."""

    room: ClassVar[str] = "lay.engine"


@dataclass(frozen=True, slots=True)
class Item:
    """A shape to be placed `demand` times, turned by any of `turns` degrees. `points` without repeating the first."""

    id: str
    points: tuple[Pt, ...]
    demand: int
    turns: tuple[float, ...] = (0.0,)


@dataclass(frozen=True, slots=True)
class Placed:
    """Turn by `degrees` anticlockwise about the origin, then move by (x, y)."""

    id: str
    x: float
    y: float
    degrees: float

    def of(self, points: Sequence[Pt]) -> tuple[Pt, ...]:
        """The points where they lie now."""
        c, s = turn(self.degrees)
        return tuple((c * x - s * y + self.x, s * x + c * y + self.y) for x, y in points)


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything lies, and how long a strip that takes."""

    width: float
    placed: tuple[Placed, ...]


def turn(degrees: float) -> Pt:
    """Cosine and sine, exact for quarter turns: a grain at 180 degrees must not lean by a rounding."""
    quarter = degrees / 90.0
    if quarter == round(quarter):
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarter) % 4]
    return math.cos(math.radians(degrees)), math.sin(math.radians(degrees))


def pack(
    items: Sequence[Item],
    height: float,
    *,
    seconds: float,
    seed: int,
    enough: float = 0.0,
    halt: threading.Event | None = None,
    report: Callable[[float], None] | None = None,
) -> Layout:
    """The shortest layout found within about `seconds`.

    Ends early when the strip is no longer than `enough`, and when `halt` is set; both keep the best layout so far, and
    a stop takes the first one if there is none yet. `report` hears the length of each better layout, in the calling
    thread. Raises EngineError if a shape is unsound or does not fit across the strip, and if the engine is missing,
    fails, or finds nothing in time. For one seed the engine goes the same way each time, but how far it comes depends
    on the machine.
    """
    _check(items, height)
    job = {
        "height": height,
        # The engine takes whole seconds only; anything shorter is cut short from here.
        "seconds": max(1, math.floor(seconds)),
        "seed": seed,
        "items": [{"id": i.id, "points": i.points, "demand": i.demand, "turns": i.turns} for i in items],
    }
    started = time.monotonic()
    # -P: the script's own folder must not be searched for modules, it holds files named as those of the library.
    process = subprocess.Popen(
        [sys.executable, "-P", str(WORKER)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
    )
    lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
    reader = threading.Thread(target=_read, args=(process.stdout, lines), daemon=True)
    reader.start()
    try:
        _send(process.stdin, job)
        best = _listen(process, lines, started, seconds, enough, halt, report)
    finally:
        process.kill()
        process.wait()
        reader.join()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                _close(pipe)
    return best


def _listen(
    process: subprocess.Popen[str],
    lines: queue.SimpleQueue[str | None],
    started: float,
    seconds: float,
    enough: float,
    halt: threading.Event | None,
    report: Callable[[float], None] | None,
) -> Layout:
    best: Layout | None = None
    soft = started + seconds + (GRACE if seconds >= 1.0 else 0.0)
    hard = started + max(PATIENCE, 3.0 * seconds)
    stopped = False
    while True:
        now = time.monotonic()
        if halt is not None and halt.is_set() and not stopped:
            stopped = True
            hard = min(hard, now + STOPPED_PATIENCE)
        if best is not None and (now > soft or best.width <= enough or stopped):
            return best
        if now > hard:
            if stopped:
                raise EngineError("stopped")
            raise EngineError("no_layout_in_time", seconds=hard - started)
        try:
            line = lines.get(timeout=TICK)
        except queue.Empty:
            continue
        if line is None:
            if best is not None:
                return best
            raise EngineError("ended", code=process.wait())
        said = _parse(line)
        if "failed" in said:
            if best is not None:
                return best
            if said.get("missing"):
                raise EngineError("missing", why=said["failed"])
            raise EngineError("gave_up", why=said["failed"])
        found = _layout(said)
        if best is None or found.width < best.width:
            best = found
            if report is not None:
                report(best.width)
        if said.get("final"):
            return best


def _check(items: Sequence[Item], height: float) -> None:
    """Raise EngineError for whatever would make the engine panic, or make it place nonsense without a word."""
    from shapely import Polygon  # type: ignore[import-untyped]
    from shapely.validation import explain_validity  # type: ignore[import-untyped]

    if not items:
        raise EngineError("nothing")
    if not (math.isfinite(height) and height > 0.0):
        raise EngineError("no_width", width=height)
    if len({i.id for i in items}) != len(items):
        raise EngineError("one_name")
    for i in items:
        if i.demand < 1:
            raise EngineError("no_demand", demand=i.demand, shape=i.id)
        if not all(math.isfinite(v) for p in i.points for v in p):
            raise EngineError("no_numbers", shape=i.id)
        if len(set(i.points)) < 3:
            raise EngineError("few_points", shape=i.id)
        polygon = Polygon(i.points)
        if not polygon.is_valid:
            raise EngineError("unsound", shape=i.id, why=explain_validity(polygon))
        if polygon.area <= 0.0:
            raise EngineError("no_area", shape=i.id)
        across = min(extent(i.points, t)[1] for t in i.turns)
        if across >= height:
            raise EngineError("too_wide", shape=i.id, across=across, strip=height)


def extent(points: Sequence[Pt], degrees: float) -> Pt:
    """Length along x and along y of the points, turned by `degrees`."""
    c, s = turn(degrees)
    xs = [c * x - s * y for x, y in points]
    ys = [s * x + c * y for x, y in points]
    return max(xs) - min(xs), max(ys) - min(ys)


def _parse(line: str) -> dict[str, Any]:
    try:
        said = json.loads(line)
    except ValueError:
        said = None
    if not isinstance(said, dict):
        raise EngineError("no_layout", why=repr(line.strip()[:80]))
    return said


def _layout(said: dict[str, Any]) -> Layout:
    try:
        placed = tuple(Placed(str(i), float(x), float(y), float(d)) for i, x, y, d in said["placed"])
        return Layout(float(said["width"]), placed)
    except (KeyError, TypeError, ValueError) as e:
        raise EngineError("no_layout", why=str(e)) from None


def _read(pipe: IO[str] | None, lines: queue.SimpleQueue[str | None]) -> None:
    if pipe is not None:
        for line in pipe:
            lines.put(line)
    lines.put(None)


def _send(pipe: IO[str] | None, job: dict[str, Any]) -> None:
    if pipe is not None:
        # The process may have ended already; what it leaves unsaid is told by its exit code.
        with contextlib.suppress(OSError):
            pipe.write(json.dumps(job) + "\n")
            pipe.flush()


def _close(pipe: IO[str]) -> None:
    # Closing flushes what a dead process never took.
    with contextlib.suppress(OSError):
        pipe.close()
