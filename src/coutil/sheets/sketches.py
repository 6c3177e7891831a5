"""Small drawings for the making-up card, in the coordinates of the pattern, to be shown reduced.

Pieces are drawn face up but where the words say otherwise. What is named is named in the drawing, off every line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from coutil.docket import Bone, Docket, Fastening
from coutil.docket.step import Sketch
from coutil.layers.boning import bone_lines
from coutil.order import Order
from coutil.pattern import Panel, Pattern, Piece, Seam
from coutil.pattern.model import Layer, Side
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW, SEWN_END
from coutil.plane import Curve, Path, Pt, arc_through, union
from coutil.seaming.roles import CENTRE_BACK
from coutil.sheets.drawing import Drawing
from coutil.sheets.fonts import measure, printed
from coutil.sheets.labels import BlockLine, Figure, disc, set_block
from coutil.units import ABOUT, plain, width
from coutil.words import say

# Type size of what is named, in mm on paper: 7 point.
SIZE = 2.5
# Room for names round a drawing, between the two pieces of a seam, between pieces, between panels; in mm on paper.
ROUND = 18.0
BETWEEN = 26.0
APART = 4.0
BONES_APART = 13.0
# Radius of an eyelet, length of a hook's bar, in mm at full size: 5 mm eyelets (common practice, no source).
EYELET = 2.5
# Length in mm at full size of a notch in a sketch, from the net line outwards.
TICK = 12.0
BAR = 8.0
# How far inside its panel the bone of a seam is drawn, in mm at full size.
ON_SEAM = 2.0
# Half of what the edges are drawn apart for hooks and for a zip, in mm, so that what joins them can be seen.
HOOKS_APART = 4.0
ZIP_APART = 10.0
# What is shown of the cloth beside the centre back edges, in mm.
BESIDE = 35.0


def sketch(kind: Sketch, order: Order, pattern: Pattern, docket: Docket, ratio: float) -> Drawing | None:
    """The drawing of one kind, at full size with names as large as 1:`ratio` needs; None if nothing is to show."""
    side: Side = "both" if any(p.side == "both" for p in pattern.panels) else "left"
    match kind:
        case "pad":
            return _pad(pattern, side, ratio)
        case "princess":
            return _princess(pattern, side, ratio)
        case "bones":
            return _bones(order, pattern, docket, side, ratio)
        case "closing":
            return _closing(order, pattern, docket, side, ratio)


def _cup_pieces(pattern: Pattern, side: Side, layer: Layer) -> tuple[tuple[Piece, Piece], str] | None:
    """The two pieces of a layer that the cup seam of one side joins, the centre front's first; and that edge's name."""
    seam = next((s for s in pattern.cup_seams if s.side == side), None)
    if seam is None:
        return None
    of = {p.panel: p for p in pattern.pieces if p.layer == layer and p.side == side}
    if seam.a.panel not in of or seam.b.panel not in of:
        return None
    return (of[seam.a.panel], of[seam.b.panel]), seam.a.edge


def _front(pattern: Pattern, side: Side) -> tuple[Piece, ...]:
    """The shell's pieces beside the cup seam, or the lining's where it alone bears pads."""
    for layer in ("shell", "lining"):
        found = _cup_pieces(pattern, side, layer)
        if found is not None and any(p.placement for p in found[0]):
            return found[0]
    return ()


def _pad(pattern: Pattern, side: Side, ratio: float) -> Drawing | None:
    pieces = _front(pattern, side)
    if not pieces:
        return None
    fig = Figure(say("card.sketch.pads"), about=say("card.sketch.pads_about"))
    x = 0.0
    names: list[tuple[str, Pt]] = []
    under: list[tuple[str, Pt]] = []
    # Wrong side up: turned over, so the side front comes first from the left.
    for piece in reversed(pieces):
        cut = Path.of(piece.cut, closed=True).mirrored()
        x0, y0, x1, _ = cut.bounds()
        dx = x - x0
        fig.stroke(cut.moved(dx, 0.0), "panel")
        for run in piece.placement:
            placed = Path.of(run).mirrored().moved(dx, 0.0)
            fig.stroke(placed, "placement")
            box = placed.bounds()
            names.append((say("card.sketch.pad"), ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)))
        under.append((piece.panel, (x + (x1 - x0) / 2, y0)))
        x += x1 - x0 + APART * ratio
    return _named(fig, names, ratio, under)


def _princess(pattern: Pattern, side: Side, ratio: float) -> Drawing | None:
    found = _cup_pieces(pattern, side, "shell")
    if found is None:
        return None
    pieces, edge = found
    notched = [{n.name for n in p.notches if n.edge == edge} for p in pieces]
    if not notched[0] & notched[1]:
        return None
    fig = Figure(
        say("card.sketch.notches"),
        about=say("card.sketch.notches_about", inner=pieces[0].panel.capitalize(), outer=pieces[1].panel),
    )
    left, right = (Path.of(p.cut, closed=True) for p in pieces)
    # Apart by the room that the names need between them.
    dx = left.bounds()[2] + BETWEEN * ratio - right.bounds()[0]
    under: list[tuple[str, Pt]] = []
    for path, shift, piece in ((left, 0.0, pieces[0]), (right, dx, pieces[1])):
        fig.stroke(path.moved(shift, 0.0), "panel")
        fig.stroke(Path.of((e.curve for e in piece.net), closed=True).moved(shift, 0.0), "light")
        x0, y0, x1, _ = path.bounds()
        under.append((piece.panel, (shift + (x0 + x1) / 2, y0)))
    places: list[dict[str, Pt]] = [{n.name: n.at for n in p.notches if n.edge == edge} for p in pieces]
    for shift, piece in ((0.0, pieces[0]), (dx, pieces[1])):
        for n in piece.notches:
            if n.edge == edge:
                x, y = n.at[0] + shift, n.at[1]
                fig.run([(x, y), (x + TICK * n.outward[0], y + TICK * n.outward[1])], "notch")
    middle = (left.bounds()[2] + right.bounds()[0] + dx) / 2
    for name, a in places[0].items():
        if name in places[1]:
            b = (places[1][name][0] + dx, places[1][name][1])
            says = _plain(name)
            w = measure(says, SIZE * ratio)
            y = (a[1] + b[1]) / 2
            off = w / 2 + 0.8 * ratio
            fig.run([(a[0] + TICK + 2.0, a[1]), (middle - off, y)], "leader")
            fig.run([(middle + off, y), (b[0] - TICK - 2.0, b[1])], "leader")
            size = SIZE * ratio
            fig.texts += set_block([BlockLine(says)], size, (middle - w / 2, y - size * 0.45), 0.0)
    return _named(fig, (), ratio, under)


def _plain(name: str) -> str:
    short = {NOTCH_BELOW: "below", NOTCH_ABOVE: "above", SEWN_END: "end"}
    return say(f"card.sketch.{short[name]}") if name in short else name.replace("_", " ")


def _bones(order: Order, pattern: Pattern, docket: Docket, side: Side, ratio: float) -> Drawing | None:
    """The panels of one half in sewing order; every bone a thick line where it lies, with its length."""
    if not docket.bones:
        return None
    fig = Figure(say("card.sketch.bones"), about=say("card.sketch.bones_about"))
    x = 0.0
    names: list[tuple[str, Pt]] = []
    under: list[tuple[str, Pt]] = []
    for panel in (p for p in pattern.panels if p.side in (side, "both")):
        name = panel.name
        # In sewing order from the left: the back panels as they are worn, turned over.
        flip = panel.face_up
        path = Path.of((e.curve for e in panel.edges), closed=True)
        outline = path if flip > 0 else path.mirrored()
        x0, y0, x1, _ = outline.bounds()
        dx = x - x0
        fig.stroke(outline.moved(dx, 0.0), "level")
        under.append((name, (x + (x1 - x0) / 2, y0)))
        for edge in panel.edges:
            bone = _bone_on(docket.bones, pattern, panel.name, edge.name, side)
            if bone is None:
                continue
            run = edge.upward().part(bone.clearance, min(bone.clearance + bone.length, edge.curve.length))
            line = _turned(run, flip).moved(dx, 0.0)
            inward = 1.0 if line.bounds()[0] < x + (x1 - x0) / 2 else -1.0
            fig.stroke(line.moved(inward * ON_SEAM, 0.0), "cut")
            # Beside the edge, in the room between the panels; at the centre back to its right.
            at = run.point(run.length * 0.55)
            names.append((plain(bone.length).removeprefix(ABOUT), (flip * at[0] + dx + BONES_APART / 2 * ratio, at[1])))
        for bone, curve in _inside(order, pattern, docket.bones, panel):
            run = curve.part(bone.clearance, min(bone.clearance + bone.length, curve.length))
            fig.stroke(_turned(run, flip).moved(dx, 0.0), "cut")
            at = run.point(run.length * 0.3)
            names.append((plain(bone.length).removeprefix(ABOUT), (flip * at[0] + dx, at[1])))
        x += x1 - x0 + BONES_APART * ratio
    return _named(fig, names, ratio, under)


def _bone_on(bones: Sequence[Bone], pattern: Pattern, panel: str, edge: str, side: Side) -> Bone | None:
    """The bone of a seam, if the seam's first edge is this one."""
    seam: Seam | None = next((s for s in pattern.seams if s.a.panel == panel and s.a.edge == edge), None)
    if seam is None:
        return None
    return next((b for b in bones if b.seam == seam.name and b.side in (side, "both")), None)


