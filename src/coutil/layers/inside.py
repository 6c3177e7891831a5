"""Lines inside a panel: at a distance from one of its edges, or upright at a place; ended where the panel ends."""

from __future__ import annotations

from coutil.pattern import Edge, Panel
from coutil.plane import Curve, Pt, line
from coutil.plane.offset import OffsetError, meet, parallel

# A line inside a panel lies this near to where it should, in mm: as cut lines do.
TOLERANCE = 0.01
# Upright lines are ended on polylines within this of the panel's curves, in mm.
FLATNESS = 0.02


def neighbours(panel: Panel, edge: Edge) -> tuple[Edge, Edge]:
    """The edges before and after an edge, along the anticlockwise outline."""
    k = next(i for i, e in enumerate(panel.edges) if e.name == edge.name)
    return panel.edges[k - 1], panel.edges[(k + 1) % len(panel.edges)]


def beside_edge(panel: Panel, edge: Edge, away: float) -> tuple[Curve, float, float] | None:
    """The line `away` mm inside an edge, in the edge's direction, from neighbour to neighbour.

    With it the arc lengths on the edge before and on the edge after at which it ends. None where the panel is too
    narrow for it, or bends too sharply.
    """
    before, after = neighbours(panel, edge)
    if away == 0.0:
        return edge.curve, before.curve.length, 0.0
    try:
        made = parallel(edge.curve, away, tolerance=TOLERANCE)
    except OffsetError:
        return None
    low = meet(made, 0.0, before.curve, before.curve.length)
    high = meet(made, made.length, after.curve, 0.0)
    if low is None or high is None or low[0] >= high[0]:
        return None
    if not (0.0 <= low[1] <= before.curve.length and 0.0 <= high[1] <= after.curve.length):
        return None
    return between(made, low[0], high[0]), low[1], high[1]


def between(curve: Curve, start: float, end: float) -> Curve:
    """The curve from one arc length to another, run on straight where these lie beyond its ends."""
    made = curve.part(max(start, 0.0), min(end, curve.length))
    if start < 0.0:
        (x, y), (tx, ty) = curve.start, curve.tangent(0.0)
        made = line((x + start * tx, y + start * ty), curve.start).then(made)
    if end > curve.length:
        (x, y), (tx, ty), on = curve.end, curve.tangent(curve.length), end - curve.length
        made = made.then(line(curve.end, (x + on * tx, y + on * ty)))
    return made


def upright(panel: Panel, x: float, through: float, *, clear: float = 0.0) -> tuple[Pt, Pt] | None:
    """The upright line at x inside the panel, from the hem up, that passes the height `through`.

    None where the panel does not reach it there, or has less than `clear` mm on either side of any part of it.
    """
    import shapely  # type: ignore[import-untyped]

    area = shapely.polygons(panel.outline(tolerance=FLATNESS))
    _, low, _, high = shapely.bounds(area)
    whole = shapely.linestrings([(x, low - 1.0), (x, high + 1.0)])
    for part in shapely.get_parts(shapely.intersection(area, whole)):
        if shapely.get_type_id(part) != 1 or shapely.is_empty(part):
            continue
        ys = sorted(float(y) for _, y in shapely.get_coordinates(part))
        if ys[0] <= through <= ys[-1]:
            sides = [e for e in panel.edges if e.kind in ("seam", "centre")]
            near = min(
                float(shapely.distance(part, shapely.linestrings(e.curve.points(tolerance=FLATNESS)))) for e in sides
            )
            return None if near < clear else ((x, ys[0]), (x, ys[-1]))
    return None


def inwards(edge: Edge, s: float, away: float) -> Pt:
    """The point `away` mm inside an edge, `s` mm from its lower end."""
    along = edge.along(s)
    (x, y), (tx, ty) = edge.curve.point(along), edge.curve.tangent(along)
    # The outline is anticlockwise: inside is to the left of travel.
    return (x - away * ty, y + away * tx)
