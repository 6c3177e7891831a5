"""What goes with a tiled print: the test squares, how to print and join, the line kinds, the map of the sheets, marks.

All of it is a Drawing like any other. The map is the one picture that is smaller than life; it says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from kurbopy import Affine

from coutil.pattern.nicks import NICK
from coutil.plane import Box, Path, Pt, union
from coutil.sheets.drawing import (
    CAP_HEIGHT,
    Anchor,
    Drawing,
    Line,
    LineStyle,
    Text,
)
from coutil.sheets.fonts import measure
from coutil.sheets.labels import BlockLine, block_size, set_block, wrap
from coutil.sheets.paper import Tile, Tiling
from coutil.sheets.places import Places
from coutil.units import INCH
from coutil.words import say

# The squares that a print is measured by, in mm: one for each kind of ruler.
SQUARES = (50.0, 2.0 * INCH)
# Type sizes of title, client and running words, in mm: 20, 13 and 9 point, the usual steps of a printed page.
TITLE, OWNER, WORDS = 7.0, 4.6, 3.2
# Baseline to baseline of running words.
STEP = 1.45
# Half the diagonal of a match mark's diamond, in mm: it must fit in the overlap on either side.
DIAMOND = 4.0
# Type size of match marks, in mm.
MARK = 2.5
# Where words find no room right at a mark, they stand so much farther from the join, in mm.
STEPS_OFF = (0.0, 2.0, 4.0, 6.0)
# Type sizes tried for the name of a sheet, in mm.
NAME_SIZES = (9.0, 7.0, 5.0, 3.5, 2.5)
# Type sizes tried for the line that must not be overlooked, in mm: none so small that it could be.
WARNING_SIZES = (9.0, 7.0, 5.0, 4.2)
# Widths that it is folded to, as parts of the sheet's, and the rim of its frame in mm.
WARNING_WIDTHS = (1.0, 0.6, 0.4, 0.28, 0.2, 0.14)
WARNING_RIM = 1.5
# Line kinds in the key; what each means stands in the catalogue.
KEY: tuple[LineStyle, ...] = ("cut", "net", "placement", "channel", "fold", "notch", "grain", "level")
# Only these lines are worth showing on the map.
ON_MAP = ("cut", "fold", "panel")


@dataclass(frozen=True, slots=True)
class JoinMark:
    """A diamond on the line where the second sheet is laid on the first, with the words that each of them bears."""

    at: Pt
    first: Text
    second: Text


# For two neighbours, by their names, the marks of their join.
Joins = dict[tuple[str, str], tuple[JoinMark, ...]]


def title_block(title: str, owner: str, sheets: str, advice: Sequence[str], width: float, *, warn: str = "") -> Drawing:
    """Title, owner, advice, squares and key, no wider than `width` mm; its upper left corner is at (0, 0).

    `warn` stands above all in the largest letters, "" for nothing.
    """
    texts: list[Text] = []
    y = 0.0
    for says, size in ((warn, TITLE), (title, TITLE), (owner, OWNER), (sheets, WORDS)):
        for row in wrap(says, size, width):
            y -= size * (CAP_HEIGHT if y == 0.0 else STEP)
            texts.append(Text(row, (0.0, y), size, measure(row, size)))
    y -= 3.0
    for paragraph in advice:
        for row in wrap(paragraph, WORDS, width):
            y -= WORDS * STEP
            texts.append(Text(row, (0.0, y), WORDS, measure(row, WORDS)))
        y -= 1.2
    y -= 4.0
    lines: list[Line] = []
    x = 0.2
    for side, says in zip(SQUARES, (say("print.square_cm"), say("print.square_in")), strict=True):
        lines.append(Line(_box_path((x, y - side, x + side, y)), "frame"))
        texts.append(Text(says, (x + side / 2, y - side / 2), OWNER, measure(says, OWNER), "middle"))
        x += side + 8.0
    key = _key(x, y) if width - x >= KEY_WIDTH else _key(0.0, y - SQUARES[1] - 6.0)
    return Drawing(say("print.how"), tuple(lines), texts=tuple(texts), parts=(key,))


# Room that the key takes beside the squares, in mm: a 16 mm sample, a gap, and its longest words.
KEY_WIDTH = 70.0


def _key(x: float, y: float) -> Drawing:
    lines, texts = [], []
    row = y
    for style in KEY:
        says = say(f"print.line.{style}")
        row -= 7.0
        mid = row + CAP_HEIGHT * WORDS / 2
        if style == "notch":
            lines += [Line(Path.through([(x + 8.0, mid - NICK / 2.0), (x + 8.0, mid + NICK / 2.0)]), style)]
        else:
            lines.append(Line(Path.through([(x, mid), (x + 20.0, mid)]), style))
        texts.append(Text(says, (x + 23.0, row), WORDS, measure(says, WORDS)))
    return Drawing(say("print.key"), tuple(lines), texts=tuple(texts))


def assembly_map(drawings: Sequence[Drawing], tiling: Tiling, room: Box) -> Drawing:
    """The sheets as a grid over a small picture of everything, centred in `room`; sheets left out are crossed."""
    windows = [t.box for t in (*tiling.tiles, *tiling.blank)]
    x0, y0, x1, y1 = union(windows)
    caption = 6.0
    k = min((room[2] - room[0]) / (x1 - x0), (room[3] - room[1] - caption) / (y1 - y0))
    at = ((room[0] + room[2] - k * (x1 - x0)) / 2, room[3] - caption - k * (y1 - y0))

    def small(p: Pt) -> Pt:
        return (at[0] + k * (p[0] - x0), at[1] + k * (p[1] - y0))

    shrunk = Affine(k, 0.0, 0.0, k, at[0] - k * x0, at[1] - k * y0)
    lines: list[Line] = []
    texts: list[Text] = []
    for d in drawings:
        for part in d.every():
            lines += [Line(n.path.mapped(shrunk), "frame") for n in part.lines if n.style in ON_MAP]
    for t in (*tiling.tiles, *tiling.blank):
        left, top = small((t.box[0], t.box[3]))
        right, bottom = small((t.box[2], t.box[1]))
        lines.append(Line(_box_path((left, bottom, right, top)), "level"))
        if t in tiling.blank:
            lines.append(Line(Path.through([(left, bottom), (right, top)]), "level"))
            lines.append(Line(Path.through([(left, top), (right, bottom)]), "level"))
    places = Places((at[0], at[1], at[0] + k * (x1 - x0), at[1] + k * (y1 - y0)), cell=0.5)
    for drawn in lines:
        for c in drawn.path.segments:
            places.ink_line(_sampled(Path((c,)), ends=drawn.style == "level"))
    for t in tiling.tiles:
        corner = small((t.box[0], t.box[1]))
        far = small((t.box[2], t.box[3]))
        middle = ((corner[0] + far[0]) / 2, (corner[1] + far[1]) / 2)
        texts += _free_name(t.name, places, middle, (*corner, *far))
    blank = len(tiling.blank)
    ratio = f"{1 / k:.0f}" if k < 0.2 else f"{1 / k:.1f}"
    sheets = len(tiling.tiles)
    some = f"{'_one' if sheets == 1 else ''}{'_blank' if blank else ''}{'_one' if blank == 1 else ''}"
    says = say(f"print.map_about{some}", ratio=ratio, count=sheets, blank=blank)
    texts.append(Text(says, (room[0], room[3] - WORDS), WORDS, measure(says, WORDS)))
    return Drawing(say("print.map"), tuple(lines), texts=tuple(texts))


def furniture(t: Tile, tiling: Tiling, joins: Joins, running: str, places: Places) -> Drawing:
    """Frame, match marks and name of one sheet, off the pattern's lines as far as there is room."""
    lines = [Line(_box_path(t.box), "frame")] if tiling.pasted else []
    texts: list[Text] = []
    for (first, second), marks in joins.items():
        if t.name not in (first, second):
            continue
        for mark in marks:
            x, y = mark.at
            diamond = [(x - DIAMOND, y), (x, y - DIAMOND), (x + DIAMOND, y), (x, y + DIAMOND)]
            lines.append(Line(Path.through([*diamond, diamond[0]]), "frame"))
            texts.append(mark.first if t.name == first else mark.second)
    texts += _sheet_name(t, tiling, running, places)
    return Drawing(say("print.sheet", name=t.name), tuple(lines), texts=tuple(texts))


