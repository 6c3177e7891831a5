"""Where bones lie: on seams, beside openings, and on further lines within the panels. Lengths in mm.

Common practice, no source: a bone never lies over a cup, where it would flatten what the seam shapes; fuller busts get
a line at the centre front and one beside each cup.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from coutil.layers.inside import beside_edge, upright
from coutil.layers.openings import beside, channel, open_edges, openings
from coutil.order import Order
from coutil.order.costs import BONED
from coutil.pattern import Edge, EdgeRef, Panel, PanelRef, Pattern, SeamRef
from coutil.pattern.model import Side
from coutil.pattern.seams import sewn_length
from coutil.plane import Curve, line
from coutil.seaming import CENTRE_BACK, ELASTIC, Opening
from coutil.seaming.roles import CENTRE_FRONT

# Bust less underbust from which a bust counts as fuller: cup D of EN 13402-3 (20 to 22 cm, from memory).
FULLER: Final = 200.0
# What a line beside the cup keeps from the pad or the root of the breast, beyond half of its channel.
CLEAR_OF_CUP: Final = 2.0
# What a line within a panel keeps from the channel of a seam's bone.
CLEAR_OF_SEAM: Final = 5.0

# An edge that opens is boned unless the order leaves it out; only of the centre back can it say so.
_LEFT_OUT: Final = (CENTRE_BACK,)

Place = Literal["openings", "seams", "lines"]
Runs = Literal["whole", "cup", "eyelets", "front", "beside"]


@dataclass(frozen=True, slots=True)
class BoneLine:
    """One line that bears bones, on one half or on both.

    `channel` is the length of its channel, `quantity` how many bones there are. `seam` names the seam it lies on, ""
    for others, `at` the role of the edge that it lies beside or on. `panel` is the one on which it can be drawn, with
    its `curves`, the middles of its bones from the hem up. `about` is what a finding is about.
    """

    place: Place
    runs: Runs
    about: SeamRef | EdgeRef | PanelRef
    side: Side
    quantity: int
    channel: float
    seam: str = ""
    at: str = ""
    panel: Panel | None = None
    curves: tuple[Curve, ...] = ()


def bone_lines(order: Order, pattern: Pattern) -> Iterator[BoneLine]:
    """Every line that bears bones, from the front to the back, then the openings, then further lines.

    A line of side "both" stands for both halves, and its quantity counts the bones of both.
    """
    yield from _seams(order, pattern)
    for opening in openings(order, pattern):
        # A side's seam has its bone already.
        if not opening.side and (opening.at in order.notions.bones or opening.at not in _LEFT_OUT):
            yield from _opening(order, pattern, opening)
    if order.build.bones.extra == "always" or (
        order.build.bones.extra == "fuller" and order.body.bust - order.body.underbust >= FULLER
    ):
        yield from _extra(order, pattern)


def clear_of_front(order: Order, pattern: Pattern) -> float:
    """What a pad keeps from a centre front edge that opens, in mm: no bone lies over a cup.

    0 where it does not open, and where a further seam lies between it and the cup.
    """
    inner = [pattern.panel_of(seam.a) for seam in pattern.cup_seams]
    if not any(e.role == CENTRE_FRONT for panel in inner for e in panel.edges):
        return 0.0
    return max(
        (
            far + CLEAR_OF_CUP
            for opening in openings(order, pattern)
            if opening.at == CENTRE_FRONT
            for _, far in beside(order, opening).channels
        ),
        default=0.0,
    )


def boned(edge: Edge, order: Order) -> bool:
    """Whether the order bones a seam with this edge; one that no order can name is boned."""
    return edge.role in order.notions.bones or edge.role not in (*BONED, ELASTIC)


def _seams(order: Order, pattern: Pattern) -> Iterator[BoneLine]:
    for seam in pattern.seams:
        a, b = pattern.edges_of(seam)
        if not boned(a, order):
            continue
        runs: Runs = "whole"
        length = (sewn_length(a) + sewn_length(b)) / 2.0
        if seam.cup and "underbust" in a.marks:
            runs, length = "cup", a.marks["underbust"]
        # The centre front seam of an uneven body is one seam, whatever side it is filed under.
        middle = seam.on_itself
        quantity = 2 if seam.side == "both" and not middle else 1
        side: Side = "both" if middle else seam.side
        yield BoneLine("seams", runs, SeamRef(seam.name), side, quantity, length, seam=seam.name)


def _opening(order: Order, pattern: Pattern, opening: Opening) -> Iterator[BoneLine]:
    by = beside(order, opening)
    each = len(by.channels)
    for panel, edge in open_edges(pattern, opening):
        curves = []
        for near, far in by.channels:
            made = beside_edge(panel, edge, (near + far) / 2.0)
            if made is not None:
                curves.append(made[0] if edge.rising else made[0].reversed())
        quantity = each * (2 if panel.side == "both" else 1)
        runs: Runs = "eyelets" if opening.closed_with == "lacing" else "whole"
        about = EdgeRef(panel.name, edge.role, panel.side)
        yield BoneLine(
            "openings", runs, about, panel.side, quantity, edge.curve.length, "", opening.at, panel, tuple(curves)
        )


def _extra(order: Order, pattern: Pattern) -> Iterator[BoneLine]:
    """A line on the centre front where it does not open, and one beside each cup, towards the side."""
    wide = channel(order.shelf.bone("lines").width)
    open_at: set[str] = {o.at for o in openings(order, pattern)}
    middle = [
        (panel, edge)
        for panel in pattern.panels
        for edge in panel.edges
        if edge.role == CENTRE_FRONT and CENTRE_FRONT not in open_at
    ]
    sewn = any(s.on_itself and boned(pattern.edge_of(s.a), order) for s in pattern.seams)
    for panel, edge in middle[:1] if not sewn else []:
        # On the fold, or over the seam that joins both halves: one for the whole garment.
        curve = edge.upward()
        yield BoneLine(
            "lines", "front", PanelRef(panel.name), "both", 1, curve.length, "", CENTRE_FRONT, panel, (curve,)
        )
    for seam in pattern.cup_seams:
        panel, edge = pattern.panel_of(seam.b), pattern.edge_of(seam.b)
        if "underbust" not in edge.marks or "bust_point" not in edge.marks:
            continue
        out = -1.0 if panel.side == "right" else 1.0
        (x, y), low = edge.at("bust_point"), edge.at("underbust")
        root = edge.marks["bust_point"] - edge.marks["underbust"]
        pads = [p for p in pattern.pads if (p.panel, p.side) == (panel.name, panel.side)]
        reach = max([root, *(out * (px - x) for p in pads for px, _ in p.outline(tolerance=0.5))])
        at = x + out * (reach + wide / 2.0 + CLEAR_OF_CUP)
        found = upright(panel, at, (y + low[1]) / 2.0, clear=wide + CLEAR_OF_SEAM)
        if found is None:
            continue
        curve = line(*found)
        quantity = 2 if panel.side == "both" else 1
        yield BoneLine(
            "lines",
            "beside",
            PanelRef(panel.name, panel.side),
            panel.side,
            quantity,
            curve.length,
            "",
            "cup",
            panel,
            (curve,),
        )
