"""What the sheets bear besides the pattern: none of it may lie over the pattern's lines where there is room."""

from __future__ import annotations

import pytest
from shapely import LineString, Polygon, box
from shapely.strtree import STRtree

import synthetic
from coutil.make import work_out
from coutil.order import parse_order
from coutil.plane import Path
from coutil.sheets.cover import assembly_map, warning
from coutil.sheets.drawing import PENS, Drawing, Line
from coutil.sheets.figures import Naming, piece_drawings
from coutil.sheets.pages import compose
from coutil.sheets.paper import Tile, Tiling, count, read_paper, shelve, tile, tile_name
from coutil.sheets.places import Places
from drawn import DEMO
from sheets_fixture import with_pieces


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
@pytest.mark.parametrize("uneven", [False, True])
def test_words_on_the_sheets_stay_off_the_pattern(paper: str, uneven: bool) -> None:
    made = compose(with_pieces(synthetic.uneven() if uneven else None), paper, label="M. T.", order_name="paper")
    lines = [
        LineString(n.path.points(tolerance=0.05)).buffer(PENS[n.style].width / 2)
        for top in made.laid.drawings
        for d in top.every()
        for n in d.lines
    ]
    tree = STRtree(lines)
    over = [
        f"{page.drawings[-1].name}: {t.says}"
        for page in made.pages[1:]
        for t in page.drawings[-1].texts
        if len(tree.query(Polygon(t.corners()), "intersects"))
    ]
    assert over == []


def test_a_piece_on_the_fold_says_so_beside_the_middle_of_its_fold() -> None:
    pattern = work_out(parse_order(DEMO)).pattern
    bearing = {p.name for p in pattern.pieces if p.on_fold}
    fold = pattern.panel("centre front", "both").edge("centre_front").curve
    low, high = sorted((fold.start[1], fold.end[1]))
    seen = set()
    for drawing in piece_drawings(pattern, Naming()):
        names = set(drawing.name.split(" / "))
        told = [t for t in drawing.texts if t.says == "place on the fold"]
        assert len(told) == bool(names & bearing), drawing.name
        for t in told:
            assert t.turn == 90.0
            assert 0.0 < t.at[0] < 20.0, "inside the piece, beside x = 0"
            assert low + (high - low) / 4 < t.at[1] < high - (high - low) / 4
            seen |= names
    assert seen == bearing != set()


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
def test_sheets_bear_their_names_inside_what_is_left_after_pasting(paper: str) -> None:
    made = compose(with_pieces(), paper, order_name="paper")
    for t, page in zip(made.laid.tiling.tiles, made.pages[1:], strict=True):
        name = next(x for x in page.drawings[-1].texts if x.says == t.name)
        x0, y0, x1, y1 = t.box
        assert box(x0 + 10, y0 + 10, x1 - 10, y1 - 10).contains(Polygon(name.corners()))


def test_a_warning_without_free_ground_stays_on_its_sheet_in_a_frame_round_its_words() -> None:
    """Over the lines, but wholly on the paper, on a sheet that does not begin where the drawing does."""
    tiling = tile((0.0, 0.0, 400.0, 900.0), read_paper("A4"), lambda _: False, overlap=10.0)
    sheet = max(tiling.tiles, key=lambda t: t.box[1])
    places = Places(sheet.box, cell=1.0)
    places.ink_box(sheet.box)
    drawing = warning(sheet, tiling, "DO NOT CUT: readings were not taken", places)
    inside = box(*sheet.box)
    (frame,) = (Polygon(n.path.points(tolerance=0.01)) for n in drawing.lines)
    assert frame.area == pytest.approx(box(*frame.bounds).area)
    assert inside.contains(frame)
    assert drawing.texts
    assert all(frame.contains(Polygon(t.corners())) for t in drawing.texts)


def test_rows_have_letters_and_columns_numbers() -> None:
    assert tile_name(0, 0) == "A1"
    assert tile_name(2, 11) == "C12"
    assert tile_name(25, 0) == "Z1"
    assert tile_name(26, 0) == "AA1"
    assert tile_name(27, 1) == "AB2"
    assert len({tile_name(r, c) for r in range(800) for c in range(3)}) == 2400


@pytest.mark.parametrize("size", [(10.0, 10.0), (190.0, 277.0), (190.1, 277.1), (1500.0, 800.0), (371.0, 5000.0)])
@pytest.mark.parametrize("overlap", [0.0, 10.0, 25.0])
def test_tiles_cover_everything_and_overlap_as_stated(size: tuple[float, float], overlap: float) -> None:
    bounds = (-13.0, 7.0, -13.0 + size[0], 7.0 + size[1])
    tiling = tile(bounds, read_paper("A4"), lambda _: False, overlap=overlap)
    whole = box(*bounds)
    covered = whole
    for t in tiling.tiles:
        covered = covered.difference(box(*t.box))
    assert covered.area == pytest.approx(0.0, abs=1e-6)
    by_place = {(t.row, t.column): t.box for t in tiling.tiles}
    for (r, c), b in by_place.items():
        if (r, c + 1) in by_place:
            assert b[2] - by_place[(r, c + 1)][0] == pytest.approx(overlap)
        if (r + 1, c) in by_place:
            assert by_place[(r + 1, c)][3] - b[1] == pytest.approx(overlap)
    # And no more of them than are needed.
    assert tiling.columns == count(size[0], 190.0, overlap)
    assert (tiling.columns - 1) * (190.0 - overlap) + overlap < size[0] or tiling.columns == 1


