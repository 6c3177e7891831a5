"""The marker board: geometry against OpenCV's own, print size read back from the PDF, sheets told apart."""

from __future__ import annotations

import re
import subprocess
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest

from coutil.trace import board
from coutil.trace.board import BoardSheet, board_pdf, sheet_of_marker
from coutil.trace.model import TraceError
from coutil.trace.photo_markers import find_sheets

cv2.setNumThreads(1)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_corners_are_those_of_opencvs_board(paper: board.Paper) -> None:
    sheet = BoardSheet(paper, 3)
    theirs = sheet.charuco()
    left, _, _, top = sheet.chequer
    mine = sheet.corners()
    for k, p in enumerate(theirs.getChessboardCorners()):
        assert mine[k] == pytest.approx((left + p[0], top - p[1]), abs=1e-4)
    rim = (board.SQUARE - board.MARKER) / 2
    for (row, column), p in zip(board.white_squares(), theirs.getObjPoints(), strict=True):
        assert p[0][:2] == pytest.approx((column * board.SQUARE + rim, row * board.SQUARE + rim), abs=1e-5)


def test_every_marker_belongs_to_one_sheet() -> None:
    seen = set()
    for paper in board.PAPERS:
        for number in range(1, board.MOST_SHEETS + 1):
            sheet = BoardSheet(paper, number)
            for k in range(board.MARKERS):
                assert sheet_of_marker(sheet.first_marker + k) == sheet
                seen.add(sheet.first_marker + k)
    assert len(seen) == 2 * board.MOST_SHEETS * board.MARKERS
    assert max(seen) < 1000
    assert sheet_of_marker(499) is None
    assert sheet_of_marker(-1) is None


def test_pdf_is_drawn_at_full_size() -> None:
    """Rectangles read back from the page's own operators: the chequer 175 by 200 mm, the test square 50 mm."""
    data = board_pdf("A4", 2)
    page = _operators(data)
    boxes = [tuple(float(v) for v in m) for m in re.findall(r"(\S+) (\S+) (\S+) (\S+) re", page)]
    mm = 72 / 25.4
    squares = [b for b in boxes if abs(abs(b[2]) - 25 * mm) < 0.02]
    assert len(squares) == 28
    across = max(b[0] + b[2] for b in squares) - min(b[0] for b in squares)
    ys = [v for b in squares for v in (b[1], b[1] + b[3])]
    assert across / mm == pytest.approx(175.0, abs=0.02)
    assert (max(ys) - min(ys)) / mm == pytest.approx(200.0, abs=0.02)
    assert any(abs(b[2] - 50 * mm) < 0.02 and abs(abs(b[3]) - 50 * mm) < 0.02 for b in boxes)
    assert data == board_pdf("A4", 2)
    assert b"/PrintScaling /None" in data


def _operators(data: bytes) -> str:
    for m in re.finditer(rb"stream\r?\n(.*?)\r?\nendstream", data, re.S):
        try:
            text = zlib.decompress(m.group(1)).decode("latin-1")
        except zlib.error:
            continue
        if " re" in text:
            return text
    raise AssertionError("no page found")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_printed_sheet_is_read_back(paper: str, tmp_path: Path) -> None:
    """Rasterised by poppler, where it is installed: all markers of the sheet are found where they should be."""
    try:
        (tmp_path / "board.pdf").write_bytes(board_pdf(paper, 2))
        subprocess.run(
            ["pdftoppm", "-r", "508", "-gray", "-f", "2", "-l", "2", "board.pdf", "page"], cwd=tmp_path, check=True
        )
    except FileNotFoundError:
        pytest.skip("poppler is not installed")
    picture = cv2.imread(str(next(tmp_path.glob("page*.pgm"))), cv2.IMREAD_GRAYSCALE)
    assert picture is not None
    sheets, weak = find_sheets(np.asarray(picture, np.uint8), (1.0, 1.0))
    assert not weak
    (seen,) = sheets
    assert seen.sheet.number == 2
    assert seen.sheet.paper == paper
    assert len(seen.image) == 42
    # 508 dots an inch are 20 to the mm, so that all squares begin and end on pixels; rows count from the top, from
    # the middle of the first pixel.
    height = seen.sheet.size[1]
    want = np.column_stack([seen.board[:, 0] * 20 - 0.5, (height - seen.board[:, 1]) * 20 - 0.5])
    assert np.abs(seen.image - want).max() < 0.6
    assert np.abs((seen.image - want).std(axis=0)).max() < 0.1


@pytest.mark.parametrize("measured", [(150.0, 200.0), (175.0, 250.0), (0.0, 0.0), (float("nan"), 200.0)])
def test_impossible_measures_are_refused(measured: tuple[float, float]) -> None:
    with pytest.raises(TraceError, match="measure"):
        board.stretch(measured)


def test_stretch() -> None:
    assert board.stretch(None) == (1.0, 1.0)
    assert board.stretch((171.5, 202.0)) == pytest.approx((0.98, 1.01))


def test_other_papers_and_numbers_are_refused() -> None:
    with pytest.raises(TraceError, match="A4 or Letter"):
        board_pdf("a3")
    with pytest.raises(TraceError, match="1 to 12"):
        board_pdf("a4", 13)
    with pytest.raises(TraceError):
        BoardSheet("a4", 0)
