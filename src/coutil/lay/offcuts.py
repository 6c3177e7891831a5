"""What is left between the pieces: the largest upright rectangles that are worth keeping.

Method: the cloth is cut into square cells; a cell counts as taken if a piece touches it. The largest free rectangle of
whole cells is found row by row as the largest rectangle under a histogram with a stack (D. Vandevoorde, The maximal
rectangle problem, Dr. Dobb's Journal 1998), then taken, and so on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely  # type: ignore[import-untyped]
from shapely import Polygon

Rectangle = tuple[float, float, float, float]

# Side of a cell in mm. A rectangle found is at most two cells short in each direction.
CELL = 5.0
# Shortest side of an offcut that is worth keeping, in mm: a pad still comes out of it (judgement, no source).
WORTH = 150.0
# No more than this many are named for a lay: who keeps more does not need a list.
MOST = 6


def offcuts(polygons: Sequence[Polygon], length: float, width: float, *, worth: float = WORTH) -> tuple[Rectangle, ...]:
    """Free rectangles (x, y, length along x, width along y) in mm, largest first, none over another or over a piece."""
    columns, rows = math.floor(length / CELL), math.floor(width / CELL)
    need = math.ceil(worth / CELL)
    if columns < need or rows < need:
        return ()
    x = np.arange(columns) * CELL
    y = np.arange(rows) * CELL
    xs, ys = np.meshgrid(x, y)
    free = np.ones((rows, columns), dtype=np.bool_)
    for p in polygons:
        # Only the cells of the piece's own box can be touched.
        x0, y0, x1, y1 = p.bounds
        c0, c1 = max(0, math.floor(x0 / CELL)), min(columns, math.floor(x1 / CELL) + 1)
        r0, r1 = max(0, math.floor(y0 / CELL)), min(rows, math.floor(y1 / CELL) + 1)
        if c0 >= c1 or r0 >= r1:
            continue
        shapely.prepare(p)
        cx, cy = xs[r0:r1, c0:c1], ys[r0:r1, c0:c1]
        free[r0:r1, c0:c1] &= ~shapely.intersects(p, shapely.box(cx, cy, cx + CELL, cy + CELL))
    out: list[Rectangle] = []
    while len(out) < MOST:
        found = _largest(free, need)
        if found is None:
            break
        c, r, w, h = found
        free[r : r + h, c : c + w] = False
        out.append((c * CELL, r * CELL, w * CELL, h * CELL))
    return tuple(out)


def _largest(free: npt.NDArray[np.bool_], need: int) -> tuple[int, int, int, int] | None:
    """Column, row, columns and rows of the largest free rectangle of at least `need` cells each way."""
    rows, columns = free.shape
    heights = [0] * (columns + 1)
    best: tuple[int, int, int, int] | None = None
    area = 0
    for r in range(rows):
        for c, open_cell in enumerate(free[r].tolist()):
            heights[c] = heights[c] + 1 if open_cell else 0
        stack: list[tuple[int, int]] = []
        for c, h in enumerate(heights):
            start = c
            while stack and stack[-1][1] >= h:
                start, tall = stack.pop()
                wide = c - start
                if wide >= need and tall >= need and wide * tall > area:
                    area = wide * tall
                    best = (start, r - tall + 1, wide, tall)
            stack.append((start, h))
    return best
