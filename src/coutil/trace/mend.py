"""Trueing a seam: its two edges made to match, between every two levels, by moving as little as it takes.

Cutters add or take off where a seam is too short or too long and blend the line into what is there. So does this: the
stretch between two levels is drawn out, or in, along itself, most in its middle and not at all at its ends; what lies
beyond moves along as it is, away from the waist, which stays. Top and hem follow with their ends, blended to nothing at
their other ends, and keep their direction at both, so that they run on into their neighbours as before. Notches that
the pattern brought along are set again on the line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from kurbopy import Affine, CubicBez, Point

from coutil.pattern import Edge, Panel, Pattern, Seam
from coutil.pattern.model import Side
from coutil.pattern.refs import PanelRef, SeamRef
from coutil.pattern.seams import SEWN_END, Interval, intervals
from coutil.plane import Curve, Pt, line, pinned, shifted
from coutil.trace.model import TraceError

# Who gives way: each edge by half, or the first or the second edge of the seam alone.
Change = Literal["share", "a", "b"]

# Lengths are brought to within this of each other, in mm: far below the 0.3 mm that the walk lets pass.
CLOSE = 1e-4
# A stretch may be drawn out or in by at most this part of its length: more is no slip of the pencil but another line.
# Set by judgement: a quarter; the middle of the stretch is then drawn out by three eighths.
MOST = 0.25
# At either end of the seam a stretch may also be cut off or run on straight, by up to half of what is the longer then
# and so many mm: what is drawn out by more than MOST would bend to and fro.
MOST_AT_END, MOST_AT_END_MM = 0.5, 10.0
# Each stretch is moved in at least so many cubics, so that they can follow the blend.
PIECES = 4
# Where its seam was changed, a top or a hem may be turned by this much, in radians (0.8 degrees): less than the 1
# degree within which it must run on across a seam.
TILT = math.radians(0.8)
# Curvatures below this, in 1/mm (a radius of 10 m), are straight when bends to and fro are counted, and curvature is
# looked at in so many places.
STRAIGHT = 1e-4
BENDS_AT = 200
# Where a line moved most is looked for along polylines within this of it, in mm.
LOOKED_AT = 0.01
# Places that moved by less than this are not reported, in mm: rounding.
TOLD = 1e-3
# Two stops nearer to each other than this, in mm, are one: a mark at the end of its edge, right to rounding.
SAME_STOP = 1e-3
_NOTCH = "notch "


@dataclass(frozen=True, slots=True)
class Move:
    """One place that moved: on which panel and edge, what it is called, from where to where, by how many mm."""

    panel: str
    side: Side
    edge: str
    place: str
    before: Pt
    after: Pt

    @property
    def mm(self) -> float:
        return math.dist(self.before, self.after)


@dataclass(frozen=True, slots=True)
class Mended:
    """The mended pattern, every point that moved, and the seam's intervals as they were and as they are.

    `remarks` tell in whole sentences of lines that now bend to and fro where they did not.
    """

    pattern: Pattern
    moves: tuple[Move, ...]
    before: tuple[Interval, ...]
    after: tuple[Interval, ...]
    remarks: tuple[str, ...] = ()


def true_seam(pattern: Pattern, name: str, *, side: Side = "both", change: Change = "share") -> Mended:
    """The pattern with one seam trued; nothing else is touched. Lengths in mm.

    `change`: "share" gives half of each difference to either edge, "a" or "b" all of it to the one edge of the seam.
    A seam's ease is kept, spread over its length; a peak stays as long as it is. Pads and pieces, which no longer fit,
    are taken off. Raises TraceError for a seam that is not there, that joins a panel to its own mirror image, or that
    differs by so much that it is another line.
    """
    seam = _seam(pattern, name, side)
    if seam.on_itself:
        raise TraceError("seam_on_itself", SeamRef(seam.name, seam.side), seam=seam.name)
    bare = replace(pattern, pads=(), pieces=(), cups=())
    before = intervals(bare, seam)
    a, b = bare.edges_of(seam)
    stations = _stations(seam, a, b)
    wanted = _wanted(seam, a, b, stations, change)
    panels = {id(p): p for p in bare.panels}
    moves: list[Move] = []
    remarks: list[str] = []
    made_a = _stretched(a, stations, wanted[0], seam.a.panel)
    made_b = _stretched(b, stations, wanted[1], seam.b.panel)
    made_a, made_b = _notched(seam, made_a, made_b, stations[-1], change)
    for ref, edge, made in ((seam.a, a, made_a), (seam.b, b, made_b)):
        panel = next(p for k, p in panels.items() if k == id(bare.panel(ref.panel, seam.side)))
        fresh = _fitted_in(panel, edge, made)
        moves += _moves(panel, fresh)
        remarks += _remarks(panel, fresh)
        panels[id(panel)] = fresh
    out = replace(bare, panels=tuple(panels[id(p)] for p in bare.panels))
    return Mended(out, tuple(moves), before, intervals(out, seam), tuple(remarks))


def _seam(pattern: Pattern, name: str, side: Side) -> Seam:
    found = [s for s in pattern.seams if s.name == name and (side == "both" or s.side in (side, "both"))]
    if len(found) == 1:
        return found[0]
    if found:
        raise TraceError("which_side", SeamRef(name), seam=name)
    names = ", ".join(dict.fromkeys(s.name for s in pattern.seams)) or "none"
    raise TraceError("no_such_seam", seam=repr(name), seams=names)


def _stations(seam: Seam, a: Edge, b: Edge) -> list[str]:
    """The marks between which lengths must agree, from the hem up: levels, the bust point, both ends of the seam."""
    end = SEWN_END if SEWN_END in a.marks and SEWN_END in b.marks else "top"
    inner = [m for m in seam.stations if m not in ("hem", "top", SEWN_END) and not m.startswith(_NOTCH)]
    if "bust_point" in a.marks and "bust_point" in b.marks:
        inner.append("bust_point")
    inner.sort(key=lambda m: a.marks[m])
    out = ["hem"]
    at = (0.0, 0.0)
    for m in inner:
        here = (a.marks[m], b.marks[m])
        # Two marks in one place, such as the bust level and the bust point, are one.
        if min(here[0] - at[0], here[1] - at[1]) > 1.0:
            out.append(m)
            at = here
    if min(a.marks[end] - at[0], b.marks[end] - at[1]) <= 1.0 and len(out) > 1:
        out.pop()
    return [*out, end]


def _wanted(seam: Seam, a: Edge, b: Edge, stations: Sequence[str], change: Change) -> tuple[list[float], list[float]]:
    """The lengths that the stretches of both edges are to have."""
    one, other = _lengths(a, stations), _lengths(b, stations)
    whole = sum(one)
    out_a, out_b = [], []
    for x, y in zip(one, other, strict=True):
        ease = seam.ease_mm * x / whole
        off = x - y - ease
        share = {"share": 0.5, "a": 1.0, "b": 0.0}[change]
        out_a.append(x - share * off)
        out_b.append(y + (1.0 - share) * off)
    return out_a, out_b


def _lengths(e: Edge, stations: Sequence[str]) -> list[float]:
    return [e.marks[high] - e.marks[low] for low, high in pairwise(stations)]


def _notched(seam: Seam, a: Edge, b: Edge, end: str, change: Change) -> tuple[Edge, Edge]:
    """Both edges with the notches that they share at the same part of the way from the hem to the seam's end."""
    shared = [m for m in seam.stations if m.startswith(_NOTCH) and m in a.marks and m in b.marks]
    marks_a, marks_b = dict(a.marks), dict(b.marks)
    for m in shared:
        p, q = a.marks[m] / a.marks[end], b.marks[m] / b.marks[end]
        to = {"share": (p + q) / 2.0, "a": q, "b": p}[change]
        marks_a[m], marks_b[m] = to * a.marks[end], to * b.marks[end]
    # An edge that nothing changed stays the very same.
    return (
        a if marks_a == a.marks else replace(a, marks=marks_a),
        b if marks_b == b.marks else replace(b, marks=marks_b),
    )


