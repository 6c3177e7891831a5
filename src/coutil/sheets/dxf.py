"""The pieces as DXF for cutters and other programs: R12 text, a block for each piece, true size.

Layers are those of ASTM D6673, numbers from memory; the levels of the body and the bust point are internal lines, each
with its name beside it as annotation. Millimetres, y up, face up: back panels are turned over, so that the right side
of the cloth faces whoever looks (coutil.pattern.Panel.face_up). R12 knows no units, so they are told in text. Written
with ezdxf's plain interface; the same pattern gives the same bytes.
"""

from __future__ import annotations

import io
import logging
import math
import re
import unicodedata
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from coutil.pattern import Pattern, Piece, level_words
from coutil.pattern.nicks import nicks
from coutil.plane import Curve, Pt
from coutil.sheets.figures import PADDING
from coutil.sheets.places import Places
from coutil.sheets.wording import (
    NOT_TAKEN,
    body_line,
    layer_words,
    not_taken_line,
    quantity,
    turned_lining,
)

if TYPE_CHECKING:
    from ezdxf.graphicsfactory import CreatorInterface
    from ezdxf.layouts.blocklayout import BlockLayout

# Layer numbers of ASTM D6673, from memory.
CUT: Final = "1"
TURN_POINTS: Final = "2"
CURVE_POINTS: Final = "3"
NOTCHES: Final = "4"
FOLD: Final = "6"
GRAIN: Final = "7"
INTERNAL: Final = "8"
DRILL: Final = "13"
SEW: Final = "14"
ANNOTATION: Final = "15"
LAYERS: Final = {
    CUT: "cut line",
    TURN_POINTS: "turn points",
    CURVE_POINTS: "curve points",
    NOTCHES: "notches",
    FOLD: "mirror line (fold)",
    GRAIN: "grain line",
    INTERNAL: "internal lines",
    DRILL: "drill holes",
    SEW: "sew line",
    ANNOTATION: "annotation text",
}

# Polylines stay this near to the curves, in mm (absolute), so that who reads them back and fits curves again stays
# within the 0.05 mm that the project promises: by trial on the random drafts of the tests the curves come back within
# 0.09 at 0.02, within 0.051 at 0.015, and within 0.04 here.
TOLERANCE: Final = 0.01
# A join that turns by more than this is a corner, in radians: 1 degree, what still runs on (docs/method.md).
CORNER: Final = math.radians(1.0)
# Coordinates are rounded to this many decimals of a mm, so that rounding noise cannot change the file.
DECIMALS: Final = 4
# Height of the texts in mm, and their leading in parts of it: legible at 1:1 on a plot.
TEXT: Final = 4.0
LEADING: Final = 1.6
# Heights tried for the texts of a piece in mm, the width of a sign in parts of the height (about that of the usual
# stroke fonts, from memory), and the fineness with which a place is looked for in mm.
TEXTS: Final = (TEXT, 3.0, 2.2)
SIGN: Final = 0.9
CELL: Final = 2.0
# Between pieces where they stand side by side in the model space, in mm.
GAP: Final = 40.0
# Names of blocks in R12: at most 31 of these signs (AutoCAD's R12 reference, from memory).
LONGEST_NAME: Final = 31
# The longest text that R12 takes, in signs (same, from memory).
LONGEST_TEXT: Final = 255
# The bust point is a cross with arms of this length, in mm; a name stands this far from its line.
CROSS: Final = 3.0
BESIDE: Final = 1.0
# Levels shorter than this inside the net line, in mm, are left out.
SHORTEST_LEVEL: Final = 10.0
# A segment of the cut line that strays from the fold by less than this lies on it, in mm.
ON_FOLD: Final = 0.01

# The time written into every file, so that the same pattern gives the same bytes, as a Julian date and as ezdxf marks
# its files: the first moment of 2000. Any fixed time does.
MADE: Final = ("2451545.0", "0.0 @ 2000-01-01T00:00:00.000000+00:00")
# Where ezdxf writes the time: two values of the header (a 9 and its name stand nowhere else), and its mark on layer 0.
_HEADER_TIME: Final = re.compile(r"^(  9\n\$TD(?:CREATE|UPDATE)\n 40\n)[^\n]*", re.MULTILINE)
_MAKER: Final = re.compile(r"^(1000\n(?:CREATED|WRITTEN)_BY_EZDXF\n1000\n)[^\n]*", re.MULTILINE)

