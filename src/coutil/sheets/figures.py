"""From a pattern to drawings: the panels side by side, and each piece as it is cut. Full size, face side up.

All that is written on a piece is set by coutil.sheets.labels, off every line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kurbopy import CubicBez

from coutil.pattern import LEVELS, Panel, Pattern, Piece, level_words
from coutil.pattern.model import DrawnLine, Spot
from coutil.pattern.nicks import nicks
from coutil.plane import Curve, Path, Pt, arc_through, controls
from coutil.sheets.drawing import Drawing
from coutil.sheets.fonts import printed, showable
from coutil.sheets.labels import SIZES, SMALLEST, BlockLine, Figure, wrap
from coutil.sheets.wording import NOT_TAKEN, layer_words, owner_words, quantity
from coutil.units import both
from coutil.words import say

# Between panels of the row, in mm: wide enough for a seam allowance to be drawn round each by hand.
PANEL_GAP = 40.0
# A polyline this near to the curves serves for asking what is inside, in mm: a fifth of the thinnest line's width.
INSIDE_TOLERANCE = 0.05
# Length and half width of an arrowhead, in mm.
ARROW = (5.0, 1.4)
# Half the arm of the bust point's cross, in mm.
CROSS = 4.0
# Half the arm of the cross in the middle of an eyelet, a hook or a button, in mm.
TICK = 1.5
# Distance of the fold's bracket from the fold, in mm.
BRACKET = 7.0
# How far a cut segment may stray from the fold's line and still lie on the fold, in mm.
ON_FOLD = 0.01
# Layers of the cup: levels of the body say nothing on them.
PADDING = ("foam", "web")
# Weight of the order's and the client's name in a piece's label, and of the lengths on a panel.
OWNER = 0.8
# How wide a line of such names may be in a narrow label, in type sizes of the label: some twenty letters.
OWNER_WIDTH = 12.0
# Two pieces whose lines agree within this are one shape, in mm: a fiftieth of what the eye sees at the ruler.
SAME_SHAPE = 0.01


@dataclass(frozen=True, slots=True)
class Naming:
    """Order and client as they are printed on every piece; empty where not known.

    `warning` is what a piece must bear above all else, "" for nothing.
    """

    order: str = ""
    client: str = ""
    warning: str = ""

    @classmethod
    def of(cls, pattern: Pattern, order: str, label: str) -> Naming:
        """Order and client of a pattern, with whose body it is for."""
        return cls(order, owner_words(label, pattern.body), NOT_TAKEN if pattern.not_taken else "")

    def lines(self) -> list[str]:
        return [s for s in (showable(self.order).text, showable(self.client).text) if s]


def panel_drawings(pattern: Pattern, *, lengths: bool = True) -> tuple[Drawing, ...]:
    """The panels in sewing order in one row for each side, waists on one line; with `lengths` each edge's is written.

    The left half runs from the centre front to the centre back, from left to right; a right half, where the body's
    sides differ, is its mirror image and lies below.
    """
    rows = []
    for side in ("both", "left", "right"):
        order = [p for p in pattern.panels if p.side == side]
        if side == "right":
            order.reverse()
        if order:
            rows.append(order)
    out: list[Drawing] = []
    below = 0.0
    for order in rows:
        x = 0.0
        row = []
        for panel in order:
            d = _panel_drawing(panel, lengths=lengths, warning=NOT_TAKEN if pattern.not_taken else "")
            x0, _, x1, _ = d.bounds()
            waist = panel.levels["waist"][0][1] if "waist" in panel.levels else 0.0
            row.append(d.moved(x - x0, -waist))
            x += x1 - x0 + PANEL_GAP
        top = max(d.bounds()[3] for d in row)
        row = [d.moved(0.0, below - top) for d in row]
        below = min(d.bounds()[1] for d in row) - PANEL_GAP
        out += row
    return tuple(out)


def piece_drawings(pattern: Pattern, naming: Naming) -> tuple[Drawing, ...]:
    """Each piece in the order of the pattern; pieces that are cut to one shape share a drawing that names them all."""
    groups: list[list[Piece]] = []
    for piece in pattern.pieces:
        for g in groups:
            if _same_shape(g[0], piece):
                g.append(piece)
                break
        else:
            groups.append([piece])
    return tuple(_piece_drawing(g, pattern.panel(g[0].panel, g[0].side), naming) for g in groups)


def _panel_drawing(panel: Panel, *, lengths: bool, warning: str = "") -> Drawing:
    flip = panel.face_up
    title = panel.name if panel.side == "both" else f"{panel.name}, {panel.side}"
    fig = Figure(title, about=say("figure.no_allowance"))
    outline = _turned(Path.of((e.curve for e in panel.edges), closed=True), flip)
    fig.stroke(outline, "panel")
    polygon = outline.points(tolerance=INSIDE_TOLERANCE)[:-1]
    fig.open_places(polygon)
    _draw_levels(fig, panel, flip, None)
    for name, at in panel.points.items():
        _draw_cross(fig, (flip * at[0], at[1]), name.replace("_", " "))
    _draw_grain(fig, panel.grain, flip)
    rows = [*([BlockLine(warning, 1.3)] if warning else []), BlockLine(panel.name, 1.3)]
    if panel.side != "both":
        rows.append(BlockLine(panel.side))
    said = [f"{e.name.replace('_', ' ')} {printed(both(e.curve.length))}" for e in panel.edges] if lengths else []
    _label(fig, [[*rows, *(BlockLine(s, OWNER) for s in said)]], centroid(polygon), keep_above=OWNER)
    in_the_air = _name_levels(fig, panel, flip)
    if in_the_air:
        # A level may run above a low top: its name then stands outside the panel too.
        fig.open_places()
        _name_levels(fig, panel, flip, in_the_air)
    return fig.done()


def _piece_drawing(group: Sequence[Piece], panel: Panel, naming: Naming) -> Drawing:
    piece = group[0]
    flip = piece.face_up
    about = "; ".join(f"{layer_words(p.layer)}, {quantity(p)}" for p in group)
    fig = Figure(" / ".join(p.name for p in group), about=about)
    fold = _fold_ends(piece, panel, flip) if piece.on_fold else None
    cut = _turned(Path.of(piece.cut, closed=True), flip)
    for path, on_fold in _split_at_fold(cut, fold):
        fig.stroke(path, "fold" if on_fold else "cut")
    net = _turned(Path.of((e.curve for e in piece.net), closed=True), flip)
    for path, on_fold in _split_at_fold(net, fold):
        if not on_fold:
            fig.stroke(path, "net")
    for run in piece.placement:
        fig.stroke(_turned(Path.of(run), flip), "placement")
    net_polygon = net.points(tolerance=INSIDE_TOLERANCE)[:-1]
    lines, spots = _marks(group)
    for marked in lines:
        fig.stroke(_turned(Path.of(marked.run), flip), "fold" if marked.what == "fold" else "channel")
    for spot in spots:
        x, y = flip * spot.at[0], spot.at[1]
        if spot.hole > 0.0:
            fig.stroke(Path.of([arc_through((x, y), spot.hole / 2.0, 0.0, 2.0 * math.pi)], closed=True), "grain")
        fig.run([(x - TICK, y), (x + TICK, y)], "grain")
        fig.run([(x, y - TICK), (x, y + TICK)], "grain")
    for notch in nicks(piece):
        for a, b in notch:
            fig.run([(flip * a[0], a[1]), (flip * b[0], b[1])], "notch")
    middle = centroid(net_polygon)
    fig.open_places(net_polygon)
    padding = piece.layer in PADDING
    if not padding:
        _draw_levels(fig, panel, flip, net_polygon)
    _draw_grain(fig, piece.grain, flip)
    if fold is not None:
        _draw_fold_bracket(fig, fold, middle)
    cuts = [BlockLine(f"{layer_words(p.layer)}: {quantity(p)}") for p in group]
    name = BlockLine(piece.panel, 1.3)
    # Alone on its line, so that it stays whole in the narrowest label.
    warn = [BlockLine(naming.warning, 1.3)] if naming.warning else []
    owner = naming.lines()
    joined = [BlockLine(" · ".join(owner), OWNER)] if owner else []
    apart = [BlockLine(s, OWNER) for s in owner]
    folded = [BlockLine(row, OWNER) for s in owner for row in wrap(s, OWNER, OWNER_WIDTH)]
    # Narrower forms break "shell: cut 2, one turned over" after the comma, then after the colon too.
    broken = [BlockLine(s) for n in cuts for s in n.says.replace(", ", ",\n").split("\n")]
    narrow = [BlockLine(s) for n in cuts for s in n.says.replace(": ", ":\n").replace(", ", ",\n").split("\n")]
    forms = [(cuts, joined), (cuts, apart), (cuts, folded), (broken, folded), (narrow, folded)]
    _label(fig, [[*warn, name, *a, *b] for a, b in forms], middle, keep_above=OWNER)
    _name_notches(fig, piece, flip)
    _name_placement(fig, piece, flip)
    _name_marks(fig, lines, spots, flip)
    if not padding:
        _name_levels(fig, panel, flip)
    return fig.done()


def _label(fig: Figure, variants: Sequence[Sequence[BlockLine]], middle: Pt, *, keep_above: float) -> None:
    """The figure's name and what goes with it. `keep_above` is the least weight in it: no line falls below SMALLEST."""
    sizes = [s for s in SIZES if s * keep_above >= SMALLEST] + [SMALLEST / keep_above]
    if not fig.block(variants, near=middle, sizes=sizes):
        spot = fig.places.find(1.0, 1.0, near=middle, clearance=1.0)
        fig.outside(variants[min(2, len(variants) - 1)], to=spot or middle, size=sizes[-1])


