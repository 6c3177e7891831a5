"""The pad: inside its panel, with its clearances, and on the same stretch of the princess seam in both panels."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain

import shapely  # type: ignore[import-untyped]

from coutil.check.words import length, panel_words, precise
from coutil.pattern import Edge, Finding, Pad, Panel, Pattern
from coutil.pattern.model import Side
from coutil.pattern.seams import sewn_length
from coutil.plane import Pt

# Polylines of pads and panels stay within this of their curves, in mm (absolute).
FLATNESS = 0.02
# A pad may stray this far over its net line or beside the princess edge, in mm: the tolerance of the cut
# lines, twice the flatness above and rounding.
ON_LINE = 0.05
# Places and clearances agree within this, in mm: the tolerance of the walk.
TOLERANCE = 0.3


def pad_findings(pattern: Pattern, *, top_drop: float, side_inset: float, side_dip: float) -> list[Finding]:
    """A stop for every pad that leaves its panel, comes too near its edges or does not meet its neighbour.

    In mm: `top_drop` is how far below the end of the centre front's princess edge the pad starts, `side_inset` and
    `side_dip` what it keeps from the side front's side seam and top.
    """
    out: list[Finding] = []
    cup_edges = {(r.panel, r.side): pattern.edge_of(r) for s in pattern.cup_seams for r in (s.a, s.b)}
    outer = {(s.b.panel, s.b.side) for s in pattern.cup_seams}
    spans: dict[Side, list[_Span]] = {}
    for pad in pattern.pads:
        panel = pattern.panel(pad.panel, pad.side)
        edge = cup_edges[panel.name, panel.side]
        span = _span(pad, edge)
        out += _inside(pad, panel)
        if span is None:
            out.append(_stop(panel, "The pad has no edge on the princess seam. Draw it again from the panel."))
        else:
            spans.setdefault(pad.side, []).append(span)
            out += _princess(span, panel, edge, top_drop)
        if (panel.name, panel.side) in outer:
            beyond = next(e for e in panel.edges if e.kind in ("seam", "centre") and e.name != edge.name)
            out += _clear(pad, panel, beyond, side_inset)
            out += _clear(pad, panel, next(e for e in panel.edges if e.kind == "top"), side_dip)
    for side, pair in spans.items():
        if len(pair) == 2:
            out += _arcs_match(side, *pair)
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
    return [_stop(panel, f"The pad reaches {length(out)} over the net line of its panel. Draw its rim further in.")]


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


def _princess(span: _Span, panel: Panel, edge: Edge, top_drop: float) -> list[Finding]:
    """The pad's sewn edge lies on the panel's, from the underbust to `top_drop` below the end of the centre front."""
    low, high, off = span.low, span.high, span.off
    out = []
    if off > ON_LINE:
        out.append(_stop(panel, f"The pad's princess edge lies {length(off)} beside the panel's. Trace it again."))
    start = sewn_length(edge) - high
    if abs(start - top_drop) > TOLERANCE:
        out.append(
            _stop(
                panel,
                f"The pad starts {precise(start)} below the end of the centre front, where {precise(top_drop)} is "
                "wanted. Move its start along the princess edge.",
            )
        )
    if "underbust" in edge.marks and abs(low - edge.marks["underbust"]) > TOLERANCE:
        out.append(
            _stop(
                panel,
                f"The pad ends {length(abs(low - edge.marks['underbust']))} "
                f"{'above' if low > edge.marks['underbust'] else 'below'} the underbust on the princess edge. "
                "End it there.",
            )
        )
    return out


def _span(pad: Pad, edge: Edge) -> _Span | None:
    sewn = [e.curve for e in pad.edges if e.role == edge.role]
    if not sewn:
        return None
    found = [edge.curve.nearest(p) for c in sewn for p in (c.start, c.point(c.length / 2.0), c.end)]
    along = [edge.along(s) for s, _ in found]
    low, high, middle = min(along), max(along), edge.marks["bust_point"]
    return _Span(middle - low, high - middle, low, high, max(d for _, d in found))


def _clear(pad: Pad, panel: Panel, edge: Edge, wanted: float) -> list[Finding]:
    rim = shapely.linestrings(
        list(chain.from_iterable(e.curve.points(tolerance=FLATNESS) for e in pad.edges if e.role == "pad_rim"))
    )
    kept = float(shapely.distance(rim, shapely.linestrings(edge.curve.points(tolerance=FLATNESS))))
    if kept >= wanted - TOLERANCE:
        return []
    what = "the top edge" if edge.kind == "top" else f"the {edge.role.replace('_', ' ')} seam"
    return [
        _stop(
            panel,
            f"The pad comes within {precise(kept)} of {what}, where {precise(wanted)} is wanted. Move its rim in by "
            f"{length(wanted - kept)}.",
        )
    ]


def _arcs_match(side: Side, one: _Span, other: _Span) -> list[Finding]:
    """Both pads of a cup take the same stretch of the princess seam, counted from the bust point."""
    return [
        Finding(
            "stop",
            "pad" if side == "both" else f"{side} pad",
            f"{where} the bust point the two halves of the pad differ by {length(abs(a - b))} along the princess seam. "
            "Take both from the same marks.",
        )
        for where, a, b in (("Below", one.below, other.below), ("Above", one.above, other.above))
        if abs(a - b) > TOLERANCE
    ]


def _stop(panel: Panel, says: str) -> Finding:
    return Finding("stop", f"{panel_words(panel)} pad", says)