def warning(t: Tile, tiling: Tiling, says: str, places: Places) -> Drawing:
    """A line across a sheet that must not be overlooked, in the largest letters for which there is free ground.

    Where there is none it stands over the fewest of the pattern's lines: that it is read comes before the lines, by
    which nothing may be cut.
    """
    x0, y0, x1, y1 = t.box
    rim = tiling.overlap + 2.0 + WARNING_RIM
    inner = (x0 + rim, y0 + rim, x1 - rim, y1 - rim)
    room = inner[2] - inner[0]
    # Each size is tried on one line, then folded: the ground between two lines is often tall and narrow.
    for size, share in ((size, share) for size in WARNING_SIZES for share in WARNING_WIDTHS):
        if max(measure(word, size) for word in says.split()) > room * share:
            continue
        rows = [BlockLine(row) for row in wrap(says, size, room * share)]
        w, h = block_size(rows, size)
        corner = places.find(w, h, near=((x0 + x1) / 2, y1), clearance=1.0 + WARNING_RIM, within=inner)
        if corner is not None:
            break
    else:
        size, rows = WARNING_SIZES[1], [BlockLine(row) for row in wrap(says, WARNING_SIZES[1], room * 0.4)]
        w, h = block_size(rows, size)
        tries = [
            (inner[0] + (inner[2] - inner[0] - w) * i / 8.0, inner[1] + (inner[3] - inner[1] - h) * j / 8.0)
            for i in range(9)
            for j in range(9)
        ]
        corner = min(tries, key=lambda p: places.ink_in((p[0], p[1], p[0] + w, p[1] + h)))
    w, h = block_size(rows, size)
    r = WARNING_RIM
    box = (corner[0] - r, corner[1] - r, corner[0] + w + r, corner[1] + h + r)
    places.ink_box(box)
    texts = set_block(rows, size, corner, 0.0)
    return Drawing(say("print.warning", name=t.name), (Line(_box_path(box), "frame"),), texts=tuple(texts))


