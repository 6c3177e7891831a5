"""Where the panels lie on the squared paper: side by side in sewing order, right side up, waists on one line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coutil.pattern import Panel, Pattern, Piece
from coutil.web.garment import plain_id
from coutil.web.paths import Box, Place, hull, union

# The squares of the paper, in mm.
SQUARE = 10.0
# Between two panels, and round all of them, in mm: room for a finger and for the lengths beside the edges.
GAP = 30.0
# Between the left side's row and the right side's, in mm: room for the upper row's names and sides where the paper lies
# so far away that both rows are seen.
ROWS = 70.0
# A panel has a slot whose width grows in these steps, in mm, so that its neighbours seldom move while it is changed.
SLOT = 50.0


@dataclass(frozen=True, slots=True)
class Placed:
    """A panel, where it lies, what is cut from it, and its box on the paper, cut lines included."""

    panel: Panel
    id: str
    # The id without the side, as `coutil.web.governs` lists it.
    plain: str
    place: Place
    pieces: tuple[Piece, ...]
    box: Box


def panel_id(panel: Panel) -> str:
    name = plain_id(panel.name)
    return name if panel.side == "both" else f"{panel.side}-{name}"


def place_panels(pattern: Pattern) -> tuple[Placed, ...]:
    """All panels of a pattern on the paper; on an uneven body the left side's row stands over the right side's."""
    left = [p for p in pattern.panels if p.side != "right"]
    # Seen from outside, the right half of the body runs from the centre back to the centre front.
    right = [p for p in reversed(pattern.panels) if p.side == "right"]
    out = list(_row(pattern, left, 0.0))
    if right:
        bottom = max(p.box[3] for p in out)
        trial = _row(pattern, right, 0.0)
        down = SQUARE * math.ceil((bottom + ROWS - min(p.box[1] for p in trial)) / SQUARE)
        out += _row(pattern, right, down)
    return tuple(out)


def paper_box(placed: Sequence[Placed]) -> Box:
    """The paper that the panels need, in whole squares, with a margin."""
    x0, y0, x1, y1 = union(p.box for p in placed)
    lower, upper = math.floor, math.ceil
    return (
        SQUARE * lower((x0 - GAP) / SQUARE),
        SQUARE * lower((y0 - GAP) / SQUARE),
        SQUARE * upper((x1 + GAP) / SQUARE),
        SQUARE * upper((y1 + GAP) / SQUARE),
    )


def _row(pattern: Pattern, panels: Sequence[Panel], down: float) -> tuple[Placed, ...]:
    out = []
    at = 0.0
    for panel in panels:
        pieces = tuple(p for p in pattern.pieces if p.panel == panel.name and p.side == panel.side)
        fx = panel.face_up
        waist = sum(p[1] for p in panel.levels["waist"]) / 2.0 if "waist" in panel.levels else 0.0
        curves = [e.curve for e in panel.edges]
        # All layers of a panel are cut alike; the first tells.
        curves += pieces[0].cut if pieces else ()
        x0, y0, x1, y1 = hull(curves)
        if fx < 0:
            x0, x1 = -x1, -x0
        # A millionth off: a line on the panel's own x = 0 must not be moved by how its cubic was rounded.
        ox = at + SQUARE * math.ceil(-x0 / SQUARE - 1e-6)
        at += SLOT * math.ceil((x1 - x0 + SQUARE) / SLOT) + GAP
        place = Place(fx, ox, down + waist)
        box = (ox + x0, place.oy - y1, ox + x1, place.oy - y0)
        out.append(Placed(panel, panel_id(panel), plain_id(panel.name), place, pieces, box))
    return tuple(out)
