"""What an SVG file draws: paths and basic shapes with their transforms, units and names (SVG 1.1, W3C, 2011)."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from itertools import pairwise

from kurbopy import Affine, CubicBez, Point

from coutil.plane import controls, straight
from coutil.trace.model import Budget, Dot, Kind, Reading, Stroke, TraceError, Word
from coutil.trace.pathdata import ellipse_arc, number, parse_path
from coutil.trace.words import kind_of
from coutil.trace.xml import Node, parse_xml
from coutil.words import Key

# Absolute units of SVG and CSS that measure paper, in mm. px is left out on purpose: it stands for any size.
_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72.0, "pc": 25.4 / 6.0, "q": 0.25}
# What a user unit measures where width and height are physical and there is no viewBox: CSS 2.1, section 4.3.2.
_PIXEL = 25.4 / 96.0
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z%]*)\s*\Z")
_NUMBERS = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
# What hides an element, in its style or in a rule of a style sheet; and how much of a sheet is read.
_HIDDEN = re.compile(r"(display:none|visibility:hidden)")
LONGEST_SHEET = 100_000
_TRANSFORM = re.compile(r"\s*([a-zA-Z]+)\s*\(([^()]*)\)[\s,]*")
# What is not drawn where it stands.
_UNSEEN = {"defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "filter"}
_UNSEEN |= {"style", "script", "metadata", "foreignObject", "title", "desc", "namedview", "font", "glyph", "view"}
# A copy within a copy within a copy: no drawing goes deeper than this, and a hostile one must not.
_DEEPEST_USE = 5
_MOST_USED = 20_000
# What coutil's own drawings call their lines, where the word alone would not tell: panels are drawn without allowances.
_CLASSES: dict[str, Kind] = {"panel": "net"}
_SAME = Affine(1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def read_svg(data: bytes, *, scale: float | None = None) -> Reading:
    """All strokes and texts of an SVG file, in mm, y up.

    `scale` is what one unit of the file's viewBox measures, in mm; it goes before what the file says. Raises TraceError
    for a file that has no physical size when no scale is given, and for anything malformed, huge or hostile.
    """
    root = parse_xml(data)
    if root.tag != "svg":
        raise TraceError("no_svg", tag=root.tag[:40])
    size, said, notes = _size(root, scale)
    reader = _Reader(root, _hidden_classes(root))
    # y down in the file, up in here.
    reader.walk(root, Affine(size[0], 0.0, 0.0, -size[1], 0.0, 0.0), "outline", (), 0, top=True)
    if reader.pictures:
        notes.append("The pictures in the file were passed over; only its lines are read.")
    box = _box(root.attributes.get("viewBox"))
    page = (box[2] * size[0], box[3] * size[1]) if box else None
    strokes, words, dots = tuple(reader.strokes), tuple(reader.words), tuple(reader.dots)
    return Reading(strokes, words, dots, said, notes=tuple(notes), down=True, page=page)


def _size(root: Node, scale: float | None) -> tuple[tuple[float, float], str, list[str]]:
    """What one user unit measures in x and in y, in mm."""
    if scale is not None:
        return (scale, scale), f"one unit of the file is {scale:g} mm, as was said", []
    width, height = _physical(root.attributes.get("width")), _physical(root.attributes.get("height"))
    box = _box(root.attributes.get("viewBox"))
    if width is None and height is None:
        raise TraceError("svg_without_size", Key("pattern.scale"))
    if box is None:
        note = "Width and height are physical but there is no viewBox; a unit is taken as 1/96 in, as CSS has it."
        return (_PIXEL, _PIXEL), "one unit is 1/96 in", [note]
    by = [v / b for v, b in ((width, box[2]), (height, box[3])) if v is not None]
    if len(by) == 2 and root.attributes.get("preserveAspectRatio", "").strip().startswith("none"):
        x, y = by
    else:
        x = y = min(by)
    if not (1e-6 < x < 1e6 and 1e-6 < y < 1e6):
        raise TraceError("svg_no_scale", Key("pattern.scale"))
    return (x, y), f"one unit of the file is {x:.6g} mm, from its width, height and viewBox", []


def _physical(text: str | None) -> float | None:
    m = _LENGTH.match(text[:80]) if text else None
    if m is None or m.group(2).lower() not in _UNITS:
        return None
    mm = number(m.group(1)) * _UNITS[m.group(2).lower()]
    if mm <= 0.0:
        raise TraceError("svg_size", Key("pattern.scale"), text=text)
    return mm


def _box(text: str | None) -> tuple[float, float, float, float] | None:
    if text is None:
        return None
    found = [number(t) for t in _NUMBERS.findall(text[:400])]
    if len(found) != 4 or found[2] <= 0.0 or found[3] <= 0.0:
        raise TraceError("svg_viewbox", text=repr(text[:60]))
    return found[0], found[1], found[2], found[3]


@dataclass(slots=True)
class _Reader:
    root: Node
    hidden: frozenset[str] = frozenset()
    strokes: list[Stroke] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    dots: list[Dot] = field(default_factory=list)
    budget: Budget = field(default_factory=Budget)
    pictures: int = 0
    used: int = 0
    _by_id: dict[str, Node] | None = None

    def walk(self, node: Node, m: Affine, kind: Kind, names: tuple[str, ...], uses: int, *, top: bool = False) -> None:
        a = node.attributes
        style = a.get("style", "")[:1000].replace(" ", "")
        if _HIDDEN.search(style) or a.get("display") == "none" or a.get("visibility") == "hidden":
            return
        classes = a.get("class", "")[:200].split()
        if self.hidden.intersection(classes):
            return
        m = m * (_transform(a.get("transform")))
        own = _names(node)
        names = (*own, *names)[:12]
        ours = [_CLASSES[c] for c in classes if c in _CLASSES]
        kind = ours[0] if ours else kind_of(*classes, *own) or kind
        tag = node.tag
        if tag in ("svg", "g", "a", "switch"):
            if tag == "svg" and not top:
                m = m * (_nested(node))
            for n in node.inside:
                if n.tag not in _UNSEEN:
                    self.walk(n, m, kind, names, uses)
        elif tag == "use":
            self._use(node, m, kind, names, uses)
        elif tag == "path":
            for sub in parse_path(a.get("d", ""), self.budget):
                self._stroke(sub.path, m, kind, names, closed=sub.closed, straight=sub.straight)
        elif tag in ("rect", "circle", "ellipse", "line", "polyline", "polygon"):
            self._shape(node, m, kind, names)
        elif tag == "text":
            self._text(node, m)
        elif tag == "image":
            self.pictures += 1

    def _stroke(
        self, path: list[CubicBez], m: Affine, kind: Kind, names: tuple[str, ...], *, closed: bool, straight: bool
    ) -> None:
        if path:
            self.budget.stroke()
            moved = tuple(m * c for c in path)
            if not all(math.isfinite(v) for c in moved for p in controls(c) for v in p):
                raise TraceError("infinite_transforms")
            self.strokes.append(Stroke(moved, closed, kind, straight, names))

    def _shape(self, node: Node, m: Affine, kind: Kind, names: tuple[str, ...]) -> None:
        def get(name: str) -> float:
            return _coordinate(node.attributes.get(name))

        path: list[CubicBez]
        closed = node.tag != "line"
        if node.tag in ("polyline", "polygon"):
            text = node.attributes.get("points", "")
            found = _NUMBERS.findall(text)
            self.budget.segment(len(found) // 2)
            values = [number(t) for t in found]
            if len(values) % 2 or re.search(r"[^\s,+\-.0-9eE]", text):
                raise TraceError("broken_points", tag=node.tag)
            pts = list(zip(values[::2], values[1::2], strict=True))
            if node.tag == "polygon" and pts:
                pts.append(pts[0])
            path = [straight(p, q) for p, q in pairwise(pts) if p != q]
            self._stroke(path, m, kind, names, closed=node.tag == "polygon", straight=True)
            return
        if node.tag == "line":
            path = [straight((get("x1"), get("y1")), (get("x2"), get("y2")))]
        elif node.tag == "rect":
            path = _rectangle(node)
        else:
            rx = get("r") if node.tag == "circle" else get("rx")
            ry = get("r") if node.tag == "circle" else get("ry")
            path = ellipse_arc(get("cx"), get("cy"), rx, ry, 0.0, 0.0, 2 * math.pi) if rx > 0.0 and ry > 0.0 else []
        self.budget.segment(len(path))
        lines = node.tag == "line" or (node.tag == "rect" and len(path) == 4)
        self._stroke(path, m, kind, names, closed=closed, straight=lines)

    def _text(self, node: Node, m: Affine) -> None:
        says = node.all_text()[:200]
        at = next((n for n in node.every() if "x" in n.attributes or "y" in n.attributes), node)
        x, y = _coordinate(at.attributes.get("x")), _coordinate(at.attributes.get("y"))
        if says:
            self.budget.stroke()
            p = m * Point(x, y)
            self.words.append(Word(says, (p.x, p.y)))

    def _use(self, node: Node, m: Affine, kind: Kind, names: tuple[str, ...], uses: int) -> None:
        href = node.attributes.get("href", "")
        if not href.startswith("#"):
            raise TraceError("svg_other_file", file=repr(href[:40]))
        if self._by_id is None:
            self._by_id = {n.attributes["id"]: n for n in self.root.every() if "id" in n.attributes}
        target = self._by_id.get(href[1:])
        if target is None:
            return
        self.used += 1
        if uses >= _DEEPEST_USE or self.used > _MOST_USED:
            raise TraceError("endless_copies")
        x, y = (_coordinate(node.attributes.get(k)) for k in ("x", "y"))
        m *= Affine(1.0, 0.0, 0.0, 1.0, x, y)
        if target.tag == "symbol":
            for n in target.inside:
                if n.tag not in _UNSEEN:
                    self.walk(n, m, kind, names, uses + 1)
        elif target.tag not in _UNSEEN:
            self.walk(target, m, kind, names, uses + 1)


def _hidden_classes(root: Node) -> frozenset[str]:
    """The classes that a style sheet in the file hides: layers that are switched off are often written so."""
    out: set[str] = set()
    sheets = (n.all_text()[:LONGEST_SHEET] for n in root.every() if n.tag == "style")
    for rule in " ".join(sheets)[:LONGEST_SHEET].split("}"):
        selectors, _, rules = rule.partition("{")
        if _HIDDEN.search(rules.replace(" ", "")):
            out.update(s.strip()[1:] for s in selectors.split(",") if re.fullmatch(r"\s*\.[\w-]+\s*", s))
    return frozenset(out)


def _names(node: Node) -> tuple[str, ...]:
    """What an element is called: its title, its label, its id, in this order."""
    title = next((n.all_text() for n in node.inside if n.tag == "title"), "")
    return tuple(s[:120] for s in (title, node.attributes.get("label", ""), node.attributes.get("id", "")) if s.strip())


def _coordinate(text: str | None) -> float:
    """A coordinate in user units; physical units count as CSS pixels, as in any viewer."""
    if not text:
        return 0.0
    # Texts may bear one coordinate for each letter.
    m = _LENGTH.match(text[:200].replace(",", " ").split(" ")[0] or "0")
    if m is None:
        raise TraceError("no_number", text=repr(text[:40]))
    unit = m.group(2).lower()
    if unit in ("", "px"):
        return number(m.group(1))
    if unit in _UNITS:
        return number(m.group(1)) * _UNITS[unit] / _PIXEL
    raise TraceError("unit_of_the_screen", text=repr(text[:40]))


def _rectangle(node: Node) -> list[CubicBez]:
    a = node.attributes
    x, y, w, h = (_coordinate(a.get(k)) for k in ("x", "y", "width", "height"))
    if w <= 0.0 or h <= 0.0:
        return []
    rx = _coordinate(a.get("rx", a.get("ry")))
    ry = _coordinate(a.get("ry", a.get("rx")))
    rx, ry = min(max(rx, 0.0), w / 2.0), min(max(ry, 0.0), h / 2.0)
    if rx == 0.0 or ry == 0.0:
        c = [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
        return [straight(p, q) for p, q in pairwise(c)]
    out: list[CubicBez] = []
    half = math.pi / 2
    for cx, cy, angle in (
        (x + w - rx, y + ry, -half),
        (x + w - rx, y + h - ry, 0.0),
        (x + rx, y + h - ry, half),
        (x + rx, y + ry, 2 * half),
    ):
        corner = ellipse_arc(cx, cy, rx, ry, 0.0, angle, half)
        if out and (end := controls(out[-1])[3]) != (start := controls(corner[0])[0]):
            out.append(straight(end, start))
        out += corner
    if (end := controls(out[-1])[3]) != (start := controls(out[0])[0]):
        out.append(straight(end, start))
    return out


def _nested(node: Node) -> Affine:
    a = node.attributes
    x, y = _coordinate(a.get("x")), _coordinate(a.get("y"))
    box = _box(a.get("viewBox"))
    if box is None:
        return Affine(1.0, 0.0, 0.0, 1.0, x, y)
    if any("%" in a.get(k, "%") for k in ("width", "height")):
        raise TraceError("nested_in_percent")
    k = min(_coordinate(a.get("width")) / box[2], _coordinate(a.get("height")) / box[3])
    w, h = _coordinate(a.get("width")), _coordinate(a.get("height"))
    # Centred, as without preserveAspectRatio (SVG 1.1, section 7.8).
    return Affine(k, 0.0, 0.0, k, x + (w - k * box[2]) / 2.0 - k * box[0], y + (h - k * box[3]) / 2.0 - k * box[1])


def _transform(text: str | None) -> Affine:
    """The transform attribute (SVG 1.1, section 7.6)."""
    if text is None or not text.strip():
        return _SAME
    if len(text) > 10_000:
        raise TraceError("long_transform")
    out, at = _SAME, 0
    text = text.strip()
    while at < len(text):
        m = _TRANSFORM.match(text, at)
        if m is None:
            raise TraceError("broken_transform", text=repr(text[:60]))
        at = m.end()
        out = out * _single(m.group(1), [number(t) for t in _NUMBERS.findall(m.group(2))], text)
    return out


def _single(name: str, v: list[float], text: str) -> Affine:
    match name, len(v):
        case "matrix", 6:
            return Affine(v[0], v[1], v[2], v[3], v[4], v[5])
        case "translate", 1 | 2:
            return Affine(1.0, 0.0, 0.0, 1.0, v[0], v[1] if len(v) > 1 else 0.0)
        case "scale", 1 | 2:
            return Affine(v[0], 0.0, 0.0, v[-1], 0.0, 0.0)
        case "rotate", 1 | 3:
            c, s = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
            x, y = (v[1], v[2]) if len(v) == 3 else (0.0, 0.0)
            return Affine(c, s, -s, c, x - c * x + s * y, y - s * x - c * y)
        case "skewX", 1:
            return Affine(1.0, 0.0, math.tan(math.radians(v[0])), 1.0, 0.0, 0.0)
        case "skewY", 1:
            return Affine(1.0, math.tan(math.radians(v[0])), 0.0, 1.0, 0.0, 0.0)
    raise TraceError("unknown_transform", text=repr(text[:60]))