# --- one edge ------------------------------------------------------------------------------------------------------


def _stretched(edge: Edge, stations: Sequence[str], wanted: Sequence[float], panel: str) -> Edge:
    """The edge with every stretch as long as wanted; its marks stand where they stood on the line."""
    now = _lengths(edge, stations)
    if all(abs(x - y) < CLOSE for x, y in zip(now, wanted, strict=True)):
        return edge
    for low, high, x, y in zip(stations, stations[1:], now, wanted, strict=False):
        last = low == stations[0] or high == stations[-1]
        most = max(MOST * x, min(MOST_AT_END * max(x, y), MOST_AT_END_MM)) if last else MOST * x
        if abs(y - x) > most:
            raise TraceError(
                "another_line", PanelRef(panel), panel=panel, change=abs(y - x), length=x, low=low, high=high
            )
    up = edge.upward()
    stops = _stops(edge, stations, up.length)
    runs = [_run(up, s0, s1) for s0, s1 in pairwise(stops)]
    fixed = stations.index("waist") if "waist" in stations else 0
    at = [edge.marks[m] for m in stations]
    drawn: dict[int, tuple[list[CubicBez], Pt]] = {}
    # Stretches between stations that are drawn out; what lies beyond the last station is only moved.
    spans = [
        (i, k)
        for k, (s0, s1) in enumerate(pairwise(stops))
        for i, (t0, t1) in enumerate(pairwise(at))
        if abs(s0 - t0) < SAME_STOP and abs(s1 - t1) < SAME_STOP
    ]
    # By how much less of a run's start there is.
    cut = [0.0] * len(runs)
    for i, k in spans:
        if abs(wanted[i] - now[i]) <= MOST * now[i]:
            drawn[k] = _drawn(runs[k], wanted[i])
        else:
            drawn[k] = _ended(runs[k], wanted[i], low=i == 0)
            cut[k] = runs[k].length - wanted[i] if i == 0 else 0.0
    recut = {k for i, k in spans if abs(wanted[i] - now[i]) > MOST * now[i]}
    out: list[list[CubicBez]] = [[] for _ in runs]
    base = next((k for i, k in spans if i == fixed), len(runs))
    shift = (0.0, 0.0)
    for k in range(base, len(runs)):
        made, more = drawn.get(k, (list(runs[k].segments), (0.0, 0.0)))
        out[k] = [_moved(c, shift) for c in made]
        shift = (shift[0] + more[0], shift[1] + more[1])
    shift = (0.0, 0.0)
    for k in range(base - 1, -1, -1):
        made, more = drawn.get(k, (list(runs[k].segments), (0.0, 0.0)))
        shift = (shift[0] - more[0], shift[1] - more[1])
        out[k] = [_moved(c, shift) for c in made]
    curves = [Curve(tuple(segments)) for segments in out]
    marks = _marks(edge, stops, runs, curves, {k: cut[k] for k in recut})
    whole = Curve(tuple(c for segments in out for c in segments))
    return replace(edge, curve=whole if edge.rising else whole.reversed(), marks=marks)


