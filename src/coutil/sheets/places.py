"""Where a label may stand: a square grid of what is already inked, and a search for a free rectangle on it.

Method: summed-area table (F. Crow, Summed-area tables for texture mapping, SIGGRAPH 1984): the ink in any upright
rectangle is four look-ups, so all positions of a rectangle are tried at once.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from coutil.plane import Box, Pt

# Side of a grid cell in mm: about a line of small type is two cells high; a finer grid costs its square in time.
CELL = 1.0


class Places:
    """What is inked inside `bounds`, cell by cell. All that lies outside counts as inked.

    A builder: `ink_...` add to it. It is kept to one figure and handed to nobody.
    """

    def __init__(self, bounds: Box, *, cell: float = CELL) -> None:
        self.x0, self.y0 = bounds[0], bounds[1]
        self.cell = cell
        self.columns = max(1, math.ceil((bounds[2] - bounds[0]) / cell))
        self.rows = max(1, math.ceil((bounds[3] - bounds[1]) / cell))
        self._ink: npt.NDArray[np.bool_] = np.zeros((self.rows, self.columns), dtype=np.bool_)
        self._sums: npt.NDArray[np.int32] | None = None

    def ink_outside(self, polygon: Sequence[Pt]) -> None:
        """Ink every cell whose centre is outside the closed polygon (first point not repeated), even-odd."""
        p = np.asarray(polygon, dtype=float)
        q = np.roll(p, -1, axis=0)
        rise = q[:, 1] - p[:, 1]
        keep = rise != 0.0
        p, q, rise = p[keep], q[keep], rise[keep]
        slope = (q[:, 0] - p[:, 0]) / rise
        centres = self.x0 + (np.arange(self.columns) + 0.5) * self.cell
        for row in range(self.rows):
            y = self.y0 + (row + 0.5) * self.cell
            hit = (p[:, 1] > y) != (q[:, 1] > y)
            crossings = np.sort(p[hit, 0] + (y - p[hit, 1]) * slope[hit])
            self._ink[row] |= np.searchsorted(crossings, centres) % 2 == 0
        self._sums = None

    def ink_line(self, points: Sequence[Pt]) -> None:
        """Ink the cells that a polyline runs through."""
        p = np.asarray(points, dtype=float)
        if len(p) < 2:
            return
        steps = np.hypot(*np.diff(p, axis=0).T)
        along = np.concatenate(([0.0], np.cumsum(steps)))
        # Half a cell from sample to sample: no cell that is crossed for longer than that is missed.
        s = np.linspace(0.0, along[-1], max(2, math.ceil(along[-1] / self.cell * 2) + 1))
        self._ink_cells(np.interp(s, along, p[:, 0]), np.interp(s, along, p[:, 1]))

    def ink_box(self, box: Box) -> None:
        """Ink all cells that a rectangle touches."""
        c0, r0 = self._index(box[0], box[1])
        c1, r1 = self._index(box[2], box[3])
        self._ink[max(r0, 0) : max(r1 + 1, 0), max(c0, 0) : max(c1 + 1, 0)] = True
        self._sums = None

    def ink_corners(self, corners: Iterable[Pt]) -> None:
        xs, ys = zip(*corners, strict=True)
        self.ink_box((min(xs), min(ys), max(xs), max(ys)))

    def is_free(self, box: Box) -> bool:
        """Whether no ink touches the rectangle and all of it lies within the bounds."""
        c0, r0 = self._index(box[0], box[1])
        c1, r1 = self._index(box[2], box[3])
        if c0 < 0 or r0 < 0 or c1 >= self.columns or r1 >= self.rows:
            return False
        return self.ink_in(box) == 0

    def ink_in(self, box: Box) -> int:
        """How many inked cells the rectangle touches; what lies outside the bounds is not counted."""
        c0, r0 = self._index(box[0], box[1])
        c1, r1 = self._index(box[2], box[3])
        c0, r0 = max(c0, 0), max(r0, 0)
        c1, r1 = min(c1 + 1, self.columns), min(r1 + 1, self.rows)
        if c1 <= c0 or r1 <= r0:
            return 0
        return int(np.count_nonzero(self._ink[r0:r1, c0:c1]))

    def find(self, width: float, height: float, *, near: Pt, clearance: float, within: Box | None = None) -> Pt | None:
        """Lower left corner of a free rectangle, its middle as near to `near` as can be; None if there is none.

        `clearance` is kept free all round, in mm. `within` bounds where the rectangle may lie.
        """
        w = math.ceil((width + 2 * clearance) / self.cell) + 1
        h = math.ceil((height + 2 * clearance) / self.cell) + 1
        if w > self.columns or h > self.rows:
            return None
        s = self._table()
        ink = s[h:, w:] - s[:-h, w:] - s[h:, :-w] + s[:-h, :-w]
        free = ink == 0
        # The wanted rectangle sits in the middle of its block of whole cells.
        pad_x, pad_y = (w * self.cell - width) / 2, (h * self.cell - height) / 2
        xs = self.x0 + np.arange(free.shape[1]) * self.cell + pad_x
        ys = self.y0 + np.arange(free.shape[0]) * self.cell + pad_y
        if within is not None:
            free = free & ((xs >= within[0]) & (xs + width <= within[2]))[None, :]
            free &= ((ys >= within[1]) & (ys + height <= within[3]))[:, None]
        if not free.any():
            return None
        far = (xs + width / 2 - near[0])[None, :] ** 2 + (ys + height / 2 - near[1])[:, None] ** 2
        r, c = divmod(int(np.argmin(np.where(free, far, np.inf))), free.shape[1])
        return (float(xs[c]), float(ys[r]))

    def _index(self, x: float, y: float) -> tuple[int, int]:
        return math.floor((x - self.x0) / self.cell), math.floor((y - self.y0) / self.cell)

    def _ink_cells(self, xs: npt.NDArray[np.float64], ys: npt.NDArray[np.float64]) -> None:
        c = np.floor((xs - self.x0) / self.cell).astype(int)
        r = np.floor((ys - self.y0) / self.cell).astype(int)
        inside = (c >= 0) & (c < self.columns) & (r >= 0) & (r < self.rows)
        self._ink[r[inside], c[inside]] = True
        self._sums = None

    def _table(self) -> npt.NDArray[np.int32]:
        if self._sums is None:
            sums = np.zeros((self.rows + 1, self.columns + 1), dtype=np.int32)
            np.cumsum(np.cumsum(self._ink, axis=0, dtype=np.int32), axis=1, out=sums[1:, 1:])
            self._sums = sums
        return self._sums
