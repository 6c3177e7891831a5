"""Pages as PDF at 1:1.

Paths are written as PDF's own Béziers in mm under one scaling matrix (ISO 32000-1, 8.5: path construction), to a tenth
of a micrometre. fpdf2 makes pages, fonts and the file. The same input gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path as File
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from coutil.pattern import Finding, Pattern
from coutil.plane import Box, Path, is_straight
from coutil.sheets.drawing import PENS, Drawing, Text
from coutil.sheets.fonts import fallbacks, house_font, is_plain, subset
from coutil.sheets.pages import Page, compose
from coutil.units import INCH

if TYPE_CHECKING:
    from fpdf import FPDF

# Points in a millimetre; a point is 1/72 in (ISO 32000-1, 8.3.2.3).
POINTS = 72.0 / INCH
# Written into every file in place of the time, so that the same order gives the same bytes. Any fixed time does.
MADE = datetime(2000, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class PdfSheet:
    """A PDF file and what is in it. `tiles` and `left_out` are names of sheets such as B3."""

    data: bytes
    paper: str
    pages: int
    tiles: tuple[str, ...]
    left_out: tuple[str, ...]
    findings: tuple[Finding, ...]


def pattern_pdf(
    pattern: Pattern,
    paper: str,
    *,
    label: str = "",
    order_name: str = "",
    roll_width: float | None = None,
    drawings: Sequence[Drawing] | None = None,
) -> PdfSheet:
    """All pieces (the panels, if there are no pieces yet) at full size on `paper`.

    `paper` is A4, Letter, A3, A0 or roll, the last with its width in mm. `drawings` may be given where they were made
    before for the same pattern and label. Raises ValueError for unknown paper, for a roll too narrow for a piece, and
    for an empty pattern.
    """
    c = compose(pattern, paper, label=label, order_name=order_name, roll_width=roll_width, drawings=drawings)
    return PdfSheet(
        write_pdf(c.pages, c.title, c.owner),
        c.paper,
        len(c.pages),
        tuple(t.name for t in c.laid.tiling.tiles),
        tuple(t.name for t in c.laid.tiling.blank),
        c.findings,
    )


def write_pdf(pages: Sequence[Page], title: str, owner: str = "") -> bytes:
    """The pages as a PDF file. All letters in them must be `showable` ones."""
    from fpdf.fonts import TTFFont

    letters = {c for p in pages for top in p.drawings for d in top.every() for t in d.texts for c in t.says}
    with TemporaryDirectory() as folder:
        # fpdf2 takes fonts from files only, and reads them until the end.
        pdf = _document(title, owner, frozenset(letters), File(folder))
        for p in pages:
            _page(pdf, p)
        out = bytes(pdf.output())
        for font in pdf.fonts.values():
            if isinstance(font, TTFFont):
                font.close()
    return out


def _document(title: str, owner: str, letters: frozenset[str], folder: File) -> FPDF:
    from fpdf import FPDF

    pdf = FPDF(unit="mm")
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.c_margin = 0.0
    pdf.set_creation_date(MADE)
    pdf.set_title(f"{title}, {owner}" if owner else title)
    pdf.set_lang("en-GB")
    pdf.set_producer("coutil")
    fonts = {"house": house_font()}
    fonts |= {f"other{k}": path for k, path in enumerate(fallbacks("".join(sorted(letters))))}
    for name, path in fonts.items():
        (folder / f"{name}.ttf").write_bytes(subset(path, letters))
        pdf.add_font(name, "", folder / f"{name}.ttf")
    pdf.set_fallback_fonts([name for name in fonts if name != "house"], exact_match=False)
    return pdf


def _page(pdf: FPDF, page: Page) -> None:
    paper, window = page.paper, page.window
    pdf.add_page(format=(paper.width, paper.height))
    m = paper.margin
    x0, y0, x1, y1 = window
    # From drawing mm to page points, y up from the page's foot.
    tx, ty = (m - x0) * POINTS, (paper.height - m - y1) * POINTS
    out = [
        "q",
        " ".join(f"{v * POINTS:.4f}" for v in (m, paper.height - m - (y1 - y0), x1 - x0, y1 - y0)) + " re W n",
        f"{POINTS:.8f} 0 0 {POINTS:.8f} {tx:.4f} {ty:.4f} cm 1 j 0 J 0 G 0 g",
    ]
    texts: list[Text] = []
    for top in page.drawings:
        for d in top.every():
            for n in d.lines:
                if _meets(n.path, window, 1.0):
                    pen = PENS[n.style]
                    out.append(f"{pen.width:g} w [{' '.join(f'{v:g}' for v in pen.dash)}] 0 d")
                    out.append(path_operators(n.path) + (" h S" if n.path.closed else " S"))
            out += [path_operators(s.path) + " h f" for s in d.shapes if _meets(s.path, window, 0.0)]
            texts += [t for t in d.texts if _touches(t, window)]
    out.append("Q")
    # fpdf2 has no public call for raw operators; its drawing API would round the paths and repeat the state for each.
    pdf._out("\n".join(out))
    if texts:
        with pdf.local_context():
            pdf._out(out[1])
            for t in texts:
                _write(pdf, t, (m - x0, m + y1))


def path_operators(path: Path) -> str:
    """m, l and c operators in mm."""
    out: list[str] = []
    for s in path.segments:
        a, b, c, d = s.p0, s.p1, s.p2, s.p3
        if not out:
            out.append(f"{a.x:.4f} {a.y:.4f} m")
        if is_straight(s):
            out.append(f"{d.x:.4f} {d.y:.4f} l")
        else:
            out.append(f"{b.x:.4f} {b.y:.4f} {c.x:.4f} {c.y:.4f} {d.x:.4f} {d.y:.4f} c")
    return " ".join(out)


def _write(pdf: FPDF, t: Text, origin: tuple[float, float]) -> None:
    """One line of text; `origin` is where the drawing's (0, 0) lies on the page, from its upper left corner, y down."""
    x, y = origin[0] + t.at[0], origin[1] - t.at[1]
    shift = {"start": 0.0, "middle": -t.width / 2, "end": -t.width}[t.anchor]
    pdf.set_font("house", size=t.size * POINTS)
    if t.turn:
        with pdf.rotation(t.turn, x, y):
            _set_line(pdf, t, x + shift, y)
    else:
        _set_line(pdf, t, x + shift, y)


def _set_line(pdf: FPDF, t: Text, x: float, y: float) -> None:
    if is_plain(t.says):
        pdf.text(x, y, t.says)
        return
    pdf.set_text_shaping(True)
    # A cell of no height puts its baseline 0.3 of the type size below its top (fpdf2's own rule for cells).
    pdf.set_xy(x, y - 0.3 * t.size)
    pdf.cell(t.width, 0.0, t.says)
    pdf.set_text_shaping(False)


def _meets(path: Path, window: Box, grow: float) -> bool:
    """Whether the box round a path's control points reaches into the window."""
    x0, y0, x1, y1 = path.hull()
    return x0 - grow < window[2] and x1 + grow > window[0] and y0 - grow < window[3] and y1 + grow > window[1]


def _touches(t: Text, window: Box) -> bool:
    xs, ys = zip(*t.corners(), strict=True)
    return min(xs) < window[2] and max(xs) > window[0] and min(ys) < window[3] and max(ys) > window[1]
