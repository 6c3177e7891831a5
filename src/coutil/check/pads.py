"""The pad: inside its panel, with its clearances, and on the same stretch of the cup seam in both panels."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import chain
from typing import Any

import shapely  # type: ignore[import-untyped]

from coutil.layers import inset_from
from coutil.pattern import (
    Edge,
    Finding,
    LayerRef,
    Pad,
    PadRef,
    Panel,
    PanelRef,
    Pattern,
    edge_called,
    edge_ref,
    part,
    seam_called,
)
from coutil.pattern.model import Side
from coutil.pattern.seams import sewn_length
from coutil.plane import Pt
from coutil.seaming import PAD_RIM
from coutil.words import Length, Told

# Polylines of pads and panels stay within this of their curves, in mm (absolute).
FLATNESS = 0.02
# A pad may stray this far over its net line or beside the princess edge, in mm: the tolerance of the cut
# lines, twice the flatness above and rounding.
ON_LINE = 0.05
# Places and clearances agree within this, in mm: the tolerance of the walk.
TOLERANCE = 0.3
# The layers that carry bones; a facing lies within the shell's marks.
BONED_LAYERS = ("shell", "strength", "lining")


def pad_findings(
    pattern: Pattern,
    *,
    top_drop: float,
    side_inset: float,
    side_dip: float,
    front_dip: float = 0.0,
    apart: float = 0.0,
    beyond: float = math.inf,
) -> list[Finding]:
    """A stop for every pad that leaves its panel, comes too near its edges or does not meet its neighbour.

    In mm: `top_drop` is how far below the end of the inner panel's edge on the cup seam the pad starts, `side_inset`
    and `side_dip` what it keeps from the far edge and the top of the outer panel, `front_dip` what it keeps from the
    top of the inner one, `apart` what both pads keep from each other over the centre, `beyond` how far the outer one
    reaches over the root of the breast. Pads on panels without a cup seam are passed over.
    """
    out: list[Finding] = []
    spans: dict[Side, list[_Span]] = {}
    sewn: dict[Side, Edge] = {}
    for pad in pattern.pads:
        panel = pattern.panel(pad.panel, pad.side)
        edge = pattern.cup_edge(panel)
        if edge is None:
            continue
        inner, outer = pattern.panels_of(pattern.cup_seam(pad.side))
        span = _span(pad, edge)
        out += _inside(pad, panel)
        if span is None:
            out.append(_stop(panel, "pad.no_sewn_edge", seam=seam_called(edge)))
        else:
            spans.setdefault(pad.side, []).append(span)
            sewn.setdefault(pad.side, edge)
            out += _along(span, panel, edge, inner.name, top_drop)
        far = next(e for e in panel.edges if e.kind in ("seam", "centre") and e.name != edge.name)
        if panel.name == inner.name:
            top = next(e for e in panel.edges if e.kind == "top")
            out += _clear(pad, panel, top, part("top_edge"), _from_top(pad, top, front_dip))
            out += _clear(pad, panel, far, part("seam", edge=edge_ref(panel, far)), apart / 2.0)
        if panel.name == outer.name:
            out += _within(pad, panel, edge, beyond)
            out += _clear(pad, panel, far, part("seam", edge=edge_ref(panel, far)), inset_from(far, side_inset))
            top = next(e for e in panel.edges if e.kind == "top")
            out += _clear(pad, panel, top, part("top_edge"), _from_top(pad, top, side_dip))
    for side, pair in spans.items():
        if len(pair) == 2:
            out += _arcs_match(side, sewn[side], *pair)
    return out


def over_channels(pattern: Pattern) -> list[Finding]:
    """A stop for every pad that lies over a channel drawn on a piece of its panel; each pad and layer once.

    Common practice, no source: no bone lies over a cup, where it would flatten what the seam shapes.
    """
    out: list[Finding] = []
    for pad in pattern.pads:
        panel = pattern.panel(pad.panel, pad.side)
        area = shapely.polygons(pad.outline(tolerance=FLATNESS))
        for piece in pattern.pieces:
            if (piece.panel, piece.side) != (pad.panel, pad.side) or piece.layer not in BONED_LAYERS:
                continue
            lines = [
                shapely.linestrings([p for c in drawn.run for p in c.points(tolerance=FLATNESS)])
                for drawn in piece.lines
                if drawn.what == "channel"
            ]
            over = max((float(shapely.length(shapely.intersection(area, line))) for line in lines), default=0.0)
            if over > TOLERANCE:
                out.append(_stop(panel, "pad.on_channel", over=Length(over, "precise"), layer=LayerRef(piece.layer)))
    return out


@dataclass(frozen=True, slots=True)
class _Span:
    """Where a pad's sewn edge lies on its panel's, in mm: below and above the bust point, and from the lower end.

    `off` is how far beside the panel's edge it strays.
    """

    below: float
    above: float
    low: float
    high: float
    off: float


def _inside(pad: Pad, panel: Panel) -> list[Finding]:
    rim, around = pad.outline(tolerance=FLATNESS), panel.outline(tolerance=FLATNESS)
    out = max(_straying(rim, around, inside=True), _straying(around, rim, inside=False))
    if out <= ON_LINE:
        return []
    return [_stop(panel, "pad.over_net", off=Length(out))]


def _straying(points: list[Pt], outline: list[Pt], *, inside: bool) -> float:
    """How far the worst of the points lies on the wrong side of the outline, in mm; 0 if none does."""
    area = shapely.polygons(outline)
    shapely.prepare(area)
    xs, ys = zip(*points, strict=True)
    wrong = shapely.contains_xy(area, xs, ys) != inside
    if not wrong.any():
        return 0.0
    off = shapely.distance(
        shapely.get_exterior_ring(area), shapely.points([p for p, w in zip(points, wrong, strict=True) if w])
    )
    return float(off.max())


def _along(span: _Span, panel: Panel, edge: Edge, inner: str, top_drop: float) -> list[Finding]:
    """The pad's sewn edge lies on the panel's, from the underbust to `top_drop` below the end of the inner panel's."""
    low, high, off = span.low, span.high, span.off
    called = edge_called(edge)
    out = []
    if off > ON_LINE:
        out.append(_stop(panel, "pad.beside_edge", edge=called, off=Length(off)))
    start = sewn_length(edge) - high
    if abs(start - top_drop) > TOLERANCE:
        found, wanted = Length(start, "precise"), Length(top_drop, "precise")
        out.append(_stop(panel, "pad.start", found=found, inner=PanelRef(inner), wanted=wanted, edge=called))
    beyond = low - edge.marks.get("underbust", low)
    if abs(beyond) > TOLERANCE:
        code = "pad.above_underbust" if beyond > 0.0 else "pad.below_underbust"
        out.append(_stop(panel, code, off=Length(abs(beyond)), edge=called))
    return out