# ezdxf remarks on every R12 file that it bears no units, which we tell in text: that is for whoever set up logging.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())


def pattern_dxf(pattern: Pattern, *, order: str = "", client: str = "") -> bytes:
    """The DXF file of all pieces, ready to be written to disk.

    Texts in other scripts are kept as the escapes that DXF has for them. A piece on the fold is drawn as the half that
    it is in the pattern, its fold on layer 6. Raises ValueError if the pattern has no pieces.
    """
    from ezdxf.filemanagement import new

    if not pattern.pieces:
        raise ValueError(f"{pattern.name or 'the pattern'} has no pieces to draw")
    style = order or pattern.name
    doc = new("R12")
    for number, name in LAYERS.items():
        doc.layers.add(number).description = name
    model = doc.modelspace()
    names: set[str] = set()
    x = top = 0.0
    for piece in pattern.pieces:
        block = doc.blocks.new(_block_name(piece.name, names))
        xs, ys = zip(*_draw(block, pattern, piece, style, client), strict=True)
        model.add_blockref(block.name, (round(x - min(xs), DECIMALS), round(-min(ys), DECIMALS)))
        x, top = x + max(xs) - min(xs) + GAP, max(top, max(ys) - min(ys))
    warn, size = not_taken_line(pattern.not_taken), body_line(pattern.body)
    head = [s for s in (warn, "Units: METRIC, millimetres, 1:1", f"Style: {style}", size) if s]
    head += [f"Client: {client}"] if client else []
    for k, says in enumerate(head):
        _text(model, says, (0.0, -GAP - k * LEADING * TEXT))
    low = -GAP - len(head) * LEADING * TEXT
    model.reset_extents((0.0, low, 0.0), (round(x - GAP, DECIMALS), round(top, DECIMALS), 0.0))
    stream = io.StringIO()
    doc.write(stream)
    return bytes(doc.encode(_timeless(stream.getvalue())))


def _draw(block: BlockLayout, pattern: Pattern, piece: Piece, order: str, client: str) -> list[Pt]:
    """Draw one piece into its block; gives its cut outline."""
    flip = piece.face_up * (-1.0 if turned_lining(piece.layer, piece.side) else 1.0)
    outline, corners = _outline(piece.cut)
    cut = [_flat(p, flip) for p in outline]
    block.add_polyline2d(cut, close=True, dxfattribs={"layer": CUT})
    for p, corner in zip(cut, corners, strict=True):
        block.add_point(p, dxfattribs={"layer": TURN_POINTS if corner else CURVE_POINTS})
    fold = _fold(pattern, piece)
    if fold is None:
        net = [_flat(p, flip) for p in piece.net_outline(tolerance=TOLERANCE)]
        block.add_polyline2d(net, close=True, dxfattribs={"layer": SEW})
    else:
        for run in _open_runs([e.curve for e in piece.net], fold):
            block.add_polyline2d([_flat(p, flip) for p in run], dxfattribs={"layer": SEW})
        block.add_line(_flat(fold[0], flip), _flat(fold[1], flip), dxfattribs={"layer": FOLD})
    for notch in nicks(piece):
        for p, _ in notch:
            block.add_point(_flat(p, flip), dxfattribs={"layer": NOTCHES})
    for curves in piece.placement:
        pts = [_flat(p, flip) for c in curves for p in c.points(tolerance=TOLERANCE)]
        line = [p for k, p in enumerate(pts) if k == 0 or p != pts[k - 1]]
        closed = len(line) > 2 and line[0] == line[-1]
        block.add_polyline2d(line[:-1] if closed else line, close=closed, dxfattribs={"layer": INTERNAL})
    for marked in piece.lines:
        pts = [_flat(p, flip) for c in marked.run for p in c.points(tolerance=TOLERANCE)]
        run = [p for k, p in enumerate(pts) if k == 0 or p != pts[k - 1]]
        block.add_polyline2d(run, dxfattribs={"layer": INTERNAL})
    for spot in piece.spots:
        block.add_point(_flat(spot.at, flip), dxfattribs={"layer": DRILL})
    low, high = piece.grain
    block.add_line(_flat(low, flip), _flat(high, flip), dxfattribs={"layer": GRAIN})
    marks = _landmarks(pattern, piece, flip, cut)
    for name, lines, at in marks:
        for a, b in lines:
            block.add_line(a, b, dxfattribs={"layer": INTERNAL})
        _text(block, name, at, size=TEXTS[-1])
    says = list(_annotation(piece, order, client, pattern))
    drawn = [[_flat(low, flip), _flat(high, flip)]]
    drawn.append([_flat(p, flip) for p in piece.net_outline(tolerance=1.0)])
    drawn += [list(line) for _, lines, _ in marks for line in lines]
    drawn += [[at, (at[0] + len(name) * SIGN * TEXTS[-1], at[1] + TEXTS[-1])] for name, _, at in marks]
    inner = (*piece.placement, *(n.run for n in piece.lines))
    drawn += [[_flat(p, flip) for c in run for p in c.points(tolerance=1.0)] for run in inner]
    at, size = _place(says, cut, drawn)
    for k, text in enumerate(says):
        _text(block, text, (at[0], at[1] - k * LEADING * size), layer=CUT if k < 3 else ANNOTATION, size=size)
    return cut


