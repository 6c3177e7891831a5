"""What a DXF file draws: lines, arcs, polylines, splines and blocks, read with ezdxf; layers as in ASTM D6673.

The numbers of the layers are those that coutil.sheets.dxf writes, from memory of the standard. A layer that has no such
number is known by its name, where that is a word of the trade.
"""

from __future__ import annotations

import io
import logging
import math
import re
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

from kurbopy import Affine, CubicBez, Point

from coutil.plane import Pt, bezier, controls, straight
from coutil.trace.fit import fit_polyline
from coutil.trace.model import Budget, Dot, Kind, Reading, Stroke, TraceError, Word
from coutil.trace.pathdata import between, ellipse_arc, quadratic
from coutil.trace.words import kind_of, plain
from coutil.words import Key

# DXF is wordy, and reading it costs some 40 times its size in memory; by trial 8 MB are read in 5 s and 450 MB.
LARGEST_DXF = 8_000_000
# Entities, vertices of old polylines among them; by trial so many are read in 4 s. Files that ezdxf can only read by
# guessing its way take twice as long, so they may have half as many.
MOST_ENTITIES = 40_000
_ENTITY = re.compile(rb"\n[ \t]*0[ \t]*\r?\n")
# ASTM D6673, from memory.
_LAYERS: dict[str, Kind] = {
    "1": "cut",
    "4": "notch",
    "5": "skip",
    "6": "fold",
    "7": "grain",
    "8": "inner",
    "9": "skip",
    "10": "skip",
    "11": "inner",
    "13": "inner",
    "14": "net",
    "15": "inner",
    # The boundary and the lines inside once more, for comparing curves.
    "84": "skip",
    "85": "skip",
    "86": "skip",
    "87": "skip",
}
_TURN_POINTS, _CURVE_POINTS, _NOTCHES = "2", "3", "4"
# $INSUNITS of the DXF reference, in mm; those of maps and of stars are left out on purpose.
_INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 10: 914.4, 14: 100.0}
# Blocks in blocks in blocks: deeper than this, or more copies, is no pattern.
_DEEPEST = 6
_MOST_COPIES = 5_000
# Splines that are no plain cubics are sampled within this of their curve, in mm.
_SAMPLED = 0.005
# Flags of a vertex in an old polyline that is only the frame of a spline (DXF reference, group 70 of VERTEX).
_FRAME = 16

# What ezdxf remarks on files is for whoever set up logging; what matters comes as an error or a note.
logging.getLogger("ezdxf").addHandler(logging.NullHandler())


