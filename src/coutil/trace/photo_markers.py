"""Finding the sheets of the board in a photograph, and judging how sharp they are."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from coutil.trace.board import MARKER, MARKERS, SQUARE, BoardSheet, dictionary, sheet_of_marker
from coutil.trace.model import TraceError

F64 = NDArray[np.float64]

# A sheet with fewer corners than this is left out: 8 of 42 are a strip of two markers, whose tilt is anyone's guess.
FEWEST_CORNERS: Final = 8
# A sheet with fewer markers than this is a false find (a marker-like spot in a print) or all but covered.
FEWEST_MARKERS: Final = 3
# Pixels of the picture in which markers are looked for; the corners are then refined in the whole picture. At 9 million
# nearly all markers of a 12-megapixel picture are found, in less time (found by trial).
MARKER_PIXELS: Final = 9_000_000
# Variance of the Laplacian (of an 8-bit picture brought to about 2 megapixels) below which nothing in the picture is
# sharp: tables of wood and cloth give 30 and more when in focus, under 5 when not (found by trial on rendered scenes).
SHARP: Final = 8.0


@dataclass(frozen=True, slots=True)
class SeenSheet:
    """Corners of a sheet in the picture: `board` in sheet mm (true to the print), `image` in pixels, row by row."""

    sheet: BoardSheet
    board: F64
    image: F64
    markers: int


def find_sheets(grey: NDArray[np.uint8], stretch: tuple[float, float]) -> tuple[list[SeenSheet], list[SeenSheet]]:
    """Sheets seen well enough, by number, and others by the corners of single markers, which may be false finds.

    Raises TraceError if there is none of the first, and says whether blur is the reason.
    """
    detector = cv2.aruco.ArucoDetector(dictionary(), _parameters())
    scale = min(1.0, (MARKER_PIXELS / grey.size) ** 0.5)
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1.0 else grey
    found, ids, _ = detector.detectMarkers(small)
    # Pixels of the small picture to those of the large one, counted from the middles of the pixels.
    corners = [np.asarray((c + 0.5) / scale - 0.5, np.float32) for c in found]
    by_sheet: dict[BoardSheet, list[int]] = defaultdict(list)
    for k, marker in enumerate(np.asarray(ids, int).ravel() if ids is not None else ()):
        sheet = sheet_of_marker(int(marker))
        if sheet is not None:
            by_sheet[sheet].append(k)
    out, weak = [], []
    for sheet, which in sorted(by_sheet.items(), key=lambda s: (s[0].paper, s[0].number)):
        here, numbers = [corners[k] for k in which], np.asarray(ids, np.int32)[which]
        seen = _corners(grey, sheet, here, numbers, stretch) if len(which) >= FEWEST_MARKERS else None
        if seen is not None:
            out.append(seen)
        else:
            weak.append(_by_markers(sheet, here, numbers, stretch))
    if not out:
        raise _why_none(grey, len(by_sheet))
    return out, weak


def _by_markers(
    sheet: BoardSheet, corners: list[NDArray[np.float32]], ids: NDArray[np.int32], stretch: tuple[float, float]
) -> SeenSheet:
    left, _, _, top = sheet.chequer
    board = []
    for marker in np.ravel(ids):
        down = np.asarray(sheet.charuco().getObjPoints()[int(marker) - sheet.first_marker])[:, :2]
        board.append(np.column_stack([left + down[:, 0], top - down[:, 1]]) * stretch)
    return SeenSheet(
        sheet, np.vstack(board), np.vstack([c.reshape(-1, 2) for c in corners]).astype(float), len(corners)
    )


def look_again(
    grey: NDArray[np.uint8], sheet: BoardSheet, board: F64, expected: F64, square: float, markers: int
) -> SeenSheet | None:
    """The sheet's corners `board` found near the pixels where they are `expected`; None where too few are there.

    `square` is the side of a square of the chequer in pixels, at its shortest.
    """
    # As far as the chequer alone reaches: the marker's own corner lies 3.5 mm off, of a square's 25.
    reach = max(2, min(12, int(square * (SQUARE - MARKER) / 2 / SQUARE)))
    high, wide = grey.shape
    inside = ((expected > 2 * reach) & (expected < np.array([wide, high]) - 2 * reach)).all(axis=1)
    if int(inside.sum()) < FEWEST_CORNERS:
        return None
    start = np.ascontiguousarray(expected[inside], np.float32).reshape(-1, 1, 2)
    stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 40, 0.002)
    found = np.asarray(cv2.cornerSubPix(grey, start.copy(), (reach, reach), (-1, -1), stop), float).reshape(-1, 2)
    # A corner that is hidden sends the search astray, out of half its window.
    near = np.abs(found - expected[inside]).max(axis=1) < reach / 2
    if int(near.sum()) < FEWEST_CORNERS:
        return None
    return SeenSheet(sheet, board[inside][near], found[near], markers)


def _parameters() -> cv2.aruco.DetectorParameters:
    p = cv2.aruco.DetectorParameters()
    # Smallest marker: 25 pixels a side, 100 round, of a picture 4000 wide; the share is of the longer side.
    p.minMarkerPerimeterRate = 0.02
    # Two sizes of window, about one and two markers' cells: a third finds hardly any more (found by trial).
    p.adaptiveThreshWinSizeMin = 15
    p.adaptiveThreshWinSizeMax = 35
    p.adaptiveThreshWinSizeStep = 20
    # Cells are 5 to 7 pixels wide: their middles must be read finely, and only where blur does not reach.
    p.perspectiveRemovePixelPerCell = 8
    p.perspectiveRemoveIgnoredMarginPerCell = 0.25
    return p


def _corners(
    grey: NDArray[np.uint8],
    sheet: BoardSheet,
    corners: list[NDArray[np.float32]],
    ids: NDArray[np.int32],
    stretch: tuple[float, float],
) -> SeenSheet | None:
    finder = cv2.aruco.CharucoDetector(sheet.charuco())
    try:
        at, numbers, _, _ = finder.detectBoard(grey, markerCorners=corners, markerIds=ids.reshape(-1, 1))
    except cv2.error:
        return None
    if at is None or numbers is None or len(at) < FEWEST_CORNERS:
        return None
    where = sheet.corners(stretch)
    board = np.array([where[int(n)] for n in np.ravel(numbers)])
    return SeenSheet(sheet, board, np.asarray(at, float).reshape(-1, 2), len(corners))


def _why_none(grey: NDArray[np.uint8], some: int) -> TraceError:
    if sharpness(grey) < SHARP:
        return TraceError("blurred_or_blank")
    return TraceError("few_markers" if some else "no_markers", markers=MARKERS)


def sharpness(grey: NDArray[np.uint8]) -> float:
    """Variance of the Laplacian at about 2 megapixels (Pech-Pacheco and others, ICPR 2000, use it to tell focus)."""
    scale = min(1.0, (2_000_000 / grey.size) ** 0.5)
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1.0 else grey
    return float(cv2.Laplacian(small, cv2.CV_64F).var())
