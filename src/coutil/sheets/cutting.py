"""A piece for a cutting machine: its cut line as one closed path at 1:1, notches and placement lines apart, no words.

A piece on the fold is opened out, since a machine cuts single cloth. The machine's own software says which groups to
cut and which to draw; each group bears a name for that.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from coutil.pattern import Piece
from coutil.pattern.nicks import nicks
from coutil.plane import Curve, Path, arc_through
from coutil.sheets.drawing import Drawing, Line
from coutil.sheets.svg import svg
from coutil.sheets.wording import LAYER_WORDS, turned_lining

# A point this near to the fold lies on it, in mm.
ON_FOLD = 1e-3
# The middle of an eyelet, hook or button is drawn as a ring of this radius, in mm: what a pen can draw.
SPOT = 1.0


def cutting_svgs(pieces: Sequence[Piece], *, warn: str = "") -> Iterator[tuple[str, str]]:
    """(name, SVG) for every shape that is cut; pieces of one shape from several layers share one file and name them.

    `warn` leads the file's title and what it says of itself: no words are drawn that a machine might cut.

    Pieces lie as the cutter sees the right side of their cloth; the lining of one side alone has a shape of its own.
    """
    seen: dict[tuple[int, ...], list[Piece]] = {}
    for p in pieces:
        seen.setdefault((turned_lining(p.layer, p.side), id(p.panel), *(id(c) for c in p.cut)), []).append(p)
    for group in seen.values():
        piece = _marked(group)
        side = "" if piece.side == "both" else f"{piece.side} "
        layers = ", ".join(LAYER_WORDS[p.layer] for p in group)
        title, about = piece.name, f"Cut from: {layers}."
        if warn:
            title, about = f"{warn}. {title}", f"{warn}. {about}"
        yield f"{side}{piece.panel}, {layers}", svg([cutting_drawing(piece)], title, about=about)


def _marked(group: Sequence[Piece]) -> Piece:
    """The first piece of one shape, with what is marked on any of them."""
    lines = {id(n.run[0]): n for p in group for n in p.lines}
    spots = {(s.what, s.at): s for p in group for s in p.spots}
    return replace(group[0], lines=tuple(lines.values()), spots=tuple(spots.values()))


def cutting_drawing(piece: Piece) -> Drawing:
    """Groups "cut", "nick" and "draw, do not cut", face side up, in the panel's own coordinates."""
    flip = piece.face_up * (-1.0 if turned_lining(piece.layer, piece.side) else 1.0)
    cut = _opened(piece) if piece.on_fold else tuple(piece.cut)
    cuts = [Line(Path.through(ends), "notch") for notch in nicks(piece) for ends in notch]
    marks = [Line(Path.of(run), "placement") for run in (*piece.placement, *(n.run for n in piece.lines))]
    rings = [arc_through(s.at, SPOT, 0.0, 2.0 * math.pi) for s in piece.spots]
    marks += [Line(Path.of([ring], closed=True), "placement") for ring in rings]
    if piece.on_fold:
        cuts += [Line(n.path.mirrored(), n.style) for n in cuts]
        marks += [Line(n.path.mirrored(), n.style) for n in marks]
    parts = (
        Drawing("cut", lines=(Line(Path.of(cut, closed=True), "cut"),)),
        Drawing("nick", lines=tuple(cuts)),
        Drawing("draw, do not cut", lines=tuple(marks)),
    )
    whole = Drawing(piece.name, parts=tuple(p for p in parts if p.lines))
    return whole.mirrored() if flip < 0 else whole


def _opened(piece: Piece) -> tuple[Curve, ...]:
    """The cut line of a piece on the fold, opened out about x = 0; anticlockwise like the half."""
    half = [c for c in piece.cut if max(abs(c.start[0]), abs(c.end[0]), abs(c.point(c.length / 2)[0])) > ON_FOLD]
    first = next(k for k, c in enumerate(half) if abs(c.start[0]) <= ON_FOLD)
    run = [*half[first:], *half[:first]]
    return (*run, *(c.mirrored().reversed() for c in reversed(run)))
