"""From strokes to shapes: ends joined into closed outlines, each with the marks that lie on it."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from typing import Any

from kurbopy import CubicBez

from coutil.plane import Curve, Pt, flattened
from coutil.trace.fit import TOLERANCE
from coutil.trace.loops import Loop, closed_runs, gap_notes, no_outline
from coutil.trace.marks import (
    BESIDE,
    SMALL_MARK,
    cleaned_open,
    doubtful_of,
    fold_of,
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
    Dot,
    Reading,
    Shape,
    Stroke,
    Traced,
    TraceError,
    Word,
)
from coutil.trace.split import CORNER, area, refuse_corners, sides_of
from coutil.trace.words import grain_word, is_pad, kind_of, landmark_of, meaningful, panel_of
from coutil.words import Key

# A drawing whose outlines need more points than this, or whose marks lie on more outlines, is a picture.
MOST_POINTS = 400_000
MOST_MARKS = 100_000
# Outlines of more segments than this are not widened to catch the marks beside them.
INTRICATE = 5_000
# An open line larger than this, in mm, beside all outlines, may be a panel that does not close.
LIKE_A_PANEL = 80.0
# Of so many texts at most it is looked up in which outline they stand.
MOST_NAMES = 1_000
# More closed outlines than this is a picture, not a pattern.
MOST_SHAPES = 250
# Outlines are looked at as polylines within this of their curves, in mm.
FLATNESS = 0.05
# A closed line that stays this near to the one round it, in mm, is that one drawn twice: no allowance is so narrow.
SAME_LINE = 0.6
# A closed line inside another that covers more than this part of it is its net line. By trial: an allowance of 2 cm
# leaves 0.6 of a panel that is 12 cm wide; pockets and pads cover less.
NET_COVERS = 0.5


def assemble(reading: Reading, source: str, *, corner: float = CORNER, tolerance: float = TOLERANCE) -> Traced:
    """The closed outlines of a reading with all that lies on them. Raises TraceError where there is none to use.

    `corner`: least turn of a corner in degrees. `tolerance`: how near fitted curves stay to polylines, in mm. Refused:
    outlines that cross themselves, that are larger than 10 m, and a drawing without an outline of 4 cm² or more.
    """
    import shapely  # type: ignore[import-untyped]

    loops, rest, gaps = closed_runs(reading.strokes)
    large = []
    points = 0
    for loop in loops:
        refuse_corners(loop.path, corner)
        loop.area = abs(area(loop.path))
        if loop.area >= SMALLEST_SHAPE:
            large.append(loop)
        else:
            small = Stroke(tuple(loop.path), True, loop.kind, loop.straight, loop.names, loop.group)
            if size_of(small) > LIKE_A_PANEL:
                # As large as a panel and next to no area: a figure of eight, whose halves cancel each other out.
                loop.polygon = shapely.polygons(_points(loop.path))
                _refuse_crossing(loop, reading, shapely)
            rest.append(small)
    if not large:
        raise no_outline(reading, loops, rest)
    if len(large) > MOST_SHAPES:
        raise TraceError("too_many_outlines", count=len(large))
    for loop in large:
        _refuse_size(loop)
        line = _points(loop.path)
        points += len(line)
        if points > MOST_POINTS:
            raise TraceError("too_intricate")
        loop.polygon = shapely.polygons(line)
        _refuse_crossing(loop, reading, shapely)
        shapely.prepare(loop.polygon)
    framed = _without_frames(large, reading, shapely)
    notes = [*reading.notes, *gap_notes(reading, gaps), *_open_notes(reading, framed, rest, shapely)]
    if len(framed) < len(large):
        notes.append("A frame round the other outlines was passed over.")
    top = _nested(framed, shapely)
    top = _in_rows(top)
    names = _shape_names(top, reading)
    notes += _overlap_notes(top, names, shapely)
    shapes = []
    words = [w for w in reading.words if landmark_of(w.says) or grain_word(w.says) or kind_of(w.says) == "fold"]
    shared = _shared_out(top, rest, words, reading.dots, shapely)
    for loop, name, (strokes, near, dots) in zip(top, names, shared, strict=True):
        shapes.append(_shape(loop, name, strokes, near, dots, corner, tolerance))
    return Traced(source, reading.scale, tuple(shapes), tuple(notes))


def _refuse_size(loop: Loop) -> None:
    xs = [v for c in loop.path for v in (c.p0.x, c.p1.x, c.p2.x)]
    ys = [v for c in loop.path for v in (c.p0.y, c.p1.y, c.p2.y)]
    if max(xs) - min(xs) > LARGEST_SHAPE or max(ys) - min(ys) > LARGEST_SHAPE:
        raise TraceError(
            "outline_too_large", Key("pattern.scale"), wide=(max(xs) - min(xs)) / 1000, high=(max(ys) - min(ys)) / 1000
        )


def _refuse_crossing(loop: Loop, reading: Reading, shapely: Any) -> None:
    if shapely.is_valid(loop.polygon):
        return
    where = shapely.is_valid_reason(loop.polygon).partition("[")[2].rstrip("]").split()
    called = next((f"{n!r} " for n in loop.names if meaningful(n)), "")
    if len(where) == 2:
        at = reading.place_told((float(where[0]), float(where[1])))
        raise TraceError("outline_crosses_at", called=called, place=at)
    raise TraceError("outline_crosses", called=called)


def _points(path: Sequence[CubicBez]) -> list[Pt]:
    """A polyline within FLATNESS of a closed path, its first point not repeated; cut short beyond MOST_POINTS."""
    out: list[Pt] = []
    for c in path:
        if len(out) > MOST_POINTS:
            break
        out += flattened([c], tolerance=FLATNESS)[:-1]
    if len(out) < 3:
        out += [(path[-1].p3.x, path[-1].p3.y)] * (4 - len(out))
    return out


def _without_frames(loops: list[Loop], reading: Reading, shapely: Any) -> list[Loop]:
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


def _open_notes(reading: Reading, loops: Sequence[Loop], rest: Sequence[Stroke], shapely: Any) -> Iterator[str]:
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


def _overlap_notes(loops: Sequence[Loop], names: Sequence[str], shapely: Any) -> Iterator[str]:
    """That outlines lie over each other, as the sizes of one panel do in a drawing of them all."""
    tree = shapely.STRtree([loop.polygon for loop in loops])
    for k, loop in enumerate(loops):
        for j in tree.query(loop.polygon, predicate="intersects").tolist():
            other = loops[j]
            if j <= k or (loop.group and other.group and loop.group != other.group):
                continue
            if shapely.area(shapely.intersection(loop.polygon, other.polygon)) > 0.5 * min(loop.area, other.area):
                yield (
                    f"The outlines {names[k]!r} and {names[j]!r} lie over each other; if they are sizes of one panel, "
                    "save one size only."
                )
                return


def _nested(loops: list[Loop], shapely: Any) -> list[Loop]:
    """The outermost loops, each with those that lie inside it."""
    loops.sort(key=lambda s: -s.area)
    top: list[Loop] = []
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


def _in_rows(loops: list[Loop]) -> list[Loop]:
    """From the left to the right; where shapes lie in rows, row by row from the top."""
    rows: list[tuple[float, float, list[tuple[float, Loop]]]] = []
    for loop in sorted(loops, key=lambda s: -s.polygon.bounds[3]):
        x0, y0, _, y1 = loop.polygon.bounds
        for low, high, row in rows:
            if min(y1, high) - max(y0, low) > 0.3 * min(y1 - y0, high - low):
                row.append((x0, loop))
                break
        else:
            rows.append((y0, y1, [(x0, loop)]))
    return [loop for _, _, row in rows for _, loop in sorted(row, key=lambda s: s[0])]


def _twice(loop: Loop, hole: Loop) -> bool:
    """Whether a closed line is the one round it, drawn again."""
    if hole.area < 0.9 * loop.area:
        return False
    import shapely

    near = shapely.buffer(shapely.boundary(loop.polygon), SAME_LINE, quad_segs=2)
    return bool(shapely.covers(near, shapely.boundary(hole.polygon)))


def _written(loops: Sequence[Loop], reading: Reading) -> list[str]:
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


def _shape_names(loops: Sequence[Loop], reading: Reading) -> list[str]:
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
    loops: Sequence[Loop], strokes: Sequence[Stroke], words: Sequence[Word], dots: Sequence[Dot], shapely: Any
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
        raise TraceError("too_many_marks", most=MOST_MARKS)
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
    loop: Loop,
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
            inner.append(Curve(tuple(hole.path)))
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
                inner.append(Curve(tuple(cleaned_open(s.path))))
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
        doubtful=doubtful_of(strokes, sides),
        strays=strays,
    )
