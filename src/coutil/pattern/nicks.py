"""A notch as it is cut: nicks from the cut line inwards, of one size on paper, page, DXF and cutting machine."""

from __future__ import annotations

from coutil.pattern.model import Notch, Piece
from coutil.plane import Pt, ray_to

# How deep a nick is, in mm: the deepest that stays off the net line in an allowance of 1/8 in (3.2 mm), the narrowest
# in use (common practice, no source). A machine cuts what is drawn, so drawings for the eye keep to what it can cut.
NICK = 3.0
# From nick to nick of a double notch, in mm: about 1/4 in, the upper end of common practice (1/8 to 1/4 in, no source).
# A nick snipped as a V is about as wide as it is deep; at 4 mm two of them leave a tongue that tears.
NICKS_APART = 6.0
# An allowance below this counts as none, in mm: a nick could not be seen in it, so it goes into the piece.
NO_ALLOWANCE = 0.5
# A nick begins within this of the cut line, in mm, and on the polyline that DXF draws for it, which keeps to the same.
TOLERANCE = 0.01


def nicks(piece: Piece, notch: Notch) -> tuple[tuple[Pt, Pt], ...]:
    """Where each nick of a notch is cut, side by side along the edge with the middle of them on the mark.

    For each its point on the cut line and its inner end, in the piece's coordinates. A nick is NICK mm deep, but ends
    on the net line where the allowance is narrower than that; where there is none it goes into the piece.
    """
    (x, y), (ox, oy) = notch.at, notch.outward
    out = []
    for k in range(notch.count):
        aside = (k - (notch.count - 1) / 2.0) * NICKS_APART
        p = (x - oy * aside, y + ox * aside)
        room = ray_to(p, notch.outward, piece.cut, tolerance=TOLERANCE, behind=NO_ALLOWANCE) or 0.0
        deep = NICK if room < NO_ALLOWANCE else min(NICK, room)
        edge = (p[0] + ox * room, p[1] + oy * room)
        out.append((edge, (edge[0] - ox * deep, edge[1] - oy * deep)))
    return tuple(out)
