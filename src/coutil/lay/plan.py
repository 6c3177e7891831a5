"""The whole plan for the cloth of one order: what to lay, on what, where each piece lies, how much to buy."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace

from coutil.lay.blocks import GREATEST_MARGIN, LEAST_MARGIN, MARGIN
from coutil.lay.cloths import materials
from coutil.lay.engine import EngineError
from coutil.lay.fill import Laid, Run, fill, too_large
from coutil.lay.model import Lay, LayPlan
from coutil.lay.piecing import OVERLAP
from coutil.lay.wants import Wanted, gather
from coutil.order import Cloth, Order
from coutil.pattern import ClothRef, Finding, Pattern, Topic
from coutil.units import both, cm
from coutil.words import Length

# Time for all lays of an order together, in seconds: enough for the few dozen shapes of a garment (found by trial).
SECONDS = 5.0
# Lays placed at the same time, one process each: what a common machine has cores for.
AT_ONCE = 2
# No cloth gets less time than this, in seconds (about what the first layout takes), or than this part of the whole.
LEAST_SECONDS, LEAST_PART = 0.2, 0.15
# How often progress is told and a stop is looked for, in seconds.
TICK = 0.05
# The greatest tilt off the grain that makes sense, in degrees: beyond it cloth hangs askew (judgement, no source).
GREATEST_TILT = 10.0
# A lay may be longer than what lies on the shelf by this much, in mm: the rounding of lengths, far below a thread.
SAME_LENGTH = 1e-6
# Least and greatest overlap of pieced interfacing that make sense, in mm (judgement, no source).
LEAST_OVERLAP, GREATEST_OVERLAP = 3.0, 50.0

# Called with the part of the time that is gone (0 to 1) and a line that says what is going on.
Progress = Callable[[float, str], None]


@dataclass
class _Board:
    """What the threads tell: guarded by its lock, read by the caller's thread."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    waiting: list[float] = field(default_factory=list)
    says: str = "placing"


