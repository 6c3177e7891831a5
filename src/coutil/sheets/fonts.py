"""Which font can show which letters, how long a line of type is, and what cannot be shown.

The house font is Noto Sans (package fontpkg-noto-sans), which bears Latin, Greek, Cyrillic and Devanagari. Letters of
other scripts are looked for in the font packages and in the fonts of the machine; those found nowhere are printed as
code points and said in a finding, never left out in silence. Fonts are opened when a text first needs them.
"""

from __future__ import annotations

import os
import sys
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from coutil.pattern import About, Finding
from coutil.units import ABOUT

if TYPE_CHECKING:
    import uharfbuzz

# Room for a letter that no font of ours can measure, in parts of the type size: a square, the widest usual.
UNKNOWN_WIDTH = 1.0
# Stands for "about" in print, since Noto Sans lacks the sign that is used on screen (units.ABOUT).
PRINTED_ABOUT = "~"
# Fonts without outlines (bitmaps, layers of colour) print badly or not at all at any size; told by their usual names.
NOT_OUTLINES = ("emoji", "color", "colour")
# Cuts of a family that are taken only when the regular one is not there; told by their usual names.
NOT_REGULAR = ("bold", "italic", "oblique", "black", "light", "thin", "medium", "extra", "condensed", "mono")
# Letters that steer the letters around them and need no glyph of their own: joiners and variation selectors.
JOINERS = frozenset((0x200C, 0x200D, *range(0xFE00, 0xFE10)))


@dataclass(frozen=True, slots=True)
class Shown:
    """A text as it can be printed, and the letters that had to be replaced by their code points."""

    text: str
    missing: tuple[str, ...] = ()

    def findings(self, about: About) -> tuple[Finding, ...]:
        """A note that names the letters that cannot be shown; none if all can."""
        if not self.missing:
            return ()
        names = tuple(f"U+{ord(c):04X} {unicodedata.name(c, 'without a name')}" for c in self.missing)
        return (Finding("letters.missing", "note", about, {"names": names}),)


@cache
def house_font() -> Path:
    """The file of the upright house font. Raises FileNotFoundError if its package is damaged."""
    import fontpkg_noto_sans

    files = Path(fontpkg_noto_sans.ROOT) / "files"
    for p in sorted(files.glob("*.ttf")):
        if "Italic" not in p.name:
            return p
    raise FileNotFoundError("the package fontpkg-noto-sans holds no upright Noto Sans")


@cache
def showable(text: str) -> Shown:
    """`text` on one line, with letters that no font bears replaced by code points such as [U+1F600].

    Runs of white space become one space; control characters and marks that force a direction are dropped, since they
    print nothing and could reorder the words around the label.
    """
    plain = " ".join("".join(c if _prints(c) else " " * c.isspace() for c in text).split())
    absent = {c for c in plain if not _needs_no_glyph(c) and ord(c) not in _letters(house_font())}
    if absent:
        for font in fallbacks(plain):
            absent -= {chr(u) for u in _letters(font)}
    if not absent:
        return Shown(plain)
    missing = tuple(dict.fromkeys(c for c in plain if c in absent))
    return Shown("".join(f"[U+{ord(c):04X}]" if c in absent else c for c in plain), missing)


@cache
def fallbacks(text: str) -> tuple[Path, ...]:
    """The fewest further fonts that were found to bear the letters of `text` which the house font lacks."""
    absent = {ord(c) for c in text if not _needs_no_glyph(c)} - _letters(house_font())
    out: list[Path] = []
    if not absent:
        return ()
    for font in _by_likelihood(absent):
        has = absent & _letters(font)
        if has:
            out.append(font)
            absent -= has
            if not absent:
                break
    return tuple(out)


@cache
def subset(font: Path, letters: frozenset[str]) -> bytes:
    """A small font file with the glyphs that `letters` need, shaped in any way, at the regular weight and width.

    The writers of PDF take a tenth of the time over it that they take over the whole font.
    """
    import uharfbuzz as hb

    wanted = hb.SubsetInput()
    wanted.unicode_set.update(ord(c) for c in letters)
    face = hb.Face(hb.Blob.from_file_path(str(font)))
    wanted.pin_all_axes_to_default(face)
    return bytes(hb.subset(face, wanted).blob.data)


