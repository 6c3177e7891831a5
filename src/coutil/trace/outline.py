"""From strokes to shapes: ends joined into closed outlines, each with the marks that lie on it."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from coutil.plane import Curve, Pt
from coutil.trace.fit import TOLERANCE
from coutil.trace.marks import (
    BESIDE,
    SAME_END,
    SMALL_MARK,
    cleaned_open,
    ends_of,
    fold_of,
    from_line,
    grain_of,
    levels_of,
    middle,
    notches_of,
    point_marks,
    single,
    size_of,
)
from coutil.trace.model import (
    LARGEST_SHAPE,
    SMALLEST_SHAPE,
    Cubic,
    Dot,
    Kind,
    Reading,
    Shape,
    Stroke,
    Traced,
    TraceError,
    Word,
)
from coutil.trace.split import CORNER, area, bezier, cleaned, refuse_corners, reversed_path, sides_of
from coutil.trace.words import grain_word, is_pad, kind_of, landmark_of, meaningful, panel_of

# A drawing whose outlines need more points than this, or whose marks lie on more outlines, is a picture.
MOST_POINTS = 400_000
MOST_MARKS = 100_000
# Outlines of more segments than this are not widened to catch the marks beside them.
INTRICATE = 5_000
# Of so many loose ends at most it is looked up which come near each other.
MOST_ENDS = 400
# An open line larger than this, in mm, beside all outlines, may be a panel that does not close.
LIKE_A_PANEL = 80.0
# Of so many texts at most it is looked up in which outline they stand.
MOST_NAMES = 1_000
# More closed outlines than this is a picture, not a pattern.
MOST_SHAPES = 250
# Outlines are looked at as polylines within this of their curves, in mm.
FLATNESS = 0.05
# Ends that nothing meets are joined to the one end that lies this near, in mm, and that is told: by trial, hand-drawn
# outlines that look closed on the screen gape by up to a third of a mm.
GAP = 0.5
# A closed line that stays this near to the one round it, in mm, is that one drawn twice: no allowance is so narrow.
SAME_LINE = 0.6
# A closed line inside another that covers more than this part of it is its net line. By trial: an allowance of 2 cm
# leaves 0.6 of a panel that is 12 cm wide; pockets and pads cover less.
NET_COVERS = 0.5


@dataclass(slots=True)
class _Loop:
    path: list[Cubic]
    kind: Kind
    straight: bool
    names: tuple[str, ...]
    group: int
    area: float = 0.0
    polygon: Any = None
    inside: list[_Loop] = field(default_factory=list)


def assemble(reading: Reading, source: str, *, corner: float = CORNER, tolerance: float = TOLERANCE) -> Traced:
    """The closed outlines of a reading with all that lies on them. Raises TraceError where there is none to use.

    `corner`: least turn of a corner in degrees. `tolerance`: how near fitted curves stay to polylines, in mm. Refused:
    outlines that cross themselves, that are larger than 10 m, and a drawing without an outline of 4 cm² or more.
    """
    import shapely  # type: ignore[import-untyped]

    loops, rest, gaps = _loops(reading.strokes)
    large = []
    points = 0
    for loop in loops:
        refuse_corners(loop.path, corner)
        loop.area = abs(area(loop.path))
        if loop.area >= SMALLEST_SHAPE:
            large.append(loop)
        else:
            rest.append(Stroke(tuple(loop.path), True, loop.kind, loop.straight, loop.names, loop.group))
    if not large:
        raise TraceError(_no_outline(reading, loops, rest))
    if len(large) > MOST_SHAPES:
        raise TraceError(f"{len(large)} closed outlines: a picture, not a pattern; save only the pattern's lines")
    for loop in large:
        _refuse_size(loop)
        line = _points(loop.path)
        points += len(line)
        if points > MOST_POINTS:
            raise TraceError("outlines too intricate for a pattern; save it with fewer points")
        loop.polygon = shapely.polygons(line)
        _refuse_crossing(loop, reading, shapely)
        shapely.prepare(loop.polygon)
    framed = _without_frames(large, reading, shapely)
    notes = [*reading.notes, *_gap_notes(reading, gaps), *_open_notes(reading, framed, rest, shapely)]
    if len(framed) < len(large):
        notes.append("A frame round the other outlines was passed over.")
    top = _nested(framed, shapely)
    top = _in_rows(top)
    names = _shape_names(top, reading)
    shapes = []
    words = [w for w in reading.words if landmark_of(w.says) or grain_word(w.says) or kind_of(w.says) == "fold"]
    shared = _shared_out(top, rest, words, reading.dots, shapely)
    for loop, name, (strokes, near, dots) in zip(top, names, shared, strict=True):
        shapes.append(_shape(loop, name, strokes, near, dots, corner, tolerance))
    return Traced(source, reading.scale, tuple(shapes), tuple(notes))


# --- closed runs ---------------------------------------------------------------------------------------------------


def _loops(strokes: Sequence[Stroke]) -> tuple[list[_Loop], list[Stroke], list[tuple[float, Pt]]]:
    """The closed runs among the strokes, those joined from several included; the strokes that are none; gaps closed."""
    loops: list[_Loop] = []
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
            loops.append(_Loop(list(s.path), s.kind, s.straight, s.names, s.group))
        elif s.closed:
            loops.append(_Loop([*s.path, _join(s.path[-1], s.path[0])], s.kind, s.straight, s.names, s.group))
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
            (s.kind, s.group, s.closed, *(round(v, 3) for c in path for v in c))
            for path in (s.path, reversed_path(s.path))
        ]
        if keys[0] not in seen:
            yield s
        seen.update(keys)


def _closed_by(run: Stroke, folds: Sequence[Stroke]) -> _Loop | None:
    """The loop of an open run whose two ends lie on one fold line, or None."""
    first, last = run.path[0], run.path[-1]
    for f in folds:
        ends = ends_of(f)
        if ends and max(from_line(p, *ends) for p in ((first[0], first[1]), (last[6], last[7]))) <= SAME_END:
            path = [*run.path, _join(last, first)]
            return _Loop(path, run.kind, run.straight, run.names, run.group)
    return None


def _join(a: Cubic, b: Cubic) -> Cubic:
    x0, y0, x1, y1 = a[6], a[7], b[0], b[1]
    tx, ty = (x1 - x0) / 3.0, (y1 - y0) / 3.0
    return (x0, y0, x0 + tx, y0 + ty, x1 - tx, y1 - ty, x1, y1)


def _chained(runs: Sequence[Stroke], reach: float) -> tuple[list[_Loop], list[Stroke], list[tuple[float, Pt]]]:
    """Runs joined end to end where exactly two ends lie within `reach` mm: closed ones as loops, the rest as they were.

    Also the gaps of the closed ones that are wider than SAME_END: by how much, and where.
    """
    cells: dict[tuple[int, int], list[tuple[int, int, Pt]]] = {}

    def cell(p: Pt) -> tuple[int, int]:
        return math.floor(p[0] / reach), math.floor(p[1] / reach)

    ends: list[tuple[Pt, Pt]] = []
    for k, s in enumerate(runs):
        a, b = s.start, s.end
        ends.append((a, b))
        for e, p in enumerate((a, b)):
            cells.setdefault(cell(p), []).append((k, e, p))

    marks: set[int] = set()

    def met(k: int, e: int) -> list[tuple[int, int]]:
        """The other ends that meet this end."""
        p = ends[k][e]
        i, j = cell(p)
        return [
            (kk, ee)
            for di in (-1, 0, 1)
            for dj in (-1, 0, 1)
            for kk, ee, q in cells.get((i + di, j + dj), ())[:8]
            if (kk, ee) != (k, e) and kk not in marks and math.dist(p, q) <= reach
        ]

    def partner(k: int, e: int) -> tuple[int, int] | None:
        """The one other end that meets this end, or None."""
        found = met(k, e)
        return found[0] if len(found) == 1 else None

    # What ends where nothing else does is a mark, even if its other end stands on a corner.
    loose = [0]
    while loose:
        loose = [k for k in range(len(runs)) if k not in marks and any(not met(k, e) for e in (0, 1))]
        marks.update(loose)
    loops: list[_Loop] = []
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
            straight = all(runs[i].straight for i in chain)
            loops.append(_Loop(out, first.kind, straight, first.names, first.group))
            gaps += gaping
        else:
            left += [runs[i] for i in chain]
    return loops, left, gaps


def _gap_notes(reading: Reading, gaps: Sequence[tuple[float, Pt]]) -> Iterator[str]:
    if gaps:
        wide, where = max(gaps)
        count = "1 gap in its outlines was" if len(gaps) == 1 else f"{len(gaps)} gaps in its outlines were"
        yield f"{count} closed, the widest of {wide:.2f} mm {reading.place(where)}."


def _no_outline(reading: Reading, loops: Sequence[_Loop], rest: Sequence[Stroke]) -> str:
    if loops:
        return (
            "no closed outline of at least 4 cm² at this scale; say how large a unit of the file is, such as "
            'scale = "1 mm"'
        )
    if any(s.kind in ("outline", "cut", "net") for s in reading.strokes):
        return f"no closed outline: {_ends_apart(reading, rest)}; close each panel's outline"
    return "nothing is drawn in it that could be a panel's outline"


def _ends_apart(reading: Reading, rest: Sequence[Stroke]) -> str:
    """Where lines that nothing meets come nearest to another's end; or that more than two meet."""
    ends = [p for s in rest if s.kind in ("outline", "cut", "net") for p in (s.start, s.end)][:MOST_ENDS]
    crowded = next((p for p in ends if sum(1 for q in ends if math.dist(p, q) <= GAP) > 2), None)
    if crowded is not None:
        return f"more than two lines end {reading.place(crowded)}"
    apart = [(d, p) for k, p in enumerate(ends) for q in ends[:k] if (d := math.dist(p, q)) > GAP]
    if not apart:
        return f"its lines do not meet within {GAP} mm"
    wide, where = min(apart)
    return f"its nearest loose ends lie {wide:.2f} mm apart, {reading.place(where)}"


