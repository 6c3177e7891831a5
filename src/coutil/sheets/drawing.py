"""What is drawn on a sheet, recorded before anyone knows on which paper: lines, filled shapes and texts.

Lengths in mm, y up. A drawing can be moved and mirrored, never scaled: a pattern has one size. Lines stay cubic
Béziers all the way into SVG and PDF. Everything is black; kinds of line differ by width and dash alone, so that a
photocopy and a colour-blind reader lose nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

from coutil.plane import Curve, Pt

LineStyle = Literal[
    "cut",
    "net",
    "panel",
    "outline",
    "doubtful",
    "placement",
    "fold",
    "grain",
    "notch",
    "level",
    "leader",
    "frame",
    "light",
]
Anchor = Literal["start", "middle", "end"]
# Four control points, x and y in turn. Plain numbers, because moving a drawing must not measure its curves again.
Cubic = tuple[float, float, float, float, float, float, float, float]
# (left, bottom, right, top)
Box = tuple[float, float, float, float]

# A control point nearer to the chord than this makes no visible bend, in mm: a thousandth of the thinnest line.
FLAT = 1e-4
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
    """Cubics end to end, stroked with the pen of `style`. `closed` joins the last end to the first start."""

    path: tuple[Cubic, ...]
    style: LineStyle
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed run of cubics, filled."""

    path: tuple[Cubic, ...]


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
                x0, y0, x1, y1 = path_bounds(line.path)
                boxes.append((x0 - w, y0 - w, x1 + w, y1 + w))
            boxes.extend(path_bounds(s.path) for s in d.shapes)
            for t in d.texts:
                xs, ys = zip(*t.corners(), strict=True)
                boxes.append((min(xs), min(ys), max(xs), max(ys)))
        if not boxes:
            raise ValueError(f"nothing is drawn in {self.name!r}, so it has no bounds")
        return union(boxes)

    def moved(self, dx: float, dy: float) -> Drawing:
        return replace(
            self,
            lines=tuple(replace(n, path=move_path(n.path, dx, dy)) for n in self.lines),
            shapes=tuple(Shape(move_path(s.path, dx, dy)) for s in self.shapes),
            texts=tuple(replace(t, at=(t.at[0] + dx, t.at[1] + dy)) for t in self.texts),
            parts=tuple(p.moved(dx, dy) for p in self.parts),
        )

    def mirrored(self) -> Drawing:
        """Reflected in the y axis (x becomes -x). Texts change place but stay readable."""
        return replace(
            self,
            lines=tuple(replace(n, path=mirror_path(n.path)) for n in self.lines),
            shapes=tuple(Shape(mirror_path(s.path)) for s in self.shapes),
            texts=tuple(_mirror_text(t) for t in self.texts),
            parts=tuple(p.mirrored() for p in self.parts),
        )


def cubics(curves: Iterable[Curve]) -> tuple[Cubic, ...]:
    """The control points of a run of curves."""
    return tuple((s.p0.x, s.p0.y, s.p1.x, s.p1.y, s.p2.x, s.p2.y, s.p3.x, s.p3.y) for c in curves for s in c.segments)


def polyline(points: Iterable[Pt]) -> tuple[Cubic, ...]:
    """Straight cubics through the points, in order."""
    return tuple(straight(a, b) for a, b in pairwise(points))


def straight(a: Pt, b: Pt) -> Cubic:
    (ax, ay), (bx, by) = a, b
    tx, ty = (bx - ax) / 3.0, (by - ay) / 3.0
    return (ax, ay, ax + tx, ay + ty, bx - tx, by - ty, bx, by)