def _draw_levels(fig: Figure, panel: Panel, flip: float, inside: Sequence[Pt] | None) -> None:
    for a, b in panel.levels.values():
        p, q = (flip * a[0], a[1]), (flip * b[0], b[1])
        for s in [(p, q)] if inside is None else spans_inside(p, q, inside):
            fig.run(s, "level")


def _name_levels(fig: Figure, panel: Panel, flip: float, names: Iterable[str] = ()) -> list[str]:
    """Each level's name on its line, above it or below, at either end or as near as there is room; names what had none.

    `names` says which levels, all if it says none.
    """
    unnamed = []
    for name in tuple(names) or panel.levels:
        a, b = panel.levels[name]
        x0, x1 = sorted((flip * a[0], flip * b[0]))
        low, high = sorted((a[1], b[1]))
        # Names run level where a level tilts: they need its whole rise, and a few mm of their own.
        strip, under = (x0, high, x1, high + 6.0), (x0, low - 6.0, x1, low)
        spots = [(s, (x, s[1])) for s in (strip, under) for x in (x0, x1)]
        if not fig.mark(level_words(name), spots):
            unnamed.append(name)
    return unnamed


def _draw_cross(fig: Figure, at: Pt, name: str) -> None:
    x, y = at
    fig.run([(x - CROSS, y), (x + CROSS, y)], "grain")
    fig.run([(x, y - CROSS), (x, y + CROSS)], "grain")
    fig.mark(name, [((x - 60, y - 30, x + 60, y + 30), (x, y))])


