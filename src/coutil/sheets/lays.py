"""A lay as the cutter sees it: the cloth with its edges named, each piece where it lies, what is left over.

The drawing is at full size. With `ratio` n its words, arrows and distances are n times as large, for a picture at 1:n.
x runs along the cloth, so the grain lies level.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from kurbopy import Affine, CubicBez

from coutil.lay import Block, Lay, LayPlan, Placement
from coutil.lay.engine import turn
from coutil.lay.shapes import ON_FOLD, as_seen
from coutil.pattern import Pattern, Piece
from coutil.plane import Path, Pt, controls
from coutil.sheets.drawing import (
    CAP_HEIGHT,
    Anchor,
    Drawing,
    Line,
    LineStyle,
    Shape,
    Text,
)
from coutil.sheets.figures import arrowhead, centroid
from coutil.sheets.fonts import measure, printed, showable
from coutil.sheets.labels import BlockLine, Figure, wrap
from coutil.sheets.svg import svg
from coutil.sheets.wording import LAYER_WORDS, body_line, not_taken_line
from coutil.units import both, plain
from coutil.words import say

# Type sizes in mm on paper: what stands round the cloth, and what is tried on pieces, the largest first. The smallest
# is 5 point: a lay at 1:8 has small pieces, and the card beside it says all again.
AROUND = 2.9
ON_PIECES = (2.9, 2.4, 2.0, 1.8)
# White kept round names, in mm on paper.
CLEAR = 0.8
# Distances of the dimension lines from the cloth, of names from the edge, in mm on paper.
DIMENSION = 9.0
BESIDE = 1.6
# From one line of the heading to the next, in type sizes.
LEADING = 1.45
# Lengths of the grain's arrow that are tried, as parts of the piece's length.
GRAIN = (0.6, 0.4, 0.25)
# Room on the page for a picture, in mm: A4 and US Letter within the margins, less heading and footer.
ROOM = (176.0, 215.0)
# What a warning in its frame takes of that height, in mm: two lines of 12 pt and the frame.
WARNING_ROOM = 20.0
# Pictures are shown at one of these ratios, the first that fits: so that a ruler can be used on them.
RATIOS = (2.0, 4.0, 5.0, 8.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0)


def lay_drawing(
    lay: Lay, *, blocks: Iterable[Block] = (), pattern: Pattern | None = None, ratio: float = 1.0
) -> Drawing:
    """One lay. The cloth is the drawing's own; each piece or block is a part of it, named after it and its copy.

    With `pattern` the true curves are drawn, without it the polygons that were laid, at most 0.2 mm outside them.
    `blocks` are those of the plan: they show their pieces in broken lines.
    """
    by_name: dict[str, Block] = {b.name: b for b in blocks}
    pieces: dict[str, Piece] = {p.name: p for p in pattern.pieces} if pattern else {}
    parts = [_placed(p, lay, by_name.get(p.piece), pieces, ratio) for p in lay.placements]
    key = ", ".join(sorted({meaning for _, meaning in parts if meaning}))
    fused = any(p.piece in by_name for p in lay.placements)
    said = [] if pattern is None else [s for s in (not_taken_line(pattern.not_taken), body_line(pattern.body)) if s]
    cloth = _Cloth(lay, ratio, fused=fused, key=key, body=said)
    return replace(cloth.done(), parts=tuple(d for d, _ in parts))


def lays_svg(
    plan: LayPlan, title: str, *, pattern: Pattern | None = None, ratio: float = 1.0
) -> Iterator[tuple[Lay, str]]:
    """Each lay with its SVG, at 1:`ratio`; 1:1 is for a cutting machine or a projector."""
    for lay in plan.lays:
        drawing = lay_drawing(lay, blocks=plan.blocks, pattern=pattern, ratio=ratio)
        yield lay, svg([drawing], f"{title}: {drawing.name}", about=drawing.about, ratio=ratio)


def lays_pdf(plan: LayPlan, title: str, *, pattern: Pattern | None = None, paper: str = "A4") -> bytes:
    """All lays reduced, one on a page, each at a stated ratio. ValueError if there is none, or for unknown paper."""
    from coutil.sheets import typeset

    if not plan.lays:
        raise ValueError("there is no lay to print")
    pages: list[str] = []
    # Letter is wider and lower than A4 (ANSI/ASME Y14.1, ISO 216).
    rooms = {"Letter": (ROOM[0] + 215.9 - 210.0, ROOM[1] + 279.4 - 297.0)}
    warn = "" if pattern is None else not_taken_line(pattern.not_taken)
    body = [] if pattern is None else [s for s in (warn, body_line(pattern.body)) if s]
    for lay in plan.lays:
        ratio = picture_ratio(lay, rooms.get(paper, ROOM), body=body)
        drawing = lay_drawing(lay, blocks=plan.blocks, pattern=pattern, ratio=ratio)
        picture = svg([drawing], drawing.name, ratio=ratio)
        said = say("lay_sheet.heading", order=title, cloth=lay.cloth)
        pages.append(
            # The first page has its warning from `typeset`.
            (f"{typeset.warning(warn)}\n\n" if pages else "")
            + f"#heading(level: 1, {typeset.quoted(said)})\n\n"
            + typeset.words(
                " ".join([say("lay_sheet.ratio", ratio=f"{ratio:g}"), *(f"{s}." for s in body if s != warn)])
            )
            + "\n\n"
            + typeset.figure(picture, about=drawing.about)
        )
    whole = "\n#pagebreak()\n".join(pages)
    heading, footer = say("lay_sheet.title", order=title), say("lay_sheet.footer", order=title)
    return typeset.typeset(whole, title=heading, paper=paper, footer=footer, warn=warn)


def picture_ratio(lay: Lay, room: tuple[float, float] = ROOM, *, body: Sequence[str] = ()) -> float:
    """The least reduction at which a lay and all round it fits into `room` (width and height in mm).

    `body` are the lines that the heading bears of the body, above what every lay has.
    """
    # The frame of the warning and the heading's own lines take their part of the page.
    room = (room[0], room[1] - WARNING_ROOM) if body else room
    for ratio in RATIOS:
        x0, y0, x1, y1 = _Cloth(lay, ratio, fused=True, body=body).done().bounds()
        if (x1 - x0) / ratio <= room[0] and (y1 - y0) / ratio <= room[1]:
            return ratio
    return RATIOS[-1]


class _Cloth:
    """The cloth itself in the making: its outline, names of its edges, dimensions, offcuts, heading."""

    def __init__(self, lay: Lay, ratio: float, *, fused: bool = False, key: str = "", body: Sequence[str] = ()) -> None:
        self.lay, self.r, self.fused, self.key, self.body = lay, ratio, fused, key, body
        self.end = lay.length_mm if lay.stock_mm is None else lay.stock_mm
        self.lines: list[Line] = []
        self.shapes: list[Shape] = []
        self.texts: list[Text] = []

    def done(self) -> Drawing:
        lay, w, end = self.lay, self.lay.width_mm, self.end
        self.lines.append(Line(Path.through([(0, 0), (end, 0)]), "fold" if lay.folded else "frame"))
        self.lines.append(Line(Path.through([(0, w), (end, w)]), "frame"))
        self.lines.append(Line(Path.through([(0, 0), (0, w)]), "frame"))
        self.lines.append(Line(Path.through([(end, 0), (end, w)]), "frame"))
        self._edges()
        self._across()
        self._along()
        for x, y, length, width in lay.offcuts:
            self._offcut(x, y, length, width)
        about = self._heading()
        return Drawing(_title(lay), tuple(self.lines), tuple(self.shapes), tuple(self.texts), about=about)

    def _edges(self) -> None:
        lay, r = self.lay, self.r
        if lay.on == "length":
            far = say(f"lay_sheet.{'selvedges' if lay.folded else 'selvedge'}")
            near = say(f"lay_sheet.{'fold' if lay.folded else 'selvedge'}")
        else:
            far = near = say(f"lay_sheet.edge_of_{lay.on}")
        self._say(near, (BESIDE * r, -(BESIDE + CAP_HEIGHT * AROUND) * r))
        self._say(far, (BESIDE * r, lay.width_mm + BESIDE * r))

    def _across(self) -> None:
        w, x = self.lay.width_mm, -DIMENSION * self.r
        what = "half_width" if self.lay.folded else "usable_width" if self.lay.on == "length" else "width"
        self._dimension((x, 0.0), (x, w), say(f"lay_sheet.{what}", length=both(w)), turn=90.0)

    def _along(self) -> None:
        lay, y = self.lay, -DIMENSION * self.r
        self._dimension((0.0, y), (lay.length_mm, y), say("lay_sheet.length", length=both(lay.length_mm)))
        if lay.stock_mm is not None and lay.stock_mm - lay.length_mm > self.r:
            says = say(f"lay_sheet.{lay.on}", length=both(lay.stock_mm))
            self._dimension((0.0, 2 * y), (lay.stock_mm, 2 * y), says)
        if lay.stock_mm is not None:
            self.lines.append(Line(Path.through([(lay.length_mm, 0.0), (lay.length_mm, lay.width_mm)]), "light"))

    def _dimension(self, a: Pt, b: Pt, says: str, *, turn: float = 0.0) -> None:
        r = self.r
        self.lines.append(Line(Path.through([a, b]), "leader"))
        for tip, tail in ((a, b), (b, a)):
            head = _enlarged(arrowhead(tip, tail), tip, 0.5 * r)
            if math.dist(a, b) > 6.0 * r:
                self.shapes.append(Shape(Path.through([*head, head[0]], closed=True)))
            # A short line across the end, so that it is plain where the length is taken.
            dx, dy = (1.2 * r, 0.0) if turn else (0.0, 1.2 * r)
            self.lines.append(Line(Path.through([(tip[0] - dx, tip[1] - dy), (tip[0] + dx, tip[1] + dy)]), "leader"))
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        if turn:
            self._say(says, (middle[0] - BESIDE * r, middle[1]), anchor="middle", turn=turn)
        elif measure(printed(says), AROUND * r) <= math.dist(a, b):
            self._say(says, (middle[0], middle[1] - (BESIDE + CAP_HEIGHT * AROUND) * r), anchor="middle")
        else:
            self._say(says, (a[0], middle[1] - (BESIDE + CAP_HEIGHT * AROUND) * r))

    def _offcut(self, x: float, y: float, length: float, width: float) -> None:
        r = self.r
        inset = 0.6 * r
        corners = [
            (x + inset, y + inset),
            (x + length - inset, y + inset),
            (x + length - inset, y + width - inset),
            (x + inset, y + width - inset),
        ]
        self.lines.append(Line(Path.through(corners, closed=True), "light"))
        sized = say("lay_sheet.offcut_size", length=plain(length), width=plain(width))
        for says, size in _tries((sized, say("lay_sheet.offcut"))):
            wide, high = measure(printed(says), size * r), CAP_HEIGHT * size * r
            for turn_, across, up in ((0.0, length, width), (90.0, width, length)):
                if wide + 2 * CLEAR * r <= across and high + 2 * CLEAR * r <= up:
                    mx, my = x + length / 2, y + width / 2
                    at = (mx, my - high / 2) if turn_ == 0.0 else (mx + high / 2, my)
                    self._say(says, at, size=size, anchor="middle", turn=turn_)
                    return

    def _heading(self) -> str:
        """What stands over the cloth; returned as one text too, for those who cannot see the drawing."""
        lay, r = self.lay, self.r
        rows = [_title(lay)]
        way = "right_sides" if lay.folded else "right_side"
        if set(lay.layers) <= {"interfacing", "lining_interfacing"}:
            way = "glue_sides" if lay.folded else "glue_side"
        elif set(lay.layers) <= {"foam", "web"}:
            way = "single"
        how = say(f"lay_sheet.{way}")
        rows.append(say("lay_sheet.gap", how=how, gap=plain(lay.gap_mm)) if lay.gap_mm else how)
        length, bound = both(lay.length_mm), both(lay.lower_bound_mm)
        rows.append(say("lay_sheet.used", share=f"{lay.used:.0%}", length=length, bound=bound))
        if self.fused:
            rows.append(say("lay_sheet.fused"))
        if any(p.part for p in lay.placements):
            rows.append(say("lay_sheet.pieced"))
        if self.key:
            rows.append(self.key)
        if lay.steamed:
            rows.append(say("lay_sheet.steam"))
        if lay.one_way:
            rows.append(say("lay_sheet.one_way"))
        # Whose body it is goes first, after the cloth's own name.
        rows[1:1] = self.body
        # A narrow lay has a narrow heading, yet never narrower than a line that reads well.
        width = max(self.end, 110.0 * r)
        folded = [row for text in rows for row in wrap(showable(printed(text)).text, AROUND * r, width)]
        y = lay.width_mm + (BESIDE + AROUND * 2.2) * r
        for k, row in enumerate(reversed(folded)):
            self._say(row, (0.0, y + k * LEADING * AROUND * r))
        return ". ".join(rows[1:]) + "."

    def _say(self, says: str, at: Pt, *, size: float = AROUND, anchor: Anchor = "start", turn: float = 0.0) -> None:
        text = showable(printed(says)).text
        self.texts.append(Text(text, at, size * self.r, measure(text, size * self.r), anchor, turn))


def _title(lay: Lay) -> str:
    layers = say("lay_sheet.layers").join(LAYER_WORDS[n] for n in LAYER_WORDS if n in lay.layers)
    what = lay.cloth if layers == lay.cloth else say("lay_sheet.cloth", cloth=lay.cloth, layers=layers)
    return what if lay.on == "length" else say(f"lay_sheet.on_{lay.on}", what=what)


def _placed(
    p: Placement, lay: Lay, block: Block | None, pieces: Mapping[str, Piece], ratio: float
) -> tuple[Drawing, str]:
    """One piece or block where it lies, its name on it and its grain; and what its initials mean if it bears those."""
    fig = Figure(f"{p.piece}, {p.copy}")
    # A part of a pieced block has an edge that its pattern does not know.
    piece = pieces.get(p.piece) if p.part is None else None
    half = lay.folded and (block.on_fold if block else piece is not None and piece.on_fold)
    if piece is not None:
        for path in _true_cut(piece, p, half=half):
            fig.stroke(path, "cut")
    else:
        _outline(fig, p.polygon, "cut", half=half)
    if block is not None and p.part is None:
        for inner in block.cut_from:
            # The block's pieces, turned and moved as the block is; on the fold the half that lies there.
            points = [(x, max(y, 0.0)) for x, y in inner.polygon] if half else inner.polygon
            _outline(fig, points, "net", half=half, by=_placing(p))
    fig.open_places(p.polygon)
    words, kind, _ = (*p.piece.split(", "), "", "")[:3]
    extra = [s for s in (kind, say("lay_sheet.block") if block else "") if s]
    which = say("lay_sheet.both", copy=p.copy, other=p.copy + 1) if lay.folded and not half else f"{p.copy}"
    if p.part is not None:
        which = say("lay_sheet.part", copy=p.copy, part=p.part[0], parts=p.part[1])
    if block is not None and len(block.pieces) > 1:
        words, extra = " + ".join(n.split(", ")[0] for n, _ in block.pieces), [say("lay_sheet.block")]
    kinds = ", ".join(extra)
    said = [BlockLine(showable(words).text), *([BlockLine(showable(kinds).text)] if kinds else [])]
    said.append(BlockLine(say("lay_sheet.turned", copy=which) if p.mirrored else which))
    sizes = [size * ratio for size in ON_PIECES]
    near = centroid(p.polygon)
    # All of it in small letters says more than a part of it in large ones.
    initials = "".join(w[0] for w in showable(words).text.split() if w[0].isalpha()).upper()
    for lines in (said, [said[0], BlockLine(which)]):
        if fig.block([lines], near=near, sizes=sizes, clearance=CLEAR * ratio):
            initials = ""
            break
    else:
        # Initials are what is pencilled on small pieces; the heading says what they stand for.
        little = [[BlockLine(f"{initials} {which}")], [BlockLine(initials), BlockLine(which)]]
        fig.block(little, near=near, sizes=sizes, clearance=0.3 * ratio)
    _grain(fig, p, ratio)
    return fig.done(), (f"{initials} {words}" if initials else "")


def _true_cut(piece: Piece, p: Placement, *, half: bool) -> list[Path]:
    """The cut line's curves where they lie on the cloth; a piece on the fold opened out, or its half on the fold."""
    cut, place = Path.of(piece.cut, closed=True), _placing(p)
    if not piece.on_fold:
        return [cut.mapped(place * _on_cloth(as_seen(piece)))]
    open_run = [c for c in cut.segments if any(abs(x) > ON_FOLD for x, _ in controls(c))]
    # The half on the fold lies at y >= 0, whatever side of the fold the pattern draws.
    outward = 1.0 if sum(c.p0.x + c.p3.x for c in open_run) > 0.0 else -1.0
    sides = (-outward,) if half else (1.0, -1.0)
    return [run.mapped(place * _on_cloth(s)) for s in sides for run in _runs(open_run)]


