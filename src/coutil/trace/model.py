"""What was read from a pattern that exists already. Frozen data, lengths in mm, x to the right, y up, as in the file.

Two stages: a `Reading` is what a file draws, stroke by stroke, already in mm; a `Traced` is what was made of it: closed
outlines split at their corners, each with the marks that lie on it. A photograph ends as a `Traced` too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Literal

from kurbopy import CubicBez

from coutil.plane import Curve, Pt
from coutil.words import REFUSAL, RefusingError, Told, in_words

# What the file itself says a line is; "outline" where it says nothing.
Kind = Literal["outline", "cut", "net", "fold", "notch", "grain", "level", "inner", "doubtful", "skip"]

# Sizes beyond which a file is no pattern of clothes but a mistake or an attack. By trial the largest that pass are read
# within 5 s and 500 MB.
LARGEST_FILE = 20_000_000
MOST_SEGMENTS = 60_000
MOST_STROKES = 20_000
# An outline wider or higher than this, in mm, is no panel: the longest train of a gown is shorter.
LARGEST_SHAPE = 10_000.0
# A closed outline smaller than this, in mm² (4 cm²), is no panel but a mark; found by trial on arrowheads and eyelets.
SMALLEST_SHAPE = 400.0


# What photographs may be, by the endings of their names: what coutil.trace.photo_file reads. It refuses all other
# pictures in words of its own.
PHOTOGRAPHS: Mapping[str, tuple[str, ...]] = {"JPEG": (".jpg", ".jpeg"), "PNG": (".png",)}
# How files of pictures begin, also of kinds that are not read: JPEG, PNG, GIF, TIFF in both orders of bytes, BMP, and
# what RIFF (WebP) and the ISO base media format (HEIC, AVIF) name behind the length.
_PICTURE_HEADS = (b"\xff\xd8\xff", b"\x89PNG", b"GIF8", b"II*\0", b"MM\0*", b"BM")


def is_picture(head: bytes) -> bool:
    """Whether a file that begins with these bytes, 16 at least, is a picture of any common kind."""
    if head.startswith(b"BM"):
        # Two letters alone may begin a text: of a bitmap two numbers that are 0 stand further on.
        return head[6:10] == b"\0\0\0\0"
    return head.startswith(_PICTURE_HEADS) or head[8:12] == b"WEBP" or head[4:8] == b"ftyp"


class TraceError(RefusingError, ValueError):
    """A file that cannot be read as a pattern, or an instruction about it that does not fit; says what to do."""

    room: ClassVar[str] = "trace"


class Budget:
    """Counts what is read and raises TraceError before a hostile file fills the machine."""

    def __init__(self) -> None:
        self.segments = 0
        self.strokes = 0

    def segment(self, count: int = 1) -> None:
        self.segments += count
        if self.segments > MOST_SEGMENTS:
            raise TraceError("too_many_segments", most=MOST_SEGMENTS)

    def stroke(self) -> None:
        self.strokes += 1
        if self.strokes > MOST_STROKES:
            raise TraceError("too_many_strokes", most=MOST_STROKES)


@dataclass(frozen=True, slots=True)
class Stroke:
    """One run of cubics as the file draws it. `straight`: all are straight lines (a polyline).

    `names` are what the file calls it and the groups that it is in, from the inside out; `group` numbers the block that
    it was placed with, 0 for none.
    """

    path: tuple[CubicBez, ...]
    closed: bool
    kind: Kind = "outline"
    straight: bool = False
    names: tuple[str, ...] = ()
    group: int = 0

    @property
    def start(self) -> Pt:
        p = self.path[0].p0
        return p.x, p.y

    @property
    def end(self) -> Pt:
        p = self.path[-1].p3
        return p.x, p.y


@dataclass(frozen=True, slots=True)
class Word:
    """A text and where it starts."""

    says: str
    at: Pt
    group: int = 0


@dataclass(frozen=True, slots=True)
class Dot:
    """A single point that the file marks: a corner ("turn"), a point on a curve ("curve"), a notch, anything else."""

    at: Pt
    kind: Literal["turn", "curve", "notch", "inner"]
    group: int = 0


@dataclass(frozen=True, slots=True)
class Reading:
    """All that a file draws, in mm. `scale` says how the size was found; `groups` names the blocks by their number.

    `down`: the file itself counts y downwards, so places are told like that. `page` is the width and height of the
    sheet, where the file has one.
    """

    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...]
    dots: tuple[Dot, ...]
    scale: str
    groups: Mapping[int, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    down: bool = False
    page: tuple[float, float] | None = None

    def place(self, p: Pt) -> str:
        """A place in words, as the file counts it, in mm."""
        return in_words(self.place_told(p))

    def place_told(self, p: Pt) -> Told:
        """A place for a refusal, as the file counts it, in mm."""
        return Told(f"{REFUSAL}.{TraceError.room}.at", {"x": p[0], "y": (-p[1] if self.down else p[1]) + 0.0})


@dataclass(frozen=True, slots=True)
class Shape:
    """One closed outline, anticlockwise, split at its corners: `sides` run end to end.

    `line` says whether the file itself calls it a net or a cut line; None where it does not. `net` is the net line that
    the file draws inside a cut line, likewise split, or empty. `fold` numbers the side that lies on the fold, of `net`
    if there is one, else of `sides`. `notches` and `points` are places; `levels` lines across
    it by name; `grain` from its lower end up; `inner` any other line inside. `doubtful` are stretches that a photograph
    did not show well: (side number from 0, from, to) by arc length in mm.
    """

    name: str
    sides: tuple[Curve, ...]
    line: Literal["net", "cut"] | None = None
    net: tuple[Curve, ...] = ()
    fold: int | None = None
    notches: tuple[Pt, ...] = ()
    points: Mapping[str, Pt] = field(default_factory=dict)
    levels: Mapping[str, tuple[Pt, Pt]] = field(default_factory=dict)
    grain: tuple[Pt, Pt] | None = None
    inner: tuple[Curve, ...] = ()
    doubtful: tuple[tuple[int, float, float], ...] = ()
    # The most by which fitted curves stray from the points of the file, in mm; 0 where nothing was fitted.
    strays: float = 0.0


@dataclass(frozen=True, slots=True)
class Traced:
    """The shapes of one file, from the left to the right, and what there is to say about how they were read."""

    source: str
    scale: str
    shapes: tuple[Shape, ...]
    notes: tuple[str, ...] = ()

    def shape(self, name: str) -> Shape:
        for s in self.shapes:
            if s.name == name:
                return s
        raise KeyError(f"no outline called {name}")