def _span(pad: Pad, edge: Edge) -> _Span | None:
    sewn = [e.curve for e in pad.edges if e.role == edge.role]
    if not sewn:
        return None
    found = [edge.curve.nearest(p) for c in sewn for p in (c.start, c.point(c.length / 2.0), c.end)]
    along = [edge.along(s) for s, _ in found]
    low, high, middle = min(along), max(along), edge.marks["bust_point"]
    return _Span(middle - low, high - middle, low, high, max(d for _, d in found))


def _from_top(pad: Pad, top: Edge, wanted: float) -> float:
    """What a pad keeps from the top: where that rises steeply to the cup seam, no more than its start there has."""
    try:
        start = pad.sewn.upward().end
    except StopIteration:
        return wanted
    away = shapely.distance(shapely.Point(start), shapely.linestrings(top.curve.points(tolerance=FLATNESS)))
    return min(wanted, float(away))


def _clear(pad: Pad, panel: Panel, edge: Edge, called: Told, wanted: float) -> list[Finding]:
    rim = shapely.linestrings(
        list(chain.from_iterable(e.curve.points(tolerance=FLATNESS) for e in pad.edges if e.role == PAD_RIM))
    )
    kept = float(shapely.distance(rim, shapely.linestrings(edge.curve.points(tolerance=FLATNESS))))
    if kept >= wanted - TOLERANCE:
        return []
    return [
        _stop(
            panel,
            "pad.near",
            kept=Length(kept, "precise"),
            what=called,
            wanted=Length(wanted, "precise"),
            off=Length(wanted - kept),
        )
    ]


def _within(pad: Pad, panel: Panel, edge: Edge, beyond: float) -> list[Finding]:
    """The outer pad reaches outwards no farther than `beyond` over the root of the breast."""
    if "underbust" not in edge.marks or "bust_point" not in edge.marks:
        return []
    root = edge.marks["bust_point"] - edge.marks["underbust"]
    middle = edge.at("bust_point")[0]
    outwards = -1.0 if panel.side == "right" else 1.0
    reach = max(outwards * (x - middle) for x, _ in pad.outline(tolerance=FLATNESS)) - root
    if reach <= beyond + TOLERANCE:
        return []
    return [_stop(panel, "pad.beyond", reach=Length(reach, "precise"), wanted=Length(beyond, "precise"))]


def _arcs_match(side: Side, edge: Edge, one: _Span, other: _Span) -> list[Finding]:
    """Both pads of a cup take the same stretch of the cup seam, counted from the bust point."""
    return [
        Finding(code, "stop", PadRef(None, side), {"off": Length(abs(a - b)), "seam": seam_called(edge)})
        for code, a, b in (
            ("pad.halves_below", one.below, other.below),
            ("pad.halves_above", one.above, other.above),
        )
        if abs(a - b) > TOLERANCE
    ]


def _stop(panel: Panel, code: str, /, **args: Any) -> Finding:
    return Finding(code, "stop", PadRef(panel.name, panel.side), args)