def _refuse_size(loop: _Loop) -> None:
    xs = [v for c in loop.path for v in (c[0], c[2], c[4])]
    ys = [v for c in loop.path for v in (c[1], c[3], c[5])]
    if max(xs) - min(xs) > LARGEST_SHAPE or max(ys) - min(ys) > LARGEST_SHAPE:
        raise TraceError(
            f"an outline of {(max(xs) - min(xs)) / 1000:.1f} by {(max(ys) - min(ys)) / 1000:.1f} m: the scale is "
            'wrong; say what one unit of the file measures, such as scale = "1 mm"'
        )


def _refuse_crossing(loop: _Loop, reading: Reading, shapely: Any) -> None:
    if shapely.is_valid(loop.polygon):
        return
    where = shapely.is_valid_reason(loop.polygon).partition("[")[2].rstrip("]").split()
    place = f" {reading.place((float(where[0]), float(where[1])))}" if len(where) == 2 else ""
    called = next((f"{n!r} " for n in loop.names if meaningful(n)), "")
    raise TraceError(f"the outline {called}crosses or touches itself{place}; redraw it there")


def _points(path: Sequence[Cubic]) -> list[Pt]:
    """A polyline within FLATNESS of a closed path (the bound is that of coutil.plane.Curve.points)."""
    out: list[Pt] = []
    for x0, y0, x1, y1, x2, y2, x3, y3 in path:
        d = max(math.hypot(x0 - 2 * x1 + x2, y0 - 2 * y1 + y2), math.hypot(x1 - 2 * x2 + x3, y1 - 2 * y2 + y3))
        n = min(max(1, math.ceil(math.sqrt(0.75 * d / FLATNESS))), 500)
        if len(out) > MOST_POINTS:
            break
        for k in range(n):
            t = k / n
            u = 1.0 - t
            a, b, c, e = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
            out.append((a * x0 + b * x1 + c * x2 + e * x3, a * y0 + b * y1 + c * y2 + e * y3))
    if len(out) < 3:
        out += [(path[-1][6], path[-1][7])] * (4 - len(out))
    return out


