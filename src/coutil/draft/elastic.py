"""An elastic panel let into the centre back: a rectangle of the stated width, as high as the edge it is sewn to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from coutil.draft.board import Board
from coutil.draft.steps import Step
from coutil.pattern import Edge, Panel
from coutil.plane import Curve, Pt, line
from coutil.seaming import CENTRE_BACK, ELASTIC
from coutil.words import say

# The grain line, along which it does not stretch, keeps this part of the height free at either end.
_MARGIN = 0.15


def with_elastic(panels: Sequence[Panel], width: float) -> tuple[list[Panel], list[Step]]:
    """The panels with an elastic one, `width` mm wide as it lies, at the centre back; its steps.

    The edges at the centre back become seams, of the role ELASTIC. Both halves have it in common, on the fold.
    """
    out: list[Panel] = []
    backs: list[Panel] = []
    for p in panels:
        if any(e.role == CENTRE_BACK for e in p.edges):
            p = replace(p, fold=None, edges=tuple(_seamed(e) for e in p.edges))
            backs.append(p)
        out.append(p)
    first = backs[0]
    upright = first.edge(ELASTIC)
    low, high = sorted((upright.curve.start[1], upright.curve.end[1]))
    half = width / 2.0
    board = Board(say("draft.elastic.panel"), "both", -1.0)
    made = _panel(board, upright, (low, high), half, {level: ends[1][1] for level, ends in first.levels.items()})
    return [*out, made], board.steps


def _seamed(edge: Edge) -> Edge:
    return replace(edge, name=ELASTIC, role=ELASTIC) if edge.role == CENTRE_BACK else edge


def _panel(b: Board, upright: Edge, ends: tuple[float, float], half: float, heights: Mapping[str, float]) -> Panel:
    """Half of the rectangle between the heights of hem and top, as back panels are drawn: x from the centre back.

    `heights` are those of the levels, also of those above a low top.
    """
    low, high = ends
    corner: dict[str, Pt] = {"E": (0.0, low), "F": (half, low), "G": (half, high), "H": (0.0, high)}
    b.group(say("draft.elastic.group"))
    b.start("E", corner["E"], say("draft.elastic.start"), say("draft.elastic.why"))
    b.mark_up(("E", corner["E"]), "H", high - low, say("draft.elastic.why_height"))
    b.square_out(("E", corner["E"]), "F", corner["F"], say("draft.elastic.why_width"))
    lines: dict[str, Curve] = {}
    for name, (p, q) in {"hem": ("E", "F"), "seam": ("F", "G"), "top": ("G", "H")}.items():
        lines[name] = line(corner[p], corner[q])
        b.draw(p, q, lines[name], say(f"draft.elastic.line.{name}"), say("draft.elastic.why_line"))
    marks = dict(upright.marks)
    edges = (
        Edge("hem", "hem", lines["hem"]),
        Edge(ELASTIC, ELASTIC, lines["seam"], True, marks),
        Edge("top", "top", lines["top"]),
        Edge(CENTRE_BACK, CENTRE_BACK, line(corner["H"], corner["E"]), False, marks),
    )
    levels = {level: ((half, y), (0.0, y)) for level, y in heights.items()}
    room = high - low
    grain = ((half / 2.0, low + _MARGIN * room), (half / 2.0, high - _MARGIN * room))
    return Panel(b.panel, "both", "back", CENTRE_BACK, edges, levels, {}, grain, material="elastic")
