"""What the words on a drawing mean: kinds of line, landmarks, panels. Words of the trade, in English."""

from __future__ import annotations

import re

from coutil.seaming import LEVELS, usual_name
from coutil.trace.model import Kind

# A word in a class, a label or a layer's name that tells the kind of line. The first that fits counts.
_KINDS: tuple[tuple[str, Kind], ...] = (
    (r"grain|grainline", "grain"),
    (r"notch|notches|nick|nicks", "notch"),
    (r"cut|cutting|cutline", "cut"),
    (r"net|sew|sewing|sewline|stitch|stitching|seam|seamline", "net"),
    (r"panel|outline", "outline"),
    (r"level|levels", "level"),
    (r"placement|internal|inner|leader|light|drill", "inner"),
    (r"((place|cut) )?(on )?(the )?(centre (front|back) )?fold", "fold"),
    (r"doubtful", "doubtful"),
    (r"frame", "skip"),
)
_LANDMARKS = {
    "bust": r"(bust|bust (line|level)|bustline)",
    "underbust": r"(under ?bust|under ?bust (line|level))",
    "waist": r"(waist|waist (line|level)|waistline)",
    "high_hip": r"(high ?hip|high ?hip (line|level))",
    "bust_point": r"(bust ?point|apex|bust apex|bp)",
}
# What is written beside a panel's name: of which cloth, how many, on the fold.
_BESIDES = (
    r"\b(shell|lining|interfacing|main|self|fabric|cloth|left|right|cut|panel|piece|on|the|fold|pair|pairs|of|and|"
    r"mirror|mirrored|turned|over|one|two|size \w+|net|x?\d+x?)\b"
)
# Names that a drawing program gives by itself say nothing.
_EMPTY = re.compile(
    r"(path|rect|polygon|polyline|circle|ellipse|line|shape|group|g|layer|use|svg|compound|block|x|a|u)?"
    r"[-_ #]*\d*[-_ \d]*",
    re.IGNORECASE,
)


def plain(text: str) -> str:
    """Lower case, one space between words, and nothing but letters and digits."""
    return " ".join(re.sub(r"[\W_]+", " ", text.lower()).split())


def kind_of(*names: str) -> Kind | None:
    """The kind of line that one of the names tells; None where none does. A name must be the word, or end with it."""
    for name in names:
        said = plain(name[:200])
        if not said or len(said.split()) > 6:
            continue
        for pattern, kind in _KINDS:
            if re.fullmatch(rf"({pattern})( lines?)?( \d+)?", said):
                return kind
    return None


def landmark_of(text: str) -> str | None:
    """The level, or "bust_point", that a text names and nothing besides."""
    said = plain(text[:60])
    return next((name for name, pattern in _LANDMARKS.items() if re.fullmatch(pattern, said)), None)


def grain_word(text: str) -> bool:
    """Whether a text says that the line beside it is the grain."""
    return re.fullmatch(r"(straight )?(of )?grain( ?line)?( \d+)?", plain(text[:60])) is not None


def panel_of(text: str) -> str | None:
    """The panel that a name means: "Center-Front 1" is the centre front; None where it means none of the four."""
    # Pieces of several layers that share a shape are named one after the other.
    said = plain(text[:120].partition("/")[0]).replace("center", "centre")
    said = re.sub(r"^piece name\b", " ", said)
    said = re.sub(_BESIDES, " ", said)
    said = " ".join(said.split())
    return usual_name(said)


def is_pad(name: str) -> bool:
    """Whether a name means a piece of the cup layer, which is made from the panels."""
    return bool(set(plain(name).split()) & {"foam", "web", "pad", "wadding"})


def side_of(text: str) -> str | None:
    """ "left" or "right" where a name says so and not both."""
    said = set(plain(text[:120]).split())
    found = said & {"left", "right"}
    return found.pop() if len(found) == 1 else None


def numbered(name: str) -> bool:
    """Whether a shape was called so for want of a name: by a drawing's reader, or by a photograph's."""
    return re.fullmatch(r"(outline|piece) \d+", name) is not None


def meaningful(name: str) -> bool:
    """Whether a name was given by a person."""
    return bool(name.strip()) and _EMPTY.fullmatch(name.strip()) is None


__all__ = [
    "LEVELS",
    "grain_word",
    "is_pad",
    "kind_of",
    "landmark_of",
    "meaningful",
    "numbered",
    "panel_of",
    "plain",
    "side_of",
]
