"""Soundness of a panel: its outline and the run of its edges.

An outline is simple, closed, anticlockwise and of positive area. An edge runs smoothly: no break of its tangent, no
bend tighter than can be sewn, no wiggle; the grain lies inside.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import shapely  # type: ignore[import-untyped]
from kurbopy import CubicBez

from coutil.pattern import LEVELS, Edge, EdgeRef, Finding, MarkRef, Panel, Pattern, panel_ref, place, the_edge
from coutil.plane import Curve, Pt, bend_bound
from coutil.words import Length

# Outlines are looked at as polylines within this of the curves, in mm (absolute): that of the pattern file.
FLATNESS = 0.02
# Edges that end further apart than this, in mm, leave the outline open. Far above rounding, far below a pencil line.
GAP = 1e-3
# The tangent may jump this much, in degrees, where two pieces of an edge are joined: over 20 cm of a panel it moves a
# line by 0.02 mm at most, the flatness above. Rounding stays a million times below.
BREAK = 0.02
# No bend tighter than this radius, in mm: requirement of the project (a half-inch allowance clipped and turned over a
# smaller one does not lie flat; common practice, no source).
TIGHTEST = 8.0
# Within this of an edge's ends, in mm, a bend belongs to the corner there. A pen's width on either side of it; set by
# judgement, no source.
CORNER = 2.0
# Curvature is looked at this many times along each Bézier, both ends included; where a sample comes near the limit, the
# Bézier is gone through again eight times as finely. Steps of equal parameter lie close together where a cubic bends
# tightly, since it is slow there. On random cubics the tests find radii down to 4 mm to 1 % this way.
SAMPLES = 33
FINER = 8
# A turn of more than this between two of the fine samples, in radians (30 degrees), is a point at which the line turns
# about, and which no sample may have hit.
ABOUT_TURN = math.pi / 6.0
# A stretch that bends the other way counts as a wiggle only if it turns by more than this, in degrees. A stretch of
# length L that turns by this angle strays L/2300 from its chord (L * angle / 8, the height of a flat arc): 0.04 mm on
# 10 cm, thinner than a pencil line. Below it lie rounding and numerically straight stretches.
DEAD_TURN = 0.2


def sound_findings(pattern: Pattern, *, breaks: float = BREAK, turns: float = DEAD_TURN) -> list[Finding]:
    """A stop for whatever makes a panel's shape unfit to be cut; `breaks` and `turns` as for `panel_findings`.

    A wiggle is told from the run of a whole edge by the levels, so panels without any are not looked at for it.
    """
    return [
        finding
        for panel in pattern.panels
        for finding in panel_findings(panel, wiggles=bool(panel.levels), breaks=breaks, turns=turns)
    ]


def panel_findings(
    panel: Panel, *, wiggles: bool = True, breaks: float = BREAK, turns: float = DEAD_TURN
) -> Iterator[Finding]:
    """What is wrong with one panel's shape: outline, fold, grain, then edge by edge.

    A break counts above `breaks` degrees, a bend the other way above `turns`. Without `wiggles` that one is passed
    over: it needs levels to tell a wiggle from the run of a whole edge.
    """
    yield from _outline(panel)
    yield from _fold(panel)
    for edge in panel.edges:
        yield from _breaks(panel, edge, breaks)
        yield from _tight_bends(panel, edge)
        if wiggles:
            yield from _wiggles(panel, edge, turns)


def _outline(panel: Panel) -> Iterator[Finding]:
    for first, then in zip(panel.edges, (*panel.edges[1:], panel.edges[0]), strict=True):
        apart = math.dist(first.curve.end, then.curve.start)
        if apart > GAP:
            yield _stop(
                panel,
                "outline.open",
                first=the_edge(panel, first),
                apart=Length(apart),
                then=the_edge(panel, then),
                place=place(panel, first.curve.end),
            )
            return
    points = panel.outline(tolerance=FLATNESS)
    ring = shapely.linearrings(points)
    if not shapely.is_simple(ring):
        # The reason bears the place: "Self-intersection[x y]".
        reason = shapely.is_valid_reason(shapely.polygons(ring))
        where = reason.partition("[")[2].rstrip("]").split()
        if len(where) == 2:
            yield _stop(panel, "outline.crossed_at", place=place(panel, (float(where[0]), float(where[1]))))
        else:
            yield _stop(panel, "outline.crossed")
        return
    area = signed_area(points)
    if area <= 0.0:
        yield _stop(panel, "outline.clockwise" if area < 0.0 else "outline.empty")
        return
    grain = shapely.linestrings(panel.grain)
    if math.dist(*panel.grain) < GAP or not shapely.covers(shapely.polygons(ring), grain):
        yield _stop(panel, "outline.grain")


def signed_area(points: list[Pt]) -> float:
    """Area in mm² of the closed polyline, positive if it runs anticlockwise (the surveyor's formula)."""
    total = 0.0
    x0, y0 = points[-1]
    for x1, y1 in points:
        total += x0 * y1 - x1 * y0
        x0, y0 = x1, y1
    return total / 2.0


def _fold(panel: Panel) -> Iterator[Finding]:
    if panel.fold is None:
        return
    curve = panel.edge(panel.fold).curve
    (x0, y0), (x1, y1) = curve.start, curve.end
    chord = math.dist(curve.start, curve.end)
    off = max((abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) / chord for x, y in curve.points(tolerance=FLATNESS)))
    if off > FLATNESS:
        yield _stop(panel, "run.fold", fold=EdgeRef(panel.name, panel.fold, panel.side), off=Length(off))


