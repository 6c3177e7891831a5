"""The board: sheets of markers that are laid round a paper pattern, so that a photograph of both tells the scale.

Each sheet is one ChArUco board (a chequer with ArUco markers in its white squares; S. Garrido-Jurado and others,
"Automatic generation and detection of highly reliable fiducial markers under occlusion", Pattern Recognition 47, 2014).
Every sheet has markers of its own, so that a photograph tells sheets and paper sizes apart. How the sheets lie to each
other is not known and need not be: each is rigid and of known size, which is enough (`photo_camera` says how).

Sheet coordinates are in mm from the lower left corner of the paper, x to the right, y up, as its words are read.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from typing import TYPE_CHECKING, Final, Literal

from coutil.plane import Pt
from coutil.trace.model import TraceError
from coutil.units import INCH

if TYPE_CHECKING:
    import cv2
    from fpdf import FPDF, ViewerPreferences

Paper = Literal["a4", "letter"]

# Width and height in mm, upright. A4: ISO 216, A series. US Letter, 8 1/2 by 11 in: ANSI/ASME Y14.1, size A.
PAPERS: Final[dict[Paper, tuple[float, float]]] = {"a4": (210.0, 297.0), "letter": (8.5 * INCH, 11.0 * INCH)}
NAMES: Final[dict[Paper, str]] = {"a4": "A4", "letter": "US Letter"}
# Squares of the chequer across and down. 7 by 8 squares of 25 mm leave room for a 50 mm test square on either paper.
ACROSS: Final = 7
DOWN: Final = 8
# Side of a square of the chequer, and of the marker in it, in mm. At 3 pixels to the mm, what a 12-megapixel picture of
# one metre gives, a cell of the marker is 7 pixels wide: read without fail at twice that distance (found by trial).
SQUARE: Final = 25.0
MARKER: Final = 18.0
# Cells across a marker, rim included: 5 by 5 bits and one black cell all round.
CELLS: Final = 7
# Markers of one sheet: one in every second square.
MARKERS: Final = ACROSS * DOWN // 2
# Name of the dictionary in OpenCV. 5 by 5 bits, as 4 by 4 bits are now and then found in the grain of wood.
DICTIONARY: Final = "DICT_5X5_1000"
# The first marker of sheet 1 of each paper: so the markers tell the paper.
FIRST_MARKER: Final[dict[Paper, int]] = {"a4": 0, "letter": 500}
# Sheets that can be told apart; more than a table holds. 12 times 28 markers fit between the two papers' first markers.
MOST_SHEETS: Final = 12
# Sheets that are printed unless asked otherwise: one for each side of a pattern.
USUAL_SHEETS: Final = 4
# White rim in mm: home printers leave 4 to 6 mm (common practice, no source).
MARGIN: Final = 10.0
# Side of the test square in mm, as on the other sheets of the house.
TEST_SQUARE: Final = 50.0
# How far a print may be from its true size before it is taken for a mistake in measuring, as a part of the size:
# "fit to page" shrinks A4 to Letter by 6 %.
MOST_SCALING: Final = 0.12
# Written into the file in place of the time, so that the same sheets give the same bytes. Any fixed time does.
MADE: Final = datetime(2000, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class BoardSheet:
    """One sheet of the board; sheets count from 1. Raises TraceError for a number out of range."""

    paper: Paper
    number: int

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise TraceError("board_paper", paper=repr(self.paper))
        if not 1 <= self.number <= MOST_SHEETS:
            raise TraceError("board_number", most=MOST_SHEETS, number=self.number)

    @property
    def name(self) -> str:
        return f"sheet {self.number} ({NAMES[self.paper]})"

    @property
    def size(self) -> tuple[float, float]:
        return PAPERS[self.paper]

    @property
    def first_marker(self) -> int:
        return FIRST_MARKER[self.paper] + (self.number - 1) * MARKERS

    @property
    def chequer(self) -> tuple[float, float, float, float]:
        """Left, lower, right and upper side of the chequer in sheet coordinates, as designed."""
        width, height = self.size
        left = (width - ACROSS * SQUARE) / 2
        return left, height - MARGIN - DOWN * SQUARE, left + ACROSS * SQUARE, height - MARGIN

    def corners(self, stretch: tuple[float, float] = (1.0, 1.0)) -> dict[int, Pt]:
        """The inner corners of the chequer by OpenCV's numbers; `stretch`: how much larger it was printed, x and y."""
        left, _, _, top = self.chequer
        sx, sy = stretch
        return {
            (row - 1) * (ACROSS - 1) + column - 1: (sx * (left + column * SQUARE), sy * (top - row * SQUARE))
            for row in range(1, DOWN)
            for column in range(1, ACROSS)
        }

    def outline(self) -> tuple[Pt, Pt, Pt, Pt]:
        """The paper's corners, anticlockwise from the lower left. Printing at another scale does not change them."""
        width, height = self.size
        return (0.0, 0.0), (width, 0.0), (width, height), (0.0, height)

    def charuco(self) -> cv2.aruco.CharucoBoard:
        """The sheet's chequer for OpenCV, in mm from its upper left corner, y down."""
        import cv2
        import numpy as np

        ids = np.arange(self.first_marker, self.first_marker + MARKERS)
        return cv2.aruco.CharucoBoard((ACROSS, DOWN), SQUARE, MARKER, dictionary(), ids)


def sheet_of_marker(marker: int) -> BoardSheet | None:
    """The sheet that bears a marker; None if no sheet does."""
    for paper, first in FIRST_MARKER.items():
        if 0 <= marker - first < MOST_SHEETS * MARKERS:
            return BoardSheet(paper, (marker - first) // MARKERS + 1)
    return None


@cache
def dictionary() -> cv2.aruco.Dictionary:
    import cv2

    return cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))


