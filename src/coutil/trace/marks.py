"""The marks of a shape: grain, fold, notches, level lines, the bust point."""

from __future__ import annotations

import math
from collections.abc import Sequence

from kurbopy import CubicBez

from coutil.plane import Curve, Pt, controls, flattened
from coutil.trace.model import Dot, Stroke, Word
from coutil.trace.words import grain_word, kind_of, landmark_of

# Ends of lines this near to each other are one point, in mm: a pencil line. Files written in tenths of a mm, or in
# thousandths of an inch, round by less.
SAME_END = 0.15
# A cut line runs on beyond the ends of its fold line by at most this, in mm: the corner of the widest allowance that an
# order may ask for.
RUNS_ON = 100.0
# A mark belongs to the shape whose outline it touches within this, in mm.
BESIDE = 3.0
# A text names the level line or the point that is nearest, up to this distance in mm; found by trial on this program's
# own sheets and on a ruler's width by eye.
NEAR_LEVEL = 12.0
NEAR_POINT = 50.0
# Crosses, circles and the like that mark a point are no larger than this, in mm; notches no longer.
SMALL_MARK = 20.0
LONGEST_NOTCH = 30.0
# An arrow has no more lines than this.
MOST_CHORDS = 12
# No panel has more notches than this; a hostile file may.
MOST_NOTCHES = 40


def fold_of(strokes: Sequence[Stroke], words: Sequence[Word], sides: Sequence[Curve]) -> int | None:
    """The side that lies on a fold line, or the straight one beside which a text says so; None where there is none."""
    for s in strokes:
        ends = ends_of(s) if s.kind == "fold" else None
        for k, side in enumerate(sides):
            if ends and side.straight and on_fold(side.start, *ends) and on_fold(side.end, *ends):
                return k
    near = [
        (d, k)
        for w in words
        if kind_of(w.says) == "fold"
        for k, side in enumerate(sides)
        if side.straight and (d := from_line(w.at, side.start, side.end)) < NEAR_LEVEL
    ]
    return min(near)[1] if near else None


def cleaned_open(path: Sequence[CubicBez]) -> list[CubicBez]:
    """The segments that have a length."""
    return [c for c in path if c.arclen(1e-3) > 1e-4]


def middle(s: Stroke) -> Pt:
    c = s.path[len(s.path) // 2]
    if len(s.path) == 1:
        return ((c.p0.x + c.p3.x) / 2.0, (c.p0.y + c.p3.y) / 2.0)
    return (c.p0.x, c.p0.y)


def size_of(s: Stroke) -> float:
    xs = [v for c in s.path for v in (c.p0.x, c.p3.x)]
    ys = [v for c in s.path for v in (c.p0.y, c.p3.y)]
    return max(max(xs) - min(xs), max(ys) - min(ys))


def single(s: Stroke) -> tuple[Pt, Pt] | None:
    """Both ends of a stroke that is one straight line."""
    if not s.straight or s.closed or len(s.path) != 1:
        return None
    return s.start, s.end


def chords_of(s: Stroke) -> list[tuple[Pt, Pt]]:
    """The straight lines of an open stroke: an arrow may be drawn in one go."""
    if not s.straight or s.closed or len(s.path) > MOST_CHORDS:
        return []
    chords = ((a, b) for a, _, _, b in map(controls, s.path))
    return [(a, b) for a, b in chords if a != b]


def ends_of(s: Stroke) -> tuple[Pt, Pt] | None:
    """Both ends of a stroke of straight lines that is open."""
    a, b = s.start, s.end
    return (a, b) if s.straight and math.dist(a, b) > SAME_END else None


def grain_of(strokes: Sequence[Stroke], words: Sequence[Word]) -> tuple[Pt, Pt] | None:
    """The grain line from its lower end up: what the file calls so, else the line beside a text that does."""
    lines = [e for s in strokes if s.kind == "grain" for e in chords_of(s)]
    if not lines:
        drawn = [e for s in strokes if s.kind in ("inner", "outline") for e in chords_of(s)]
        drawn = [e for e in drawn if math.dist(*e) > SMALL_MARK]
        told = [(d, *e) for w in words if grain_word(w.says) for e in drawn if (d := from_line(w.at, *e)) < NEAR_LEVEL]
        lines = [min(told)[1:]] if told else []
    if not lines:
        return None
    a, b = max(lines, key=lambda e: math.dist(*e))
    if math.dist(a, b) <= SMALL_MARK:
        return None
    return (a, b) if a[1] <= b[1] else (b, a)


def levels_of(
    strokes: Sequence[Stroke], words: Sequence[Word], grain: tuple[Pt, Pt] | None
) -> tuple[dict[str, tuple[Pt, Pt]], list[Stroke]]:
    """Level lines by name, from their left to their right end; and the strokes that they are.

    A text names the nearest line that lies across the grain, or level where there is none.
    """
    lines = [(s, e) for s in strokes if s.kind in ("level", "inner", "outline") and (e := single(s)) is not None]
    lines = [(s, (a, b) if a[0] <= b[0] else (b, a)) for s, (a, b) in lines if math.dist(a, b) > SMALL_MARK]
    out: dict[str, tuple[Pt, Pt]] = {}
    used: list[Stroke] = []
    for s, e in lines:
        name = next((m for n in s.names[:2] if (m := landmark_of(n))), None)
        if name and name != "bust_point" and name not in out:
            out[name] = e
            used.append(s)
    for w in words:
        name = landmark_of(w.says)
        if name is None or name == "bust_point" or name in out:
            continue
        near = [
            (d, k) for k, (_, e) in enumerate(lines) if _across(e, grain) and (d := from_line(w.at, *e)) < NEAR_LEVEL
        ]
        if near:
            s, e = lines[min(near)[1]]
            if s not in used:
                out[name] = e
                used.append(s)
    return out, used


def _across(line: tuple[Pt, Pt], grain: tuple[Pt, Pt] | None) -> bool:
    """Whether a line lies rather across the grain than along it; without one, rather level than upright."""
    (x0, y0), (x1, y1) = line
    gx, gy = (grain[1][0] - grain[0][0], grain[1][1] - grain[0][1]) if grain else (0.0, 1.0)
    dx, dy = x1 - x0, y1 - y0
    return abs(dx * gx + dy * gy) < abs(dx * gy - dy * gx)


def on_fold(p: Pt, a: Pt, b: Pt) -> bool:
    """Whether an end of an outline's side lies on a fold line: a cut line runs on beyond it by its allowance."""
    size = math.dist(a, b)
    off = abs((p[0] - a[0]) * (b[1] - a[1]) - (p[1] - a[1]) * (b[0] - a[0])) / size if size else math.inf
    return off <= SAME_END and from_line(p, a, b) <= RUNS_ON


def from_line(p: Pt, a: Pt, b: Pt) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy)
    t = min(max(t, 0.0), 1.0)
    return math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy)


