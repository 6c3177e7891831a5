"""Notches: each on its net line, and each with its partner at the same place of the edge it is sewn to."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from coutil.pattern import Edge, Finding, Notch, NotchRef, Panel, Pattern, Piece, each_once, panel_ref, seam_ref
from coutil.pattern.seams import SEWN_END, stations
from coutil.plane import Pt
from coutil.words import Length

# A notch this far off its net line, in mm, is a defect one can see: the tolerance of the cut lines.
ON_LINE = 0.05
# A notch this near to its mark, in mm, is on it: rounding and nothing else.
ON_MARK = 1e-6
# Partners agree within this, in mm along the edge from the nearest mark below: the tolerance of the walk.
TOLERANCE = 0.3

# Layers of which a piece takes a stretch of the panel's edge.
PADS = ("foam", "web")

# A notch by name: its arc length from the edge's lower end and its distance from the edge, in mm.
Places = dict[str, tuple[float, float]]


def notch_findings(pattern: Pattern) -> list[Finding]:
    """A stop for every notch that lies off its net line or finds no partner at its place across the seam.

    Pieces are compared within a layer; what several layers have in common is said once. The notch at the end of the
    centre front, below the side front's peak, has no partner: it meets the end of the edge.
    """
    pieces: dict[tuple[str, str, str], list[Piece]] = {}
    for piece in pattern.pieces:
        pieces.setdefault((piece.panel, piece.side, piece.layer), []).append(piece)
    layers = dict.fromkeys(piece.layer for piece in pattern.pieces)
    measured: dict[tuple[int, Pt], tuple[float, float]] = {}
    out: list[Finding] = []

    for seam in pattern.seams:
        panels, edges = pattern.panels_of(seam), pattern.edges_of(seam)
        marks = [(a, b) for _, a, b in stations(pattern, seam)]
        for layer in layers:
            found = []
            for panel, edge in zip(panels, edges, strict=True):
                here = pieces.get((panel.name, panel.side, layer))
                if here is None:
                    break
                notches = [n for piece in here for n in piece.notches if n.edge == edge.name]
                own = _own_edge(here, edge)
                found.append({n.name: _measure(n, own, measured) for n in notches})
            else:
                for panel, places in zip(panels, found, strict=True):
                    for name, (_, off) in places.items():
                        if off > ON_LINE:
                            args = {"name": NotchRef(name), "off": Length(off)}
                            out.append(Finding("notch.off_net", "stop", panel_ref(panel), args))
                for code, args in _unmatched(found[0], found[1], panels, marks):
                    out.append(Finding(code, "stop", seam_ref(seam), args))
    return each_once(out)


def _own_edge(pieces: list[Piece], edge: Edge) -> Edge:
    """The edge as the layer is sewn along it: a lining may be smaller than its panel. Pads have but a stretch of it."""
    cut = (e for p in pieces if p.layer not in PADS for e in p.net if e.name == edge.name)
    return next(cut, edge)


def _measure(notch: Notch, edge: Edge, measured: dict[tuple[int, Pt], tuple[float, float]]) -> tuple[float, float]:
    # The nearest point of a curve is what this check would spend its time on. Layers share their notches, and most
    # notches lie right on the mark whose name they bear.
    key = (id(edge), notch.at)
    if key not in measured:
        mark = edge.marks.get(notch.name)
        if mark is not None and math.dist(edge.at(notch.name), notch.at) < ON_MARK:
            measured[key] = (mark, 0.0)
        else:
            s, off = edge.curve.nearest(notch.at)
            measured[key] = (edge.along(s), off)
    return measured[key]


def _unmatched(
    a: Places, b: Places, panels: tuple[Panel, Panel], marks: list[tuple[float, float]]
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Code and arguments of what is wrong with the notches of one seam."""
    for mine, others, panel, other in ((a, b, panels[0], panels[1]), (b, a, panels[1], panels[0])):
        for name in mine:
            if name not in others and not _ends_the_centre_front(name):
                yield "notch.alone", {"name": NotchRef(name), "panel": panel_ref(panel), "other": panel_ref(other)}
    for name in a:
        if name in b:
            from_mark_a, from_mark_b = _from_mark(a[name][0], b[name][0], marks)
            off = abs(from_mark_a - from_mark_b)
            if off > TOLERANCE:
                code = "notch.higher" if from_mark_a > from_mark_b else "notch.lower"
                yield (
                    code,
                    {"name": NotchRef(name), "a": panel_ref(panels[0]), "b": panel_ref(panels[1]), "off": Length(off)},
                )


def _from_mark(a: float, b: float, marks: list[tuple[float, float]]) -> tuple[float, float]:
    """Arc lengths of two partners, each from the highest mark of the seam that is no higher than the one on edge a."""
    below = max((m for m in marks if m[0] <= a + TOLERANCE), default=marks[0])
    return a - below[0], b - below[1]


def _ends_the_centre_front(name: str) -> bool:
    return name.replace(" ", "_") == SEWN_END
