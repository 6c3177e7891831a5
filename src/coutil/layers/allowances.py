"""Allowances by edge role, and the cut lines that they make. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from coutil.layers.words import LayerError
from coutil.order import Build
from coutil.pattern import Edge, Pad, Panel
from coutil.pattern.refs import PadRef, PanelRef
from coutil.plane import Curve
from coutil.plane.offset import Corner, Margin, OffsetError, outline_offset
from coutil.words import reason

# Cut lines lie this close to the true offset of the net line, in mm. A fifth of what the product promises (0.05 mm), so
# that the polylines of sheets and of JSON may use up the rest.
TOLERANCE = 0.01
# Edges that are turned in or bound, not sewn to another panel: at their corners with a seam the seam lies flush.
TURNED = ("top", "hem", "pad_rim")


def allowance(role: str, build: Build, *, fold: bool = False) -> float:
    """The allowance in mm of a panel's edge by its role; none on the fold."""
    return 0.0 if fold else build.allowance_for(role)


def panel_cut(panel: Panel, build: Build) -> tuple[Curve, ...]:
    """The cut line of a panel, anticlockwise, in any layer that is cut with the build's allowances.

    Raises LayerError naming the panel where an allowance cannot be drawn.
    """
    margins = [allowance(e.role, build, fold=e.name == panel.fold) for e in panel.edges]
    return edges_cut(panel.edges, margins, panel)


def lace_cut(panel: Panel, build: Build) -> tuple[Curve, ...]:
    """The cut line of a panel of lace: its own allowance, and none on the top where its finished edge lies there.

    Raises LayerError naming the panel where an allowance cannot be drawn.
    """
    lace = build.lace
    margins = [
        0.0 if e.name == panel.fold or (lace.scallop and e.kind == "top") else lace.allowance for e in panel.edges
    ]
    return edges_cut(panel.edges, margins, panel)


def edges_cut(edges: Sequence[Edge], margins: Sequence[float], panel: Panel) -> tuple[Curve, ...]:
    """The cut line round anticlockwise edges with an allowance for each, of a piece that belongs to a panel.

    Raises LayerError naming the panel where an allowance cannot be drawn.
    """
    try:
        return _cut(edges, margins)
    except OffsetError as e:
        about = PanelRef(panel.name, panel.side)
        raise LayerError("no_cut_line", about, side=panel.side, panel=panel.name, why=reason("offset", e)) from e


def pad_cut(pad: Pad, build: Build) -> tuple[Curve, ...]:
    """The cut line of a pad, anticlockwise: its net line but for what the princess seam catches.

    Raises LayerError naming the pad where it cannot be drawn.
    """
    margins = [0.0 if e.role == "pad_rim" else build.pad.catch for e in pad.edges]
    try:
        return _cut(pad.edges, margins)
    except OffsetError as e:
        about = PadRef(pad.panel, pad.side)
        raise LayerError("no_pad_cut_line", about, side=pad.side, panel=pad.panel, why=reason("offset", e)) from e


def _cut(edges: Sequence[Edge], margins: Sequence[float]) -> tuple[Curve, ...]:
    """Raises OffsetError."""
    sides: list[Margin] = []
    for k, (e, margin) in enumerate(zip(edges, margins, strict=True)):
        *inner, last = _smooth(e.curve, margin)
        sides += [Margin(c, margin) for c in inner]
        sides.append(Margin(last, margin, _corner(e, edges[(k + 1) % len(edges)])))
    return outline_offset(sides, tolerance=TOLERANCE)


def _smooth(curve: Curve, margin: float) -> list[Curve]:
    """The curve in stretches without a corner that the cut line would show: drafted edges have none, traced ones may.

    The cut line turns there in a mitre.
    """
    cuts = [k + 1 for k, turn in enumerate(curve.turns()) if abs(turn) * margin > TOLERANCE]
    if not cuts:
        return [curve]
    return [Curve(curve.segments[a:b]) for a, b in pairwise((0, *cuts, len(curve.segments)))]


def _corner(edge: Edge, following: Edge) -> Corner:
    """Where a seam meets a top, a hem or a rim it is pressed open and lies flush; a fold has no allowance to press."""
    if edge.role not in TURNED and following.role in TURNED:
        return "flush"
    if edge.role in TURNED and following.role not in TURNED:
        return "flush_next"
    return "mitre"