def _inside(order: Order, pattern: Pattern, bones: Sequence[Bone], panel: Panel) -> Iterator[tuple[Bone, Curve]]:
    """The bones beside an opening and on lines within a panel, each with the middle of its channel from the hem up."""
    for line in bone_lines(order, pattern):
        if line.panel is None or (line.panel.name, line.panel.side) != (panel.name, panel.side):
            continue
        bone = next((b for b in bones if (b.place, b.channel) == (line.place, line.channel) and not b.seam), None)
        if bone is not None:
            yield from ((bone, curve) for curve in line.curves)


def _closing(order: Order, pattern: Pattern, docket: Docket, side: Side, ratio: float) -> Drawing | None:
    """The centre back as seen from behind, hem below; both edges with what closes them."""
    f = next((x for x in docket.fastenings if x.at == CENTRE_BACK), docket.fastening)
    if f.at != CENTRE_BACK or f.kind not in ("lacing", "hooks", "zip"):
        return None
    fig = Figure(say("card.sketch.closing"), about=say("card.sketch.closing_about"))
    mine = (e for p in pattern.panels if p.side in (side, "both") for e in p.edges)
    edge = next((e for e in mine if e.role == CENTRE_BACK), None)
    if edge is None:
        return None
    curve = edge.upward()
    half = order.style.gap / 2 + {"lacing": 0.0, "hooks": HOOKS_APART, "zip": ZIP_APART}[f.kind]
    edges: list[list[Pt]] = []
    inset = f.inset
    for sign in (-1.0, 1.0):
        fig.stroke(_turned(curve, sign).moved(sign * half, 0.0), "panel")
        for a in (curve.start, curve.end):
            x = sign * (a[0] + half)
            fig.run([(x, a[1]), (x + sign * BESIDE, a[1])], "level")
        edges.append([(sign * (x + half), y) for x, y in _spread(curve, order, f)])
    names: list[tuple[str, Pt]] = []
    if f.kind == "lacing":
        left, right = ([(x + s * inset, y) for x, y in e] for e, s in zip(edges, (-1.0, 1.0), strict=True))
        for p in (*left, *right):
            fig.stroke(Path.of([_circle(p)], closed=True), "grain")
        for a, b in zip(left, right[1:], strict=False):
            fig.run([a, b], "level")
        for a, b in zip(right, left[1:], strict=False):
            fig.run([a, b], "level")
        names.append((say("card.sketch.gap", gap=plain(order.style.gap)), (0.0, curve.start[1] - SIZE * ratio)))
    elif f.kind == "hooks":
        for a, b in zip(*edges, strict=True):
            fig.run([(a[0] - BAR, a[1]), (b[0] + BAR, b[1])], "notch")
    else:
        ys = (curve.start[1], curve.end[1])
        fig.run([(0.0, ys[0]), (0.0, ys[1])], "fold")
        names.append((say("card.sketch.zip", zip=plain(f.zip)), (0.0, ys[0] - SIZE * ratio)))
    if f.count:
        low, high = edges[1][-2], edges[1][-1]
        at = (high[0] + inset + 6.0, (low[1] + high[1]) / 2)
        names.append((width(f.spacing), (at[0] + SIZE * ratio * 2, at[1])))
        fig.run([(at[0], low[1]), (at[0], high[1])], "leader")
        names.append((say("card.sketch.pairs", count=f.count), (0.0, curve.end[1] + SIZE * ratio)))
    return _named(fig, names, ratio)


