"""Paper: sizes, how a drawing is shared among tiles, and how drawings are laid side by side on a sheet."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from coutil.plane import Box, Pt
from coutil.units import INCH

# Sizes in mm, upright. A0, A3, A4: ISO 216, A series. US Letter is 8 1/2 by 11 in: ANSI/ASME Y14.1, size A.
PAPERS: Final[dict[str, tuple[float, float]]] = {
    "a4": (210.0, 297.0),
    "letter": (8.5 * INCH, 11.0 * INCH),
    "a3": (297.0, 420.0),
    "a0": (841.0, 1189.0),
}
NAMES: Final = {"a4": "A4", "letter": "US Letter", "a3": "A3", "a0": "A0", "roll": "roll"}
# Papers that hold the test squares and the words beside the pattern itself; on the others they get a page of their own.
LARGE: Final = ("a0", "roll")
# Rim that home printers leave white, in mm: 4 to 6 mm are usual, so 10 is safe (common practice, no source).
PRINT_MARGIN: Final = 10.0
# How far two neighbouring tiles show the same, in mm: room for paste and for match marks (common practice, no source).
OVERLAP: Final = 10.0
# Widths of paper rolls that are taken, in mm: from a till roll that no piece fits on to the widest plotters.
ROLL_WIDTHS: Final = (200.0, 2000.0)
# PDF 1.7 (ISO 32000-1), annex C: a page is at most 14,400 units of 1/72 in long. A little less, to stay clear of it.
LONGEST_PAGE: Final = 5000.0
# White between two pieces on the paper, in mm: room for the scissors.
GAP: Final = 8.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet in mm. `name` is a key of NAMES."""

    name: str
    width: float
    height: float
    margin: float = PRINT_MARGIN

    @property
    def window(self) -> tuple[float, float]:
        """Width and height of what can be printed."""
        return self.width - 2 * self.margin, self.height - 2 * self.margin

    def turned(self) -> Paper:
        return Paper(self.name, self.height, self.width, self.margin)


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet's share of the drawing: `box` is its printed window. Rows count from the top, columns from the left."""

    row: int
    column: int
    box: Box

    @property
    def name(self) -> str:
        return tile_name(self.row, self.column)


@dataclass(frozen=True, slots=True)
class Tiling:
    paper: Paper
    overlap: float
    rows: int
    columns: int
    # Those that are printed, row by row, and those that are left out because nothing is on them.
    tiles: tuple[Tile, ...]
    blank: tuple[Tile, ...]
    # Whether the sheets are pasted to each other; else each bears whole pieces.
    pasted: bool = True


def read_paper(name: str, roll_width: float | None = None) -> Paper:
    """The paper of a name: A4, Letter or US Letter, A3, A0 in any case, or roll with its width in mm.

    A roll's height is LONGEST_PAGE until the drawing is known. Raises ValueError for any other name or width.
    """
    key = name.strip().lower().removeprefix("us ").removeprefix("us-")
    if key == "roll":
        low, high = ROLL_WIDTHS
        if roll_width is None or not low <= roll_width <= high:
            said = "none" if roll_width is None else f"{roll_width:g} mm"
            raise ValueError(f"a roll needs its width, {low:g} to {high:g} mm; given: {said}")
        return Paper("roll", roll_width, LONGEST_PAGE)
    if key not in PAPERS:
        raise ValueError(f"paper {name!r} is not known: use one of A4, Letter, A3, A0 or roll")
    return Paper(key, *PAPERS[key])


def tile_name(row: int, column: int) -> str:
    """A letter for the row, then a number for the column: A1 is at the top left; row 27 is AA."""
    letters = ""
    row += 1
    while row:
        row, k = divmod(row - 1, 26)
        letters = chr(ord("A") + k) + letters
    return f"{letters}{column + 1}"


def tile(bounds: Box, paper: Paper, is_blank: Callable[[Box], bool], *, overlap: float = OVERLAP) -> Tiling:
    """Share `bounds` among sheets of `paper`, neighbours overlapping by `overlap` mm, the whole centred on them.

    Raises ValueError unless the overlap is at least 0 and below half of what a sheet can print.
    """
    w, h = paper.window
    if not 0.0 <= overlap < min(w, h) / 2:
        raise ValueError(f"an overlap of {overlap:g} mm does not suit {paper.width:g} x {paper.height:g} mm paper")
    x0, y0, x1, y1 = bounds
    columns = count(x1 - x0, w, overlap)
    rows = count(y1 - y0, h, overlap)
    left = (x0 + x1) / 2 - (columns * (w - overlap) + overlap) / 2
    top = (y0 + y1) / 2 + (rows * (h - overlap) + overlap) / 2
    tiles: list[Tile] = []
    blank: list[Tile] = []
    for r in range(rows):
        for c in range(columns):
            x, y = left + c * (w - overlap), top - r * (h - overlap)
            t = Tile(r, c, (x, y - h, x + w, y))
            (blank if is_blank(t.box) else tiles).append(t)
    return Tiling(paper, overlap, rows, columns, tuple(tiles), tuple(blank))


def count(length: float, window: float, overlap: float) -> int:
    """How many windows with overlap cover a length."""
    return max(1, math.ceil((length - overlap) / (window - overlap) - 1e-9))


def shelve(boxes: Sequence[Box], width: float) -> tuple[Pt, ...]:
    """How far to move each box so that all stand in rows no wider than `width` mm, the tallest first, top edges level.

    A box that is wider than `width` gets a row of its own. Plain shelves, upright as they are: a lay on cloth is made
    elsewhere.
    """
    return tuple((dx, dy) for _, dx, dy in _shelved(boxes, _tallest_first(boxes), width, math.inf))


def shelve_apart(boxes: Sequence[Box], width: float, height: float) -> tuple[tuple[int, float, float], ...]:
    """For each box the number of its sheet and how far to move it there: sheets of `width` by `height` mm, top at 0.

    Shelves as in `shelve`; the first box comes first. Every box must fit on a sheet by itself.
    """
    order = [0, *(k for k in _tallest_first(boxes) if k != 0)]
    return _shelved(boxes, order, width, height)


def _tallest_first(boxes: Sequence[Box]) -> list[int]:
    return sorted(range(len(boxes)), key=lambda k: -(boxes[k][3] - boxes[k][1]))


def _shelved(
    boxes: Sequence[Box], order: Iterable[int], width: float, height: float
) -> tuple[tuple[int, float, float], ...]:
    """Boxes set on shelves in `order`: the sheet of each, and how far to move it there."""
    moves: dict[int, tuple[int, float, float]] = {}
    sheet = 0
    x = y = row_height = 0.0
    for k in order:
        x0, y0, x1, y1 = boxes[k]
        w, h = x1 - x0, y1 - y0
        if x > 0.0 and x + w > width:
            x, y, row_height = 0.0, y - row_height - GAP, 0.0
        if h - y > height:
            sheet, x, y, row_height = sheet + 1, 0.0, 0.0, 0.0
        moves[k] = (sheet, x - x0, y - y1)
        x += w + GAP
        row_height = max(row_height, h)
    return tuple(moves[k] for k in range(len(boxes)))