def plan_joins(tiling: Tiling, places: Places) -> Joins:
    """Two match marks for every pair of printed neighbours, on the line where the second lies on the first.

    None where nothing is pasted. Each mark goes where its words cover no ink, or else the least, then its diamond, then
    the nearest to a quarter or three quarters of the join; its ground is then inked.
    """
    out: Joins = {}
    if not tiling.pasted:
        return out
    by_place = {(t.row, t.column): t for t in tiling.tiles}
    keep = tiling.overlap + 2 * DIAMOND
    for (r, c), t in by_place.items():
        for dr, dc in ((0, 1), (1, 0)):
            other = by_place.get((r + dr, c + dc))
            if other is None:
                continue
            says = f"{t.name}-{other.name}"
            sideways = dc == 1
            marks = []
            for share in (0.25, 0.75):
                if sideways:
                    steps = _steps(t.box[1] + keep, t.box[3] - keep, share)
                    marks.append(_emptiest([(other.box[0], v) for v in steps], says, sideways, places))
                else:
                    steps = _steps(t.box[0] + keep, t.box[2] - keep, share)
                    marks.append(_emptiest([(v, other.box[3]) for v in steps], says, sideways, places))
            out[(t.name, other.name)] = tuple(marks)
    return out


def _emptiest(spots: Sequence[Pt], says: str, sideways: bool, places: Places) -> JoinMark:
    """A mark at the first of the spots whose words, then whose diamond cover the least; its ground is inked."""
    best: tuple[int, int] | None = None
    mark: JoinMark | None = None
    for p in spots:
        first, over_first = _best_words(says, p, sideways, -1.0, places)
        second, over_second = _best_words(says, p, sideways, 1.0, places)
        cost = (over_first + over_second, places.ink_in(_around(p, DIAMOND)))
        if best is None or cost < best:
            best, mark = cost, JoinMark(p, first, second)
        if best == (0, 0):
            break
    if mark is None:
        raise ValueError("a match mark needs a place to try")
    for ground in (_around(mark.at, DIAMOND), _text_box(mark.first), _text_box(mark.second)):
        places.ink_box(ground)
    return mark


