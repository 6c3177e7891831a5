"""Outlines on the cloth: polygons that never cut into the curves they stand for, opened, halved and turned as laid.

A piece's coordinates have the grain upright; on the cloth it runs along x. Regions are shapely's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import ClassVar

from shapely import Polygon, box  # type: ignore[import-untyped]

from coutil.lay.engine import turn
from coutil.pattern import Piece
from coutil.pattern.model import INWARDS
from coutil.pattern.refs import PieceRef
from coutil.plane import Pt
from coutil.words import RefusingError

# A polygon may stand outside its curve by at most this, in mm (docs/method.md, lays).
OUTER = 0.2
# Corners of the grown polyline are cut off at this many times the distance it grows by: even a needle's corner, which
# is cut square, then ends within sqrt(1.7^2 + 1) = 1.97 times the distance.
OUTER_MITRE = 1.7
# Nothing that is cut lies this far away, in mm; NaN does not lie nearer either.
FARTHEST = 1e6
# Points this close together are one, in mm: a hundredth of what the lays are checked to.
SAME = 1e-7
# Added to a growth in mm, as shapely's own may fall short (seen: by 1e-7); far below the engine's slack.
ROUNDING = 1e-6
# Points this close to the fold's line lie on it, in mm: far below a thread.
ON_FOLD = 1e-3
# Sides whose directions differ by less, as the sine of the angle, are not run on until they meet: that is far away.
PARALLEL = 1e-6
# Half the width of a slit that a rough cut does not follow, in mm. Judgement, no source.
SLIT = 12.7


class ShapeError(RefusingError, ValueError):
    """A piece whose outline cannot be laid; says why."""

    room: ClassVar[str] = "lay"


def as_seen(piece: Piece) -> float:
    """+1 or -1: the factor for x with which a piece must be drawn so that the cutter sees the cloth's right side.

    A lining's right side looks at the body, so its pieces are seen from the other side than the shell's; interfacing
    is seen from its glue side, as the layer that it is fused to.
    """
    return piece.face_up * (-1.0 if piece.layer in INWARDS else 1.0)


def on_cloth(points: Sequence[Pt], flip: float) -> list[Pt]:
    """From a piece's coordinates to the cloth's: x times `flip`, then a quarter turn, so that y up becomes x along."""
    return [(y, -flip * x) for x, y in points]


def outline(piece: Piece, *, tolerance: float = OUTER) -> Polygon:
    """The cut outline on the cloth, whole (opened if on the fold), nowhere inside the curve, nowhere farther out than
    `tolerance` mm (absolute).

    Raises ShapeError if the outline is no simple region. Method: a polyline whose points lie on the curve and whose
    chords stay within half the tolerance of it, grown by that half. Corners grow to points, at most to the whole
    tolerance.
    """
    fine = true_outline(piece, tolerance=tolerance / 2)
    grown = fine.buffer(tolerance / 2, join_style="mitre", mitre_limit=OUTER_MITRE)
    if not isinstance(grown, Polygon) or grown.is_empty:
        raise ShapeError("shape_without_outline", PieceRef(piece.name), piece=piece.name)
    return plain(grown)


def true_outline(piece: Piece, *, tolerance: float) -> Polygon:
    """The cut outline on the cloth, whole, as a polygon whose points lie on the curves; raises ShapeError as above."""
    controls = (p for c in piece.cut for s in c.segments for p in (s.p0, s.p1, s.p2, s.p3))
    if not all(abs(p.x) < FARTHEST and abs(p.y) < FARTHEST for p in controls):
        raise ShapeError("shape_no_numbers", PieceRef(piece.name), piece=piece.name)
    points = on_cloth(piece.cut_outline(tolerance=tolerance), as_seen(piece))
    if len(points) < 3:
        raise ShapeError("shape_few_points", PieceRef(piece.name), piece=piece.name)
    if piece.on_fold:
        points = _on_fold(points)
    polygon = Polygon(points)
    if not polygon.is_valid or polygon.area <= 0.0:
        raise ShapeError("shape_crosses", PieceRef(piece.name), piece=piece.name)
    if piece.on_fold:
        opened = polygon.union(mirrored(polygon))
        if not isinstance(opened, Polygon) or opened.interiors:
            raise ShapeError("shape_off_fold", PieceRef(piece.name), piece=piece.name)
        polygon = opened
    return polygon


def _on_fold(points: Sequence[Pt]) -> list[Pt]:
    """Points near the fold put on it, and of a run of them the ends alone: what lies between may go to and fro."""
    put = [(x, 0.0 if abs(y) < ON_FOLD else y) for x, y in points]
    n = len(put)
    return [p for k, p in enumerate(put) if p[1] != 0.0 or put[k - 1][1] != 0.0 or put[(k + 1) % n][1] != 0.0]


def mirrored(polygon: Polygon) -> Polygon:
    """Turned over about the grain."""
    return Polygon([(x, -y) for x, y in reversed(ring(polygon))])


def turned(polygon: Polygon, degrees: float) -> Polygon:
    c, s = turn(degrees)
    return Polygon([(c * x - s * y, s * x + c * y) for x, y in ring(polygon)])


def moved(polygon: Polygon, dx: float, dy: float) -> Polygon:
    return Polygon([(x + dx, y + dy) for x, y in ring(polygon)])


def half(polygon: Polygon) -> Polygon:
    """What lies on the cloth of a symmetric outline whose middle (y = 0) lies on the fold."""
    x0, _, x1, y1 = polygon.bounds
    cut = polygon.intersection(box(x0 - 1.0, 0.0, x1 + 1.0, y1 + 1.0))
    if not isinstance(cut, Polygon):
        raise ShapeError("half_falls_apart")
    return plain(cut)


def plain(polygon: Polygon) -> Polygon:
    """Anticlockwise, without holes and without points on one another.

    An engine that lays no piece inside another loses nothing by the holes.
    """
    points = [p for p, q in _pairs(ring(polygon)) if math.dist(p, q) > SAME]
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in _pairs(points))
    return Polygon(points if area > 0.0 else points[::-1])


def _pairs(points: list[Pt]) -> Iterator[tuple[Pt, Pt]]:
    """Each point of a closed line with the one after it."""
    return zip(points, points[1:] + points[:1], strict=True)


def ring(polygon: Polygon) -> list[Pt]:
    """The outer points, first one not repeated."""
    return [(float(x), float(y)) for x, y in polygon.exterior.coords[:-1]]


def spaced(polygon: Polygon, distance: float) -> Polygon:
    """Grown by at least `distance` mm on all sides, with few points: what the engine keeps apart.

    Two outlines that are grown so and do not overlap are at least twice the distance apart. Corners are cut off
    straight, a tenth of the distance outside the round that would do.
    """
    if distance <= 0.0:
        return polygon
    grown = polygon.buffer(distance + ROUNDING, join_style="mitre", mitre_limit=1.1)
    if not isinstance(grown, Polygon):
        raise ShapeError("falls_apart")
    return plain(grown)


def straightened(polygon: Polygon, *, excess: float) -> Polygon:
    """A polygon of few straight sides that encloses `polygon`, larger by at most the part `excess` of its area.

    Greedy: again and again the corner or the side goes whose going adds the least area: a hollow corner is bridged, a
    side between two outer corners goes and its neighbours run on until they meet. Where that folds the outline, which
    takes a slit much narrower than its depth, the slit is closed first, which may add more than the `excess`.
    """
    points = ring(plain(polygon))
    allowed = polygon.area * excess
    costs = [_cost(points, i) for i in range(len(points))]
    while len(points) > 3:
        cheapest = min(range(len(points)), key=costs.__getitem__)
        if costs[cheapest] > allowed:
            break
        allowed -= costs[cheapest]
        at = _drop(points, costs, cheapest)
        # What a corner costs depends on itself, on the one before it and on the two after it.
        for k in range(at - 3, at + 3):
            costs[k % len(points)] = _cost(points, k % len(points))
    made = Polygon(points)
    # 1e-6 mm: the rounding of a meeting point, as wide as nothing.
    if made.is_valid and made.buffer(1e-6).covers(polygon):
        return made
    bridged = polygon.buffer(SLIT, quad_segs=2).buffer(-SLIT, quad_segs=2).union(polygon)
    if not isinstance(bridged, Polygon) or bridged.area <= polygon.area + 1.0:
        return polygon
    return straightened(bridged, excess=excess)


def _corners(points: list[Pt], i: int) -> tuple[Pt, Pt, Pt, Pt]:
    n = len(points)
    return points[i - 1], points[i], points[(i + 1) % n], points[(i + 2) % n]


def _cost(points: list[Pt], i: int) -> float:
    """Area added if the outline loses its hollow corner `i`, or else the side after it; infinite if it cannot."""
    a, b, c, d = _corners(points, i)
    bend = _cross(a, b, c)
    if bend <= 0.0:
        return -bend / 2.0
    meet = _meet(a, b, c, d) if _cross(b, c, d) > 0.0 else None
    return math.inf if meet is None else abs(_cross(b, meet, c)) / 2.0


def _drop(points: list[Pt], costs: list[float], i: int) -> int:
    """Take corner `i`, or the side after it, out of the lists; returns where they changed."""
    a, b, c, d = _corners(points, i)
    if _cross(a, b, c) > 0.0:
        meet = _meet(a, b, c, d)
        if meet is None:
            raise ValueError("this side cannot go")
        points[(i + 1) % len(points)] = meet
    del points[i], costs[i]
    return i


def _meet(a: Pt, b: Pt, c: Pt, d: Pt) -> Pt | None:
    """Where a-b run on beyond b and d-c run on beyond c meet; None if they run apart."""
    ux, uy = b[0] - a[0], b[1] - a[1]
    vx, vy = c[0] - d[0], c[1] - d[1]
    det = ux * vy - uy * vx
    # They run apart or side by side unless the outline turns by less than half a turn over both corners.
    if det >= -PARALLEL * (math.hypot(ux, uy) * math.hypot(vx, vy)):
        return None
    t = ((c[0] - b[0]) * vy - (c[1] - b[1]) * vx) / det
    return (b[0] + t * ux, b[1] + t * uy)


def _cross(a: Pt, b: Pt, c: Pt) -> float:
    """Twice the area of the triangle, positive if it turns left."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