def _stops(edge: Edge, stations: Sequence[str], length: float) -> list[float]:
    stops = sorted({0.0, length, *(edge.marks[m] for m in stations)})
    return [s for k, s in enumerate(stops) if k == 0 or s - stops[k - 1] > SAME_STOP]


def _run(up: Curve, s0: float, s1: float) -> Curve:
    """A stretch in at least PIECES cubics."""
    part = up.part(s0, s1)
    segments: list[CubicBez] = []
    each = max(1, math.ceil(PIECES / len(part.segments)))
    for c in part.segments:
        segments += [c.subsegment((k / each, (k + 1) / each)) for k in range(each)] if each > 1 else [c]
    return Curve(tuple(segments))


def _drawn(run: Curve, wanted: float) -> tuple[list[CubicBez], Pt]:
    """The stretch drawn out along its chord to the length wanted, its start staying, and how far its end moved.

    The secant method on how far the end moves, from the difference itself; it settles in two or three rounds.
    """
    (ax, ay), (bx, by) = run.start, run.end
    chord = math.hypot(bx - ax, by - ay)
    if chord < 1e-6:
        raise TraceError("stretch_closed")
    u = ((bx - ax) / chord, (by - ay) / chord)

    def made(by_mm: float) -> list[CubicBez]:
        return _blended(run, u, by_mm)

    def off(by_mm: float) -> float:
        return Curve(tuple(made(by_mm))).length - wanted

    x0, x1 = 0.0, wanted - run.length
    f0, f1 = run.length - wanted, off(x1) if x1 else 0.0
    for _ in range(30):
        if abs(f1) < CLOSE / 10.0 or f1 == f0:
            break
        x0, f0, x1 = x1, f1, x1 - f1 * (x1 - x0) / (f1 - f0)
        f1 = off(x1)
    if abs(f1) > CLOSE:
        raise TraceError("stretch_not_brought")
    return made(x1), (x1 * u[0], x1 * u[1])


