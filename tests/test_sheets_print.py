"""The printed page, measured from outside: PDF rasterised by poppler (pdftoppm), dots counted with numpy and Pillow."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from scipy import ndimage

from coutil.pattern import Pattern
from coutil.plane import Box, union
from coutil.sheets import cover, pattern_pdf
from coutil.sheets.drawing import PENS
from coutil.sheets.figures import Naming, piece_drawings
from coutil.sheets.pages import Page, compose
from coutil.sheets.paper import PAPERS, PRINT_MARGIN, Paper, read_paper, tile
from coutil.sheets.pdf import POINTS, PdfSheet, write_pdf
from printed import words_of
from sheets_fixture import with_pieces

DPI = 300
DOT = 25.4 / DPI
Grey = npt.NDArray[np.uint8]
ORDER = "sea-green bustier"
CLIENT = "Ælfgifu"


@cache
def pattern() -> Pattern:
    return with_pieces()


@cache
def printed(paper: str) -> PdfSheet:
    return pattern_pdf(pattern(), paper, label=CLIENT, order_name=ORDER, roll_width=914.4 if paper == "roll" else None)


def pages(data: bytes, folder: Path, *, dpi: int = DPI, first: int = 1, last: int = 0) -> list[Grey]:
    tool = shutil.which("pdftoppm")
    if tool is None:
        pytest.fail("pdftoppm is missing, so the printed page cannot be measured: install poppler-utils")
    (folder / "in.pdf").write_bytes(data)
    which = ["-f", str(first), *(["-l", str(last)] if last else [])]
    subprocess.run([tool, "-r", str(dpi), "-gray", *which, "in.pdf", "page"], cwd=folder, check=True)
    out = []
    for f in sorted(folder.glob("page*.pgm")):
        # PGM as pdftoppm writes it: P5, width, height, 255, one white space, then the dots.
        data = f.read_bytes()
        header = re.match(rb"P5\s(\d+)\s(\d+)\s255\s", data)
        assert header
        out.append(np.frombuffer(data, np.uint8, offset=header.end()).reshape(int(header[2]), int(header[1])))
        f.unlink()
    return out


def page_sizes(data: bytes, folder: Path) -> list[tuple[float, float]]:
    """Width and height of every page in mm, as poppler's pdfinfo reads them."""
    tool = shutil.which("pdfinfo")
    if tool is None:
        pytest.fail("pdfinfo is missing, so page sizes cannot be read: install poppler-utils")
    (folder / "in.pdf").write_bytes(data)
    said = subprocess.run([tool, "-l", "999", "in.pdf"], cwd=folder, check=True, capture_output=True, text=True).stdout
    out = []
    for row in said.splitlines():
        if row.startswith("Page ") and " size:" in row:
            w, _, h = row.split("size:")[1].split("pts")[0].split()
            out.append((float(w) / POINTS, float(h) / POINTS))
    return out


