"""Upper rims of pads: the top edge let down to where a pad starts, kept clear of the top on the way."""

from __future__ import annotations

from coutil.plane import Curve, Pt, shifted

# Distances between rims and edges are measured between polylines within this of their curves, in mm.
FLATNESS = 0.02


def let_down(line: Curve, start: Pt, end: Pt, top: Curve, dip: float, *, most: float) -> Curve:
    """A stretch along the top edge moved so that it runs from `start` to `end`; it keeps `dip` mm from `top`.

    Where it would come nearer it is bowed away to its left, as little as it takes and by `most` mm at most; where an
    end itself lies nearer, that is what was asked for, and the rim stays as it falls.
    """
    from shapely import LineString  # type: ignore[import-untyped]

    (ax, ay), (bx, by) = line.start, line.end
    first, last = (start[0] - ax, start[1] - ay), (end[0] - bx, end[1] - by)
    kept = LineString(top.points(tolerance=FLATNESS))
    tx, ty = line.tangent(line.length / 2.0)

    def bowed(by_mm: float) -> Curve:
        return shifted(line, first, last, (-ty * by_mm, tx * by_mm))

    def clear(made: Curve) -> bool:
        # Both are polylines: twice their flatness may be missing though the curves keep their distance.
        return bool(kept.distance(LineString(made.points(tolerance=FLATNESS))) >= dip - 2.0 * FLATNESS)

    made = bowed(0.0)
    if clear(made):
        return made
    low, high = 0.0, most
    if not clear(bowed(high)):
        return made
    for _ in range(16):
        middle = (low + high) / 2.0
        if clear(bowed(middle)):
            high = middle
        else:
            low = middle
    return bowed(high)