def _breaks(panel: Panel, edge: Edge, most: float) -> Iterator[Finding]:
    for k, angle in enumerate(edge.curve.turns()):
        if abs(angle) > math.radians(most):
            p = edge.curve.segments[k].p3
            yield _stop(
                panel,
                "run.break",
                edge=the_edge(panel, edge),
                angle=abs(math.degrees(angle)),
                place=place(panel, (p.x, p.y)),
            )


def _tight_bends(panel: Panel, edge: Edge) -> Iterator[Finding]:
    found = sharpest(edge.curve)
    if found is not None and found[0] * TIGHTEST > 1.0 + 1e-9:
        curvature, at = found
        yield _stop(
            panel,
            "run.bend",
            edge=the_edge(panel, edge),
            radius=Length(1.0 / curvature),
            place=place(panel, at),
            least=Length(TIGHTEST),
        )


def sharpest(curve: Curve) -> tuple[float, Pt] | None:
    """The greatest curvature (1/mm, no sign) further than CORNER from both ends, and where; None if far from the limit.

    Far from it is a radius of more than twice TIGHTEST.
    """
    best: tuple[float, Pt] | None = None
    ends = curve.start, curve.end
    for segment in curve.segments:
        if not _suspect(segment):
            continue
        steps = FINER * (SAMPLES - 1)
        derivative = segment.deriv()
        p, v = segment.p0, derivative.eval(0.0)
        for k in range(1, steps + 1):
            t = k / steps
            before, was = p, v
            p, v = segment.eval(t), derivative.eval(t)
            at = (p.x, p.y)
            if min(math.dist(at, ends[0]), math.dist(at, ends[1])) < CORNER:
                continue
            curvature = abs(segment.curvature(t))
            turn = abs(math.atan2(was.x * v.y - was.y * v.x, was.x * v.x + was.y * v.y))
            if turn > ABOUT_TURN:
                # Somewhere on the way it bends at least as tightly as on the whole.
                curvature = max(curvature, turn / max(math.dist(at, (before.x, before.y)), 1e-9))
            # Where a control point lies on its end there is no curvature (NaN) in that very point.
            if not math.isnan(curvature) and (best is None or curvature > best[0]):
                best = (curvature, at)
    return best