def line_centres(profile: npt.NDArray[np.bool_]) -> list[float]:
    """Middles of the runs of dark dots along a row or column, in dots."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], profile, [False])).astype(int)))
    return [(a + b) / 2 for a, b in zip(edges[::2], edges[1::2], strict=True)]


def squares(page: Grey) -> list[tuple[float, float]]:
    """Width and height in mm of the two test squares, found as the longest two pairs of straight dark lines."""
    dark = page < 128
    found = []
    for side in (50.0, 50.8):
        n = round(side / DOT)
        # Rows with an unbroken dark run about as long as the side: the square's upper and lower lines.
        rows: dict[tuple[int, int], list[int]] = {}
        for y in range(dark.shape[0]):
            edges = np.flatnonzero(np.diff(np.concatenate(([0], dark[y].astype(np.int8), [0]))))
            for a, b in zip(edges[::2], edges[1::2], strict=True):
                if abs((b - a) - n - 2) <= 2:
                    rows.setdefault((int(a), int(b)), []).append(y)
        (a, b), ys = next(
            (k, v) for k, v in sorted(rows.items(), key=lambda kv: -len(kv[1])) if max(v) - min(v) > n / 2
        )
        middle = (ys[0] + ys[-1]) // 2 + round(8 / DOT)
        across = [c for c in line_centres(dark[middle]) if a - 2 <= c <= b + 2]
        column = a + round(8 / DOT)
        down = [c for c in line_centres(dark[:, column]) if ys[0] - 2 <= c <= ys[-1] + 3]
        found.append(((across[-1] - across[0]) * DOT, (down[-1] - down[0]) * DOT))
    return found


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3", "A0", "roll"])
def test_test_squares_print_true(paper: str, tmp_path: Path) -> None:
    # 50 mm; and 2 in = 50.8 mm (inch = 25.4 mm, international yard and pound agreement of 1959).
    page = pages(printed(paper).data, tmp_path, last=1)[0]
    for (w, h), side in zip(squares(page), (50.0, 50.8), strict=True):
        assert w == pytest.approx(side, abs=0.1)
        assert h == pytest.approx(side, abs=0.1)


@pytest.mark.parametrize(
    ("paper", "size"),
    [
        ("A4", (210.0, 297.0)),  # ISO 216
        ("A3", (297.0, 420.0)),  # ISO 216
        ("A0", (841.0, 1189.0)),  # ISO 216
        ("Letter", (215.9, 279.4)),  # ANSI/ASME Y14.1, size A: 8 1/2 by 11 in
    ],
)
def test_pages_have_the_size_of_the_standard(paper: str, size: tuple[float, float], tmp_path: Path) -> None:
    sizes = page_sizes(printed(paper).data, tmp_path)
    assert len(sizes) == printed(paper).pages
    for found in sizes:
        assert sorted(found) == pytest.approx(sorted(size), abs=0.01)


def test_a_series_halves(tmp_path: Path) -> None:
    # ISO 216: A0 has one square metre with sides as 1 to the root of 2; each size is half the one before.
    w, h = PAPERS["a0"]
    assert w * h / 1e6 == pytest.approx(1.0, abs=1e-3)
    assert h / w == pytest.approx(2**0.5, abs=2e-3)
    for _ in range(3):
        w, h = h // 2, w
    assert (w, h) == PAPERS["a3"]
    assert (h // 2, w) == PAPERS["a4"]


def test_a_panel_prints_at_its_true_width_and_height(tmp_path: Path) -> None:
    # One piece on a small roll; its cut line is the largest thing that hangs together. Held against the data.
    piece = next(p for p in pattern().pieces if p.name == "centre back, shell")
    sheet = pattern_pdf(replace(pattern(), pieces=(piece,)), "roll", roll_width=450.0)
    dark = pages(sheet.data, tmp_path)[0] < 128
    marks, _ = ndimage.label(dark, structure=np.ones((3, 3)))
    boxes = ndimage.find_objects(marks)
    k = max(range(len(boxes)), key=lambda i: boxes[i][0].stop - boxes[i][0].start)
    rows, columns = boxes[k]
    line = marks[rows, columns] == k + 1
    pen = PENS["cut"].width
    outline = np.array(piece.cut_outline(tolerance=0.005))
    width, height = np.ptp(outline, axis=0)
    assert line.shape[1] * DOT - pen == pytest.approx(width, abs=0.2)
    assert line.shape[0] * DOT - pen == pytest.approx(height, abs=0.2)
    # And across at a third of its height, between the middles of the two lines.
    y = outline[:, 1].max() - height / 3
    nxt = np.roll(outline, -1, axis=0)
    hit = (outline[:, 1] > y) != (nxt[:, 1] > y)
    share = (y - outline[hit, 1]) / (nxt[hit, 1] - outline[hit, 1])
    xs = outline[hit, 0] + share * (nxt[hit, 0] - outline[hit, 0])
    centres = line_centres(line[round((height / 3 + pen / 2) / DOT)])
    assert (centres[-1] - centres[0]) * DOT == pytest.approx(np.ptp(xs), abs=0.2)


FEW = ("side front, shell", "centre front, shell", "side front, foam")
# Ten dots to the millimetre, so that all windows of whole millimetres begin on a dot.
TEN = 254


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
def test_tiles_put_together_again_are_the_whole_drawing(paper: str, tmp_path: Path) -> None:
    # Three pieces are enough: every kind of line, two panels' length, and dots that can be counted in a second.
    few = replace(pattern(), pieces=tuple(p for p in pattern().pieces if p.name in FEW))
    made = compose(few, paper, label=CLIENT, order_name=ORDER)
    tiling = made.laid.tiling
    assert len(tiling.tiles) > 1
    every = [t.box for t in (*tiling.tiles, *tiling.blank)]
    x0, y0, x1, y1 = union(every)
    # The whole on one sheet, without frames and marks; and the frames and marks of every tile on sheets of their own.
    big = Paper("roll", x1 - x0 + 2 * PRINT_MARGIN, y1 - y0 + 2 * PRINT_MARGIN)
    whole = pages(write_pdf([Page(big, (x0, y0, x1, y1), made.laid.drawings)], "whole"), tmp_path, dpi=TEN)[0]
    furniture = [replace(p, drawings=p.drawings[len(made.laid.drawings) :]) for p in made.pages[1:]]
    marks = pages(write_pdf(furniture, "marks"), tmp_path, dpi=TEN)
    sheets = pages(pattern_pdf(few, paper, label=CLIENT, order_name=ORDER).data, tmp_path, dpi=TEN, first=2)
    assert len(sheets) == len(marks) == len(tiling.tiles)
    whole = _window(whole, (x0, y0, x1, y1))
    ink = whole < 128
    assert ink.sum() > 50_000
    # Ink of one that has none of the other within a dot (0.1 mm) is ink that was moved, lost or made up.
    near = ndimage.binary_dilation(ink, np.ones((3, 3)))
    for last_wins in (True, False):
        # In the overlaps once the sheet further right and down is taken, once the one further left and up.
        together = np.zeros(ink.shape, dtype=bool)
        own = np.zeros(ink.shape, dtype=bool)
        order = list(zip(tiling.tiles, sheets, marks, strict=True))
        for t, sheet, mark in order if last_wins else order[::-1]:
            r, c = round((y1 - t.box[3]) * 10), round((t.box[0] - x0) * 10)
            inside = _window(sheet, t.box) < 128
            at = np.s_[r : r + inside.shape[0], c : c + inside.shape[1]]
            together[at] = inside
            # What the frame, marks and name of this sheet print is not the drawing's; two dots more for their rims.
            own[at] = ndimage.binary_dilation(_window(mark, t.box) < 250, iterations=2)
        assert own.mean() < 0.02, "frames and marks hide so much that nothing is proved"
        lost = (ink & ~ndimage.binary_dilation(together, np.ones((3, 3))) & ~own).sum()
        made_up = (together & ~near & ~own).sum()
        assert lost + made_up <= ink.sum() * 1e-5


def _window(page: Grey, box: Box) -> Grey:
    """What is printed inside the rim, at ten dots to the millimetre; poppler may add a row of white beyond."""
    rim = round(PRINT_MARGIN * 10)
    return page[rim : rim + round((box[3] - box[1]) * 10), rim : rim + round((box[2] - box[0]) * 10)]


def test_blank_sheets_are_left_out_and_said_to_be(tmp_path: Path) -> None:
    # Two small pieces far apart: between them lies paper with nothing on it.
    made = [d for d in piece_drawings(pattern(), Naming()) if "foam" in d.name]
    a = made[0]
    tiling = tile((0.0, 0.0, 700.0, 900.0), read_paper("A4"), lambda box: box[0] > 100 and box[1] > 100)
    assert tiling.blank
    assert {t.name for t in tiling.blank} & {t.name for t in tiling.tiles} == set()
    assert len(tiling.blank) + len(tiling.tiles) == tiling.rows * tiling.columns
    said = cover.assembly_map([a], tiling, (0.0, 0.0, 180.0, 150.0))
    names = {t.says for t in said.texts}
    assert all(t.name in names for t in tiling.tiles)
    assert not any(t.name in names for t in tiling.blank)
    assert any(f"{len(tiling.blank)} blank ones, crossed out here, are left out" in n for n in names)
    one = cover.assembly_map([a], replace(tiling, blank=tiling.blank[:1]), (0.0, 0.0, 180.0, 150.0))
    assert any("1 blank one, crossed out here, is left out" in t.says for t in one.texts)


def test_the_same_order_gives_the_same_bytes() -> None:
    again = pattern_pdf(pattern(), "A3", label=CLIENT, order_name=ORDER)
    assert again == printed("A3")


def test_each_join_is_named_on_both_sheets() -> None:
    made = compose(pattern(), "A4", label=CLIENT, order_name=ORDER)
    said = {t.name: set() for t in made.laid.tiling.tiles}
    for t, p in zip(made.laid.tiling.tiles, made.pages[1:], strict=True):
        said[t.name] = {x.says for x in p.drawings[-1].texts}
    places = {(t.row, t.column): t.name for t in made.laid.tiling.tiles}
    for (r, c), name in places.items():
        for other in (places.get((r, c + 1)), places.get((r + 1, c))):
            if other:
                assert f"{name}-{other}" in said[name]
                assert f"{name}-{other}" in said[other]


def test_the_first_page_says_how_to_print(tmp_path: Path) -> None:
    for paper in ("A4", "A0", "roll"):
        said = words_of(printed(paper).data, tmp_path, "-l", "1")
        for words_wanted in ("100 %", "fit", "50 mm", "2 in", ORDER, CLIENT, "cut line", "net line"):
            assert words_wanted in said, (paper, words_wanted)


def test_paper_that_is_not_known_is_refused() -> None:
    with pytest.raises(ValueError, match="A5"):
        pattern_pdf(pattern(), "A5")
    with pytest.raises(ValueError, match="roll needs its width"):
        pattern_pdf(pattern(), "roll")
    with pytest.raises(ValueError, match="too narrow"):
        pattern_pdf(pattern(), "roll", roll_width=210.0)
    with pytest.raises(ValueError, match="nothing to print"):
        pattern_pdf(replace(pattern(), panels=(), pieces=()), "A4")


def test_panels_are_printed_where_there_are_no_pieces() -> None:
    sheet = pattern_pdf(replace(pattern(), pieces=()), "A0", order_name=ORDER)
    assert sheet.pages == len(sheet.tiles) >= 1