def printed(text: str) -> str:
    """Words of the rest of the house as the house font can print them: it has no sign for "about" but the tilde."""
    return text.replace(ABOUT, PRINTED_ABOUT)


@lru_cache(maxsize=4096)
def measure(text: str, size: float) -> float:
    """Length in mm of one line of `text` set in `size` mm, as shaped by HarfBuzz.

    `text` should come from `showable`; letters without a glyph are counted as a full square.
    """
    if not text:
        return 0.0
    fonts = (house_font(), *fallbacks(text))
    total = 0.0
    for font, run in _runs(text, fonts):
        total += _run_width(font, run) if font else UNKNOWN_WIDTH * len(run)
    return total * size


def is_plain(text: str) -> bool:
    """Whether the house font alone sets the text, left to right, each letter by itself, without shaping."""
    return all(c < "\u0300" or "\u2010" <= c <= "\u2044" for c in text) and not fallbacks(text)


def _runs(text: str, fonts: Iterable[Path]) -> Iterator[tuple[Path | None, str]]:
    run, last = "", None
    fonts = tuple(fonts)
    for c in text:
        # A joiner stays with the run it stands in.
        font = last if run and _needs_no_glyph(c) else next((f for f in fonts if ord(c) in _letters(f)), None)
        if run and font != last:
            yield last, run
            run = ""
        run, last = run + c, font
    if run:
        yield last, run


def _run_width(font: Path, run: str) -> float:
    import uharfbuzz as hb

    shaped = hb.Buffer()
    shaped.add_str(run)
    shaped.guess_segment_properties()
    hb_font = _hb_font(font)
    hb.shape(hb_font, shaped)
    return float(sum(p.x_advance for p in shaped.glyph_positions)) / float(hb_font.face.upem)


@cache
def _hb_font(path: Path) -> uharfbuzz.Font:
    import uharfbuzz as hb

    return hb.Font(hb.Face(hb.Blob.from_file_path(str(path))))


@cache
def _letters(path: Path) -> frozenset[int]:
    """The code points that a font file maps to glyphs; none for a file that cannot be read as a font."""
    import uharfbuzz as hb

    try:
        face = hb.Face(hb.Blob.from_file_path(str(path)))
    except (hb.HarfBuzzError, OSError):
        return frozenset()
    return frozenset(face.unicodes)


@cache
def _font_files() -> tuple[Path, ...]:
    """Outline fonts of the font packages, then of the machine; regular upright ones before others."""
    import fontpkg

    out = [f.path for family in fontpkg.families().values() for f in family.files if f.style == "normal"]
    for folder in _font_folders():
        if folder.is_dir():
            out += sorted(p for p in folder.rglob("*") if p.suffix.lower() in (".ttf", ".otf"))
    fit = [p for p in out if not any(word in p.name.lower() for word in NOT_OUTLINES)]
    return tuple(sorted(fit, key=lambda p: any(word in p.name.lower() for word in NOT_REGULAR)))


def _font_folders() -> list[Path]:
    home = Path.home()
    if sys.platform == "darwin":
        return [home / "Library/Fonts", Path("/Library/Fonts"), Path("/System/Library/Fonts")]
    if sys.platform == "win32":
        return [Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts"]
    # The font folders of the XDG base directory specification.
    data = os.environ.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share"
    return [home / ".local/share/fonts", *(Path(d) / "fonts" for d in data.split(":") if d)]


def _by_likelihood(absent: set[int]) -> list[Path]:
    """All font files, those that bear the name of a script that is wanted first, sans serif before others."""
    scripts = {unicodedata.name(chr(u), "").split(" ")[0].lower() for u in absent} - {""}

    def rank(path: Path) -> tuple[bool, bool]:
        name = path.name.lower()
        return (not any(s in name for s in scripts), "sans" not in name)

    return sorted(_font_files(), key=rank)


def _prints(c: str) -> bool:
    category = unicodedata.category(c)
    return ord(c) in JOINERS or (category not in ("Cc", "Cf", "Cs", "Zl", "Zp") and not c.isspace())


def _needs_no_glyph(c: str) -> bool:
    return c == " " or ord(c) in JOINERS