def _suspect(segment: CubicBez) -> bool:
    """Whether a Bézier may bend more tightly than half the limit allows, or may come to a point."""
    # The directions of its tangents lie between those from control point to control point: while no two of these
    # stand at a right angle or more, it cannot turn about on the spot where no sample may lie.
    p = (segment.p0, segment.p1, segment.p2, segment.p3)
    (ax, ay), (bx, by), (cx, cy) = ((b.x - a.x, b.y - a.y) for a, b in pairwise(p))
    if min(ax * bx + ay * by, bx * cx + by * cy, ax * cx + ay * cy) <= 0.0:
        return True
    # Most are far from the limit; the bound tells that without a sample.
    if bend_bound(segment) < 0.5 / TIGHTEST:
        return False
    return max(abs(segment.curvature(k / (SAMPLES - 1))) for k in range(SAMPLES)) > 0.5 / TIGHTEST


def _wiggles(panel: Panel, edge: Edge, least: float) -> Iterator[Finding]:
    places = sorted((edge.along(edge.marks[name]), name) for name in LEVELS if name in edge.marks)
    ends = ("hem", "top") if edge.rising else ("top", "hem")
    if edge.kind in ("top", "hem"):
        places, ends = [], ("one end", "other end")
    stops = [(0.0, ends[0]), *places, (edge.curve.length, ends[1])]
    found = bends(edge.curve, [s for s, _ in stops], least=least)
    for ((s0, low), (s1, high)), turns in zip(pairwise(stops), found, strict=True):
        if len(turns) > 2 and s1 > s0:
            yield _stop(
                panel,
                "run.wiggle",
                edge=the_edge(panel, edge),
                low=MarkRef(low),
                high=MarkRef(high),
                times=len(turns),
            )


def bends(curve: Curve, stops: list[float], *, least: float = DEAD_TURN) -> list[list[float]]:
    """Between each two neighbouring `stops` (arc lengths, ascending): the turns in radians of its bends, in order.

    A bend is a stretch that turns one way, positive to the left; neighbouring bends turn opposite ways, so the
    curvature changes sign once less than there are bends. Bends of less than `least` degrees are left out. Exact: a
    cubic is split at its inflections, and between them its turn is the difference of its headings.
    """
    out = []
    start = [curve.locate(s) for s in stops]
    splits = [sorted(t for t in s.inflections() if 0.0 < t < 1.0) for s in curve.segments]
    for (i0, t0), (i1, t1) in pairwise(start):
        turns: list[float] = []
        for i in range(i0, i1 + 1):
            a, b = (t0 if i == i0 else 0.0), (t1 if i == i1 else 1.0)
            if b > a:
                inner = [t for t in splits[i] if a < t < b]
                turns += _turns(curve, i, [a, *inner, b])
        out.append(_merged(turns, math.radians(least)))
    return out


def _turns(curve: Curve, i: int, parameters: list[float]) -> list[float]:
    """Turn of one cubic between neighbouring parameters that hold no inflection between them."""
    derivative = curve.segments[i].deriv()
    out = []
    # Close to the ends rather than at them: a control point that lies on its end leaves no direction there.
    near = [min(max(t, 1e-7), 1.0 - 1e-7) for t in parameters]
    v = derivative.eval(near[0])
    for t in near[1:]:
        w = derivative.eval(t)
        out.append(math.atan2(v.x * w.y - v.y * w.x, v.x * w.x + v.y * w.y))
        v = w
    return out


def _merged(turns: list[float], small: float) -> list[float]:
    """Neighbouring turns the same way added up, small ones then dropped, and what is left added up again."""
    for least in (0.0, small):
        out: list[float] = []
        for turn in turns:
            if abs(turn) <= least:
                continue
            if out and (out[-1] > 0.0) == (turn > 0.0):
                out[-1] += turn
            else:
                out.append(turn)
        turns = out
    return turns


def _stop(panel: Panel, code: str, /, **args: Any) -> Finding:
    return Finding(code, "stop", panel_ref(panel), args)
