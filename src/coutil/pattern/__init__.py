"""Panel, edge, seam, level, pad, piece, pattern: plain data and its JSON. Drafts nothing, prints nothing."""

from coutil.pattern.model import (
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
from coutil.seaming import LEVELS

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
