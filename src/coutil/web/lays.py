"""Lays in the background: one search at a time for each order, with its progress, stopped on asking."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from typing import Any, Final

from coutil.lay.model import Block, Lay, LayPlan
from coutil.make import Work, lay_out
from coutil.plane import Pt
from coutil.web.edits import changed_keys
from coutil.web.lengths import shown
from coutil.web.naming import told
from coutil.web.paths import Box, polygon, rounded
from coutil.web.refused import words_of
from coutil.words import RefusingError, say

# Time that a search may be given, in seconds: less finds nothing, more is no longer waited for.
LEAST: Final = 0.5
MOST: Final = 600.0
# Orders whose lays are kept in memory.
_KEPT: Final = 32
# Values that change nothing that is cut.
_IDLE: Final = ("client.", "money.", "hours.", "notions.", "name", "unit")
# Told no more often than this, in parts of the whole: the page need not redraw for less.
_STEP: Final = 0.02


@dataclass(slots=True)
class _Job:
    order_id: int
    version: int
    text: str
    unit: str
    halt: threading.Event = field(default_factory=threading.Event)
    state: str = "working"
    part: float = 0.0
    says: str = ""
    plan: LayPlan | None = None
    told: float = -1.0


class Lays:
    """`changed` is called, from the thread of the search, whenever there is something new of an order's lays."""

    def __init__(self, changed: Callable[[int], None]) -> None:
        self._changed = changed
        self._lock = threading.Lock()
        self._jobs: dict[int, _Job] = {}
        self._threads: list[threading.Thread] = []

    def start(self, order_id: int, version: int, text: str, work: Work, seconds: float | None, unit: str) -> None:
        """Begin to lay an order; a search that is under way for it is ended first."""
        self.stop(order_id)
        job = _Job(order_id, version, text, unit, says=say("lays.begin"))
        with self._lock:
            while len(self._jobs) >= _KEPT:
                self._jobs.pop(next(iter(self._jobs)))
            self._jobs[order_id] = job
            thread = threading.Thread(target=self._run, args=(job, work, seconds), name=f"lays-{order_id}", daemon=True)
            self._threads = [t for t in self._threads if t.is_alive()] + [thread]
        thread.start()

    def stop(self, order_id: int) -> None:
        with self._lock:
            job = self._jobs.get(order_id)
        if job is not None:
            job.halt.set()

    def close(self) -> None:
        """End every search and wait for it, a few seconds at most."""
        with self._lock:
            jobs, threads = list(self._jobs.values()), list(self._threads)
        for job in jobs:
            job.halt.set()
        for thread in threads:
            thread.join(timeout=5.0)

    def told(self, order_id: int, text: str, unit: str) -> tuple[dict[str, Any], LayPlan | None]:
        """The lays of an order as the page gets them, and the plan if it is of the order as it stands now."""
        with self._lock:
            job = self._jobs.get(order_id)
        if job is None:
            empty: dict[str, Any] = {"state": "none", "part": 0.0, "says": "", "version": None, "stale": False}
            return {**empty, "lays": [], "blocks": [], "findings": []}, None
        stale = job.text != text and any(not k.startswith(_IDLE) for k in changed_keys(job.text, text))
        out: dict[str, Any] = {
            "state": job.state,
            "part": round(job.part, 3),
            "says": job.says,
            "version": job.version,
            "stale": stale,
            "lays": [],
            "blocks": [],
            "findings": [],
        }
        plan = job.plan
        if plan is not None:
            names = called(plan)
            out["lays"] = [_lay(n, lay, plan, unit, names[n]) for n, lay in enumerate(plan.lays)]
            out["blocks"] = [_block(b) for b in plan.blocks]
            out["findings"] = told(plan.findings)
        return out, None if stale else plan

    def brief(self, order_id: int) -> dict[str, Any]:
        """How the search goes on, without what it found: news for every window, whatever its unit."""
        with self._lock:
            job = self._jobs.get(order_id)
        if job is None:
            return {"state": "none", "part": 0.0, "says": ""}
        return {"state": job.state, "part": round(job.part, 3), "says": job.says, "version": job.version}

    def _run(self, job: _Job, work: Work, seconds: float | None) -> None:
        def progress(part: float, says: str) -> None:
            job.part, job.says = part, says
            if part - job.told >= _STEP:
                job.told = part
                self._tell(job)

        try:
            laid = lay_out(work, seconds=seconds, progress=progress, stop=job.halt.is_set)
            job.plan, job.state, job.part = laid.plan, "done", 1.0
            job.says = say("lays.stopped" if job.halt.is_set() else "lays.done")
        # The one place where everything is caught: whatever ends this thread must be told on the page.
        except Exception as e:
            job.state = "failed"
            job.says = words_of(e) if isinstance(e, RefusingError) else say("error.fault")
            if not isinstance(e, RefusingError):
                import logging

                logging.getLogger("coutil.web").exception("a lay failed")
        self._tell(job)

    def _tell(self, job: _Job) -> None:
        with self._lock:
            current = self._jobs.get(job.order_id) is job
        if current:
            self._changed(job.order_id)


