"""Where a lining ends at a facing: the facing takes its place there, and both are joined along the facing's inner edge.

Common practice, no source: neither a lining nor its fusing lies under a facing, which has channels and eyelets to hold.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from coutil.layers.allowances import edges_cut
from coutil.layers.inside import beside_edge, neighbours
from coutil.order import Build
from coutil.pattern import Edge, Panel, Piece
from coutil.plane import upright_line
from coutil.seaming import PAD_RIM

# The layers that end at a facing.
ENDING: Final = ("lining", "lining_interfacing")
# How the edge is called along which they are joined, on either piece.
FACING_INNER: Final = "facing_inner"
# Where less is left of a lining, its two allowances of 1/2 in lie on each other, in mm (common practice, no source).
NARROW: Final = 25.4
# A notch this near to what is left of its edge still lies on it, in mm: the polyline's flatness.
ON_EDGE: Final = 0.05


def joined(pieces: Sequence[Piece], panel: Panel, edge: Edge, width: float, build: Build) -> dict[int, Piece] | None:
    """The lining pieces of a panel as they end at the facing of one of its edges, `width` mm inside it, by index.

    Empty without a lining; None where the line cannot be drawn on it, so that it stays as it is. The lining's inner
    edge has the build's allowance. Raises LayerError, naming the panel, where a cut line cannot be drawn.
    """
    own = [k for k, p in enumerate(pieces) if (p.panel, p.side) == (panel.name, panel.side) and p.layer in ENDING]
    if not own:
        return {}
    lined = replace(panel, edges=pieces[own[0]].net)
    at = next(e for e in lined.edges if e.name == edge.name)
    found = beside_edge(lined, at, width)
    if found is None:
        return None
    inner, low, high = found
    before, after = neighbours(lined, at)
    rim = Edge(FACING_INNER, PAD_RIM, inner)
    net = tuple(
        {
            before.name: replace(before, curve=before.curve.part(0.0, low), marks={}),
            at.name: rim,
            after.name: replace(after, curve=after.curve.part(high, after.curve.length), marks={}),
        }.get(e.name, e)
        for e in lined.edges
    )
    margins = [
        0.0 if e.name == panel.fold else build.allowance if e is rim else build.allowance_for(e.role) for e in net
    ]
    cut = edges_cut(net, margins, panel)
    grain = upright_line([p for e in net for p in e.curve.points(tolerance=0.5)[:-1]])
    out = {}
    for k in own:
        piece = pieces[k]
        notches = tuple(n for n in piece.notches if n.edge != edge.name and _is_left(n.edge, n.at, net))
        out[k] = replace(piece, net=net, cut=cut, notches=notches, grain=grain)
    return out


def narrowest(piece: Piece) -> float:
    """What is left of a lining beside its facing, in mm: the least from the line where they join to the next seam."""
    import shapely  # type: ignore[import-untyped]

    rim = next(e for e in piece.net if e.name == FACING_INNER)
    others = [e for e in piece.net if e.kind in ("seam", "centre")]
    line = shapely.linestrings(rim.curve.points(tolerance=ON_EDGE))
    away = [float(shapely.distance(line, shapely.linestrings(e.curve.points(tolerance=ON_EDGE)))) for e in others]
    return min(away, default=math.inf)


def _is_left(name: str, at: tuple[float, float], net: Sequence[Edge]) -> bool:
    """Whether a place lies on what is left of its edge."""
    edge = next((e for e in net if e.name == name), None)
    if edge is None:
        return False
    (x, y), (px, py) = edge.curve.point(edge.curve.nearest(at)[0]), at
    return abs(x - px) <= ON_EDGE and abs(y - py) <= ON_EDGE