def _spread(curve: Curve, order: Order, f: Fastening) -> Iterator[Pt]:
    """Where the pairs lie on a centre back edge, from the hem up."""
    for k in range(f.count):
        yield curve.point(min(order.notions.closing_inset + k * f.spacing, curve.length))


def _circle(at: Pt) -> Curve:
    return arc_through(at, EYELET, 0.0, 2.0 * math.pi)


def _turned(curve: Curve, flip: float) -> Path:
    path = Path.of([curve])
    return path if flip > 0 else path.mirrored()


def _named(fig: Figure, names: Iterable[tuple[str, Pt]], ratio: float, under: Iterable[tuple[str, Pt]] = ()) -> Drawing:
    """The figure with each name as near to its place as ink allows; farther off with a leader.

    What is `under` stands centred below its place, all on one line.
    """
    size = SIZE * ratio
    below = list(under)
    low = min((y for _, (_, y) in below), default=0.0) - 1.6 * size
    for says, (x, _) in below:
        fig.texts += set_block([BlockLine(says)], size, (x - measure(says, size) / 2, low), 0.0)
    taken = list(fig.texts)
    fig.open_places(cell=ratio / 2, around=ROUND * ratio)
    for t in taken:
        xs, ys = zip(*t.corners(), strict=True)
        fig.places.ink_box((min(xs), min(ys), max(xs), max(ys)))
    for says, at in names:
        lines = [BlockLine(printed(says))]
        for reach in (4.0, 8.0, 16.0):
            r = reach * size
            box = (at[0] - r, at[1] - r, at[0] + r, at[1] + r)
            if fig.block([lines], near=at, sizes=(size,), turns=(0.0,), clearance=0.4 * ratio, within=box):
                t = fig.texts[-1]
                if math.dist(t.at, at) > 4.0 * size:
                    fig.run([(t.at[0], t.at[1] + size / 3), at], "leader")
                    fig.fill(disc(at, 0.4 * ratio))
                break
        else:
            fig.texts += set_block(lines, size, (at[0], at[1]), 0.0)
    return fig.done()


def fits(drawing: Drawing, ratio: float, width: float, height: float) -> bool:
    """Whether a drawing at 1:`ratio` is no larger than `width` by `height` mm on paper."""
    x0, y0, x1, y1 = union([drawing.bounds()])
    return (x1 - x0) / ratio <= width and (y1 - y0) / ratio <= height