def _without_frames(loops: list[_Loop], reading: Reading, shapely: Any) -> list[_Loop]:
    """The loops without rectangles that are the sheet's edge, or that hold several of the others: borders of a page."""
    out = []
    for loop in loops:
        x0, y0, x1, y1 = shapely.bounds(loop.polygon)
        if len(loop.path) == 4 and loop.straight and loop.area > 0.999 * (x1 - x0) * (y1 - y0):
            inside = [o for o in loops if o is not loop and shapely.contains_properly(loop.polygon, o.polygon)]
            page = (
                reading.page is not None
                and max(abs(x1 - x0 - reading.page[0]), abs(y1 - y0 - reading.page[1])) < BESIDE
            )
            apart = [o for o in inside if not any(shapely.contains(p.polygon, o.polygon) for p in inside if p is not o)]
            if inside and (page or len(apart) > 1) and all(o.area < NET_COVERS * loop.area for o in inside):
                continue
        out.append(loop)
    return out


def _open_notes(reading: Reading, loops: Sequence[_Loop], rest: Sequence[Stroke], shapely: Any) -> Iterator[str]:
    """What was drawn like an outline, beside the others, and does not close: a panel may be missing."""
    lost = [
        s
        for s in rest
        if s.kind in ("outline", "cut", "net") and not s.closed and size_of(s) > LIKE_A_PANEL and single(s) is None
    ][:MOST_NAMES]
    polygons = [loop.polygon for loop in loops]
    for s in lost:
        if not any(shapely.contains_xy(p, *middle(s)) for p in polygons):
            first, last = s.start, s.end
            yield (
                f"A line that closes no outline was passed over: it runs from {reading.place(first)[3:-3]} to "
                f"{reading.place(last)[3:]}, {math.dist(first, last):.1f} mm apart. If it is a panel, close it."
            )
            return


