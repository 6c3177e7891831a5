"""From a photograph of a paper pattern, with the marker board laid round it, to closed outlines in mm.

The steps, each in a file of its own: decode (`photo_file`), find the markers (`photo_markers`), solve camera, lens and
sheets (`photo_camera`), tell paper from table (`photo_pieces`), find the rim (`photo_edge`) and its nicks
(`photo_nicks`), corners and curves (`photo_fit`, `photo_piece`), the picture for the person to check (`photo_overlay`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import cv2
import numpy as np
import shapely  # type: ignore[import-untyped]
from kurbopy import Affine
from numpy.typing import NDArray

from coutil.plane import Curve, Pt
from coutil.trace import board
from coutil.trace.model import Shape, Traced, TraceError
from coutil.trace.photo_camera import Placed, View, look_closer, solve
from coutil.trace.photo_file import load
from coutil.trace.photo_markers import FEWEST_MARKERS, find_sheets
from coutil.trace.photo_overlay import draw
from coutil.trace.photo_piece import Doubt, Piece, trace_piece
from coutil.trace.photo_pieces import find_pieces

F64 = NDArray[np.float64]
# Called with what is being done and how much is done, 0 to 1.
Progress = Callable[[str, float], None]

# Sheets of the board that must be seen: from one alone the scale at the far end of a pattern is a guess.
FEWEST_SHEETS: Final = 2
# Standard error of the outline's shape, in mm, from the markers alone, above which the person is told, and the one
# above which the photograph is refused: a third of what the product promises (0.7 mm), and all of it.
UNSURE: Final = 0.25
USELESS: Final = 0.7
# Width of the step between paper and table, in mm, above which the photograph is refused as blurred. Sharp pictures of
# 12 megapixels have 0.5 to 1.2, found by trial; a Gaussian blur of spread s reads 1.6 s, up to some 1.5.
MOST_BLUR: Final = 1.4
# Share of a piece's outline that may be doubtful before the photograph is refused.
MOST_DOUBT: Final = 0.4
# Residual at the markers, root mean square in mm, above which the person is told: 0.05 to 0.15 are usual.
TELL_RESIDUAL: Final = 0.35
# Rim of paper nearer to a sheet of the board than this, in mm, may be hidden by it.
NEAR_SHEET: Final = 6.0


@dataclass(frozen=True, slots=True)
class SheetReport:
    """A sheet of the board as seen: corners found of 42, their misses in mm (root mean square, and the worst)."""

    sheet: board.BoardSheet
    corners: int
    residual: float
    worst: float


@dataclass(frozen=True, slots=True)
class NickReport:
    """A nick: which shape and side (from 0), arc length of its middle there, place, depth and width in mm.

    Depth and width are those of the V that explains the picture best. A dark wedge drawn at the rim looks the same.
    """

    shape: int
    side: int
    s: float
    at: Pt
    depth: float
    width: float


@dataclass(frozen=True, slots=True)
class DoubtReport:
    """A stretch that the picture does not show well: shape and side from 0, arc lengths from and to, ends, and why."""

    shape: int
    side: int
    start: float
    end: float
    from_at: Pt
    to_at: Pt
    why: str


@dataclass(frozen=True, slots=True)
class TracedPhoto:
    """What a photograph shows: shapes in mm, turned as in the picture, x to the right, y up, from (0, 0).

    `scale` is pixels to the mm in the middle of the pieces; `residual` and `worst` are the markers' misses in mm (root
    mean square over all, and the worst); `expected_error` is the standard error of the outlines' shape in mm that
    follows from the markers alone. `blur` is the width of the rims' step and `noise` the spread of the rims' points
    about the curves, both in mm. `overlay` is a JPEG. Paper, printing and lying flat are beyond what they can tell.
    """

    traced: Traced
    scale: float
    residual: float
    worst: float
    expected_error: float
    blur: float
    noise: float
    sheets: tuple[SheetReport, ...]
    nicks: tuple[NickReport, ...]
    doubts: tuple[DoubtReport, ...]
    overlay: bytes


def read_photo(
    source: Path | str | bytes,
    *,
    measured: tuple[float, float] | None = None,
    name: str = "photograph",
    progress: Progress | None = None,
) -> TracedPhoto:
    """Trace the paper pieces in a photograph with at least two sheets of the board round them.

    `measured` is the chequer's size on the print in mm, across and down, where it is not the 175 by 200 that it should
    be. Raises TraceError, with what to do, for files that are no photograph, too few markers, blur, a pattern that
    leaves the picture, low contrast, sheets that do not lie flat. The file is only read.
    """
    tell = progress or (lambda says, share: None)
    stretch = board.stretch(measured)
    tell("reading the picture", 0.0)
    picture = load(source)
    size = (picture.shape[1], picture.shape[0])
    tell("looking for the marker board", 0.05)
    view, placed, grey = _camera(picture, size, stretch)
    del grey
    tell("telling paper from table", 0.4)
    outlines = find_pieces(picture, view, placed).outlines()
    pieces = []
    for k, outline in enumerate(outlines):
        tell(f"tracing piece {k + 1} of {len(outlines)}", 0.6 + 0.3 * k / len(outlines))
        pieces.append(trace_piece(picture, view, outline))
    _judge(pieces)
    expected = max(float(view.shape_error(_points(p, 40)).max()) for p in pieces)
    everything = np.vstack([_points(p, 40) for p in pieces])
    expected = max(expected, float(view.shape_error(everything).max()))
    if expected > USELESS:
        raise TraceError("board_far", size=2 * expected)
    tell("drawing what was found", 0.92)
    out = _report(picture, view, placed, pieces, expected, name)
    tell("done", 1.0)
    return out


def _camera(
    picture: NDArray[np.uint8], size: tuple[int, int], stretch: tuple[float, float]
) -> tuple[View, list[Placed], NDArray[np.uint8]]:
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), np.uint8)
    seen, weak = find_sheets(grey, stretch)
    view, placed = solve(seen, size)
    again = look_closer(grey, view, placed, weak, stretch)
    if len(again) < FEWEST_SHEETS:
        one = placed[0].seen.sheet.name
        raise TraceError("one_sheet", sheet=one, sheets=FEWEST_SHEETS, markers=FEWEST_MARKERS)
    view, placed = solve(again, size)
    return view, placed, grey


def _judge(pieces: list[Piece]) -> None:
    blur = min(p.blur for p in pieces)
    if blur > MOST_BLUR:
        raise TraceError("blurred", blur=blur)
    for p in pieces:
        total = sum(s.curve().length for s in p.sides)
        faint = _length(p, "hardly")
        if faint > MOST_DOUBT * total:
            raise TraceError("faint", part=100 * faint / total)
        if _length(p, "") > MOST_DOUBT * total or not _simple(p):
            raise TraceError("rim_lost")


def _length(piece: Piece, why: str) -> float:
    """Length in mm of the stretches that are doubtful for this reason (its first words), each counted once."""
    total = 0.0
    for k in range(len(piece.sides)):
        end = 0.0
        for d in sorted((d for d in piece.doubts if d.side == k and d.why.startswith(why)), key=lambda d: d.start):
            total += max(0.0, d.end - max(d.start, end))
            end = max(end, d.end)
    return total


def _simple(piece: Piece) -> bool:
    return bool(shapely.LinearRing(_points(piece, 60)).is_simple)


def _points(piece: Piece, many: int) -> F64:
    return np.vstack([s.at(np.linspace(0.0, 1.0, many)[:-1]) for s in piece.sides])


def _report(
    picture: NDArray[np.uint8],
    view: View,
    placed: list[Placed],
    pieces: list[Piece],
    expected: float,
    name: str,
) -> TracedPhoto:
    place = _Frame.of(view, pieces)
    # From the left to the right.
    pieces = sorted(pieces, key=lambda p: float(place.to(_points(p, 40))[:, 0].min()))
    pieces = [_from_lower_left(_near_sheets(p, placed), place) for p in pieces]
    shapes, nicks, doubts = [], [], []
    for k, piece in enumerate(pieces):
        sides = tuple(place.curve(s.curve()) for s in piece.sides)
        mine = [NickReport(k, n.side, n.s, sides[n.side].point(n.s), n.depth, n.width) for n in piece.nicks]
        doubts += [
            DoubtReport(k, d.side, d.start, d.end, sides[d.side].point(d.start), sides[d.side].point(d.end), d.why)
            for d in piece.doubts
        ]
        nicks += mine
        shapes.append(
            Shape(
                f"piece {k + 1}",
                sides,
                notches=tuple(n.at for n in mine),
                doubtful=tuple((d.side, d.start, d.end) for d in piece.doubts),
                strays=round(piece.noise, 3),
            )
        )
    reports = tuple(
        SheetReport(p.seen.sheet, len(p.seen.image), p.residual, p.worst)
        for p in sorted(placed, key=lambda p: (p.seen.sheet.paper, p.seen.sheet.number))
    )
    count = sum(r.corners for r in reports)
    residual = math.sqrt(sum(r.residual**2 * r.corners for r in reports) / count)
    scale = _scale(view, pieces)
    notes = _notes(reports, residual, expected, doubts, nicks)
    words = f"{scale:.2f} pixels to the mm, from {count} corners on {len(reports)} sheets of the board"
    return TracedPhoto(
        Traced(name, words, tuple(shapes), notes),
        scale,
        residual,
        max(r.worst for r in reports),
        expected,
        float(np.median([p.blur for p in pieces])),
        max(p.noise for p in pieces),
        reports,
        tuple(nicks),
        tuple(doubts),
        draw(picture, view, placed, pieces),
    )


def _from_lower_left(piece: Piece, place: _Frame) -> Piece:
    """The piece with its sides counted as the reader of its drawing counts them: from the lower left corner on."""
    starts = place.to(np.vstack([s.at(np.array([0.0])) for s in piece.sides]))
    first = int(np.argmin(starts.sum(axis=1)))
    n = len(piece.sides)
    return replace(
        piece,
        sides=piece.sides[first:] + piece.sides[:first],
        nicks=tuple(replace(k, side=(k.side - first) % n) for k in piece.nicks),
        doubts=tuple(replace(d, side=(d.side - first) % n) for d in piece.doubts),
    )


def _notes(
    reports: tuple[SheetReport, ...],
    residual: float,
    expected: float,
    doubts: list[DoubtReport],
    nicks: list[NickReport],
) -> tuple[str, ...]:
    out = [
        f"the markers agree within {residual:.2f} mm (root mean square), "
        f"the worst within {max(r.worst for r in reports):.2f} mm"
    ]
    if residual > TELL_RESIDUAL:
        out.append("that is more than usual: see that the sheets lie flat and were printed at one scale")
    if expected > UNSURE:
        out.append(
            f"the outline may be off by {2 * expected:.1f} mm: lay more sheets round the pattern, closer to it, "
            "or go nearer"
        )
    if doubts:
        length = sum(d.end - d.start for d in doubts)
        out.append(
            f"{len(doubts)} stretches, {length:.0f} mm in all, are doubtful: look at them in the check picture (red)"
        )
    if nicks:
        out.append(f"{len(nicks)} nicks found and taken off the outline; a dark wedge drawn at the rim looks the same")
    return tuple(out)


def _near_sheets(piece: Piece, placed: list[Placed]) -> Piece:
    """The piece, stretches so near to a sheet of the board that it may hide the rim being doubtful."""
    out = []
    papers = shapely.union_all([shapely.Polygon(p.to_table(np.array(p.seen.sheet.outline()))) for p in placed])
    for k, side in enumerate(piece.sides):
        curve = side.curve()
        n = max(2, round(curve.length / 2.0))
        s = np.linspace(0.0, curve.length, n)
        near = shapely.distance(shapely.points([curve.point(float(a)) for a in s]), papers) < NEAR_SHEET
        if near.any():
            at = s[near]
            why = "a sheet of the board lies so close that it may hide the rim"
            out.append(Doubt(k, float(at.min()), float(at.max()), why))
    return replace(piece, doubts=(*piece.doubts, *out))


def _scale(view: View, pieces: list[Piece]) -> float:
    middle = np.mean(np.vstack([_points(p, 40) for p in pieces]), axis=0)
    a = view.to_image(middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    (ux, uy), (vx, vy) = a[1] - a[0], a[2] - a[0]
    return float(math.sqrt(abs(ux * vy - uy * vx)))


@dataclass(frozen=True, slots=True)
class _Frame:
    """From table mm to the mm of the report: turned as the picture shows it, lower left corner at (0, 0)."""

    cos: float
    sin: float
    dx: float
    dy: float

    @staticmethod
    def of(view: View, pieces: list[Piece]) -> _Frame:
        points = np.vstack([_points(p, 40) for p in pieces])
        middle = view.to_image(points.mean(axis=0)[None, :])[0]
        ends = view.to_table(middle + np.array([[-50.0, 0.0], [50.0, 0.0]]))
        across = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
        turned = _Frame(float(across[0]), float(across[1]), 0.0, 0.0).to(points)
        x, y = turned.min(axis=0)
        return _Frame(float(across[0]), float(across[1]), -float(x), -float(y))

    def to(self, p: F64) -> F64:
        return np.column_stack(
            [self.cos * p[:, 0] + self.sin * p[:, 1] + self.dx, -self.sin * p[:, 0] + self.cos * p[:, 1] + self.dy]
        )

    def curve(self, c: Curve) -> Curve:
        return c.mapped(Affine(self.cos, -self.sin, self.sin, self.cos, self.dx, self.dy))
