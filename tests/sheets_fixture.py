"""Pieces for the tests of the sheets: synthetic panels grown by shapely, so that no layer's code is leant on."""

from __future__ import annotations

import math
from dataclasses import replace

from shapely import Polygon, box

import synthetic
from coutil.pattern import Edge, Notch, Panel, Pattern, Piece
from coutil.pattern.model import Layer
from coutil.plane import Curve, Pt, arc_through, line

ALLOWANCE = 12.7


def with_pieces(pattern: Pattern | None = None) -> Pattern:
    """Shell, interfacing and lining of every panel, foam and web of a round pad on the side front."""
    pattern = pattern or synthetic.pattern()
    pieces: list[Piece] = []
    for panel in pattern.panels:
        pieces += [_cut(panel, layer) for layer in ("shell", "interfacing", "lining")]
    pieces += [_pad(p, layer) for p in pattern.panels if p.name == "side front" for layer in ("foam", "web")]
    return replace(pattern, pieces=tuple(pieces))


def polygon_curves(points: list[Pt]) -> tuple[Curve, ...]:
    return tuple(line(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True) if math.dist(a, b) > 1e-6)


def named(panel: Panel) -> str:
    return panel.name if panel.side == "both" else f"{panel.side} {panel.name}"


def _cut(panel: Panel, layer: Layer) -> Piece:
    on_fold = panel.fold is not None
    shape = Polygon(panel.outline(tolerance=0.02)).buffer(ALLOWANCE, join_style="mitre")
    if on_fold:
        shape = shape.intersection(box(0.0, -1e4, 1e4, 1e4))
    points = [(x, y) for x, y in shape.exterior.coords[:-1]]
    if not shape.exterior.is_ccw:
        points.reverse()
    notches = []
    for e in panel.edges:
        if e.role in ("front_princess", "side", "back_princess"):
            for name, s in e.marks.items():
                if name in ("waist", "underbust", "bust", "bust_point"):
                    tx, ty = e.curve.tangent(e.along(s))
                    at = e.curve.point(e.along(s))
                    notches.append(Notch(name.replace("_", " "), e.name, at, (ty, -tx), 2 if "back" in e.role else 1))
    placement = (
        ((arc_through((_pad_middle(panel), 160.0), 40.0, 2.0, 4.5),),)
        if panel.name == "side front" and layer == "shell"
        else ()
    )
    return Piece(
        f"{named(panel)}, {layer}", panel.name, layer, panel.side, 1 if on_fold or panel.side != "both" else 2,
        panel.side == "both" and not on_fold, on_fold, panel.edges, polygon_curves(points), tuple(notches), placement,
        panel.grain,
    )  # fmt: skip


def _pad_middle(panel: Panel) -> float:
    return 150.0 if panel.side != "right" else -150.0


def _pad(panel: Panel, layer: Layer) -> Piece:
    x = _pad_middle(panel)
    rim = arc_through((x, 160.0), 40.0, 0.0, 2 * math.pi)
    cut = arc_through((x, 160.0), 43.175, 0.0, 2 * math.pi)
    quantity = 2 if panel.side == "both" else 1
    return Piece(
        f"{named(panel)}, {layer}", panel.name, layer, panel.side, quantity, quantity == 2, False,
        (Edge("pad_rim", "pad_rim", rim),), (cut,), (), (), ((x, 135.0), (x, 185.0)),
    )  # fmt: skip