def called(plan: LayPlan) -> list[str]:
    """What each lay is called: its cloth, and where that has several lays, what each is of, and numbered if need be."""
    blocks = {b.name for b in plan.blocks}
    cloths = Counter(lay.cloth for lay in plan.lays)
    names = [lay.cloth if cloths[lay.cloth] == 1 else _told_apart(lay, blocks) for lay in plan.lays]
    alike, seen = Counter(names), Counter[str]()
    out = []
    for name in names:
        seen[name] += 1
        out.append(name if alike[name] == 1 else say("lays.nth", name=name, n=seen[name]))
    return out


def _told_apart(lay: Lay, blocks: Collection[str]) -> str:
    laid = [p.piece in blocks for p in lay.placements]
    what = "blocks" if all(laid) else "both" if any(laid) else "pieces"
    layers = ", ".join(say(f"layer.{layer}") for layer in lay.layers)
    return say(
        "lays.told_apart", cloth=lay.cloth, layers=layers, what=say(f"lays.what.{what}"), on=say(f"lays.on.{lay.on}")
    )


def _lay(number: int, lay: Lay, plan: LayPlan, unit: str, name: str) -> dict[str, Any]:
    length = lay.stock_mm or lay.length_mm
    box: Box = (0.0, 0.0, length, lay.width_mm)
    return {
        "id": f"lay-{number}",
        "cloth": lay.cloth,
        "called": name,
        "on": lay.on,
        "layers": list(lay.layers),
        "folded": lay.folded,
        "box": rounded(box),
        "title": say("lays.title", called=name, length=shown(lay.length_mm, unit), width=shown(lay.width_mm, unit)),
        "used": f"{100 * lay.used:.0f} %",
        "pieces": [
            {
                "d": polygon(_flip(p.polygon, lay.width_mm)),
                "text": p.piece,
                "at": _middle(_flip(p.polygon, lay.width_mm)),
                "angle": 0,
            }
            for p in lay.placements
        ],
        "offcuts": [
            {
                "d": polygon(_flip(((x, y), (x + n, y), (x + n, y + w), (x, y + w)), lay.width_mm)),
                "text": f"{shown(n, unit)} × {shown(w, unit)}",
            }
            for x, y, n, w in lay.offcuts
        ],
        "buy": shown(plan.to_buy[lay.cloth], unit) if lay.on == "length" and lay.cloth in plan.to_buy else "",
    }


def _block(block: Block) -> dict[str, Any]:
    xs, ys = zip(*block.outline, strict=True)
    top = max(ys)
    return {
        "text": block.name,
        "layer": block.layer,
        "d": polygon(_flip(block.outline, top)),
        "box": rounded((min(xs), 0.0, max(xs), top - min(ys))),
        "pieces": [polygon(_flip(p.polygon, top)) for p in block.cut_from],
        "says": say("lays.block", n=block.quantity),
    }


def _flip(points: tuple[Pt, ...], height: float) -> list[Pt]:
    """From the cloth (y up from the selvedge) to the paper (y down)."""
    return [(x, height - y) for x, y in points]


def _middle(points: list[Pt]) -> list[float]:
    xs, ys = zip(*points, strict=True)
    return [round((min(xs) + max(xs)) / 2.0, 1), round((min(ys) + max(ys)) / 2.0, 1)]
