"""Interfacing pieced from remnants: a block in two parts that overlap, where no remnant takes it whole.

The join runs across the grain, so that neither part is turned off it, and keeps away from the bust point, where a
doubled edge would press through the fullest place. (Common practice, no source: interfacing may be pieced from scraps.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import Polygon, box  # type: ignore[import-untyped]

from coutil.lay.engine import extent
from coutil.lay.model import Placement
from coutil.lay.shapes import moved, plain, ring, turned
from coutil.lay.wants import Copies

# Layers that may be pieced.
PIECED = frozenset({"interfacing", "lining_interfacing"})
# Overlap of the two parts in mm (common practice, no source).
OVERLAP = 10.0
# The overlap keeps this far from the bust point, in mm (judgement, no source).
BUST_CLEAR = 15.0
# Where a join is tried: every so many mm. The middle comes first, since halves need the smallest remnants.
STEP = 10.0
# A part shorter than this is not worth its join, in mm (judgement, no source).
LEAST_PART = 60.0


@dataclass(frozen=True, slots=True)
class PartLaid:
    """One part, and which of the remnants it lies on, in its corner."""

    remnant: int
    copies: Copies
    placement: Placement


def joins(outline: Polygon, bust: Sequence[tuple[float, float]], overlap: float) -> list[float]:
    """Places x along the grain where a join may lie, the nearest to the middle first."""
    x0, _, x1, _ = outline.bounds
    middle = (x0 + x1) / 2.0
    reach = (x1 - x0) / 2.0 - LEAST_PART
    steps = int(reach / STEP) if reach >= 0.0 else -1
    places = [middle + side * k * STEP for k in range(steps + 1) for side in ((1.0, -1.0) if k else (1.0,))]
    keep = BUST_CLEAR + overlap / 2.0
    return [x for x in places if not any(low - keep < x < high + keep for low, high in bust)]


def parts_at(outline: Polygon, x: float, overlap: float) -> tuple[Polygon, Polygon] | None:
    """The part below and the part above a join at `x`; None where a part would fall in pieces."""
    x0, y0, x1, y1 = outline.bounds
    low = outline.intersection(box(x0 - 1.0, y0 - 1.0, x + overlap / 2.0, y1 + 1.0))
    high = outline.intersection(box(x - overlap / 2.0, y0 - 1.0, x1 + 1.0, y1 + 1.0))
    if isinstance(low, Polygon) and isinstance(high, Polygon):
        return plain(low), plain(high)
    return None


def piece_together(
    c: Copies, copy: int, remnants: Sequence[tuple[float, float]], turns: tuple[float, ...], overlap: float
) -> tuple[PartLaid, PartLaid] | None:
    """One copy in two parts on two of the remnants (width, length), the smallest that take them; None if none do."""
    for x in joins(c.outline, c.bust, overlap):
        parts = parts_at(c.outline, x, overlap)
        if parts is None:
            continue
        laid: list[PartLaid] = []
        for k, part in enumerate(parts, start=1):
            free = [i for i in range(len(remnants)) if i not in {p.remnant for p in laid}]
            free.sort(key=lambda i: remnants[i][0] * remnants[i][1])
            found = next((p for i in free if (p := _in_corner(c, copy, part, k, i, remnants[i], turns))), None)
            if found is None:
                break
            laid.append(found)
        if len(laid) == 2:
            return laid[0], laid[1]
    return None


def _in_corner(
    c: Copies, copy: int, part: Polygon, k: int, i: int, remnant: tuple[float, float], turns: tuple[float, ...]
) -> PartLaid | None:
    width, length = remnant
    points = ring(part)
    for degrees in turns:
        long, across = extent(points, degrees)
        if long <= length and across <= width:
            there = turned(part, degrees)
            at = (-there.bounds[0], -there.bounds[1])
            polygon = tuple(ring(moved(there, *at)))
            placement = Placement(c.want, copy, c.mirrored, degrees, polygon, at, (k, 2))
            return PartLaid(i, replace(c, outline=part, copies=(copy,)), placement)
    return None