def _runs(cubics: Sequence[CubicBez]) -> list[Path]:
    """Cubics that join end to end, in as few runs as they make."""
    runs: list[list[CubicBez]] = []
    for c in cubics:
        if runs and math.dist(controls(runs[-1][-1])[3], controls(c)[0]) < ON_FOLD:
            runs[-1].append(c)
        else:
            runs.append([c])
    return [Path(tuple(r)) for r in runs]


def _on_cloth(flip: float) -> Affine:
    """From a piece's coordinates to the cloth's (see coutil.lay.shapes.on_cloth)."""
    return Affine(0.0, -flip, 1.0, 0.0, 0.0, 0.0)


def _placing(p: Placement) -> Affine:
    """From the coordinates of an unturned piece on the cloth to where it lies (see coutil.lay.model.Placement)."""
    c, s = turn(p.rotation_deg)
    over = -1.0 if p.mirrored else 1.0
    return Affine(c, s, -s * over, c * over, *p.at)


def _outline(fig: Figure, points: Sequence[Pt], style: LineStyle, *, half: bool, by: Affine | None = None) -> None:
    """A closed outline, moved `by`; of the half of a piece on the fold only what does not lie on the fold."""
    path = Path.through([*points, points[0]], closed=True)
    path = path if by is None else path.mapped(by)
    if not half:
        fig.stroke(path, style)
        return
    for run in _runs([c for c in path.segments if max(abs(c.p0.y), abs(c.p3.y)) > ON_FOLD]):
        fig.stroke(run, style)


