"""Panel, edge, seam, level, pad, piece, pattern: plain data and its JSON. Drafts nothing, prints nothing."""

from coutil.pattern.model import (
    LEVELS,
    Cup,
    Edge,
    EdgeRef,
    Finding,
    Notch,
    Pad,
    Panel,
    Pattern,
    Piece,
    Seam,
    gravest_first,
)

__all__ = [
    "LEVELS",
    "Cup",
    "Edge",
    "EdgeRef",
    "Finding",
    "Notch",
    "Pad",
    "Panel",
    "Pattern",
    "Piece",
    "Seam",
    "gravest_first",
]
