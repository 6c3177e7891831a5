"""Drawings as SVG, one user unit to the millimetre, y turned over, Béziers as they are.

SVG 1.1 (W3C Recommendation, 2nd edition, 2011): width and height in mm and a viewBox of the same figures make a
drawing of true size.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from coutil.plane import Path, Pt, is_straight, union
from coutil.sheets.drawing import PENS, Drawing, Line, Text

# White round everything, in mm: room for a thick line at the rim and for a hand to hold.
MARGIN = 10.0
# Decimals of a millimetre: a tenth of a micrometre, far below any pen or blade.
DECIMALS = 4


def svg(drawings: Sequence[Drawing], title: str, *, about: str = "", ratio: float = 1.0, fit: bool = True) -> str:
    """One SVG document of all drawings, each a group with an id of its own, in their common coordinates.

    With `ratio` n the sheet shows everything at 1:n, for illustrations only; line widths stay what they are on paper.
    `fit` fixes the length of each text to what was measured, so that a viewer's substitute font cannot push a label
    over a line. Raises ValueError if nothing is drawn.
    """
    if not drawings:
        raise ValueError(f"nothing is drawn on the sheet {title!r}")
    x0, y0, x1, y1 = union(d.bounds() for d in drawings)
    m = MARGIN * ratio if ratio == 1.0 else ratio
    left, top = x0 - m, y1 + m
    width, height = x1 - x0 + 2 * m, y1 - y0 + 2 * m
    used: set[str] = set()
    body = "".join(_group(d, (left, top), ratio, fit, used, 1) for d in drawings)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{_n(width / ratio)}mm"'
        f' height="{_n(height / ratio)}mm" viewBox="0 0 {_n(width)} {_n(height)}" role="img">\n'
        f"<title>{_text(title)}</title>\n"
        + (f"<desc>{_text(about)}</desc>\n" if about else "")
        + '<g fill="none" stroke="#000" stroke-linejoin="round" font-family="\'Noto Sans\', sans-serif">\n'
        + body
        + "</g>\n</svg>\n"
    )


def path_data(path: Path, origin: Pt) -> str:
    """The `d` attribute: M, then L for straight cubics and C for the others, absolute, y downwards from `origin`."""
    ox, oy = origin
    out: list[str] = []
    for s in path.segments:
        a, b, c, d = s.p0, s.p1, s.p2, s.p3
        if not out:
            out.append(f"M{_n(a.x - ox)} {_n(oy - a.y)}")
        if is_straight(s):
            out.append(f"L{_n(d.x - ox)} {_n(oy - d.y)}")
        else:
            out.append(f"C{_n(b.x - ox)} {_n(oy - b.y)} {_n(c.x - ox)} {_n(oy - c.y)} {_n(d.x - ox)} {_n(oy - d.y)}")
    return "".join(out) + ("Z" if path.closed else "")


def identifier(name: str, used: set[str]) -> str:
    """An XML id made from a name, unlike all in `used`, to which it is added."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "figure"
    if not stem[0].isalpha():
        stem = f"n-{stem}"
    out, k = stem, 2
    while out in used:
        out, k = f"{stem}-{k}", k + 1
    used.add(out)
    return out


def _group(d: Drawing, origin: tuple[float, float], ratio: float, fit: bool, used: set[str], depth: int) -> str:
    rows = [f"<g id={quoteattr(identifier(d.name, used))}>", f"<title>{_text(d.name)}</title>"]
    if d.about:
        rows.append(f"<desc>{_text(d.about)}</desc>")
    rows += [_line(n, origin, ratio) for n in d.lines]
    rows += [f'<path d="{path_data(s.path, origin)}" fill="#000" stroke="none"/>' for s in d.shapes]
    rows += [_words(t, origin, fit) for t in d.texts]
    rows += [_group(p, origin, ratio, fit, used, depth + 1).rstrip("\n") for p in d.parts]
    rows.append("</g>")
    return "\n".join(rows) + "\n"


def _line(n: Line, origin: tuple[float, float], ratio: float) -> str:
    pen = PENS[n.style]
    dash = f' stroke-dasharray="{" ".join(_n(v * ratio) for v in pen.dash)}"' if pen.dash else ""
    d = path_data(n.path, origin)
    return f'<path class="{n.style}" d="{d}" stroke-width="{_n(pen.width * ratio)}"{dash}/>'


def _words(t: Text, origin: tuple[float, float], fit: bool) -> str:
    x, y = _n(t.at[0] - origin[0]), _n(origin[1] - t.at[1])
    turn = f' transform="rotate({_n(-t.turn)} {x} {y})"' if t.turn else ""
    length = f' textLength="{_n(t.width)}" lengthAdjust="spacingAndGlyphs"' if fit and t.width else ""
    anchor = "" if t.anchor == "start" else f' text-anchor="{t.anchor}"'
    return (
        f'<text x="{x}" y="{y}" font-size="{_n(t.size)}" fill="#000" stroke="none"{anchor}{length}{turn}>'
        f"{_text(t.says)}</text>"
    )


def _n(v: float) -> str:
    s = f"{v:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if s in ("-0", "") else s


def _text(s: str) -> str:
    """Escaped, and without the control characters that XML 1.0 forbids."""
    return escape(
        "".join(c for c in s if c in "\t\n" or (c >= " " and not "\ud800" <= c <= "\udfff" and c not in "\ufffe\uffff"))
    )
