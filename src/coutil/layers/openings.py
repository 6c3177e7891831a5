"""The edges at which a bodice opens, and what lies beside each of them: channels, the eyelets' strip, the facing.

All distances are in mm from the finished edge inwards. Figures are common practice, no source, unless said otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from coutil.order import Order
from coutil.pattern import Edge, Panel, Pattern
from coutil.seaming import ELASTIC, SIDE, Opening
from coutil.words import say

# A channel is this much wider than its bone.
CHANNEL_MORE: Final = 2.0
# The strip that holds the eyelets is this much wider than their rims, and never narrower than this.
RIM_MORE, LEAST_STRIP = 3.0, 13.0
# A facing holds all that lies beside the edge, and this much more.
FACING_MORE: Final = 5.0
# Half of a zip's tape, which a channel keeps clear of.
ZIP_TAPE: Final = 12.0
# Half of a busk with its pocket's stitching.
BUSK: Final = 15.0
# A row of hooks, eyes or buttons takes this much of the edge.
ROW: Final = 12.0


@dataclass(frozen=True, slots=True)
class Beside:
    """What lies beside an edge that opens, from the edge inwards.

    `channels` are their two lines of stitching; `row` the middle of the eyelets, hooks or buttons, None without such a
    row; `rim` the width that each of them takes; `facing` what the facing is wide.
    """

    channels: tuple[tuple[float, float], ...]
    row: float | None
    rim: float
    facing: float

    @property
    def clear(self) -> float | None:
        """From the rim of the row to the nearest line of stitching, negative where they overlap; None without both."""
        if self.row is None or not self.channels:
            return None
        return (
            min(
                (max(near - self.row, self.row - far) if not near < self.row < far else -abs(self.row - near))
                for near, far in self.channels
            )
            - self.rim / 2.0
        )


def channel(width: float) -> float:
    """How wide the channel of a bone is, from stitching to stitching."""
    return width + CHANNEL_MORE


def spread(length: float, wished: float, inset: float) -> tuple[int, float] | None:
    """How many eyelets, hooks or buttons lie on an edge of this length, and how far apart.

    The first and the last lie `inset` from its ends, the others evenly between, as near to the wished distance as a
    whole number allows. None where there is no room for two.
    """
    run = length - 2.0 * inset
    if run < wished:
        return None
    gaps = max(1, math.floor(run / wished + 0.5))
    return gaps + 1, run / gaps


def wished(order: Order, opening: Opening) -> float | None:
    """How far apart eyelets, hooks or buttons are wished; None where the opening has none."""
    if opening.closed_with == "lacing":
        return order.notions.eyelet_spacing
    return order.notions.hook_spacing if opening.closed_with in ("hooks", "buttons") else None


def openings(order: Order, pattern: Pattern) -> tuple[Opening, ...]:
    """The openings of the order that the pattern has edges for. A pattern that was brought in may have none."""
    return tuple(o for o in order.style.opens if open_edges(pattern, o))


def place_words(at: str) -> str:
    """Where an opening lies, in words: "centre back", "left side"."""
    return say(f"choice.style.opening.at.{at}")


def open_edges(pattern: Pattern, opening: Opening) -> tuple[tuple[Panel, Edge], ...]:
    """The edges between which it opens, each with its panel.

    At a centre every edge of that role which lies not on the fold, or those that an elastic panel is sewn to; at a side
    the two edges of that side's seam.
    """
    if opening.side:
        side = "left" if opening.at == "side_left" else "right"
        seam = next((s for s in pattern.seams if s.side in (side, "both") and pattern.edge_of(s.a).role == SIDE), None)
        return () if seam is None else tuple(zip(pattern.panels_of(seam), pattern.edges_of(seam), strict=True))
    # An elastic panel is sewn to them: there they are seams.
    role = ELASTIC if opening.closed_with == "elastic" else opening.at
    return tuple(
        (panel, edge)
        for panel in pattern.panels
        for edge in panel.edges
        if panel.material == "cloth" and edge.role == role and panel.fold not in (edge.name, edge.role)
    )


def faced(opening: Opening) -> bool:
    """Whether a facing belongs behind its edges: not at a side, whose seam is one with the rest, nor at elastic."""
    return not opening.side and opening.closed_with != "elastic"


def edge_lengths(pattern: Pattern, opening: Opening) -> tuple[float, ...]:
    """Finished lengths in mm of its two edges; none where the pattern has none."""
    found = open_edges(pattern, opening)
    if len(found) == 1 and found[0][0].side == "both":
        return (found[0][1].curve.length,) * 2
    return tuple(edge.curve.length for _, edge in found)


def beside(order: Order, opening: Opening) -> Beside:
    """What lies beside the edges of an opening, by the bone and the eyelet that are used there.

    A laced edge has a channel, the strip with the eyelets in its middle, and a second channel. Where the order states
    where the eyelets are, the strip lies about them and the channels on either side of it.
    """
    wide = channel(order.shelf.bone("openings").width)
    match opening.closed_with:
        case "lacing":
            rim = order.shelf.eyelet.rim
            strip = max(rim + RIM_MORE, LEAST_STRIP)
            row = order.notions.eyelet_inset
            row = wide + strip / 2.0 if row is None else row
            first = max(row - strip / 2.0, 0.0)
            channels = ((max(first - wide, 0.0), first), (row + strip / 2.0, row + strip / 2.0 + wide))
            return Beside(channels, row, rim, channels[-1][1] + FACING_MORE)
        case "zip":
            return Beside(((ZIP_TAPE, ZIP_TAPE + wide),), None, 0.0, ZIP_TAPE + wide + FACING_MORE)
        case "busk":
            return Beside(((BUSK, BUSK + wide),), None, 0.0, BUSK + wide + FACING_MORE)
        case "elastic":
            # A channel beside the seam of the elastic, on the side of the cloth; nothing lies behind it.
            return Beside(((0.0, wide),), None, 0.0, 0.0)
        case _:
            return Beside(((ROW, ROW + wide),), ROW / 2.0, ROW, ROW + wide + FACING_MORE)
