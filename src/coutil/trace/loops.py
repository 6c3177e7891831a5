"""Strokes joined end to end into closed runs; what does not close, and where."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from kurbopy import CubicBez

from coutil.plane import Pt, controls, straight
from coutil.trace.marks import SAME_END, ends_of, on_fold
from coutil.trace.model import Kind, Reading, Stroke, TraceError
from coutil.trace.split import cleaned, reversed_path
from coutil.words import REFUSAL, Key, Told

# Ends that nothing meets are joined to the one end that lies this near, in mm, and that is told: by trial, hand-drawn
# outlines that look closed on the screen gape by up to a third of a mm.
GAP = 0.5
# Of ends that crowd in one place so many are looked at.
MOST_MEETING = 8
# Of so many loose ends at most it is looked up which come near each other.
MOST_ENDS = 400

# The number of a run and which of its ends: 0 for its start, 1 for its end.
_End = tuple[int, int]


@dataclass(slots=True)
class Loop:
    path: list[CubicBez]
    kind: Kind
    straight: bool
    names: tuple[str, ...]
    group: int
    area: float = 0.0
    polygon: Any = None
    inside: list[Loop] = field(default_factory=list)


def closed_runs(strokes: Sequence[Stroke]) -> tuple[list[Loop], list[Stroke], list[tuple[float, Pt]]]:
    """The closed runs among the strokes, those joined from several included; the strokes that are none; gaps closed."""
    loops: list[Loop] = []
    rest: list[Stroke] = []
    open_runs: dict[tuple[Kind, int], list[Stroke]] = {}
    gaps: list[tuple[float, Pt]] = []
    for s in _once(strokes):
        if s.kind == "skip":
            continue
        ends = math.dist(s.start, s.end)
        if s.kind not in ("outline", "cut", "net"):
            rest.append(s)
        elif ends <= SAME_END and (s.closed or len(s.path) > 2):
            loops.append(Loop(list(s.path), s.kind, s.straight, s.names, s.group))
        elif s.closed:
            loops.append(Loop([*s.path, straight(s.end, s.start)], s.kind, s.straight, s.names, s.group))
        else:
            open_runs.setdefault((s.kind, s.group), []).append(s)
    folds = [s for s in strokes if s.kind == "fold"]
    for (kind, group), runs in open_runs.items():
        # What lies on a fold is not drawn as cut or net, yet closes both.
        beside = [replace(f, kind=kind) for f in folds if f.group == group] if kind != "outline" or folds else []
        made, left, _ = _chained([*runs, *beside], SAME_END)
        more, left, wide = _chained(left, GAP)
        made += more
        gaps += wide
        made += [loop for s in left if (loop := _closed_by(s, beside)) is not None and s not in beside]
        loops += made
        rest += [s for s in left if s not in beside]
    rest += folds
    good = []
    for loop in loops:
        try:
            loop.path = cleaned(loop.path)
        except TraceError:
            continue
        good.append(loop)
    return good, rest, gaps


def _once(strokes: Sequence[Stroke]) -> Iterator[Stroke]:
    """The strokes without those that are drawn twice, in either direction."""
    seen: set[tuple[object, ...]] = set()
    for s in strokes:
        keys = [
            (s.kind, s.group, s.closed, *(round(v, 3) for c in path for p in controls(c) for v in p))
            for path in (s.path, reversed_path(s.path))
        ]
        if keys[0] not in seen:
            yield s
        seen.update(keys)


def _closed_by(run: Stroke, folds: Sequence[Stroke]) -> Loop | None:
    """The loop of an open run whose two ends lie on one fold line, or None."""
    for f in folds:
        ends = ends_of(f)
        if ends and all(on_fold(p, *ends) for p in (run.start, run.end)):
            path = [*run.path, straight(run.end, run.start)]
            return Loop(path, run.kind, run.straight, run.names, run.group)
    return None


def _chained(runs: Sequence[Stroke], reach: float) -> tuple[list[Loop], list[Stroke], list[tuple[float, Pt]]]:
    """Runs joined end to end where exactly two ends lie within `reach` mm: closed ones as loops, the rest as they were.

    Also the gaps of the closed ones that are wider than SAME_END: by how much, and where.
    """
    ends = [(s.start, s.end) for s in runs]
    meetings = _meetings(ends, reach)
    marks = _loose(meetings)

    def partner(k: int, e: int) -> tuple[int, int] | None:
        """The one other end that meets this end, or None."""
        found = [m for m in meetings[k, e] if m[0] not in marks]
        return found[0] if len(found) == 1 else None

    loops: list[Loop] = []
    left: list[Stroke] = []
    gaps: list[tuple[float, Pt]] = []
    used = [False] * len(runs)
    for k in range(len(runs)):
        if used[k]:
            continue
        if k in marks:
            left.append(runs[k])
            continue
        used[k] = True
        chain, at, out = [k], 1, list(runs[k].path)
        closed = False
        gaping: list[tuple[float, Pt]] = []
        while (nxt := partner(chain[-1], at)) is not None:
            kk, ee = nxt
            apart = math.dist(ends[chain[-1]][at], ends[kk][ee])
            if apart > SAME_END:
                gaping.append((apart, ends[kk][ee]))
            if kk == k and ee == 0:
                closed = len(chain) > 1 or len(out) > 2
                break
            if used[kk]:
                break
            used[kk] = True
            out += runs[kk].path if ee == 0 else reversed_path(runs[kk].path)
            chain.append(kk)
            at = 1 - ee
        if closed:
            first = runs[k]
            lines = all(runs[i].straight for i in chain)
            loops.append(Loop(out, first.kind, lines, first.names, first.group))
            gaps += gaping
        else:
            left += [runs[i] for i in chain]
    return loops, left, gaps


def _meetings(ends: Sequence[tuple[Pt, Pt]], reach: float) -> dict[_End, list[_End]]:
    """For each end of each run the other ends that lie within `reach` mm of it."""
    cells: dict[tuple[int, int], list[tuple[_End, Pt]]] = {}

    def cell(p: Pt) -> tuple[int, int]:
        return math.floor(p[0] / reach), math.floor(p[1] / reach)

    for k, both in enumerate(ends):
        for e, p in enumerate(both):
            cells.setdefault(cell(p), []).append(((k, e), p))
    out: dict[_End, list[_End]] = {}
    for (i, j), here in cells.items():
        # A crowd of ends closes nothing.
        near = [q for di in (-1, 0, 1) for dj in (-1, 0, 1) for q in cells.get((i + di, j + dj), ())[:MOST_MEETING]]
        for end, p in here:
            out[end] = [other for other, q in near if other != end and math.dist(p, q) <= reach]
    return out


def _loose(meetings: Mapping[_End, Sequence[_End]]) -> set[int]:
    """The runs that end where nothing else does, and those that do once these are gone: marks, even if on a corner."""
    counts = {end: len(met) for end, met in meetings.items()}
    found: set[int] = set()
    waiting = [k for (k, _), count in counts.items() if count == 0]
    while waiting:
        k = waiting.pop()
        if k in found:
            continue
        found.add(k)
        for other in (*meetings[k, 0], *meetings[k, 1]):
            counts[other] -= 1
            if counts[other] == 0:
                waiting.append(other[0])
    return found


def gap_notes(reading: Reading, gaps: Sequence[tuple[float, Pt]]) -> Iterator[str]:
    if gaps:
        wide, where = max(gaps)
        count = "1 gap in its outlines was" if len(gaps) == 1 else f"{len(gaps)} gaps in its outlines were"
        yield f"{count} closed, the widest of {wide:.2f} mm {reading.place(where)}."


def no_outline(reading: Reading, loops: Sequence[Loop], rest: Sequence[Stroke]) -> TraceError:
    """The refusal of a drawing that has no outline to use."""
    if loops:
        return TraceError("outlines_too_small", Key("pattern.scale"))
    if any(s.kind in ("outline", "cut", "net") for s in reading.strokes):
        return TraceError("not_closed", why=_ends_apart(reading, rest))
    return TraceError("nothing_drawn")


def _ends_apart(reading: Reading, rest: Sequence[Stroke]) -> Told:
    """Where lines that nothing meets come nearest to another's end; or that more than two meet."""
    ends = [p for s in rest if s.kind in ("outline", "cut", "net") for p in (s.start, s.end)][:MOST_ENDS]
    crowded = next((p for p in ends if sum(1 for q in ends if math.dist(p, q) <= GAP) > 2), None)
    if crowded is not None:
        return _why("crowded", place=reading.place_told(crowded))
    apart = [(d, p) for k, p in enumerate(ends) for q in ends[:k] if (d := math.dist(p, q)) > GAP]
    if not apart:
        return _why("do_not_meet", gap=GAP)
    wide, where = min(apart)
    return _why("loose_ends", apart=wide, place=reading.place_told(where))


def _why(code: str, /, **args: object) -> Told:
    return Told(f"{REFUSAL}.{TraceError.room}.open.{code}", args)