def _ended(run: Curve, wanted: float, *, low: bool) -> tuple[list[CubicBez], Pt]:
    """The stretch cut off, or run on straight, to the length wanted, as `_drawn` gives it; `low`: at its lower end."""
    turned = run.reversed() if low else run
    if wanted < run.length:
        made = turned.part(0.0, wanted)
    else:
        (x, y), (tx, ty), more = turned.end, turned.tangent(turned.length), wanted - run.length
        made = Curve((*turned.segments, *line((x, y), (x + more * tx, y + more * ty)).segments))
    moved = _difference(made.end, turned.end)
    if not low:
        return list(made.segments), moved
    back = (-moved[0], -moved[1])
    return [_moved(c, back) for c in made.reversed().segments], back


def _blended(run: Curve, u: Pt, by_mm: float) -> list[CubicBez]:
    """Each point moved along u by by_mm times w, with w = 3 r² - 2 r³ of its part r of the way: smooth at both ends."""
    return _carried(run, (0.0, 0.0), (by_mm * u[0], by_mm * u[1]), _smooth)


def _carried(run: Curve, first: Pt, more: Pt, share: Callable[[float], tuple[float, float]]) -> list[CubicBez]:
    """Each point moved by `first` and by as much of `more` as `share` gives, with its slope, for its part of the way.

    A point's direction t becomes t + w' more / length, on both sides of a join alike: tangents that run on still do.
    """
    length = run.length
    out = []
    at = 0.0
    for c in run.segments:
        end = at + c.arclen(1e-7)
        (w0, d0), (w1, d1) = share(at / length), share(end / length)
        h0, h1 = math.hypot(c.p1.x - c.p0.x, c.p1.y - c.p0.y), math.hypot(c.p3.x - c.p2.x, c.p3.y - c.p2.y)
        parts = (w0, w0 + d0 / length * h0, w1 - d1 / length * h1, w1)
        out.append(
            CubicBez(
                *(
                    Point(p.x + first[0] + w * more[0], p.y + first[1] + w * more[1])
                    for p, w in zip((c.p0, c.p1, c.p2, c.p3), parts, strict=True)
                )
            )
        )
        at = end
    return out


def _smooth(r: float) -> tuple[float, float]:
    """3 r² - 2 r³ and its derivative."""
    r = min(max(r, 0.0), 1.0)
    return r * r * (3.0 - 2.0 * r), 6.0 * r * (1.0 - r)


def _followed(curve: Curve, first: Pt, last: Pt) -> Curve:
    """A top or a hem whose ends moved: tilted where that turns it by next to nothing, else blended with its ends held.

    No more is blended than lets both ends keep their direction within TILT: a blend bends the line to and fro.
    """
    more = (last[0] - first[0], last[1] - first[1])
    tilt = math.hypot(*more) / curve.length
    if tilt <= TILT:
        return shifted(curve, first, last)
    even = TILT / tilt

    def share(r: float) -> tuple[float, float]:
        w, d = _smooth(r)
        return even * r + (1.0 - even) * w, even + (1.0 - even) * d

    return Curve(tuple(_carried(_run(curve, 0.0, curve.length), first, more, share)))


def _moved(c: CubicBez, d: Pt) -> CubicBez:
    return Affine(1.0, 0.0, 0.0, 1.0, *d) * c


def _marks(
    edge: Edge, stops: Sequence[float], before: Sequence[Curve], after: Sequence[Curve], cut: Mapping[int, float]
) -> dict[str, float]:
    """The marks of the changed line: each where its point of the old line came to lie, or at the end if that is gone.

    `cut` tells of runs that were cut off or run on how much of their start is gone.
    """
    starts = [0.0]
    for c in after:
        starts.append(starts[-1] + c.length)
    out = {}
    for name, s in edge.marks.items():
        k = next(i for i in range(len(before)) if s <= stops[i + 1] + 1e-6)
        if k in cut:
            out[name] = starts[k] + min(max(s - stops[k] - cut[k], 0.0), after[k].length)
            if s >= stops[-1] - 1e-6:
                out[name] = starts[-1]
            elif s <= 1e-6:
                out[name] = 0.0
            continue
        i, t = before[k].locate(s - stops[k])
        run = after[k]
        inside = run.segments[i].subsegment((0.0, t)).arclen(1e-7) if t > 0.0 else 0.0
        out[name] = starts[k] + sum(c.arclen(1e-7) for c in run.segments[:i]) + inside
    return out