def _landmarks(
    pattern: Pattern, piece: Piece, flip: float, cut: Sequence[Pt]
) -> list[tuple[str, list[tuple[Pt, Pt]], Pt]]:
    """The levels and the bust point of a whole panel: what each is called, its lines, and where its name begins.

    A level that runs on in the air above a low top is drawn as far as the net line goes, unless all of it lies on the
    piece. Nothing for pads: they have no edge that a level ends on.
    """
    if piece.layer in PADDING:
        return []
    import shapely  # type: ignore[import-untyped]

    panel = pattern.panel(piece.panel, piece.side)
    net = shapely.polygons([_flat(p, flip) for p in piece.net_outline(tolerance=TOLERANCE)])
    whole = shapely.buffer(shapely.polygons(cut), ON_FOLD)
    out: list[tuple[str, list[tuple[Pt, Pt]], Pt]] = []
    for name, ends in panel.levels.items():
        a, b = sorted(_flat(p, flip) for p in ends)
        line = shapely.linestrings([a, b])
        if not shapely.contains(whole, line):
            parts = shapely.get_parts(shapely.intersection(net, line))
            longest = max(parts, key=shapely.length, default=None)
            if longest is None or shapely.length(longest) < SHORTEST_LEVEL:
                continue
            a, b = sorted(_flat((x, y), 1.0) for x, y in shapely.get_coordinates(longest)[[0, -1]].tolist())
        out.append((level_words(name), [(a, b)], (a[0] + 4.0 * BESIDE, a[1] + BESIDE)))
    if "bust_point" in panel.points:
        x, y = _flat(panel.points["bust_point"], flip)
        arms = [((x - CROSS, y), (x + CROSS, y)), ((x, y - CROSS), (x, y + CROSS))]
        inwards = 1.0 if shapely.contains_xy(net, x + CROSS, y) else -1.0
        name = "bust point"
        room = 0.0 if inwards > 0.0 else len(name) * SIGN * TEXTS[-1]
        out.append((name, arms, (x + inwards * 2.0 * BESIDE - room, y - 2.0 * BESIDE - TEXTS[-1])))
    return out


def _place(says: Sequence[str], cut: Sequence[Pt], drawn: Sequence[Sequence[Pt]]) -> tuple[Pt, float]:
    """Where the texts of a piece begin, and their height: inside it and off what is drawn, if any size finds room."""
    xs, ys = zip(*cut, strict=True)
    places = Places((min(xs), min(ys), max(xs), max(ys)), cell=CELL)
    places.ink_outside(cut)
    for line in drawn:
        places.ink_line(line)
    middle = ((min(xs) + max(xs)) / 2.0, (min(ys) + max(ys)) / 2.0)
    for size in TEXTS:
        width, height = max(map(len, says)) * SIGN * size, (len(says) - 1) * LEADING * size + size
        corner = places.find(width, height, near=middle, clearance=CELL)
        if corner is not None:
            return (corner[0], corner[1] + height - size), size
    return middle, TEXTS[-1]


def _annotation(piece: Piece, order: str, client: str, pattern: Pattern) -> Iterator[str]:
    """Name, material and quantity, which the standard puts on the cut line's layer; then what is for people."""
    yield f"Piece Name: {piece.name}"
    yield f"Material: {layer_words(piece.layer)}"
    # Quantity as left, right: a mirrored pair is as many of the one as of the other (from memory).
    half = piece.quantity // 2
    yield f"Quantity: {half},{half}" if piece.mirrored_pair else f"Quantity: {piece.quantity},0"
    if pattern.not_taken:
        yield NOT_TAKEN
    yield quantity(piece, as_laid=True)
    yield "Units: METRIC, millimetres, 1:1"
    if order:
        yield f"Style: {order}"
    if pattern.body:
        yield body_line(pattern.body)
    if client:
        yield f"Client: {client}"


