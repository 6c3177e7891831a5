"""A notch as it is cut: nicks from the cut line inwards, of one size on paper, page, DXF and cutting machine."""

from __future__ import annotations

from itertools import islice

from coutil.pattern.model import Piece
from coutil.plane import Pt, rays_to

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


def nicks(piece: Piece) -> tuple[tuple[tuple[Pt, Pt], ...], ...]:
    """For each notch of a piece where its nicks are cut: side by side along the edge, the middle of them on the mark.

    For each nick its point on the cut line and its inner end, in the piece's coordinates. A nick is NICK mm deep, but
    ends on the net line where the allowance is narrower than that; where there is none it goes into the piece.
    """
    rays = []
    for notch in piece.notches:
        (x, y), (ox, oy) = notch.at, notch.outward
        for k in range(notch.count):
            aside = (k - (notch.count - 1) / 2.0) * NICKS_APART
            rays.append(((x - oy * aside, y + ox * aside), notch.outward))
    found = []
    for ((x, y), (ox, oy)), met in zip(
        rays, rays_to(rays, piece.cut, tolerance=TOLERANCE, behind=NO_ALLOWANCE), strict=True
    ):
        room = met or 0.0
        deep = NICK if room < NO_ALLOWANCE else min(NICK, room)
        edge = (x + ox * room, y + oy * room)
        found.append((edge, (edge[0] - ox * deep, edge[1] - oy * deep)))
    ends = iter(found)
    return tuple(tuple(islice(ends, notch.count)) for notch in piece.notches)