def _draw_grain(fig: Figure, grain: tuple[Pt, Pt], flip: float) -> None:
    """The grain line with a head at each end, and the word beside it where there is room."""
    a, b = ((flip * x, y) for x, y in grain)
    length = math.dist(a, b)
    if length < 1e-6:
        return
    fig.run([a, b], "grain")
    for tip, tail in ((a, b), (b, a)):
        head = arrowhead(tip, tail)
        fig.fill(head)
        fig.places.ink_corners(head)


def _name_notches(fig: Figure, piece: Piece, flip: float) -> None:
    """The names of notches, just inside the net line where there is room; the ticks speak for themselves.

    A notch on a level that is drawn and named needs no name of its own.
    """
    levels = {level_words(v) for v in LEVELS} if piece.layer not in PADDING else set()
    for n in piece.notches:
        says = n.name.replace("_", " ")
        if says not in levels:
            x, y = flip * n.at[0], n.at[1]
            fig.mark(says, [((x - 32.0, y - 5.0, x + 32.0, y + 5.0), (x, y))])


def _name_placement(fig: Figure, piece: Piece, flip: float) -> None:
    for run in piece.placement:
        pts = _turned(Path.of(run), flip).points(tolerance=INSIDE_TOLERANCE)
        xs, ys = zip(*pts, strict=True)
        box = (min(xs), min(ys), max(xs), max(ys))
        fig.mark(say("figure.pad_edge"), [(box, pts[len(pts) // 2])])


def _marks(group: Sequence[Piece]) -> tuple[list[DrawnLine], list[Spot]]:
    """All lines and places that are marked on any of the pieces of one shape, each once."""
    lines: dict[int, DrawnLine] = {}
    spots: dict[tuple[str, Pt], Spot] = {}
    for piece in group:
        lines |= {id(n.run[0]): n for n in piece.lines}
        spots |= {(s.what, s.at): s for s in piece.spots}
    return list(lines.values()), list(spots.values())


def _name_marks(fig: Figure, lines: Sequence[DrawnLine], spots: Sequence[Spot], flip: float) -> None:
    """What the marked lines and places are, each kind once where there is room."""
    named: set[str] = set()
    for marked in lines:
        if marked.what not in named:
            named.add(marked.what)
            pts = _turned(Path.of(marked.run), flip).points(tolerance=INSIDE_TOLERANCE)
            xs, ys = zip(*pts, strict=True)
            box = (min(xs) - 30.0, min(ys), max(xs) + 30.0, max(ys))
            fig.mark(say(f"piece_mark.{marked.what}"), [(box, pts[len(pts) // 2])], turn=90.0)
    for spot in spots[:1]:
        x, y = flip * spot.at[0], spot.at[1]
        fig.mark(say(f"piece_mark.{spot.what}"), [((x - 30.0, y - 15.0, x + 30.0, y + 15.0), (x, y))])


def _fold_ends(piece: Piece, panel: Panel, flip: float) -> tuple[Pt, Pt]:
    """The ends of the edge that lies on the fold; raises ValueError if the panel names none."""
    for e in piece.net:
        if panel.fold is not None and panel.fold in (e.name, e.role):
            (ax, ay), (bx, by) = e.curve.start, e.curve.end
            return (flip * ax, ay), (flip * bx, by)
    raise ValueError(f"{piece.name} is cut on the fold, but its panel names no edge of it as the fold")


def _split_at_fold(line: Path, fold: tuple[Pt, Pt] | None) -> list[tuple[Path, bool]]:
    """A cut or net line in runs, each with whether it lies on the fold, where nothing is cut or sewn."""
    if fold is None:
        return [(line, False)]
    runs: list[tuple[list[CubicBez], bool]] = []
    for c in line.segments:
        on = all(_off_line(p, fold) < ON_FOLD for p in controls(c))
        if runs and runs[-1][1] == on:
            runs[-1][0].append(c)
        else:
            runs.append(([c], on))
    if len(runs) > 1 and runs[0][1] == runs[-1][1]:
        # The outline started in the middle of a run.
        tail = runs.pop()
        runs[0] = (tail[0] + runs[0][0], runs[0][1])
    return [(Path(tuple(r)), on) for r, on in runs]


def _draw_fold_bracket(fig: Figure, fold: tuple[Pt, Pt], middle: Pt) -> None:
    """A bracket whose arrows point at the fold, with the words beside it."""
    (ax, ay), (bx, by) = fold
    length = math.dist(*fold)
    tx, ty = (bx - ax) / length, (by - ay) / length
    nx, ny = -ty, tx
    if (middle[0] - ax) * nx + (middle[1] - ay) * ny < 0:
        nx, ny = -nx, -ny

    def at(along: float, inward: float) -> Pt:
        return (ax + tx * along + nx * inward, ay + ty * along + ny * inward)

    # Arrows a fifth of the way in from either end, their tips just off the line, so that tip and line stay apart.
    s0, s1 = length * 0.2, length * 0.8
    fig.run([at(s0, 1.0), at(s0, BRACKET), at(s1, BRACKET), at(s1, 1.0)], "grain")
    for s in (s0, s1):
        head = arrowhead(at(s, 0.6), at(s, BRACKET))
        fig.fill(head)
        fig.places.ink_corners(head)
    p, q = at(s0, BRACKET), at(s1, BRACKET + 12.0)
    box = (min(p[0], q[0]), min(p[1], q[1]), max(p[0], q[0]), max(p[1], q[1]))
    upright = abs(ty) > abs(tx)
    fig.mark(say("figure.on_fold"), [(box, at(length / 2, BRACKET))], turn=90.0 if upright else 0.0)


def _same_shape(a: Piece, b: Piece) -> bool:
    """Whether two pieces can be cut by one paper piece: the same lines and marks, cut from another layer."""
    if (a.panel, a.side, a.on_fold, a.layer == b.layer) != (b.panel, b.side, b.on_fold, False):
        return False
    if len(a.notches) != len(b.notches) or len(a.placement) != len(b.placement):
        return False
    pairs = [(a.cut, b.cut), (tuple(e.curve for e in a.net), tuple(e.curve for e in b.net))]
    pairs += zip(a.placement, b.placement, strict=True)
    if not all(p is q or _same_line(p, q) for p, q in pairs):
        return False
    return all(math.dist(m.at, n.at) < SAME_SHAPE for m, n in zip(a.notches, b.notches, strict=True))


def _same_line(a: Iterable[Curve], b: Iterable[Curve]) -> bool:
    p, q = ([x for c in line for s in c.segments for x in controls(s)] for line in (a, b))
    return len(p) == len(q) and all(math.dist(u, v) < SAME_SHAPE for u, v in zip(p, q, strict=True))


def _off_line(p: Pt, ends: tuple[Pt, Pt]) -> float:
    """Distance in mm of a point from the whole straight line through both ends."""
    (ax, ay), (bx, by) = ends
    return abs((p[0] - ax) * (by - ay) - (p[1] - ay) * (bx - ax)) / math.dist(*ends)


def _turned(path: Path, flip: float) -> Path:
    return path if flip > 0 else path.mirrored()


def arrowhead(tip: Pt, tail: Pt) -> list[Pt]:
    length, half = ARROW
    d = math.dist(tip, tail)
    ux, uy = (tip[0] - tail[0]) / d, (tip[1] - tail[1]) / d
    bx, by = tip[0] - ux * length, tip[1] - uy * length
    return [tip, (bx - uy * half, by + ux * half), (bx + uy * half, by - ux * half)]


def centroid(polygon: Sequence[Pt]) -> Pt:
    """Centre of area of a simple polygon; the mean of the corners if it has none."""
    area = sx = sy = 0.0
    for (x0, y0), (x1, y1) in zip(polygon, [*polygon[1:], polygon[0]], strict=True):
        w = x0 * y1 - x1 * y0
        area += w
        sx += (x0 + x1) * w
        sy += (y0 + y1) * w
    if abs(area) < 1e-9:
        return (sum(p[0] for p in polygon) / len(polygon), sum(p[1] for p in polygon) / len(polygon))
    return (sx / (3 * area), sy / (3 * area))


def spans_inside(a: Pt, b: Pt, polygon: Sequence[Pt]) -> list[tuple[Pt, Pt]]:
    """The stretches of the whole straight line through a and b that lie inside the polygon, even-odd."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    if math.hypot(dx, dy) < 1e-9:
        return []
    hits = []
    for (px, py), (qx, qy) in _sides(polygon):
        s, t = dx * (py - a[1]) - dy * (px - a[0]), dx * (qy - a[1]) - dy * (qx - a[0])
        if (s > 0) != (t > 0):
            w = s / (s - t)
            x, y = px + w * (qx - px), py + w * (qy - py)
            hits.append(((x - a[0]) * dx + (y - a[1]) * dy, (x, y)))
    hits.sort()
    return [(p, q) for (_, p), (_, q) in zip(hits[::2], hits[1::2], strict=False)]


def _sides(polygon: Sequence[Pt]) -> Iterable[tuple[Pt, Pt]]:
    return zip(polygon, [*polygon[1:], polygon[0]], strict=True)