def _outline(curves: Sequence[Curve]) -> tuple[list[Pt], list[bool]]:
    """The closed polyline, first point not repeated, and for each of its points whether the outline turns there."""
    points: list[Pt] = []
    corners: list[bool] = []
    before = curves[-1]
    for curve in curves:
        # A join inside the curve may turn as well as the one between two curves.
        turns = [_turn(before, curve), *curve.turns()]
        for segment, turn in zip(curve.segments, turns, strict=True):
            run = Curve((segment,)).points(tolerance=TOLERANCE)[:-1]
            points += run
            corners += [abs(turn) > CORNER] + [False] * (len(run) - 1)
        before = curve
    return points, corners


def _turn(a: Curve, b: Curve) -> float:
    d = b.heading(0.0) - a.heading(a.length)
    return math.atan2(math.sin(d), math.cos(d))


def _fold(pattern: Pattern, piece: Piece) -> tuple[Pt, Pt] | None:
    """The ends of the edge on the fold, None if the piece is cut single. ValueError if its panel names none."""
    if not piece.on_fold:
        return None
    fold = pattern.panel(piece.panel, piece.side).fold
    for e in piece.net:
        if fold is not None and fold in (e.name, e.role):
            return e.curve.start, e.curve.end
    raise ValueError(f"{piece.name} is cut on the fold, but its panel names no edge of it as the fold")


def _open_runs(curves: Sequence[Curve], fold: tuple[Pt, Pt]) -> list[list[Pt]]:
    """The net line without the fold, which is not sewn: one run, or more if the fold were broken."""
    runs: list[list[Pt]] = []
    # Start behind the fold, so that the run is not cut in two by where the outline happens to start.
    on = [_on_line(c, fold) for c in curves]
    first = on.index(True) + 1 if True in on else 0
    open_run = False
    for k in range(len(curves)):
        j = (first + k) % len(curves)
        if on[j]:
            open_run = False
            continue
        pts = curves[j].points(tolerance=TOLERANCE)
        if open_run:
            runs[-1] += pts[1:]
        else:
            runs.append(pts)
        open_run = True
    return runs


def _on_line(curve: Curve, ends: tuple[Pt, Pt]) -> bool:
    (ax, ay), (bx, by) = ends
    n = math.dist(*ends)
    return all(
        abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) < ON_FOLD * n for x, y in curve.points(tolerance=TOLERANCE)
    )


def _flat(p: Pt, flip: float) -> Pt:
    return (round(flip * p[0], DECIMALS) + 0.0, round(p[1], DECIMALS) + 0.0)


def _text(layout: CreatorInterface, says: str, at: Pt, *, layer: str = ANNOTATION, size: float = TEXT) -> None:
    # The escape of DXF has four digits: letters beyond them are shown as code points, as on paper.
    shown = (f"[U+{ord(c):04X}]" if c > "\uffff" else c if c.isprintable() else " " for c in says)
    plain = "".join(shown)[:LONGEST_TEXT]
    attributes = {"layer": layer, "insert": _flat(at, 1.0)}
    layout.add_text(plain, height=size, dxfattribs=attributes)


def _block_name(name: str, used: set[str]) -> str:
    """A block name of R12 made from a piece's name, unlike all in `used`, to which it is added."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().upper()
    stem = re.sub(r"[^A-Z0-9]+", "_", plain).strip("_")[:LONGEST_NAME] or "PIECE"
    out, k = stem, 2
    while out in used:
        tail = f"_{k}"
        out, k = stem[: LONGEST_NAME - len(tail)] + tail, k + 1
    used.add(out)
    return out


def _timeless(text: str) -> str:
    """The file with MADE in the four places where ezdxf writes the time of its making, which it cannot be told not to.

    (Its switch for tests stands for the whole process: another thread's file would come out otherwise.)
    """
    text = _HEADER_TIME.sub(rf"\g<1>{MADE[0]}", text)
    return _MAKER.sub(rf"\g<1>{MADE[1]}", text)
