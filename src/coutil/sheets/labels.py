"""Labels that never lie over a line: a figure's ink is known, so each label looks for a free place before it is set.

A block that finds no place at the largest size is tried smaller, then turned along the length; below the smallest
size it goes outside the figure, with a leader. Nothing is left out except labels that say `optional`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coutil.plane import Box, Path, Pt, is_straight, union
from coutil.sheets.drawing import (
    CAP_HEIGHT,
    DESCENDER,
    Drawing,
    Line,
    LineStyle,
    Shape,
    Text,
)
from coutil.sheets.fonts import measure
from coutil.sheets.places import CELL, Places

# Type sizes tried for a block, in mm, largest first. The smallest is 6 point, about the least that prints and reads
# well (common practice, no source).
SIZES = (5.0, 4.2, 3.5, 2.9, 2.5, 2.12)
SMALLEST = SIZES[-1]
# Type sizes of marks that stand beside a line.
MARK_SIZES = (2.9, 2.5, SMALLEST)
# From one baseline to the next, in parts of the type size.
LEADING = 1.4
# White kept round a block and round a mark, in mm: found by trial, so that no letter seems to touch a line.
BLOCK_CLEARANCE = 2.0
MARK_CLEARANCE = 0.6
# White kept to either side of what is written, for the next label not to read on from it, in mm.
APART = 2.5
# A polyline this near to a curve is good enough to keep labels off it, in mm.
INK_TOLERANCE = 0.2


@dataclass(frozen=True, slots=True)
class BlockLine:
    """A line of a block; `weight` multiplies the type size of the block."""

    says: str
    weight: float = 1.0


class Figure:
    """A drawing in the making: its lines first, then its labels. Handed on as a Drawing by `done`."""

    def __init__(self, name: str, *, about: str = "") -> None:
        self.name = name
        self.about = about
        self.lines: list[Line] = []
        self.shapes: list[Shape] = []
        self.texts: list[Text] = []
        self._places: Places | None = None

    def stroke(self, path: Path, style: LineStyle) -> None:
        if path.segments:
            self.lines.append(Line(path, style))
            if self._places is not None:
                self._places.ink_line(path.points(tolerance=INK_TOLERANCE))

    def run(self, points: Iterable[Pt], style: LineStyle) -> None:
        """A straight line through points."""
        self.stroke(Path.through(points), style)

    def fill(self, points: Sequence[Pt]) -> None:
        self.shapes.append(Shape(Path.through([*points, points[0]], closed=True)))

    def open_places(self, inside: Sequence[Pt] | None = None, *, cell: float = CELL, around: float = 60.0) -> None:
        """Start placing labels: all that is drawn so far is ink, and so is all that lies outside polygon `inside`.

        Without such a polygon labels may stand up to `around` mm outside what is drawn.
        """
        if inside is not None:
            xs, ys = zip(*inside, strict=True)
            box: Box = (min(xs), min(ys), max(xs), max(ys))
        else:
            x0, y0, x1, y1 = union(n.path.bounds() for n in self.lines)
            box = (x0 - around, y0 - around, x1 + around, y1 + around)
        places = Places(box, cell=cell)
        if inside is not None:
            places.ink_outside(inside)
        for n in self.lines:
            lines = n.path.segments
            for path in [Path((s,)) for s in lines] if all(map(is_straight, lines)) else [n.path]:
                places.ink_line(path.points(tolerance=INK_TOLERANCE))
        for s in self.shapes:
            places.ink_box(s.path.bounds())
        for t in self.texts:
            places.ink_box(corners_box(t))
        self._places = places

    @property
    def places(self) -> Places:
        if self._places is None:
            raise RuntimeError("open_places comes before any label")
        return self._places

    def block(
        self,
        variants: Sequence[Sequence[BlockLine]],
        *,
        near: Pt,
        sizes: Sequence[float] = SIZES,
        turns: Sequence[float] = (0.0, 90.0),
        clearance: float = BLOCK_CLEARANCE,
        within: Box | None = None,
    ) -> bool:
        """Set a block of centred lines at the largest size that finds a place, and ink it; False if none does.

        `variants` say the same in other line breaks, the best first.
        """
        for size in sizes:
            for turn in turns:
                for lines in variants:
                    w, h = block_size(lines, size)
                    across, up = (w, h) if turn == 0.0 else (h, w)
                    corner = self.places.find(across, up, near=near, clearance=clearance, within=within)
                    if corner is not None:
                        self._set(set_block(lines, size, corner, turn))
                        return True
        return False

    def outside(self, lines: Sequence[BlockLine], *, to: Pt, size: float = SIZES[2]) -> None:
        """Set a block to the right of all that is drawn, with a leader to the point `to`."""
        _, y0, x1, y1 = Drawing("", tuple(self.lines), tuple(self.shapes), tuple(self.texts)).bounds()
        _, h = block_size(lines, size)
        corner = (x1 + 8.0, min(max(to[1] - h / 2, y0), max(y0, y1 - h)))
        self.texts += set_block(lines, size, corner, 0.0)
        self.run([(corner[0] - 1.5, corner[1] + h / 2), to], "leader")
        self.fill(disc(to, 0.7))

    def mark(self, says: str, spots: Iterable[tuple[Box, Pt]], *, turn: float = 0.0) -> bool:
        """A short label at the first of `spots` (where it may lie, what it should be near) that has room for it."""
        tries = list(spots)
        for size in MARK_SIZES:
            for within, near in tries:
                if self.block(
                    [[BlockLine(says)]],
                    near=near,
                    sizes=(size,),
                    turns=(turn,),
                    clearance=MARK_CLEARANCE,
                    within=within,
                ):
                    return True
        return False

    def done(self) -> Drawing:
        return Drawing(self.name, tuple(self.lines), tuple(self.shapes), tuple(self.texts), about=self.about)

    def _set(self, texts: Iterable[Text]) -> None:
        for t in texts:
            self.texts.append(t)
            x0, y0, x1, y1 = corners_box(t)
            self.places.ink_box((x0 - APART, y0, x1 + APART, y1))


def block_size(lines: Sequence[BlockLine], size: float) -> tuple[float, float]:
    """Width and height in mm of a block: from the first line's capitals to the last line's descenders."""
    width = max(measure(n.says, size * n.weight) for n in lines)
    height = CAP_HEIGHT * size * lines[0].weight + DESCENDER * size * lines[-1].weight
    height += sum(LEADING * size * n.weight for n in lines[1:])
    return width, height


def set_block(lines: Sequence[BlockLine], size: float, corner: Pt, turn: float) -> list[Text]:
    """Centred lines in a block with its lower left corner at `corner`; turned by 0 or 90 degrees."""
    w, h = block_size(lines, size)
    out = []
    y = h - CAP_HEIGHT * size * lines[0].weight
    for k, n in enumerate(lines):
        if k:
            y -= LEADING * size * n.weight
        at = (corner[0] + w / 2, corner[1] + y) if turn == 0.0 else (corner[0] + h - y, corner[1] + w / 2)
        out.append(Text(n.says, at, size * n.weight, measure(n.says, size * n.weight), "middle", turn))
    return out


def corners_box(t: Text) -> Box:
    """The upright box round a text."""
    xs, ys = zip(*t.corners(), strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def disc(centre: Pt, radius: float) -> list[Pt]:
    """An octagon: at the size of a dot it prints as a disc."""
    x, y = centre
    d = radius * 0.7071
    return [
        (x + radius, y), (x + d, y + d), (x, y + radius), (x - d, y + d),
        (x - radius, y), (x - d, y - d), (x, y - radius), (x + d, y - d),
    ]  # fmt: skip


def wrap(says: str, size: float, width: float) -> list[str]:
    """Lines no wider than `width` mm, broken at spaces; a word that is wider than that is broken within."""
    rows: list[str] = []
    row = ""
    for word in says.split():
        longer = f"{row} {word}".strip()
        if measure(longer, size) <= width:
            row = longer
            continue
        if row:
            rows.append(row)
        while measure(word, size) > width and len(word) > 1:
            n = max(1, int(len(word) * width / measure(word, size)))
            while n > 1 and measure(word[:n], size) > width:
                n -= 1
            rows.append(word[:n])
            word = word[n:]
        row = word
    return [*rows, row] if row else rows
