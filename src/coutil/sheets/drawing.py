"""What is drawn on a sheet, recorded before anyone knows on which paper: lines, filled shapes and texts.

Lengths in mm, y up. A drawing can be moved and mirrored, never scaled: a pattern has one size. Lines stay cubic
Béziers all the way into SVG and PDF. Everything is black; kinds of line differ by width and dash alone, so that a
photocopy and a colour-blind reader lose nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

from kurbopy import Affine

from coutil.plane import Box, Path, Pt, union

LineStyle = Literal[
    "cut",
    "net",
    "panel",
    "outline",
    "doubtful",
    "placement",
    "fold",
    "channel",
    "grain",
    "notch",
    "level",
    "leader",
    "frame",
    "light",
]
Anchor = Literal["start", "middle", "end"]

# Height of capitals and depth of descenders as parts of the type size, in Noto Sans: read from its OS/2 table
# (sCapHeight 714, descender of "p" 240, of 1000 units).
CAP_HEIGHT = 0.714
DESCENDER = 0.24


@dataclass(frozen=True, slots=True)
class Pen:
    """Width of a line and lengths of its dashes and gaps, in mm on paper; an empty dash is a solid line."""

    width: float
    dash: tuple[float, ...] = ()


# How each kind of line looks. Found by trial at 300 and at 100 dots per inch: neighbours in this list can be told apart
# at arm's length. The three that may run side by side on a piece (cut, net, placement) differ in both width and dash.
PENS: Mapping[LineStyle, Pen] = MappingProxyType(
    {
        "cut": Pen(0.7),
        "panel": Pen(0.5),
        # Of which nobody has said yet whether it is a cut or a net line.
        "outline": Pen(0.5),
        # Drawn over an outline: a stretch of it that a photograph does not show well.
        "doubtful": Pen(1.2, (1.5, 1.5)),
        "net": Pen(0.35, (4.0, 2.0)),
        "placement": Pen(0.35, (6.0, 1.4, 0.7, 1.4)),
        # Stitching of a channel: short dashes, thinner than the net line's.
        "channel": Pen(0.25, (2.0, 1.2)),
        "fold": Pen(0.5, (12.0, 1.6, 0.8, 1.6, 0.8, 1.6)),
        "grain": Pen(0.3),
        "notch": Pen(0.5),
        "level": Pen(0.13),
        "leader": Pen(0.13),
        "frame": Pen(0.2),
        "light": Pen(0.1, (1.0, 1.0)),
    }
)


@dataclass(frozen=True, slots=True)
class Line:
    """A path, stroked with the pen of `style`."""

    path: Path
    style: LineStyle


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed path, filled."""

    path: Path


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text. `at` is on the baseline at the anchor; `turn` is in degrees, anticlockwise, about `at`.

    `size` is the type size and `width` the measured length of the line, both in mm (see coutil.sheets.fonts).
    """

    says: str
    at: Pt
    size: float
    width: float
    anchor: Anchor = "start"
    turn: float = 0.0

    def corners(self) -> tuple[Pt, Pt, Pt, Pt]:
        """The four corners of the box from the descenders to the capitals, anticlockwise."""
        x0 = {"start": 0.0, "middle": -self.width / 2, "end": -self.width}[self.anchor]
        y0, y1 = -DESCENDER * self.size, CAP_HEIGHT * self.size
        c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        ax, ay = self.at
        a, b, d, e = (
            (ax + c * x - s * y, ay + s * x + c * y)
            for x, y in ((x0, y0), (x0 + self.width, y0), (x0 + self.width, y1), (x0, y1))
        )
        return a, b, d, e


@dataclass(frozen=True, slots=True)
class Drawing:
    """A named display list, with named parts that may be moved on their own."""

    name: str
    lines: tuple[Line, ...] = ()
    shapes: tuple[Shape, ...] = ()
    texts: tuple[Text, ...] = ()
    parts: tuple[Drawing, ...] = ()
    # A longer description for those who cannot see the drawing.
    about: str = ""

    def every(self) -> Iterator[Drawing]:
        """This drawing and all its parts, parts of parts included."""
        yield self
        for p in self.parts:
            yield from p.every()

    def bounds(self) -> Box:
        """The smallest upright box round all lines, shapes and texts, line widths included.

        Raises ValueError if nothing is drawn.
        """
        boxes: list[Box] = []
        for d in self.every():
            for line in d.lines:
                w = PENS[line.style].width / 2
                x0, y0, x1, y1 = line.path.bounds()
                boxes.append((x0 - w, y0 - w, x1 + w, y1 + w))
            boxes.extend(s.path.bounds() for s in d.shapes)
            for t in d.texts:
                xs, ys = zip(*t.corners(), strict=True)
                boxes.append((min(xs), min(ys), max(xs), max(ys)))
        if not boxes:
            raise ValueError(f"nothing is drawn in {self.name!r}, so it has no bounds")
        return union(boxes)

    def moved(self, dx: float, dy: float) -> Drawing:
        by = Affine(1.0, 0.0, 0.0, 1.0, dx, dy)
        return replace(
            self,
            lines=tuple(replace(n, path=n.path.mapped(by)) for n in self.lines),
            shapes=tuple(Shape(s.path.mapped(by)) for s in self.shapes),
            texts=tuple(replace(t, at=(t.at[0] + dx, t.at[1] + dy)) for t in self.texts),
            parts=tuple(p.moved(dx, dy) for p in self.parts),
        )

    def mirrored(self) -> Drawing:
        """Reflected in the y axis (x becomes -x). Texts change place but stay readable."""
        return replace(
            self,
            lines=tuple(replace(n, path=n.path.mirrored()) for n in self.lines),
            shapes=tuple(Shape(s.path.mirrored()) for s in self.shapes),
            texts=tuple(_mirror_text(t) for t in self.texts),
            parts=tuple(p.mirrored() for p in self.parts),
        )


def _mirror_text(t: Text) -> Text:
    swapped: dict[Anchor, Anchor] = {"start": "end", "middle": "middle", "end": "start"}
    return replace(t, at=(-t.at[0], t.at[1]), anchor=swapped[t.anchor], turn=-t.turn)