def _grain(fig: Figure, p: Placement, ratio: float) -> None:
    """An arrow along the grain to the piece's top, as long as there is room for off the name; none if there is none."""
    xs = [x for x, _ in p.polygon]
    c, s = turn(p.rotation_deg)
    for part in GRAIN:
        length = part * (max(xs) - min(xs))
        wide, high = abs(c) * length + 2 * ratio, abs(s) * length + 2 * ratio
        corner = fig.places.find(wide, high, near=centroid(p.polygon), clearance=0.4 * ratio)
        if corner is None:
            continue
        mx, my = corner[0] + wide / 2, corner[1] + high / 2
        tail, tip = ((mx + k * length / 2 * c, my + k * length / 2 * s) for k in (-1, 1))
        fig.run([tail, tip], "grain")
        fig.fill(_enlarged(arrowhead(tip, tail), tip, 0.5 * ratio))
        return


def _enlarged(points: Sequence[Pt], about: Pt, factor: float) -> list[Pt]:
    return [(about[0] + (x - about[0]) * factor, about[1] + (y - about[1]) * factor) for x, y in points]


def _tries(texts: Sequence[str]) -> Iterator[tuple[str, float]]:
    return ((says, size) for says in texts for size in ON_PIECES)


__all__ = ["lay_drawing", "lays_pdf", "lays_svg", "picture_ratio"]