def _nested(loops: list[_Loop], shapely: Any) -> list[_Loop]:
    """The outermost loops, each with those that lie inside it."""
    loops.sort(key=lambda s: -s.area)
    top: list[_Loop] = []
    boxes: list[Any] = []
    for loop in loops:
        box = shapely.bounds(loop.polygon)
        point = shapely.point_on_surface(loop.polygon)
        for outer, b in zip(top, boxes, strict=True):
            if (
                not (loop.group and outer.group and loop.group != outer.group)
                and b[0] - BESIDE <= box[0]
                and b[1] - BESIDE <= box[1]
                and b[2] + BESIDE >= box[2]
                and b[3] + BESIDE >= box[3]
                and shapely.contains(outer.polygon, point)
            ):
                outer.inside.append(loop)
                break
        else:
            top.append(loop)
            boxes.append(box)
    return top


def _in_rows(loops: list[_Loop]) -> list[_Loop]:
    """From the left to the right; where shapes lie in rows, row by row from the top."""
    rows: list[tuple[float, float, list[tuple[float, _Loop]]]] = []
    for loop in sorted(loops, key=lambda s: -s.polygon.bounds[3]):
        x0, y0, _, y1 = loop.polygon.bounds
        for low, high, row in rows:
            if min(y1, high) - max(y0, low) > 0.3 * min(y1 - y0, high - low):
                row.append((x0, loop))
                break
        else:
            rows.append((y0, y1, [(x0, loop)]))
    return [loop for _, _, row in rows for _, loop in sorted(row, key=lambda s: s[0])]


def _twice(loop: _Loop, hole: _Loop) -> bool:
    """Whether a closed line is the one round it, drawn again."""
    if hole.area < 0.9 * loop.area:
        return False
    import shapely

    near = shapely.buffer(shapely.boundary(loop.polygon), SAME_LINE, quad_segs=2)
    return bool(shapely.covers(near, shapely.boundary(hole.polygon)))


def _written(loops: Sequence[_Loop], reading: Reading) -> list[str]:
    """For each loop the text inside it that names a panel; empty where there is none, or several that differ."""
    import shapely

    words = [w for w in reading.words if panel_of(w.says)][:MOST_NAMES]
    out = []
    for loop in loops:
        said = {
            panel_of(w.says): w.says
            for w in words
            if not (w.group and loop.group and w.group != loop.group)
            if shapely.contains_xy(loop.polygon, *w.at)
        }
        out.append(re.sub(r"(?i)^piece name\s*:\s*", "", said.popitem()[1]) if len(said) == 1 else "")
    return out


