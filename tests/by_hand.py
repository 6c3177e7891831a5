"""Pads and bare pieces for the pattern of four_panels.py, made without the layers room: neither leans on the other."""

from __future__ import annotations

from dataclasses import replace

from coutil.pattern import Edge, Notch, Pad, Panel, Pattern, Piece
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW
from coutil.plane import Curve, Pt, cubic, line

# Common practice, no source: 1 cm below the end of the centre front, 1 in from the side seam, 1/4 in below the top.
DROP, INSET, DIP = 10.0, 25.4, 6.35
PRINCESS = "front_princess"


def with_pads(pattern: Pattern, *, drop: float = DROP, inset: float = INSET, dip: float = DIP) -> Pattern:
    """The pattern with pads drawn by hand on both front panels (of the left side, where the sides are apart)."""
    side = pattern.panels[0].side
    front, outer = pattern.panel("centre front", side), pattern.panel("side front", side)
    sewn = [_sewn(p.edge(PRINCESS), drop) for p in (front, outer)]
    start, low = sewn[0].end, sewn[0].start
    inner = Pad(
        "centre front",
        side,
        (
            Edge("pad_princess", PRINCESS, sewn[0], True),
            Edge("pad_top", "pad_rim", line(start, (30.0, start[1] - 3.0))),
            Edge("pad_lower", "pad_rim", cubic((30.0, start[1] - 3.0), (10.0, start[1] - 60.0), (40.0, low[1]), low)),
        ),
    )
    corner = _corner(outer, inset, dip)
    start, low = sewn[1].end, sewn[1].start
    rim = cubic(low, (low[0] + 40.0, low[1]), (corner[0], corner[1] - 40.0), corner)
    top = cubic(corner, (corner[0] - 40.0, corner[1]), (start[0] + 30.0, start[1] - 8.0), start)
    far = Pad(
        "side front",
        side,
        (
            Edge("pad_princess", PRINCESS, sewn[1].reversed(), False),
            Edge("pad_lower", "pad_rim", rim),
            Edge("pad_top", "pad_rim", top),
        ),
    )
    return replace(pattern, pads=(inner, far))


def _sewn(edge: Edge, drop: float) -> Curve:
    return edge.upward().part(edge.marks["underbust"], edge.marks.get("centre_front_end", edge.curve.length) - drop)


def _corner(panel: Panel, inset: float, dip: float) -> Pt:
    """A point at `inset` from the side and at `dip` from the top edge; both are upright or level there to a hair."""
    side, top = panel.edge("side").curve, panel.edge("top").curve
    x = side.end[0] - inset
    y = min(top.points(tolerance=0.001), key=lambda p: abs(p[0] - x))[1]
    at = (x, y - dip)
    for _ in range(50):
        off = top.nearest(at)[1] - dip
        at = (at[0], at[1] + off)
    return at


def piece(panel: Panel, layer: str, *, without: str = "", moved: dict[str, float] | None = None) -> Piece:
    """A bare piece with the notches that the trade wants; `moved` slides those of that name along their edge."""
    notches = []
    for edge in panel.edges:
        if edge.name == PRINCESS:
            bust = edge.marks["bust_point"]
            places = {
                "underbust": edge.marks["underbust"],
                NOTCH_BELOW: bust - 25.4,
                "bust_point": bust,
                NOTCH_ABOVE: bust + 25.4,
            }
            if edge.marks.get("centre_front_end", edge.curve.length) < edge.curve.length - 0.3:
                places["centre_front_end"] = edge.marks["centre_front_end"]
        elif edge.role in ("side", "back_princess"):
            places = {"waist": edge.marks["waist"]}
        else:
            continue
        for name, s in places.items():
            if name != without:
                s += (moved or {}).get(f"{edge.name} {name}", 0.0)
                notches.append(Notch(name, edge.name, edge.curve.point(edge.along(s)), (1.0, 0.0)))
    cut = tuple(e.curve for e in panel.edges)
    return Piece(
        f"{panel.name}, {layer}",
        panel.name,
        layer,  # type: ignore[arg-type]
        panel.side,
        2,
        True,
        False,
        panel.edges,
        cut,
        tuple(notches),
        (),
        panel.grain,
    )


def with_pieces(pattern: Pattern, spoilt: dict[str, Piece] | None = None) -> Pattern:
    pieces = tuple(piece(p, layer) for layer in ("shell", "lining") for p in pattern.panels)
    return replace(pattern, pieces=tuple((spoilt or {}).get(p.name, p) for p in pieces))