def test_an_overlap_that_does_not_suit_is_refused() -> None:
    for overlap in (-1.0, 95.0, float("nan")):
        with pytest.raises(ValueError, match="overlap"):
            tile((0, 0, 100, 100), read_paper("A4"), lambda _: False, overlap=overlap)


def test_shelves_keep_everything_apart() -> None:
    boxes = [(5.0 * k, -k, 5.0 * k + 40 + 7 * (k % 5), 60.0 + 11 * (k % 3)) for k in range(20)]
    moved = [box(b[0] + x, b[1] + y, b[2] + x, b[3] + y) for b, (x, y) in zip(boxes, shelve(boxes, 300.0), strict=True)]
    for k, a in enumerate(moved):
        assert a.bounds[0] >= -1e-9
        assert a.bounds[2] <= 300.0 + 1e-9
        assert all(a.distance(b) > 7.9 for b in moved[:k])


@pytest.mark.parametrize(
    ("said", "name"),
    [("A4", "a4"), ("us letter", "letter"), ("US-Letter", "letter"), (" a0 ", "a0"), ("Letter", "letter")],
)
def test_paper_is_known_by_its_usual_names(said: str, name: str) -> None:
    assert read_paper(said).name == name


@pytest.mark.parametrize(("paper", "width"), [("A0", None), ("roll", 420.0), ("roll", 914.4)])
@pytest.mark.parametrize("copies", [1, 6])
def test_large_paper_bears_whole_pieces_and_the_squares_come_first(
    paper: str, width: float | None, copies: int
) -> None:
    pattern = with_pieces(synthetic.uneven())
    drawings = piece_drawings(pattern, Naming("paper", "M. T.")) * copies
    made = compose(pattern, paper, roll_width=width, drawings=drawings)
    sheets = [box(*p.window) for p in made.pages]
    assert all(a.disjoint(b) for k, a in enumerate(sheets) for b in sheets[:k])
    boxes = [box(*d.bounds()) for d in made.laid.drawings]
    held = [[s.buffer(1e-6).contains(b) for s in sheets].index(True) for b in boxes]
    assert set(held) == set(range(len(sheets)))
    assert held[0] == 0
    assert made.laid.drawings[0].name == "how to print"
    assert len(made.laid.drawings) == 1 + len(drawings)
    for k, b in enumerate(boxes):
        assert all(b.distance(other) > 7.9 for other in boxes[:k])
    for p in made.pages:
        # ISO 32000-1, annex C: at most 14,400 units of 1/72 in.
        assert max(p.paper.width, p.paper.height) <= 14_400 / 72 * 25.4


def test_a_piece_larger_than_the_largest_sheet_is_shared_among_sheets() -> None:
    pattern = with_pieces()
    huge = [Drawing("huge", (Line(Path.through([(0, 0), (1500, 0), (1500, 1200), (0, 0)]), "cut"),))]
    made = compose(pattern, "A0", drawings=huge)
    assert made.laid.tiling.pasted
    assert made.pages[0].drawings[0].name == "how to print"
    assert len(made.pages) == 1 + len(made.laid.tiling.tiles) > 2


@pytest.mark.parametrize(
    ("printed", "blank", "says"),
    [
        (1, 0, "1 sheet to print."),
        (2, 0, "2 sheets to print."),
        (1, 1, "1 sheet to print; 1 blank one, crossed out here, is left out."),
        (3, 1, "3 sheets to print; 1 blank one, crossed out here, is left out."),
        (1, 2, "1 sheet to print; 2 blank ones, crossed out here, are left out."),
        (3, 2, "3 sheets to print; 2 blank ones, crossed out here, are left out."),
    ],
)
def test_the_map_counts_the_sheets(printed: int, blank: int, says: str) -> None:
    paper = read_paper("A4")
    w, h = paper.window
    tiles = [Tile(0, k, (k * w, -h, (k + 1) * w, 0.0)) for k in range(printed + blank)]
    tiling = Tiling(paper, 10.0, 1, len(tiles), tuple(tiles[:printed]), tuple(tiles[printed:]))
    made = assembly_map([], tiling, (0.0, 0.0, 190.0, 100.0))
    (caption,) = (t.says for t in made.texts if "Map of the sheets" in t.says)
    assert caption.endswith(f". {says}")
