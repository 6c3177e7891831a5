"""Roles of edges: what each side of a panel is for.

The role of an edge that is sewn to another panel is its seam's name with underscores; the others are fixed, here.
"""

from __future__ import annotations

from typing import Final, Literal

TOP: Final = "top"
HEM: Final = "hem"
CENTRE_FRONT: Final = "centre_front"
CENTRE_BACK: Final = "centre_back"
# The seam that joins the two halves of a body whose sides differ, at the centre front.
MIDDLE_SEAM: Final = "centre front"
# The seam that joins them at the centre back, where nothing opens there.
BACK_SEAM: Final = "centre back"
# A free edge of a pad, which nothing is sewn to.
PAD_RIM: Final = "pad_rim"
# The edge of the net that bridges a low plunge; it is laid under the neckline.
PLUNGE: Final = "plunge"
# The seam of an elastic panel at the centre back.
ELASTIC: Final = "elastic"
# Every seaming calls its side seam so.
SIDE: Final = "side"

# `seam`: sewn to a neighbour; `centre`: lies on the body's middle, on a fold, sewn or open; `rim`: free edge of a pad.
EdgeKind = Literal["seam", "centre", "top", "hem", "rim"]

_KINDS: Final[dict[str, EdgeKind]] = {
    TOP: "top",
    HEM: "hem",
    CENTRE_FRONT: "centre",
    CENTRE_BACK: "centre",
    PAD_RIM: "rim",
}


def edge_kind(role: str) -> EdgeKind:
    """What an edge of this role is; every role that is not fixed is a seam's."""
    return _KINDS.get(role, "seam")