def read_dxf(data: bytes, *, scale: float | None = None) -> Reading:
    """All strokes, texts and points of the model space, in mm, y up.

    `scale` is what one unit of the file measures, in mm; it goes before what the file says. Raises TraceError for a
    file without units when no scale is given, and for anything malformed, huge or hostile.
    """
    if len(data) > LARGEST_DXF:
        raise TraceError("dxf_too_large", most=LARGEST_DXF // 1_000_000)
    count = sum(1 for _ in _ENTITY.finditer(data))
    if count > MOST_ENTITIES:
        raise TraceError("dxf_too_many_entities", most=MOST_ENTITIES)
    try:
        doc = _document(data, guess=count <= MOST_ENTITIES // 2)
        reader = _Reader(doc)
        reader.run()
    except TraceError:
        raise
    except Exception as e:
        # ezdxf answers broken files with errors of many kinds; what they say is about its own inside.
        raise TraceError("no_dxf", error=type(e).__name__) from None
    unit, said = _unit(doc, reader.texts, scale)
    return reader.reading(unit, said)


def _document(data: bytes, *, guess: bool) -> Any:
    """ezdxf's document; with `guess` broken files are read as far as they go."""
    from ezdxf import recover
    from ezdxf.filemanagement import read

    try:
        text = data.decode("utf-8" if data[data.find(b"$ACADVER") :][:40].strip() >= b"AC1021" else "cp1252")
        return read(io.StringIO(text))
    except Exception:
        if not guess:
            raise
    return recover.read(io.BytesIO(data))[0]


def _unit(doc: Any, texts: Sequence[str], scale: float | None) -> tuple[float, str]:
    if scale is not None:
        return scale, f"one unit of the file is {scale:g} mm, as was said"
    for text in texts:
        m = re.search(r"units?\s*[:=]?\s*(.*)", text[:200], re.IGNORECASE)
        said = plain(m.group(1)) if m else ""
        for words, mm in (
            (r"(metric )?(mm|millimet(re|er)s?)\b", 1.0),
            (r"(metric )?(cm|centimet(re|er)s?)\b", 10.0),
            (r"metric\b", 1.0),
            (r"(english|imperial)?( )?(in|inch|inches)\b", 25.4),
            (r"(english|imperial)\b", 25.4),
        ):
            if re.match(words, said):
                return mm, f"one unit of the file is {mm:g} mm, as a text in it says"
    code = doc.header.get("$INSUNITS", 0)
    if code in _INSUNITS:
        return _INSUNITS[code], f"one unit of the file is {_INSUNITS[code]:g} mm, as its header says"
    raise TraceError("dxf_without_unit", Key("pattern.scale"))


class _Reader:
    """Walks the model space; coordinates stay in units of the file until `reading`."""

    def __init__(self, doc: Any) -> None:
        self.doc = doc
        self.budget = Budget()
        self.strokes: list[Stroke] = []
        self.words: list[Word] = []
        self.dots: list[Dot] = []
        self.texts: list[str] = []
        self.groups: dict[int, str] = {}
        self.copies = 0
        self.passed: set[str] = set()

    def run(self) -> None:
        from ezdxf.math import Matrix44

        same = Matrix44()
        self.draw(self.doc.modelspace(), same, 0, 0)
        if not self.strokes:
            # Some programs write the pieces as blocks and never place them: then they all lie over each other.
            at = 0.0
            for block in self.doc.blocks:
                if block.name.startswith("*"):
                    continue
                first = len(self.strokes)
                self._block(block, Matrix44.translate(at, 0.0, 0.0), 1)
                xs = [v for s in self.strokes[first:] for c in s.path for v in (c.p0.x, c.p3.x)]
                if xs and all(map(math.isfinite, xs)):
                    at += 1.2 * (max(xs) - min(xs))

    def reading(self, unit: float, said: str) -> Reading:
        by = Affine(unit, 0.0, 0.0, unit, 0.0, 0.0)
        strokes = []
        for s in self.strokes:
            if not all(math.isfinite(v) and abs(v) < 1e9 for c in s.path for p in controls(c) for v in p):
                raise TraceError("dxf_too_large_numbers")
            strokes.append(Stroke(tuple(by * c for c in s.path), s.closed, s.kind, s.straight, s.names, s.group))
        words = [Word(w.says, (w.at[0] * unit, w.at[1] * unit), w.group) for w in self.words]
        dots = [Dot((d.at[0] * unit, d.at[1] * unit), d.kind, d.group) for d in self.dots]
        notes = (f"Passed over: {', '.join(sorted(self.passed))}.",) if self.passed else ()
        finite = [d for d in dots if all(map(math.isfinite, d.at))]
        return Reading(tuple(strokes), tuple(words), tuple(finite), said, self.groups, notes)

    def draw(self, entities: Iterable[Any], m: Any, group: int, depth: int) -> None:
        for e in entities:
            kind = e.dxftype()
            if kind == "INSERT":
                self._insert(e, m, group, depth)
            elif kind in ("TEXT", "MTEXT", "ATTRIB", "ATTDEF"):
                self._text(e, m, group)
            elif kind == "POINT":
                self._point(e, m, group)
            else:
                self._line(e, kind, m, group)

    def _insert(self, e: Any, m: Any, group: int, depth: int) -> None:
        block = self.doc.blocks.get(e.dxf.name)
        count = max(1, abs(e.dxf.get("row_count", 1))) * max(1, abs(e.dxf.get("column_count", 1)))
        self.copies += count
        if depth >= _DEEPEST or self.copies > _MOST_COPIES:
            raise TraceError("dxf_endless_blocks")
        if block is None:
            return
        copies = e.multi_insert() if count > 1 else (e,)
        for one in copies:
            inner = one.matrix44() @ m
            if group:
                self.draw(block, inner, group, depth + 1)
            else:
                self._block(block, inner, depth + 1)
            for attribute in one.attribs:
                self._text(attribute, m, group or len(self.groups))

    def _block(self, block: Any, m: Any, depth: int) -> None:
        group = len(self.groups) + 1
        self.groups[group] = block.name.replace("_", " ").lower()
        before = len(self.texts)
        self.draw(block, m, group, depth)
        for text in self.texts[before:]:
            found = re.match(r"piece name\s*:\s*(.+)", text.strip(), re.IGNORECASE)
            if found:
                self.groups[group] = found.group(1).strip()[:120]

    def _text(self, e: Any, m: Any, group: int) -> None:
        from ezdxf.lldxf.encoding import decode_dxf_unicode

        says = e.plain_text() if e.dxftype() != "MTEXT" else " ".join(e.plain_text().split())
        says = decode_dxf_unicode(says[:400]).strip()
        if says:
            self.budget.stroke()
            p = m.transform(e.ocs().to_wcs(e.dxf.insert) if e.dxftype() != "MTEXT" else e.dxf.insert)
            self.texts.append(says)
            self.words.append(Word(says, (p.x, p.y), group))

    def _point(self, e: Any, m: Any, group: int) -> None:
        self.budget.segment()
        p = m.transform(e.dxf.location)
        layer = str(e.dxf.layer).strip()
        kind = {_TURN_POINTS: "turn", _CURVE_POINTS: "curve", _NOTCHES: "notch"}.get(layer)
        if kind is None:
            kind = "notch" if kind_of(layer) == "notch" else "inner"
        self.dots.append(Dot((p.x, p.y), kind, group))  # type: ignore[arg-type]

    def _line(self, e: Any, kind: str, m: Any, group: int) -> None:
        layer = str(e.dxf.get("layer", "0")).strip()
        if layer in (_TURN_POINTS, _CURVE_POINTS):
            return
        made = self._path(e, kind)
        if made is None:
            self.passed.add(kind.lower())
            return
        path, closed, lines = made
        self.budget.segment(len(path))
        if not path:
            return
        self.budget.stroke()
        called = _LAYERS.get(layer) or kind_of(layer) or "outline"
        moved = tuple(self._moved(c, m) for c in path)
        self.strokes.append(Stroke(moved, closed, called, lines, (), group))

    @staticmethod
    def _moved(c: CubicBez, m: Any) -> CubicBez:
        return CubicBez(*(Point(q.x, q.y) for q in (m.transform((x, y, 0.0)) for x, y in controls(c))))

    def _path(self, e: Any, kind: str) -> tuple[list[CubicBez], bool, bool] | None:
        """An entity's cubics in the coordinates of its layout, whether they are closed, whether all are lines."""
        match kind:
            case "LINE":
                a, b = e.dxf.start, e.dxf.end
                return [straight((a.x, a.y), (b.x, b.y))] if (a.x, a.y) != (b.x, b.y) else [], False, True
            case "CIRCLE" | "ARC":
                r = e.dxf.radius
                start = math.radians(e.dxf.start_angle % 360.0) if kind == "ARC" else 0.0
                end = math.radians(e.dxf.end_angle % 360.0) if kind == "ARC" else 0.0
                sweep = (end - start) % (2 * math.pi) or 2 * math.pi
                c = e.dxf.center
                arc = ellipse_arc(c.x, c.y, r, r, 0.0, start, sweep) if r > 0.0 else []
                return self._in_world(e, arc, c.z), kind == "CIRCLE", False
            case "ELLIPSE":
                return self._ellipse(e), abs(e.dxf.end_param - e.dxf.start_param) >= 2 * math.pi - 1e-9, False
            case "LWPOLYLINE":
                rows = [(x, y, bulge) for x, y, bulge in e.get_points("xyb")]
                path = self._polyline(rows, e.closed)
                return self._in_world(e, path, e.dxf.elevation), e.closed, not any(b for _, _, b in rows)
            case "POLYLINE":
                if not (e.is_2d_polyline or e.is_3d_polyline):
                    return None
                rows = [
                    (v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0))
                    for v in e.vertices
                    if not v.dxf.flags & _FRAME
                ]
                path = self._polyline(rows, e.is_closed)
                if e.is_2d_polyline:
                    path = self._in_world(e, path, 0.0)
                return path, e.is_closed, not any(b for _, _, b in rows)
            case "SPLINE":
                return self._spline(e), bool(e.closed), False
        return None

    @staticmethod
    def _in_world(e: Any, path: list[CubicBez], z: float) -> list[CubicBez]:
        """From the entity's own plane to the layout's; all but mirrored ones lie in it already."""
        ocs = e.ocs()
        if not ocs.transform:
            return path
        return [CubicBez(*(Point(q.x, q.y) for q in (ocs.to_wcs((x, y, z)) for x, y in controls(c)))) for c in path]

    def _polyline(self, rows: Sequence[tuple[float, float, float]], closed: bool) -> list[CubicBez]:
        self.budget.segment(len(rows))
        if closed and rows:
            rows = [*rows, rows[0]]
        out: list[CubicBez] = []
        for (x0, y0, bulge), (x1, y1, _) in pairwise(rows):
            if (x0, y0) == (x1, y1):
                continue
            if bulge:
                out += _bulge(x0, y0, x1, y1, bulge)
            else:
                out.append(straight((x0, y0), (x1, y1)))
        return out

    @staticmethod
    def _ellipse(e: Any) -> list[CubicBez]:
        c, major = e.dxf.center, e.dxf.major_axis
        minor = e.minor_axis
        rx, ry = math.hypot(major.x, major.y), math.hypot(minor.x, minor.y)
        if rx == 0.0 or ry == 0.0:
            return []
        start, end = e.dxf.start_param, e.dxf.end_param
        if not (math.isfinite(start) and math.isfinite(end)):
            raise TraceError("dxf_no_numbers")
        sweep = (end - start) % (2 * math.pi) or 2 * math.pi
        if major.x * minor.y - major.y * minor.x < 0.0:
            # Seen from behind: its parameter runs clockwise.
            start, sweep = -start, -sweep
        return ellipse_arc(c.x, c.y, rx, ry, math.atan2(major.y, major.x), start, sweep)

    def _spline(self, e: Any) -> list[CubicBez]:
        tool = e.construction_tool()
        self.budget.segment(tool.count)
        degree, clamped = tool.degree, tool.is_clamped
        if degree in (1, 2, 3) and clamped and not tool.is_rational:
            out: list[CubicBez] = []
            for points in tool.bezier_decomposition():
                xy = [(p.x, p.y) for p in points]
                if degree == 3:
                    out.append(bezier(*xy))
                elif degree == 2:
                    out.append(quadratic(*xy))
                else:
                    out.append(straight(*xy))
            return [c for c in out if len(set(controls(c))) > 1]
        sampled: list[Pt] = []
        for p in tool.flattening(_SAMPLED):
            self.budget.segment()
            sampled.append((p.x, p.y))
        curve, _ = fit_polyline(sampled)
        return list(curve.segments)


def _bulge(x0: float, y0: float, x1: float, y1: float, bulge: float) -> list[CubicBez]:
    """The arc between two vertices; a bulge is the tangent of a quarter of its angle, positive to the left turning."""
    if not math.isfinite(bulge):
        raise TraceError("dxf_no_numbers")
    chord = math.hypot(x1 - x0, y1 - y0)
    if abs(bulge) * chord < 1e-9:
        return [straight((x0, y0), (x1, y1))]
    # Centre: from the chord's middle, to the left, by half the chord over the tangent of half the angle.
    away = chord * (1.0 - bulge * bulge) / (4.0 * bulge)
    cx = (x0 + x1) / 2.0 - away * (y1 - y0) / chord
    cy = (y0 + y1) / 2.0 + away * (x1 - x0) / chord
    r = chord * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    out = ellipse_arc(cx, cy, r, r, 0.0, math.atan2(y0 - cy, x0 - cx), 4.0 * math.atan(bulge))
    return between((x0, y0), out, (x1, y1))
