"""The pads: the cup layer's shape on each front panel, as sewn (common practice in the trade, no source).

Everything is drawn on the left half; a right half is turned over, drawn and turned back, so that both are alike.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from coutil.layers.centre_front_pad import centre_front_pad
from coutil.layers.half import Half, NoPad, inset_from, turned_over
from coutil.layers.side_front_pad import side_front_pad
from coutil.order import PadBuild
from coutil.pattern import Edge, Finding, Pad, PadRef, Pattern, Seam, seam_called
from coutil.plane import closed_points
from coutil.words import Length

# A pad may stray this far over its panel's net line, in mm: the tolerance of a cut line.
ON_LINE = 0.05
# Outlines are compared as polylines within this of their curves, in mm.
FLATNESS = 0.02
# A rim that turns by more than this at the underbust is told, in radians: less is lost in the foam's give (no source).
TOLD_TURN = math.radians(5.0)
# A pad smaller than this, in mm², is no cup but a sliver (5 cm²; a way of speaking, no source).
SMALLEST = 500.0


def pads(pattern: Pattern, build: PadBuild) -> tuple[tuple[Pad, ...], tuple[Finding, ...]]:
    """Both pads of each cup, or a stop that says what stands in the way; then that cup has no pad at all.

    The side front's pad runs on from the centre front's at the underbust: the angles of their lower rims with the seam
    add up to a straight line. Where they cannot, a note says by how much the rim turns.
    """
    made: list[Pad] = []
    findings: list[Finding] = []
    for seam in pattern.cup_seams:
        if not _padded(pattern, seam):
            continue
        outer = pattern.panel_of(seam.b)
        try:
            pair, turn = _cup(pattern, seam, build)
        except NoPad as why:
            findings.append(why.finding)
            continue
        made += pair
        if turn > TOLD_TURN:
            args = {"angle": math.degrees(turn), "seam": seam_called(pattern.edge_of(seam.a))}
            findings.append(Finding("pad.lower_rims", "note", PadRef(outer.name, outer.side), args))
    return tuple(made), tuple(findings)


def _padded(pattern: Pattern, seam: Seam) -> bool:
    """Whether the pattern tells where the pads of a cup seam belong.

    A pattern that was brought in may lack the bust point, the underbust or an edge; the room that read it says so.
    """
    return all(
        "bust_point" in panel.points
        and "underbust" in panel.levels
        and any(e.kind == "top" for e in panel.edges)
        and any(e.kind in ("seam", "centre") and e.name != ref.edge for e in panel.edges)
        for panel, ref in zip(pattern.panels_of(seam), (seam.a, seam.b), strict=True)
    )


def _cup(pattern: Pattern, seam: Seam, build: PadBuild) -> tuple[tuple[Pad, Pad], float]:
    """Both pads of one cup, and by how much their lower rim turns at the underbust, in radians."""
    right = seam.side == "right"
    a, b = (Half.of(pattern.panel_of(ref), pattern.edge_of(ref), turned=right) for ref in (seam.a, seam.b))
    inner, corner = centre_front_pad(a, build)
    beside = replace(build, side_inset=inset_from(b.other, build.side_inset))
    outer, turn = side_front_pad(b, beside, math.pi - corner)
    pair = []
    for half, rims in ((a, inner), (b, outer)):
        _refuse_unsound(half, rims)
        pair.append(Pad(half.name, half.side, turned_over(rims) if right else rims))
    return (pair[0], pair[1]), turn


def _refuse_unsound(half: Half, edges: tuple[Edge, ...]) -> None:
    """Raise NoPad unless the pad is simple, anticlockwise, of some size and inside its panel's net line."""
    import shapely  # type: ignore[import-untyped]

    pad = shapely.polygons(closed_points((e.curve for e in edges), tolerance=FLATNESS))
    ring = shapely.get_exterior_ring(pad)
    if not shapely.is_simple(ring) or not shapely.is_ccw(ring) or shapely.area(pad) < SMALLEST:
        raise half.stop("no_pad.crossed")
    panel = shapely.polygons(closed_points((e.curve for e in half.edges), tolerance=FLATNESS))
    far = max(_beyond(pad, panel), _hollow(pad, panel))
    if far > ON_LINE:
        raise half.stop("no_pad.over_net", off=Length(far, "full"))


def _beyond(pad: Any, panel: Any) -> float:
    """How far the farthest of the pad's points lies outside the panel, in mm."""
    import shapely

    points = shapely.get_coordinates(pad)
    shapely.prepare(panel)
    outside = points[~shapely.contains_xy(panel, points)]
    return float(shapely.distance(panel, shapely.points(outside)).max(initial=0.0))


def _hollow(pad: Any, panel: Any) -> float:
    """How deep the panel's outline dips into the pad, in mm: seen where a straight rim has no points of its own."""
    import shapely

    points = shapely.get_coordinates(panel)
    shapely.prepare(pad)
    inside = points[shapely.contains_xy(pad, points)]
    return float(shapely.distance(shapely.get_exterior_ring(pad), shapely.points(inside)).max(initial=0.0))