def _best_words(says: str, at: Pt, sideways: bool, sign: float, places: Places) -> tuple[Text, int]:
    """The words of a mark on its first sheet (sign -1: to the left or above) or on its second, and the ink they cover.

    They stand beyond the half diamond, or beside it on either hand, or a step farther from the join.
    """
    w = measure(says, MARK)
    x, y = at
    cap = CAP_HEIGHT * MARK
    gap = DIAMOND + 1.0
    if sideways:
        anchor: Anchor = "end" if sign < 0 else "start"
        tries = [
            Text(says, (x + sign * gap, y - cap / 2), MARK, w, anchor),
            Text(says, (x + sign * 1.5, y + gap), MARK, w, anchor),
            Text(says, (x + sign * 1.5, y - gap - cap), MARK, w, anchor),
        ]
    else:
        beyond = y + gap + 0.5 if sign < 0 else y - gap - cap
        beside = y + 1.5 if sign < 0 else y - 1.5 - cap
        tries = [
            Text(says, (x, beyond), MARK, w, "middle"),
            Text(says, (x + gap, beside), MARK, w, "start"),
            Text(says, (x - gap, beside), MARK, w, "end"),
        ]
    best: tuple[Text, int] | None = None
    for step in STEPS_OFF:
        dx, dy = (sign * step, 0.0) if sideways else (0.0, -sign * step)
        for words in tries:
            moved = replace(words, at=(words.at[0] + dx, words.at[1] + dy))
            cost = places.ink_in(_text_box(moved))
            if cost == 0:
                return moved, 0
            if best is None or cost < best[1]:
                best = (moved, cost)
    assert best is not None
    return best


def _text_box(t: Text) -> Box:
    xs, ys = zip(*t.corners(), strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def _sheet_name(t: Tile, tiling: Tiling, running: str, places: Places) -> list[Text]:
    """The sheet's name with the running words, where both are free; else the name alone; else the emptiest corner."""
    x0, y0, x1, y1 = t.box
    # Clear of the strips that are cut off or pasted over.
    inner = (x0 + tiling.overlap + 2, y0 + tiling.overlap + 2, x1 - tiling.overlap - 2, y1 - tiling.overlap - 2)
    near = (x0, y1)
    for extra in ([BlockLine(running, 0.35)], []):
        for size in NAME_SIZES:
            rows = [BlockLine(t.name), *extra]
            if extra and size * 0.35 < MARK:
                continue
            w, h = block_size(rows, size)
            corner = places.find(w, h, near=near, clearance=1.5, within=inner)
            if corner is not None:
                texts = set_block(rows, size, corner, 0.0)
                for text in texts:
                    places.ink_corners(text.corners())
                return texts
    size = NAME_SIZES[-1]
    w, h = block_size([BlockLine(t.name)], size)
    corners = [(inner[0], inner[1]), (inner[2] - w, inner[1]), (inner[0], inner[3] - h), (inner[2] - w, inner[3] - h)]
    best = min(corners, key=lambda p: places.ink_in((p[0], p[1], p[0] + w, p[1] + h)))
    return set_block([BlockLine(t.name)], size, best, 0.0)


def _free_name(name: str, places: Places, middle: Pt, within: Box) -> list[Text]:
    for size in (5.0, 4.0, 3.2, 2.5, 2.12):
        w, h = block_size([BlockLine(name)], size)
        corner = places.find(w, h, near=middle, clearance=0.5, within=within)
        if corner is not None:
            texts = set_block([BlockLine(name)], size, corner, 0.0)
            for t in texts:
                places.ink_corners(t.corners())
            return texts
    # The picture fills the sheet's share to the last millimetre: the name stands in its middle all the same.
    w, h = block_size([BlockLine(name)], 2.12)
    return set_block([BlockLine(name)], 2.12, (middle[0] - w / 2, middle[1] - h / 2), 0.0)


def _steps(low: float, high: float, share: float) -> list[float]:
    """Places along a join, 2 mm apart, within a quarter of its length of the wanted share, the nearest first."""
    want = low + share * (high - low)
    n = int((high - low) / 4 / 2.0)
    return [want] + [want + s * 2.0 * k for k in range(1, n + 1) for s in (1, -1)]


def _around(p: Pt, reach: float) -> Box:
    return (p[0] - reach, p[1] - reach, p[0] + reach, p[1] + reach)


def _box_path(b: Box) -> Path:
    return Path.through([(b[0], b[1]), (b[2], b[1]), (b[2], b[3]), (b[0], b[3]), (b[0], b[1])], closed=True)


def _sampled(c: Path, *, ends: bool) -> list[Pt]:
    """A cubic as a polyline; its ends alone if that is asked for, or where it is small."""
    x0, y0, x1, y1 = c.bounds()
    if ends or max(x1 - x0, y1 - y0) < 1.0:
        return [c.start, c.end]
    return c.points(tolerance=0.2)