def is_straight(c: Cubic) -> bool:
    """Whether both inner control points lie on the chord, between its ends, to FLAT mm."""
    dx, dy = c[6] - c[0], c[7] - c[1]
    n = math.hypot(dx, dy)
    if n < FLAT:
        return math.hypot(c[2] - c[0], c[3] - c[1]) < FLAT and math.hypot(c[4] - c[0], c[5] - c[1]) < FLAT
    for x, y in ((c[2] - c[0], c[3] - c[1]), (c[4] - c[0], c[5] - c[1])):
        if abs(x * dy - y * dx) > FLAT * n or not -FLAT * n <= x * dx + y * dy <= n * (n + FLAT):
            return False
    return True


def point_on(c: Cubic, t: float) -> Pt:
    u = 1.0 - t
    a, b, d, e = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
    return (a * c[0] + b * c[2] + d * c[4] + e * c[6], a * c[1] + b * c[3] + d * c[5] + e * c[7])


def flatten(path: Iterable[Cubic], *, tolerance: float) -> list[Pt]:
    """A polyline within `tolerance` mm (absolute) of the path; the bound is that of coutil.plane.Curve.points."""
    out: list[Pt] = []
    for c in path:
        if not out:
            out.append((c[0], c[1]))
        n = 1
        if not is_straight(c):
            d1 = math.hypot(c[0] - 2 * c[2] + c[4], c[1] - 2 * c[3] + c[5])
            d2 = math.hypot(c[2] - 2 * c[4] + c[6], c[3] - 2 * c[5] + c[7])
            n = max(1, math.ceil(math.sqrt(0.75 * max(d1, d2) / tolerance)))
        out.extend(point_on(c, k / n) for k in range(1, n + 1))
    return out


def path_bounds(path: Iterable[Cubic]) -> Box:
    """The exact box round the curves (not round their control points)."""
    xs: list[float] = []
    ys: list[float] = []
    for c in path:
        xs += [c[0], c[6]]
        ys += [c[1], c[7]]
        for k, out in ((0, xs), (1, ys)):
            lo, hi = sorted((c[k], c[6 + k]))
            if not (lo <= c[2 + k] <= hi and lo <= c[4 + k] <= hi):
                out += [point_on(c, t)[k] for t in _turning_points(c[k], c[2 + k], c[4 + k], c[6 + k])]
    return (min(xs), min(ys), max(xs), max(ys))


def union(boxes: Iterable[Box]) -> Box:
    lefts, bottoms, rights, tops = zip(*boxes, strict=True)
    return (min(lefts), min(bottoms), max(rights), max(tops))


def move_path(path: tuple[Cubic, ...], dx: float, dy: float) -> tuple[Cubic, ...]:
    return tuple((c[0] + dx, c[1] + dy, c[2] + dx, c[3] + dy, c[4] + dx, c[5] + dy, c[6] + dx, c[7] + dy) for c in path)


def mirror_path(path: tuple[Cubic, ...]) -> tuple[Cubic, ...]:
    return tuple((-c[0], c[1], -c[2], c[3], -c[4], c[5], -c[6], c[7]) for c in path)


def _mirror_text(t: Text) -> Text:
    swapped: dict[Anchor, Anchor] = {"start": "end", "middle": "middle", "end": "start"}
    return replace(t, at=(-t.at[0], t.at[1]), anchor=swapped[t.anchor], turn=-t.turn)


def _turning_points(a: float, b: float, c: float, d: float) -> list[float]:
    """Where the derivative of one coordinate vanishes inside (0, 1)."""
    p, q, r = b - a, c - b, d - c
    # p (1-t)^2 + 2 q t (1-t) + r t^2 = 0
    k2, k1, k0 = p - 2 * q + r, 2 * (q - p), p
    if abs(k2) < 1e-12:
        roots = [-k0 / k1] if abs(k1) > 1e-12 else []
    else:
        disc = k1 * k1 - 4 * k2 * k0
        if disc < 0:
            return []
        root = math.sqrt(disc)
        roots = [(-k1 + root) / (2 * k2), (-k1 - root) / (2 * k2)]
    return [t for t in roots if 0.0 < t < 1.0]