def doubtful_of(strokes: Sequence[Stroke], sides: Sequence[Curve]) -> tuple[tuple[int, float, float], ...]:
    """The stretches of sides that are drawn over as doubtful: the number of the side, from where to where, in mm."""
    out = []
    for s in strokes:
        if s.kind == "doubtful" and (path := cleaned_open(s.path)):
            points = flattened(path, tolerance=0.1)
            out += stretches(points, sides)
    return tuple(out)


def stretches(points: Sequence[Pt], sides: Sequence[Curve]) -> list[tuple[int, float, float]]:
    """Where points that run along some of the sides come to lie on each of these, in mm from its start."""
    found: dict[int, list[float]] = {}
    for p in points:
        near = [c.nearest(p) for c in sides]
        k = min(range(len(near)), key=lambda i: near[i][1])
        if near[k][1] <= BESIDE:
            found.setdefault(k, []).append(near[k][0])
    return [(k, min(at), max(at)) for k, at in found.items() if len(at) > 1]


def point_marks(strokes: Sequence[Stroke], dots: Sequence[Dot], words: Sequence[Word]) -> dict[str, Pt]:
    """The bust point: a small mark that is called so, or the nearest one to the words."""
    small = [s for s in strokes if size_of(s) <= SMALL_MARK]
    for s in small:
        if any(landmark_of(n) == "bust_point" for n in s.names[:2]):
            return {"bust_point": box_middle(s)}
    wanted = [w for w in words if landmark_of(w.says) == "bust_point"]
    if not wanted:
        return {}
    places = [d.at for d in dots if d.kind == "inner"]
    places += [box_middle(s) for s in small if s.closed and len(s.path) >= 4]
    lines = [e for s in small if (e := single(s)) is not None]
    for k, one in enumerate(lines[:200]):
        for other in lines[k + 1 : 200]:
            met = crossing(one, other)
            if met is not None:
                places.append(met)
    near = [(d, p) for p in places if (d := math.dist(p, wanted[0].at)) < NEAR_POINT]
    return {"bust_point": min(near)[1]} if near else {}


def box_middle(s: Stroke) -> Pt:
    xs = [v for c in s.path for v in (c.p0.x, c.p3.x)]
    ys = [v for c in s.path for v in (c.p0.y, c.p3.y)]
    return ((max(xs) + min(xs)) / 2.0, (max(ys) + min(ys)) / 2.0)


def crossing(one: tuple[Pt, Pt], other: tuple[Pt, Pt]) -> Pt | None:
    """Where two lines cross well inside both, or None."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = *one, *other
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    det = ux * vy - uy * vx
    if abs(det) <= 0.5 * math.hypot(ux, uy) * math.hypot(vx, vy) or det == 0.0:
        return None
    s = ((cx - ax) * vy - (cy - ay) * vx) / det
    t = ((cx - ax) * uy - (cy - ay) * ux) / det
    return (ax + s * ux, ay + s * uy) if 0.2 < s < 0.8 and 0.2 < t < 0.8 else None


def notches_of(strokes: Sequence[Stroke], dots: Sequence[Dot], borders: Sequence[Curve]) -> list[Pt]:
    """Where notches stand: the end of each nearest to an outline. Two ends of one nick count once."""
    found: list[Pt] = [d.at for d in dots if d.kind == "notch"]
    ends = [(s.start, s.end) for s in strokes if s.kind == "notch" and size_of(s) <= LONGEST_NOTCH]
    for a, b in ends[:MOST_NOTCHES]:
        near = [min(c.nearest(p)[1] for c in borders) for p in (a, b)]
        if min(near) < BESIDE:
            found.append(a if near[0] <= near[1] else b)
    out: list[Pt] = []
    for p in found[:MOST_NOTCHES]:
        if all(math.dist(p, q) > 0.5 for q in out):
            out.append(p)
    return out