def _shape_names(loops: Sequence[_Loop], reading: Reading) -> list[str]:
    """A name for each shape, no two alike: what the file calls it or its innermost group, else its number.

    A text that names a panel goes before a name that does not.
    """
    chosen = []
    written = _written(loops, reading)
    for k, loop in enumerate(loops):
        given = (reading.groups.get(loop.group, ""), *loop.names)
        shared = {n for o in loops if o is not loop for n in (reading.groups.get(o.group, ""), *o.names)}
        name = next((n for n in given if meaningful(n) and n not in shared), None)
        name = name or next((n for n in given[:1] if meaningful(n)), f"outline {k + 1}")
        if written[k] and panel_of(name) is None and not is_pad(name):
            name = written[k]
        chosen.append(" ".join(name.split())[:60])
    out: list[str] = []
    for name in chosen:
        n, unique = 2, name
        while unique in out:
            unique, n = f"{name} {n}", n + 1
        out.append(unique)
    return out


def _shared_out(
    loops: Sequence[_Loop], strokes: Sequence[Stroke], words: Sequence[Word], dots: Sequence[Dot], shapely: Any
) -> list[tuple[list[Stroke], list[Word], list[Dot]]]:
    """For each outer loop the strokes, words and dots that lie on it or beside it, and were not drawn with another."""
    # Very intricate outlines would be slow to widen; marks beside them are then lost, those on them are not.
    fine = [len(s.path) > INTRICATE for s in loops]
    tree = shapely.STRtree(
        [s.polygon if f else shapely.buffer(s.polygon, BESIDE, quad_segs=2) for s, f in zip(loops, fine, strict=True)]
    )
    marks: list[tuple[Pt, Stroke | Word | Dot]] = [(middle(s), s) for s in strokes]
    marks += [(s.start, s) for s in strokes]
    marks += [(w.at, w) for w in words]
    marks += [(d.at, d) for d in dots]
    out: list[tuple[list[Stroke], list[Word], list[Dot]]] = [([], [], []) for _ in loops]
    if not marks:
        return out
    pairs = tree.query(shapely.points([p for p, _ in marks]), predicate="within")
    if pairs.shape[1] > MOST_MARKS:
        raise TraceError(f"more than {MOST_MARKS} marks on its outlines: a picture, not a pattern")
    seen: set[tuple[int, int]] = set()
    for mark, k in sorted(pairs.T.tolist()):
        m = marks[mark][1]
        if (m.group and loops[k].group and m.group != loops[k].group) or (id(m), k) in seen:
            continue
        seen.add((id(m), k))
        kept: list[Any] = out[k][0 if isinstance(m, Stroke) else 1 if isinstance(m, Word) else 2]
        kept.append(m)
    return out


def _shape(
    loop: _Loop,
    name: str,
    strokes: Sequence[Stroke],
    words: Sequence[Word],
    dots: Sequence[Dot],
    corner: float,
    tolerance: float,
) -> Shape:
    """The shape of an outer loop, with those of the strokes, words and dots that lie on it."""
    turns = [d.at for d in dots if d.kind == "turn"]

    sides, strays = sides_of(loop.path, straight=loop.straight, corner=corner, turns=turns, tolerance=tolerance)
    net: tuple[Curve, ...] = ()
    inner: list[Curve] = []
    # A line that the file calls the net goes before one that only looks like it.
    for hole in sorted(loop.inside, key=lambda h: h.kind != "net"):
        if _twice(loop, hole):
            continue
        if not net and hole.area > NET_COVERS * loop.area and hole.kind in ("outline", "net") and loop.kind != "net":
            net, more = sides_of(hole.path, straight=hole.straight, corner=corner, turns=turns, tolerance=tolerance)
            strays = max(strays, more)
        else:
            inner.append(Curve(tuple(bezier(c) for c in hole.path)))
    line = loop.kind if loop.kind in ("net", "cut") else ("cut" if net else None)
    grain = grain_of(strokes, words)
    levels, used = levels_of(strokes, words, grain)
    points = point_marks(strokes, dots, words)
    fold = fold_of(strokes, words, net or sides)
    borders = [*sides, *net]
    notches = notches_of(strokes, dots, borders)
    for s in strokes:
        if s.kind in ("inner", "outline", "cut", "net", "level") and s not in used and size_of(s) > SMALL_MARK:
            try:
                inner.append(Curve(tuple(bezier(c) for c in cleaned_open(s.path))))
            except ValueError:
                continue
    return Shape(
        name=name,
        sides=sides,
        line=line,
        net=net,
        fold=fold,
        notches=tuple(notches),
        points=points,
        levels=levels,
        grain=grain,
        inner=tuple(inner),
        strays=strays,
    )
