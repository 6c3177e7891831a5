"""An upright line well inside an outline, as a grain line is drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence

from coutil.plane.curve import Pt

# The line is drawn over this middle part of the height that the piece has there: clear of both rims, yet long
# enough to lay a ruler along. A way of drawing, no source.
DRAWN = 0.6
# Positions across the piece that are tried, over the middle third of its width.
TRIED = 9


def upright_line(outline: Sequence[Pt]) -> tuple[Pt, Pt]:
    """An upright line well inside a closed outline (mm), from its lower end up.

    Of several positions across the middle third of the piece the one where it is highest, so that the line is easy to
    square with. Raises ValueError for an outline without width.
    """
    low, high = min(x for x, _ in outline), max(x for x, _ in outline)
    best = (0.0, 0.0, 0.0)
    for k in range(TRIED):
        x = low + (high - low) * (1.0 + k / (TRIED - 1)) / 3.0
        a, b = _highest_span(outline, x)
        if b - a > best[0]:
            best = (b - a, x, (a + b) / 2.0)
    height, x, middle = best
    if not height > 0.0 or not math.isfinite(height):
        raise ValueError("an outline without width has no room for an upright line")
    return (x, middle - DRAWN / 2.0 * height), (x, middle + DRAWN / 2.0 * height)


def _highest_span(outline: Sequence[Pt], x: float) -> tuple[float, float]:
    """The longest stretch of the upright at `x` that lies inside the outline, from below."""
    crossed = []
    for (ax, ay), (bx, by) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if (ax <= x) != (bx <= x):
            crossed.append(ay + (by - ay) * (x - ax) / (bx - ax))
    crossed.sort()
    spans = list(zip(crossed[::2], crossed[1::2], strict=False))
    return max(spans, key=lambda s: s[1] - s[0], default=(0.0, 0.0))
