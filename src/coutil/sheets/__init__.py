"""What is printed or sent out: SVG, PDF and the lesson. Knows how things look; returns text and bytes, writes no files.

Importing this is light: the libraries for PDF and type are opened by the first sheet that needs them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from coutil.pattern import Pattern

if TYPE_CHECKING:
    from coutil.draft.steps import Step
    from coutil.pattern.model import Layer
    from coutil.sheets.drawing import Drawing
    from coutil.sheets.pdf import PdfSheet

# Every layer there is: the lesson's cautions speak of all of them unless told which are used.
ALL_LAYERS: tuple[Layer, ...] = ("shell", "interfacing", "foam", "web", "lining", "lining_interfacing")


def panels_svg(pattern: Pattern, title: str) -> str:
    """The panels side by side in sewing order, 1:1 in mm, without allowances. Raises ValueError if there are none."""
    from coutil.sheets.figures import panel_drawings
    from coutil.sheets.svg import svg
    from coutil.sheets.wording import about_body

    about = "Panels at full size, finished shapes without allowances."
    return svg(panel_drawings(pattern), title, about=about_body(about, pattern))


def piece_figures(pattern: Pattern, *, label: str = "", order_name: str = "") -> tuple[Drawing, ...]:
    """The pieces drawn and labelled, to be given to `pieces_svg` and `pattern_pdf`, so that it is done once."""
    from coutil.sheets.figures import Naming, piece_drawings

    return piece_drawings(pattern, Naming.of(pattern, order_name, label))


def pieces_svg(
    pattern: Pattern,
    title: str,
    *,
    label: str = "",
    order_name: str = "",
    drawings: Sequence[Drawing] | None = None,
) -> str:
    """All pieces in one SVG, 1:1 in mm, on shelves 1.5 m wide, each a group with an id of its own.

    Pieces that are cut to one shape from several layers are drawn once and name them all. Raises ValueError if the
    pattern has no pieces.
    """
    from coutil.sheets.paper import shelve
    from coutil.sheets.svg import svg
    from coutil.sheets.wording import about_body

    if drawings is None:
        drawings = piece_figures(pattern, label=label, order_name=order_name)
    moves = shelve([d.bounds() for d in drawings], SVG_WIDTH)
    moved = [d.moved(x, y) for d, (x, y) in zip(drawings, moves, strict=True)]
    return svg(moved, title, about=about_body("Pieces at full size, with allowances and marks.", pattern))


def pattern_pdf(
    pattern: Pattern,
    paper: str,
    *,
    label: str = "",
    order_name: str = "",
    roll_width: float | None = None,
    drawings: Sequence[Drawing] | None = None,
) -> PdfSheet:
    """The pieces as PDF at 1:1; see coutil.sheets.pdf."""
    from coutil.sheets import pdf

    return pdf.pattern_pdf(pattern, paper, label=label, order_name=order_name, roll_width=roll_width, drawings=drawings)


def lesson_pdf(
    steps: Sequence[Step],
    order_name: str,
    label: str,
    *,
    layers: Sequence[Layer] = ALL_LAYERS,
    body: str = "",
    not_taken: Sequence[str] = (),
    paper: str = "A4",
) -> bytes:
    """The lesson as PDF; see coutil.sheets.lesson."""
    from coutil.sheets.lesson import lesson_pdf as make

    return make(steps, order_name, label, layers=layers, body=body, not_taken=not_taken, paper=paper)


def lesson_text(steps: Sequence[Step]) -> str:
    """The lesson as plain text; see coutil.sheets.lesson."""
    from coutil.sheets.lesson import lesson_text as make

    return make(steps)


# Width of the shelves of the SVG of all pieces, in mm: a usual width of cloth, so that it looks like a table of work.
SVG_WIDTH = 1500.0

__all__ = ["lesson_pdf", "lesson_text", "panels_svg", "pattern_pdf", "piece_figures", "pieces_svg"]