def plan(
    pattern: Pattern,
    order: Order,
    *,
    seconds: float = SECONDS,
    seed: int = 1,
    margin: float = MARGIN,
    tilt: float = 0.0,
    share: bool = True,
    overlap: float = OVERLAP,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> LayPlan:
    """Lay all pieces of a pattern on the cloth of its order.

    `seconds` is for all lays together; those that reach their lower bound end earlier. `margin` is left round each
    piece in its fusing block, in mm; `tilt` is the angle in degrees by which pieces may lie off the grain; `share` lets
    small neighbours share a block; `overlap` is that of pieced interfacing, in mm. `progress` and `stop` are called in
    the calling thread, twenty times a second; once `stop` says True each lay keeps the best layout that it has. What
    cannot be laid is told in `findings` as a `stop`, and all else is laid. Raises ValueError for a margin, tilt,
    overlap or time out of range.

    For one seed the search goes the same way each time; how far it comes, and so the lay, depends on the machine.
    """
    if not LEAST_MARGIN - 1e-9 <= margin <= GREATEST_MARGIN + 1e-9:
        raise ValueError(f"a block's margin is {both(LEAST_MARGIN)} to {both(GREATEST_MARGIN)}, not {both(margin)}")
    if not 0.0 <= tilt <= GREATEST_TILT:
        raise ValueError(f"a tilt is 0 to {GREATEST_TILT:g} degrees, not {tilt:g}")
    if not LEAST_OVERLAP <= overlap <= GREATEST_OVERLAP:
        raise ValueError(f"an overlap is {cm(LEAST_OVERLAP)} to {cm(GREATEST_OVERLAP)}, not {cm(overlap)}")
    if not (math.isfinite(seconds) and seconds > 0.0):
        raise ValueError(f"time for the lays must be more than 0 seconds, not {seconds:g}")

    mats, found = materials(order, dict.fromkeys(p.layer for p in pattern.pieces))
    wanted, blocks, said = gather(pattern, mats, margin=margin, share=share)
    findings = [*found, *said]

    tasks: list[Wanted] = []
    for w in wanted:
        trouble = too_large(w, tilt=tilt)
        findings += trouble
        findings += [Finding("lay.none", "stop", ClothRef(w.material.name))] if trouble else []
        if not trouble:
            tasks.append(w)

    results = _run(tasks, seconds, Run(seconds, seed, tilt, threading.Event(), overlap=overlap), progress, stop)
    lays: list[Lay] = []
    for w, result in zip(tasks, results, strict=True):
        if isinstance(result, EngineError):
            findings.append(Finding("lay.engine", "stop", ClothRef(w.material.name), {"why": str(result)}))
            continue
        made, notes = result
        lays += made
        findings += notes
    if stop is not None and tasks and stop():
        findings.append(Finding("lay.stopped_early", "note", Topic("lays")))
    findings += _steam_notes(tasks)
    to_buy, of_stock = _to_buy(tasks, lays)
    return LayPlan(tuple(lays), blocks, to_buy, (*findings, *of_stock))


def _run(
    tasks: Sequence[Wanted],
    seconds: float,
    run: Run,
    progress: Progress | None,
    stop: Callable[[], bool] | None,
) -> list[Laid | EngineError]:
    """One result or error for each cloth, in order. Threads only wait: the work is done in processes of their own."""
    if not tasks:
        return []
    halt = run.halt
    areas = [sum(x.outline.area * x.quantity for x in w.wants) for w in tasks]
    board = _Board(waiting=sorted(areas))
    started = time.monotonic()

    def one(w: Wanted, area: float) -> Laid | EngineError:
        with board.lock:
            # What is left of the time, shared by area among what is left to do: a lay that ends early leaves more to
            # the larger ones after it.
            left = seconds - (time.monotonic() - started)
            part = min(1.0, AT_ONCE * area / sum(board.waiting))
            share = max(LEAST_SECONDS, LEAST_PART * seconds, left * part)
            board.waiting.remove(area)

        def report(length: float) -> None:
            with board.lock:
                board.says = f"{w.material.name}: {cm(length)}"

        try:
            return fill(w, replace(run, seconds=share, report=report))
        except EngineError as e:
            return e

    with ThreadPoolExecutor(AT_ONCE) as pool:
        futures: dict[int, Future[Laid | EngineError]] = {
            i: pool.submit(one, tasks[i], areas[i]) for i in sorted(range(len(tasks)), key=areas.__getitem__)
        }
        try:
            while wait(futures.values(), timeout=TICK).not_done:
                if stop is not None and stop():
                    halt.set()
                if progress is not None:
                    with board.lock:
                        says = board.says
                    progress(min(0.99, (time.monotonic() - started) / seconds), says)
        except BaseException:
            # A callback raised, or the person pressed Ctrl-C: end the processes before the pool waits for its threads.
            halt.set()
            for f in futures.values():
                f.cancel()
            raise
    if progress is not None:
        progress(1.0, "all lays placed")
    return [futures[i].result() for i in range(len(tasks))]


def _to_buy(tasks: Sequence[Wanted], lays: Sequence[Lay]) -> tuple[dict[str, float], list[Finding]]:
    """Length in mm (or number of sheets) by cloth, what is on the shelf taken off, what steam takes added; and notes.

    A lay is one length: what lies on the shelf serves the lays that fit on it whole, and is no help to a longer one.
    """
    cloths = {w.material.name: w.material.cloth for w in tasks}
    by_name = {(w.material.name, w.steamed): w.material for w in tasks}
    needs: dict[str, list[float]] = {}
    for lay in lays:
        each = needs.setdefault(lay.cloth, [])
        if lay.on != "remnant":
            shrinks = by_name[lay.cloth, lay.steamed].shrink_length if lay.steamed else 0.0
            each.append(1.0 if lay.on == "sheet" else lay.length_mm / (1.0 - shrinks))
    out: dict[str, float] = {}
    notes: list[Finding] = []
    for name, each in needs.items():
        cloth = cloths[name]
        if cloth.sheet is not None:
            # Sheets on the shelf are told by their length laid end to end.
            out[name] = max(0.0, sum(each) - math.floor((cloth.on_hand or 0.0) / cloth.sheet[1] + 1e-9))
            continue
        left = cloth.on_hand or 0.0
        bought: list[float] = []
        for need in sorted(each, reverse=True):
            if need <= left + SAME_LENGTH:
                left -= need
            else:
                bought.append(need)
        out[name] = sum(bought)
        if bought and cloth.on_hand:
            notes.append(_too_short(cloth, left, min(bought)))
    return out, notes


def _too_short(cloth: Cloth, left: float, need: float) -> Finding:
    """Why a lay is bought although cloth is on hand; `left` of it is what no other lay takes."""
    on_hand = cloth.on_hand or 0.0
    args = {
        "some": "all" if left == on_hand else "rest",
        "left": Length(left, "both"),
        "need": Length(need, "both"),
        # Folded cloth leaves its remnants out.
        "hint": cloth.laid != "folded",
    }
    return Finding("lay.short", "note", ClothRef(cloth.name), args)


def _steam_notes(tasks: Sequence[Wanted]) -> list[Finding]:
    return [
        Finding("lay.steam", "note", ClothRef(w.material.name))
        for w in tasks
        if w.steamed and (w.material.shrink_length or w.material.shrink_width)
    ]
