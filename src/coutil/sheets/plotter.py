"""A lay for a roll plotter, as HPGL/2 written by ezdxf: the outlines at 1:1 with the names of the pieces.

x runs along the roll, as it does along the cloth. The outlines are those of the lay, which enclose the pieces' cut
lines by at most the lay's own tolerance. ezdxf says of its writer that it has been tried with viewers, not with
plotters: plot a small lay and measure it before you rely on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from coutil.lay import Lay, Placement
from coutil.plane import Pt
from coutil.sheets.drawing import CAP_HEIGHT
from coutil.sheets.figures import centroid
from coutil.sheets.fonts import house_font, measure, showable
from coutil.sheets.places import Places

if TYPE_CHECKING:
    from ezdxf.path import Path
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

# Type sizes tried for a name in mm, the largest first: read from where one stands at the table.
SIZES: Final = (12.0, 8.0, 5.0, 3.5)
# Width of the lines in mm.
PEN: Final = 0.35
# White kept between a name and its outline, and the fineness with which a place is looked for, in mm.
CLEARANCE: Final = 2.0
CELL: Final = 2.0
# Decimals of a plotter unit. Polylines go out as moves from point to point, so each rounding stays in all that follows:
# in whole units an outline of a hundred points would end 0.1 mm beside its start.
DECIMALS: Final = 2
# Numbers are written with this base; 32 keeps to seven bits (HPGL/2, from memory).
SEVEN_BITS: Final = 32
# Dots of the plotter to the mm, by the definition of HPGL/2's plotter unit, 0.025 mm.
UNITS: Final = 40


def lay_hpgl(lay: Lay) -> bytes:
    """The plot of one lay in seven-bit HPGL/2, in plotter units of 0.025 mm, cloth length along x.

    Raises ValueError for a lay on which nothing is placed.
    """
    from ezdxf.addons.drawing import layout
    from ezdxf.addons.drawing.backend import BkPath2d
    from ezdxf.addons.drawing.hpgl2 import PlotterBackend
    from ezdxf.addons.drawing.properties import BackendProperties
    from ezdxf.math import BoundingBox2d, Vec2

    if not lay.placements:
        raise ValueError(f"nothing is placed on {lay.cloth}, so there is nothing to plot")
    plot = PlotterBackend()
    pen = BackendProperties(color="#000000", lineweight=PEN, pen=1)
    font = _font()
    for p in lay.placements:
        plot.draw_path(BkPath2d.from_vertices(Vec2.list([*p.polygon, p.polygon[0]])), pen)
        for glyph in _name(p, font):
            plot.draw_path(BkPath2d(glyph), pen)
    # The roll as far as the lay reaches; nothing is fitted or scaled.
    width = max(lay.width_mm, *(y for p in lay.placements for _, y in p.polygon))
    length = max(lay.length_mm, *(x for p in lay.placements for x, _ in p.polygon))
    page = layout.Page(length, width, layout.Units.mm)
    box = BoundingBox2d([(0.0, 0.0), (page.width_in_mm, page.height_in_mm)])
    settings = layout.Settings(fit_page=False, scale=1.0)
    data = plot.get_bytes(
        page, settings=settings, render_box=box, curves=False, decimal_places=DECIMALS, base=SEVEN_BITS
    )
    return bytes(data)


def _name(placement: Placement, font: TTFont) -> Iterator[Path]:
    """The piece's name as outlines of letters, inside its polygon where there is room for it."""
    turned = ", turned over" if placement.mirrored else ""
    says = showable(f"{placement.piece} {placement.copy}{turned}").text
    xs, ys = zip(*placement.polygon, strict=True)
    places = Places((min(xs), min(ys), max(xs), max(ys)), cell=CELL)
    places.ink_outside(placement.polygon)
    middle = centroid(placement.polygon)
    for size in SIZES:
        width, height = measure(says, size), CAP_HEIGHT * size
        corner = places.find(width, height, near=middle, clearance=CLEARANCE)
        if corner is not None:
            yield from _letters(font, says, size, corner)
            return
    yield from _letters(font, says, SIZES[-1], (middle[0] - measure(says, SIZES[-1]) / 2, middle[1]))


def _letters(font: TTFont, says: str, size: float, at: Pt) -> Iterator[Path]:
    """The outlines of a line of letters, its baseline from `at`; letters that the house font lacks are left out."""
    from ezdxf.math import Vec2
    from ezdxf.path import Path

    units = int(font["head"].unitsPerEm)
    known, glyphs = font.getBestCmap(), font.getGlyphSet()
    x = at[0]
    for c in says:
        glyph = known.get(ord(c))
        if glyph is None:
            continue

        def spot(p: Pt, x: float = x) -> Vec2:
            return Vec2(x + p[0] * size / units, at[1] + p[1] * size / units)

        path = Path()
        for verb, points in _strokes(glyphs, glyph):
            if verb == "move":
                # One path for each contour: a plotter would draw the way from one to the next.
                path = Path(spot(points[0]))
            elif verb == "line":
                path.line_to(spot(points[0]))
            elif verb == "curve":
                path.curve3_to(spot(points[1]), spot(points[0]))
            elif len(path):
                path.close()
                yield path
        x += glyphs[glyph].width * size / units


def _strokes(glyphs: Any, name: str) -> Iterator[tuple[str, tuple[Pt, ...]]]:
    """A glyph's outline as moves, lines and quadratic curves (control point, end)."""
    from fontTools.pens.basePen import decomposeQuadraticSegment  # type: ignore[import-untyped]
    from fontTools.pens.recordingPen import DecomposingRecordingPen  # type: ignore[import-untyped]

    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    for verb, points in pen.value:
        if verb == "moveTo":
            yield "move", points
        elif verb == "lineTo":
            yield "line", points
        elif verb == "qCurveTo":
            if points[-1] is None:
                # A contour without a point on its curve starts half way between its last and first control points.
                (ax, ay), (bx, by) = points[-2], points[0]
                start = ((ax + bx) / 2.0, (ay + by) / 2.0)
                yield "move", (start,)
                points = (*points[:-1], start)
            for pair in decomposeQuadraticSegment(points):
                yield "curve", pair
        else:
            yield "close", ()


def _font() -> TTFont:
    """The house font, opened anew for each plot: fontTools reads its tables when asked, from one place in one file."""
    from fontTools.ttLib import TTFont

    return TTFont(house_font())