def stretch(measured: tuple[float, float] | None) -> tuple[float, float]:
    """How much larger than designed the board was printed, across and down, from the chequer's measured size in mm.

    Raises TraceError if the measures cannot be those of a chequer.
    """
    if measured is None:
        return 1.0, 1.0
    designed = (ACROSS * SQUARE, DOWN * SQUARE)
    across, down = (m / d for m, d in zip(measured, designed, strict=True))
    if not all(abs(s - 1.0) <= MOST_SCALING for s in (across, down)):
        raise TraceError("chequer", across=measured[0], down=measured[1], wide=designed[0], high=designed[1])
    return across, down


def board_pdf(paper: str = "a4", sheets: int = USUAL_SHEETS) -> bytes:
    """The board as a PDF at full size, one sheet a page. Raises TraceError for other papers and numbers of sheets."""
    from fpdf import FPDF

    key = paper.strip().lower().removeprefix("us ").removeprefix("us-")
    if key not in PAPERS:
        raise TraceError("board_paper", paper=repr(paper))
    if not 1 <= sheets <= MOST_SHEETS:
        raise TraceError("board_sheets", most=MOST_SHEETS, sheets=sheets)
    size: Paper = "a4" if key == "a4" else "letter"
    pdf = FPDF(unit="mm", format=PAPERS[size])
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.set_creation_date(MADE)
    pdf.set_title("Marker board for photographs")
    pdf.set_lang("en-GB")
    pdf.set_producer("coutil")
    # Print programs that heed it then do not shrink the page (ISO 32000-1, 12.2: viewer preferences).
    pdf.viewer_preferences = _full_size()
    for number in range(1, sheets + 1):
        _draw(pdf, BoardSheet(size, number), sheets)
    return bytes(pdf.output())


def _full_size() -> ViewerPreferences:
    from fpdf import ViewerPreferences

    return ViewerPreferences(print_scaling="None")


def _draw(pdf: FPDF, sheet: BoardSheet, sheets: int) -> None:
    pdf.add_page()
    _, height = sheet.size
    left, bottom, right, top = sheet.chequer
    # fpdf2 counts y from the top of the page.
    pdf.set_fill_color(0)
    for row in range(DOWN):
        for column in range(ACROSS):
            if (row + column) % 2 == 0:
                pdf.rect(left + column * SQUARE, height - top + row * SQUARE, SQUARE, SQUARE, style="F")
    cell = MARKER / CELLS
    rim = (SQUARE - MARKER) / 2
    for k, (row, column) in enumerate(white_squares()):
        x, y = left + column * SQUARE + rim, height - top + row * SQUARE + rim
        pdf.set_fill_color(0)
        pdf.rect(x, y, MARKER, MARKER, style="F")
        pdf.set_fill_color(255)
        for i, line in enumerate(marker_cells(sheet.first_marker + k)):
            for j, n in _runs(line):
                pdf.rect(x + j * cell, y + i * cell, n * cell, cell, style="F")
    _words(pdf, sheet, sheets, (left, height - bottom, right))


def white_squares() -> list[tuple[int, int]]:
    """Row and column of the squares that bear markers, in the order of the markers."""
    return [(r, c) for r in range(DOWN) for c in range(ACROSS) if (r + c) % 2 == 1]


def marker_cells(marker: int) -> list[list[bool]]:
    """The cells of a marker, rim included, row by row from the top; True is white."""
    import cv2

    picture = cv2.aruco.generateImageMarker(dictionary(), marker, CELLS)
    return [[bool(v) for v in row] for row in picture]


def _runs(line: list[bool]) -> list[tuple[int, int]]:
    """Start and length of the runs of white cells."""
    out: list[tuple[int, int]] = []
    for j, white in enumerate(line):
        if white and out and out[-1][0] + out[-1][1] == j:
            out[-1] = (out[-1][0], out[-1][1] + 1)
        elif white:
            out.append((j, 1))
    return out


def _words(pdf: FPDF, sheet: BoardSheet, sheets: int, room: tuple[float, float, float]) -> None:
    left, y, right = room
    y += 4.0
    pdf.set_draw_color(0)
    pdf.set_line_width(0.2)
    pdf.rect(left, y, TEST_SQUARE, TEST_SQUARE)
    # Core fonts need no file: the words are plain English.
    pdf.set_font("Helvetica", size=9)
    pdf.text(left + 4.0, y + TEST_SQUARE / 2, f"{TEST_SQUARE:g} mm = 5 cm each way")
    x = left + TEST_SQUARE + 6.0
    pdf.set_font("Helvetica", style="B", size=11)
    pdf.text(x, y + 4.0, f"Marker board, sheet {sheet.number} of {sheets} ({NAMES[sheet.paper]})")
    pdf.set_font("Helvetica", size=8.5)
    lines = (
        "Print at 100 %, not fitted to the page. Measure the square: 50 mm each way.",
        f"Better still, measure the black and white field: {ACROSS * SQUARE:g} mm across, {DOWN * SQUARE:g} mm down.",
        "If it differs, trace with the size that you measured.",
        "Lay the pattern flat on a table of another colour. Lay all sheets flat round it,",
        "at least one on each side, 2 cm or more from the paper, and not on top of it.",
        "Photograph from above with everything in the picture, sharp, in even light,",
        "without flash, zoom or wide angle. Leave a hand's breadth of table all round.",
    )
    for k, says in enumerate(lines):
        pdf.text(x, y + 10.0 + 5.4 * k, says)
    if pdf.get_string_width(max(lines, key=len)) > right - x:
        raise AssertionError("the words of the board do not fit on the sheet")
