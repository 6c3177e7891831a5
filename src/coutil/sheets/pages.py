"""The pattern on paper that the maker has: which pages there are and what stands on each, for a writer to put down.

Small paper: tiles with overlaps and match marks, behind a page that says how to join them. Large paper: whole pieces on
as few sheets as they fit on, with the words beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from coutil.pattern import Finding, Pattern, Topic
from coutil.plane import Box, union
from coutil.sheets import cover
from coutil.sheets.drawing import Drawing
from coutil.sheets.figures import Naming, panel_drawings, piece_drawings
from coutil.sheets.fonts import showable
from coutil.sheets.paper import (
    GAP,
    LARGE,
    NAMES,
    OVERLAP,
    Paper,
    Tile,
    Tiling,
    count,
    read_paper,
    shelve,
    shelve_apart,
    tile,
)
from coutil.sheets.places import Places
from coutil.sheets.wording import not_taken_line, owner_words
from coutil.words import say

# Side of a cell when looking for blank sheets and for free ground, in mm: at twice that, crowded sheets seem to have no
# room for a match mark's words where there is some.
CELL = 1.0
# How closely lines are followed when looking for ink, in mm: well under a cell.
INK_TOLERANCE = 0.5
# Width of the words beside the pattern on large paper, in mm.
BLOCK_WIDTH = 190.0


@dataclass(frozen=True, slots=True)
class Page:
    """One page: what lies in `window` of the drawings' plane is shown in true size, inside the paper's margins."""

    paper: Paper
    window: Box
    drawings: tuple[Drawing, ...]


@dataclass(frozen=True, slots=True)
class Laid:
    """Drawings in their places, and the sheets that they are shared among."""

    drawings: tuple[Drawing, ...]
    tiling: Tiling
    places: Places


@dataclass(frozen=True, slots=True)
class Composed:
    """All pages of one print, with the words that it bears and what there is to say about them."""

    title: str
    owner: str
    paper: str
    pages: tuple[Page, ...]
    laid: Laid
    findings: tuple[Finding, ...]


def compose(
    pattern: Pattern,
    paper: str,
    *,
    label: str = "",
    order_name: str = "",
    roll_width: float | None = None,
    drawings: Sequence[Drawing] | None = None,
) -> Composed:
    """The pages of a pattern; see coutil.sheets.pdf.pattern_pdf for what is given and raised."""
    sheet = read_paper(paper, roll_width)
    if drawings is None:
        drawings = piece_drawings(pattern, Naming.of(pattern, order_name, label)) or panel_drawings(pattern)
    if not drawings:
        raise ValueError("the pattern has neither pieces nor panels: nothing to print")
    title, owner = showable(order_name), showable(owner_words(label, pattern.body))
    warn = not_taken_line(pattern.not_taken)
    findings = (*title.findings(Topic("order_name")), *owner.findings(Topic("client_label")))
    heading = title.text or say("print.pattern")
    pages: list[Page] = []
    apart: Laid | None = None
    if sheet.name in LARGE:
        block = cover.title_block(
            heading, owner.text, NAMES[sheet.name], _advice(sheet, tiled=False), BLOCK_WIDTH, warn=warn
        )
        apart = lay_apart([block, *drawings], sheet)
    laid = apart or lay_out(drawings, sheet)
    if apart is None:
        pages.append(_front_page(sheet, heading, owner.text, laid, warn))
    tiles = laid.tiling.tiles
    total = len(pages) + len(tiles)
    joins = cover.plan_joins(laid.tiling, laid.places)
    for t in tiles:
        extra: list[Drawing] = []
        if total > 1:
            words = (title.text, owner.text, say("print.page", number=len(pages) + 1, total=total))
            running = " · ".join(s for s in words if s)
            extra = [cover.furniture(t, laid.tiling, joins, running, laid.places)]
        if warn:
            extra.append(cover.warning(t, laid.tiling, warn, laid.places))
        pages.append(Page(laid.tiling.paper, t.box, (*laid.drawings, *extra)))
    return Composed(heading, owner.text, NAMES[sheet.name], tuple(pages), laid, findings)


def lay_apart(drawings: Sequence[Drawing], paper: Paper) -> Laid | None:
    """Every drawing whole on one of as few sheets as shelves allow, so that nothing is pasted; the first one foremost.

    None if one is larger than the paper either way. Raises ValueError for a roll that is too narrow.
    """
    boxes = [d.bounds() for d in drawings]
    widest, tallest = max(b[2] - b[0] for b in boxes), max(b[3] - b[1] for b in boxes)
    if paper.name == "roll" and widest > paper.window[0]:
        raise ValueError(
            f"a roll of {paper.width:g} mm is too narrow: with {paper.margin:g} mm of rim on either side the "
            f"widest drawing needs {widest + 2 * paper.margin:.0f} mm"
        )
    fits = [
        p
        for p in ((paper,) if paper.name == "roll" else (paper, paper.turned()))
        if widest <= p.window[0] and tallest <= p.window[1]
    ]
    if not fits:
        return None
    packed = [(p, shelve_apart(boxes, *p.window)) for p in fits]
    best, moves = min(packed, key=lambda pm: max(sheet for sheet, _, _ in pm[1]))
    if paper.name == "roll":
        depth = max(-(b[1] + y) for b, (_, _, y) in zip(boxes, moves, strict=True))
        best = replace(best, height=depth + 2 * best.margin)
    w, h = best.window
    # The sheets lie one below another in the plane, far enough apart for nothing of one to be seen on the next.
    step = h + 2 * GAP
    moved = tuple(d.moved(x, y - sheet * step) for d, (sheet, x, y) in zip(drawings, moves, strict=True))
    n = 1 + max(sheet for sheet, _, _ in moves)
    tiles = tuple(Tile(k, 0, (0.0, -k * step - h, w, -k * step)) for k in range(n))
    places = _inked(moved, union(t.box for t in tiles), best)
    return Laid(moved, Tiling(best, 0.0, n, 1, tiles, (), pasted=False), places)


def lay_out(drawings: Sequence[Drawing], paper: Paper) -> Laid:
    """The drawings on shelves, and sheets to be pasted under them: upright or turned, as wide as takes the fewest."""
    boxes = [d.bounds() for d in drawings]
    tries = []
    for p in (paper, paper.turned()):
        w, h = p.window
        most = count(sum(b[2] - b[0] + GAP for b in boxes), w, OVERLAP)
        for columns in range(1, most + 1):
            moves = shelve(boxes, columns * (w - OVERLAP) + OVERLAP)
            around = union((b[0] + x, b[1] + y, b[2] + x, b[3] + y) for b, (x, y) in zip(boxes, moves, strict=True))
            sheets = count(around[2] - around[0], w, OVERLAP) * count(around[3] - around[1], h, OVERLAP)
            tries.append((sheets, around[3] - around[1], p, moves, around))
    _, _, best, moves, around = min(tries, key=lambda t: t[:2])
    moved = tuple(d.moved(x, y) for d, (x, y) in zip(drawings, moves, strict=True))
    places = _inked(moved, around, best)
    return Laid(moved, tile(around, best, lambda box: places.ink_in(box) == 0, overlap=OVERLAP), places)


def _inked(drawings: Sequence[Drawing], around: Box, paper: Paper) -> Places:
    # As far as any sheet can reach beyond the drawings.
    x, y = paper.window
    places = Places((around[0] - x, around[1] - y, around[2] + x, around[3] + y), cell=CELL)
    for top in drawings:
        for d in top.every():
            for n in d.lines:
                places.ink_line(n.path.points(tolerance=INK_TOLERANCE))
            for s in d.shapes:
                places.ink_line(s.path.points(tolerance=INK_TOLERANCE))
            for t in d.texts:
                places.ink_corners(t.corners())
    return places


def _advice(paper: Paper, *, tiled: bool) -> list[str]:
    out = [
        say("print.actual_size"),
        say("print.measure"),
    ]
    if tiled:
        out += [
            say("print.rim", margin=f"{paper.margin:g}"),
            say("print.overlap", overlap=f"{OVERLAP:g}"),
        ]
    return out


def _front_page(paper: Paper, title: str, owner: str, laid: Laid, warn: str) -> Page:
    """How to print and join, the squares, the key and the map, on a page of the same paper."""
    w, h = paper.window
    tiles = laid.tiling.tiles
    first, last = tiles[0].name, tiles[-1].name
    sheets = say("print.sheets", paper=NAMES[paper.name], pages=len(tiles) + 1, first=first, last=last)
    block = cover.title_block(title, owner, sheets, _advice(paper, tiled=True), w, warn=warn)
    bottom = block.bounds()[1]
    # A little room, so that the pen does not run over the rim of what can be printed.
    plan = cover.assembly_map(laid.drawings, laid.tiling, (0.2, 0.2 - h, w - 0.2, bottom - 8.0))
    return Page(paper, (0.0, -h, w, 0.0), (block, plan))
