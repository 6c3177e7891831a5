"""A drawing file becomes shapes."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from coutil.trace.fit import TOLERANCE
from coutil.trace.marks import stretches
from coutil.trace.model import LARGEST_FILE, Shape, Traced, TraceError, is_picture
from coutil.trace.outline import assemble
from coutil.trace.split import CORNER

# What a unit of a drawing may measure, in mm: from a tenth of a micrometre to a metre.
SCALES = (1e-4, 1e3)

# Stretches of a side are found again by places this far from each other, in mm.
FOUND_EVERY = 2.0


def read_drawing(
    path: str | Path, *, scale: float | None = None, corner: float = CORNER, tolerance: float = TOLERANCE
) -> Traced:
    """The shapes of an SVG or DXF file, which is only read, never written.

    `scale`: what one unit of the file measures in mm, where the file does not say it or is wrong. `corner`: the least
    turn of a corner, in degrees. `tolerance`: how near fitted curves stay to the points of polylines, in mm (absolute).
    Raises TraceError, naming the file and what to do, and nothing else.
    """
    p = Path(path)
    try:
        with p.open("rb") as f:
            data = f.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as e:
        if isinstance(e, OSError) and e.strerror:
            raise TraceError("unreadable", file=str(p), reason=e.strerror) from None
        raise TraceError("no_file_name", file=str(p)) from None
    return trace_drawing(data, str(p), scale=scale, corner=corner, tolerance=tolerance)


def trace_drawing(
    data: bytes, source: str, *, scale: float | None = None, corner: float = CORNER, tolerance: float = TOLERANCE
) -> Traced:
    """As `read_drawing`, from the bytes of a file; `source` is what messages call it."""
    try:
        if len(data) > LARGEST_FILE:
            raise TraceError("too_large", most=LARGEST_FILE // 1_000_000)
        if scale is not None and not SCALES[0] <= scale <= SCALES[1]:
            raise TraceError("scale", scale=scale)
        if not 1.0 <= corner <= 170.0:
            raise TraceError("corner", corner=corner)
        if not 1e-4 <= tolerance <= 10.0:
            raise TraceError("tolerance", tolerance=tolerance)
        kind = _kind(data)
        if kind == "svg":
            from coutil.trace.svg import read_svg

            return assemble(read_svg(data, scale=scale), source, corner=corner, tolerance=tolerance)
        if kind == "dxf":
            from coutil.trace.dxf import read_dxf

            return assemble(read_dxf(data, scale=scale), source, corner=corner, tolerance=tolerance)
        raise TraceError(kind)
    except TraceError as e:
        raise TraceError.of(*e.led(source)) from None
    except (RecursionError, MemoryError, OverflowError) as e:
        raise TraceError("too_deep", file=source, error=type(e).__name__) from None


def as_written(traced: Traced, data: bytes) -> Traced:
    """Shapes as they are read back from the drawing `data` that was made of them, with what a drawing cannot hold.

    Sides are numbered as the drawing's reader numbers them ever after; how the shapes were found stays. Raises
    TraceError where the drawing does not hold the same shapes.
    """
    again = trace_drawing(data, traced.source)
    shapes = []
    for shape in again.shapes:
        was = traced.shape(shape.name)
        shapes.append(replace(shape, line=was.line, strays=was.strays))
    if len(shapes) != len(traced.shapes):
        raise TraceError("shapes_alike", file=traced.source)
    return replace(again, scale=traced.scale, shapes=tuple(shapes), notes=(*traced.notes, *again.notes))


def found_again(was: Shape, now: Shape, side: int, start: float, end: float) -> list[tuple[int, float, float]]:
    """A stretch of a side on the same shape drawn elsewhere: the number of the side, from where to where, in mm.

    More than one where a corner now parts it.
    """
    (x0, y0), (x1, y1) = (
        tuple(min(p[k] for c in s.sides for p in c.points(tolerance=0.01)) for k in (0, 1)) for s in (was, now)
    )
    steps = max(2, math.ceil((end - start) / FOUND_EVERY))
    places = [was.sides[side].point(start + (end - start) * k / steps) for k in range(steps + 1)]
    return stretches([(x - x0 + x1, y - y0 + y1) for x, y in places], now.sides)


def _kind(data: bytes) -> str:
    """ "svg" or "dxf" by what the file holds; else the code of what is wrong with it."""
    head = data[:2000]
    if not head.strip(b"\0 \t\r\n"):
        return "empty"
    if head[:2] == b"\x1f\x8b":
        return "compressed"
    if is_picture(head):
        return "a_picture"
    if head[:5] == b"%PDF-":
        return "a_pdf"
    if head[:22] == b"AutoCAD Binary DXF\r\n\x1a\0":
        return "binary_dxf"
    if b"<" in head and (b"<svg" in data or b":svg" in data or head.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"<"):
        return "svg"
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "svg"
    if b"SECTION" in data or b"ENTITIES" in data:
        return "dxf"
    return "no_drawing"
