"""The net that bridges a plunge which goes below the underbust: nothing else would hold the front together there."""

from __future__ import annotations

from coutil.draft.board import Board
from coutil.draft.neckline import LOWEST_PLUNGE
from coutil.draft.steps import Step
from coutil.pattern import Edge, Panel
from coutil.plane import crossings, line
from coutil.seaming import CENTRE_FRONT, PLUNGE, TOP
from coutil.words import say


def bridge(centre_front: Panel, underbust: float) -> tuple[Panel, list[Step]] | None:
    """The net from the lowest point of the neckline up to a little above the underbust, at the height `underbust`.

    `centre_front` is the panel of a left half, in whose coordinates it is drawn. None where the neckline is not lower.
    """
    top = next(e for e in centre_front.edges if e.role == TOP).curve.reversed()
    low, high = top.start[1], underbust + LOWEST_PLUNGE
    if low >= underbust or top.end[1] <= high:
        return None
    side = top.part(0.0, crossings(top, lambda q: q[1] - high)[0])
    corner = (0.0, side.end[1])
    b = Board(say("draft.bridge.panel"), centre_front.side, 1.0)
    b.group(say("draft.bridge.group"))
    b.note("trace", say("draft.bridge.trace"), say("draft.bridge.why"), curves=(side,))
    across = line(side.end, corner)
    b.note("rule", say("draft.bridge.rule"), say("draft.bridge.why_rule"), curves=(across,))
    edges = (
        Edge(PLUNGE, PLUNGE, side, True, {}),
        Edge(TOP, TOP, across),
        Edge(CENTRE_FRONT, CENTRE_FRONT, line(corner, side.start), False, {}),
    )
    room = corner[1] - low
    x = side.end[0] / 4.0
    grain = ((x, corner[1] - 0.45 * room), (x, corner[1] - 0.1 * room))
    made = Panel(b.panel, centre_front.side, "front", centre_front.fold, edges, {}, {}, grain, material="net")
    return made, b.steps