# --- the panel -----------------------------------------------------------------------------------------------------


def _fitted_in(panel: Panel, old: Edge, new: Edge) -> Panel:
    """The panel with one edge changed: neighbours, levels and points that lay on it follow."""
    if new is old:
        return panel
    edges = list(panel.edges)
    k = next(i for i, e in enumerate(edges) if e.name == old.name)
    edges[k] = new
    n = len(edges)
    for i, first, last in (
        ((k - 1) % n, (0.0, 0.0), _difference(new.curve.start, old.curve.start)),
        ((k + 1) % n, _difference(new.curve.end, old.curve.end), (0.0, 0.0)),
    ):
        if math.hypot(*first) + math.hypot(*last) < 1e-9:
            continue
        beside = edges[i]
        if beside.name == panel.fold:
            raise TraceError("fold_would_bend", PanelRef(panel.name, panel.side), panel=panel.name)
        curve = _followed(beside.curve, first, last)
        start = new.curve.end if i == (k + 1) % n else curve.start
        end = new.curve.start if i == (k - 1) % n else curve.end
        ratio = curve.length / beside.curve.length
        marks = {m: s * ratio for m, s in beside.marks.items()}
        edges[i] = replace(beside, curve=pinned(curve, start, end), marks=marks)
    levels = {}
    for name, ends in panel.levels.items():
        moved = [
            new.at(name) if name in new.marks and name in old.marks and math.dist(end, old.at(name)) < 1e-3 else end
            for end in ends
        ]
        levels[name] = (moved[0], moved[1])
    points = dict(panel.points)
    if (
        "bust_point" in points
        and "bust_point" in new.marks
        and math.dist(points["bust_point"], old.at("bust_point")) < 1e-3
    ):
        points["bust_point"] = new.at("bust_point")
    return replace(panel, edges=tuple(edges), levels=levels, points=points)


def _difference(a: Pt, b: Pt) -> Pt:
    return a[0] - b[0], a[1] - b[1]


def _moves(old: Panel, new: Panel) -> list[Move]:
    """Every corner and mark that moved, and how far the line lies from where it lay at its quarters and at the most."""
    out = []
    for before in old.edges:
        after = new.edge(before.name)
        if after is before:
            continue
        places = {m.replace("_", " "): (before.at(m), after.at(m)) for m in before.marks if m in after.marks}
        if before.role in ("top", "hem"):
            places["start"] = (before.curve.start, after.curve.start)
            places["end"] = (before.curve.end, after.curve.end)
        a, b = before.upward(), after.upward()
        for part, q in (("1/4", 0.25), ("1/2", 0.5), ("3/4", 0.75)):
            p = a.point(a.length * q)
            places[f"{part} of its length"] = (p, b.point(b.nearest(p)[0]))
        off, p = max((b.nearest(p)[1], p) for p in a.points(tolerance=LOOKED_AT))
        if off > max(math.dist(*ends) for ends in places.values()) + LOOKED_AT:
            places["where it moved most"] = (p, b.point(b.nearest(p)[0]))
        moved = [Move(old.name, old.side, before.name, place, p, r) for place, (p, r) in places.items()]
        out += [m for m in moved if m.mm > TOLD]
    return out


def _remarks(old: Panel, new: Panel) -> Iterator[str]:
    for before in old.edges:
        after = new.edge(before.name)
        if after is not before and _bends(after.curve) > _bends(before.curve):
            yield f"The {old.name}'s {before.name.replace('_', ' ')} now bends to and fro where it did not: look at it."


def _bends(curve: Curve) -> int:
    """How often the curve changes from bending one way to bending the other."""
    bent = [curve.curvature(curve.length * k / BENDS_AT) for k in range(1, BENDS_AT)]
    signs = [k > 0.0 for k in bent if abs(k) > STRAIGHT]
    return sum(a != b for a, b in pairwise(signs))
