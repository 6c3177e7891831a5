"""Pages of running text, set by typst: what lesson, docket, quote and making-up card have in common.

A sheet builds its source from these functions. Words that come from an order go through `words`, so that nothing a
client is called can be taken for markup; the fonts are those of coutil.sheets.fonts and no others.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache
from typing import TYPE_CHECKING, Final

from coutil.sheets.fonts import fallbacks, house_font, printed, showable

if TYPE_CHECKING:
    import typst

# ISO 216 and ANSI/ASME Y14.1, as typst calls them.
PAPERS: Final = {"A4": "a4", "Letter": "us-letter", "A3": "a3"}
# White round the text in mm: what home printers cannot reach, and room for a pin or a punch.
PAGE_MARGIN: Final = 15.0
# Everything is black on white (see coutil.sheets.drawing). `fine` sets a remark.
_PREAMBLE: Final = """
#set text(font: "Noto Sans", size: 9.5pt, lang: "en", hyphenate: false)
#set par(leading: 0.55em, spacing: 0.8em)
#set table(stroke: 0.4pt, inset: (x: 4pt, y: 3pt))
#show heading.where(level: 1): it => block(below: 8pt, text(size: 15pt, weight: 700, it.body))
#show heading.where(level: 2): it => block(above: 12pt, below: 6pt, sticky: true,
  text(size: 11pt, weight: 700, it.body))
#let fine(it) = text(size: 8pt, it)
"""
# A length with both its units, as coutil.units shows it.
_LENGTH: Final = re.compile(r"(≈?-?[0-9.]+ (?:cm|mm) \([^()]* in\)|≈?-?[0-9/]+(?: [0-9]+/[0-9]+)? in \([^()]* [cm]m\))")


def words(text: str) -> str:
    """A text as typst source that prints it as it stands, on one line; letters without a font become code points."""
    return f"#{quoted(text)}"


def prose(text: str) -> str:
    """The same as `words`, but no length in it ("1.3 cm (1/2 in)") is broken over two lines."""
    out = []
    for k, part in enumerate(_LENGTH.split(text)):
        if part:
            # The space before and after a length stays outside its box, where the line may break.
            said = f"#box({quoted(part)})" if k % 2 else words(part)
            out.append(f"{' ' * part[:1].isspace()}{said}{' ' * part[-1:].isspace()}" if part.strip() else " ")
    return "".join(out)


def quoted(text: str) -> str:
    """The same as a typst string, for use inside code; empty texts give an empty string."""
    plain = showable(printed(text)).text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{plain}"'


def cell(text: str, *, strong: bool = False) -> str:
    """One cell of a table, or any other content given to a function of typst's."""
    return f"strong({quoted(text)})" if strong else f"[{words(text)}]"


def table(columns: str, rows: Iterable[Sequence[str]], *, head: Sequence[str] = (), align: str = "left") -> str:
    """A table of plain texts. `columns` and `align` are typst's, as "(1fr, auto)"; each page repeats the head."""
    lines = [f"#table(columns: {columns}, align: {align},"]
    if head:
        lines.append(f"table.header({', '.join(cell(h, strong=True) for h in head)}),")
    lines += [", ".join(cell(c) for c in row) + "," for row in rows]
    return "\n".join((*lines, ")"))


def bullets(items: Iterable[str]) -> str:
    """A list of plain texts."""
    rows = ", ".join(cell(i) for i in items)
    return f"#list({rows})" if rows else ""


def warning(line: str) -> str:
    """A line that must not be overlooked, in a frame as wide as the page, white on black; "" for none."""
    if not line:
        return ""
    said = f"text(fill: white, weight: 700, size: 12pt, {quoted(line)})"
    return f"#block(width: 100%, fill: black, inset: 6pt, {said})"


def figure(svg: str, *, width_mm: float | None = None, height_mm: float | None = None, about: str = "") -> str:
    """An SVG drawing as an image, at its own size unless a width or height in mm is given; `about` is read out."""
    size = "".join(f", {k}: {v:.2f}mm" for k, v in (("width", width_mm), ("height", height_mm)) if v is not None)
    alt = f", alt: {quoted(about)}" if about else ""
    escaped = svg.replace("\\", "\\\\").replace('"', '\\"')
    return f'#image(bytes("{escaped}"), format: "svg"{size}{alt})'


def typeset(body: str, *, title: str, paper: str = "A4", footer: str = "", warn: str = "") -> bytes:
    """The PDF of a typst source with the house's fonts and manners; the same source always gives the same bytes.

    `title` goes into the file's data, `footer` (plain text) onto each page beside the page number, `warn` on top of
    the first page in a frame and over the footer of each. Raises ValueError
    for an unknown paper; an error in the source is a defect of ours and comes as typst's own exception.
    """
    import typst

    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r} is not known: use {', '.join(PAPERS)}")
    if warn:
        body = f"{warning(warn)}\n\n{body}"
        footer = f"{warn} · {footer}" if footer else warn
    foot = f'grid(columns: (1fr, auto), {cell(footer)}, counter(page).display("1 / 1", both: true))'
    source = (
        f"{_PREAMBLE}\n#set document(title: {quoted(title)}, date: none)\n"
        f'#set page("{PAPERS[paper]}", margin: {PAGE_MARGIN}mm, footer: context fine({foot}))\n{body}\n'
    )
    # Every letter that the house font may lack is looked up once; typst then finds the family by itself.
    rare = "".join(sorted(set(re.sub(r"[ -~]", "", source))))
    folders = dict.fromkeys(str(f.parent) for f in (house_font(), *fallbacks(rare)))
    # 0: the file bears no date of its making, so the same sheet is the same file.
    pdf = typst.Compiler(source.encode(), font_paths=_fonts(tuple(folders))).compile(format="pdf", timestamp=0)
    if not isinstance(pdf, bytes):
        raise TypeError("typst gave something other than one PDF")
    return pdf


@cache
def _fonts(folders: tuple[str, ...]) -> typst.Fonts:
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[*folders])
