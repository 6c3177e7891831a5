"""From strokes to shapes: ends joined into closed outlines, each with the marks that lie on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
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
from coutil.trace.words import landmark_of, meaningful

# A drawing whose outlines need more points than this, or whose marks lie on more outlines, is a picture.
MOST_POINTS = 400_000
MOST_MARKS = 100_000
# Outlines of more segments than this are not widened to catch the marks beside them.
INTRICATE = 5_000
# More closed outlines than this is a picture, not a pattern.
MOST_SHAPES = 250
# Outlines are looked at as polylines within this of their curves, in mm.
FLATNESS = 0.05
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

    loops, rest = _loops(reading.strokes)
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
        raise TraceError(_no_outline(reading, loops))
    if len(large) > MOST_SHAPES:
        raise TraceError(f"{len(large)} closed outlines: a picture, not a pattern; save only the pattern's lines")
    for loop in large:
        _refuse_size(loop)
        line = _points(loop.path)
        points += len(line)
        if points > MOST_POINTS:
            raise TraceError("outlines too intricate for a pattern; save it with fewer points")
        loop.polygon = shapely.polygons(line)
        _refuse_crossing(loop, shapely)
        shapely.prepare(loop.polygon)
    top = _nested(large, shapely)
    top = _in_rows(top)
    names = _shape_names(top, reading)
    shapes = []
    words = [w for w in reading.words if landmark_of(w.says)]
    shared = _shared_out(top, rest, words, reading.dots, shapely)
    for loop, name, (strokes, near, dots) in zip(top, names, shared, strict=True):
        shapes.append(_shape(loop, name, strokes, near, dots, corner, tolerance))
    return Traced(source, reading.scale, tuple(shapes), reading.notes)


# --- closed runs ---------------------------------------------------------------------------------------------------


def _loops(strokes: Sequence[Stroke]) -> tuple[list[_Loop], list[Stroke]]:
    """The closed runs among the strokes, those joined from several included; and the strokes that are none."""
    loops: list[_Loop] = []
    rest: list[Stroke] = []
    open_runs: dict[tuple[Kind, int], list[Stroke]] = {}
    for s in strokes:
        if s.kind == "skip":
            continue
        ends = math.hypot(s.path[-1][6] - s.path[0][0], s.path[-1][7] - s.path[0][1])
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
        made, left = _chained([*runs, *beside])
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
    return good, rest


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


def _chained(runs: list[Stroke]) -> tuple[list[_Loop], list[Stroke]]:
    """Runs joined end to end where exactly two ends meet; closed ones as loops, the rest as they were."""
    cells: dict[tuple[int, int], list[tuple[int, int, Pt]]] = {}

    def cell(p: Pt) -> tuple[int, int]:
        return math.floor(p[0] / SAME_END), math.floor(p[1] / SAME_END)

    ends: list[tuple[Pt, Pt]] = []
    for k, s in enumerate(runs):
        a, b = (s.path[0][0], s.path[0][1]), (s.path[-1][6], s.path[-1][7])
        ends.append((a, b))
        for e, p in enumerate((a, b)):
            cells.setdefault(cell(p), []).append((k, e, p))

    def partner(k: int, e: int) -> tuple[int, int] | None:
        """The one other end that meets this end, or None."""
        p = ends[k][e]
        i, j = cell(p)
        met = [
            (kk, ee)
            for di in (-1, 0, 1)
            for dj in (-1, 0, 1)
            for kk, ee, q in cells.get((i + di, j + dj), ())[:8]
            if (kk, ee) != (k, e) and math.dist(p, q) <= SAME_END
        ]
        return met[0] if len(met) == 1 else None

    loops: list[_Loop] = []
    left: list[Stroke] = []
    used = [False] * len(runs)
    for k in range(len(runs)):
        if used[k]:
            continue
        used[k] = True
        chain, at, out = [k], 1, list(runs[k].path)
        closed = False
        while (nxt := partner(chain[-1], at)) is not None:
            kk, ee = nxt
            if kk == k and ee == 0:
                closed = len(chain) > 1
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
        else:
            left += [runs[i] for i in chain]
    return loops, left


def _no_outline(reading: Reading, loops: Sequence[_Loop]) -> str:
    if loops:
        return (
            "no closed outline of at least 4 cm² at this scale; say how large a unit of the file is, such as "
            'scale = "1 mm"'
        )
    if any(s.kind in ("outline", "cut", "net") for s in reading.strokes):
        return (
            f"no closed outline: its lines do not meet within {SAME_END} mm, or more than two meet in a point; close "
            "each panel's outline"
        )
    return "nothing is drawn in it that could be a panel's outline"


def _refuse_size(loop: _Loop) -> None:
    xs = [v for c in loop.path for v in (c[0], c[2], c[4])]
    ys = [v for c in loop.path for v in (c[1], c[3], c[5])]
    if max(xs) - min(xs) > LARGEST_SHAPE or max(ys) - min(ys) > LARGEST_SHAPE:
        raise TraceError(
            f"an outline of {(max(xs) - min(xs)) / 1000:.1f} by {(max(ys) - min(ys)) / 1000:.1f} m: the scale is "
            'wrong; say what one unit of the file measures, such as scale = "1 mm"'
        )


def _refuse_crossing(loop: _Loop, shapely: Any) -> None:
    if shapely.is_valid(loop.polygon):
        return
    where = shapely.is_valid_reason(loop.polygon).partition("[")[2].rstrip("]").split()
    place = f" at {float(where[0]):.1f}, {float(where[1]):.1f} mm" if len(where) == 2 else ""
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
                b[0] - BESIDE <= box[0]
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


def _shape_names(loops: Sequence[_Loop], reading: Reading) -> list[str]:
    """A name for each shape, no two alike: what the file calls it or its innermost group, else its number."""
    chosen = []
    for k, loop in enumerate(loops):
        given = (reading.groups.get(loop.group, ""), *loop.names)
        shared = {n for o in loops if o is not loop for n in (reading.groups.get(o.group, ""), *o.names)}
        name = next((n for n in given if meaningful(n) and n not in shared), None)
        name = name or next((n for n in given[:1] if meaningful(n)), f"outline {k + 1}")
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
    marks += [((s.path[0][0], s.path[0][1]), s) for s in strokes]
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
    for hole in loop.inside:
        if not net and hole.area > NET_COVERS * loop.area and hole.kind in ("outline", "net") and loop.kind != "net":
            net, more = sides_of(hole.path, straight=hole.straight, corner=corner, turns=turns, tolerance=tolerance)
            strays = max(strays, more)
        else:
            inner.append(Curve(tuple(bezier(c) for c in hole.path)))
    line = loop.kind if loop.kind in ("net", "cut") else ("cut" if net else None)
    grain = grain_of(strokes)
    levels, used = levels_of(strokes, words)
    points = point_marks(strokes, dots, words)
    fold = fold_of(strokes, net or sides)
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
