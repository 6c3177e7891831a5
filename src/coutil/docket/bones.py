"""Bones with their casings, and what closes the centre back, from the finished seams and edges of the pattern."""

from __future__ import annotations

import math
from collections.abc import Iterator

from coutil.docket.model import Bone, DocketError, Fastening
from coutil.order import Notions, Order
from coutil.order.costs import BONED
from coutil.pattern import Edge, EdgeRef, Finding, Panel, Pattern, Seam, SeamRef, Topic
from coutil.pattern.seams import sewn_length
from coutil.seaming import CENTRE_BACK
from coutil.words import Key, Length, say

# A bone shorter than this holds nothing up, in mm (judgement, no source): its seam is left without one.
SHORTEST_BONE = 40.0
# Bones beside an edge: with lacing one on each side of the eyelets, or the edge crumples between them; with hooks and
# zips one (common practice, no source).
AT_EDGE = {"lacing": 2, "zip": 1, "hooks": 1}


def bones(order: Order, pattern: Pattern) -> tuple[Bone, ...]:
    """The bones of every boned seam and centre back edge, from the front to the back; for side "both" of both halves.

    Over the cup a bone would flatten what the seam shapes, so on the cup seam it ends at the underbust
    (common practice, no source). Elsewhere it runs the whole seam, less the clearance at each end of its channel.
    """
    return tuple(b for b, _ in _all(order, pattern) if b.length >= SHORTEST_BONE)


def unclosed(order: Order, closing: Fastening) -> tuple[Finding, ...]:
    """A warning where the pattern has nothing that the order's closing could close."""
    if closing.kind != "none":
        return ()
    return (Finding("closing.none", "warn", Topic("closing"), {"closing": order.style.closing}),)


def unboned(order: Order, pattern: Pattern) -> tuple[Finding, ...]:
    """A note for each channel that is too short for a bone; a warning for a bone that may run over the cup."""
    over = [
        Finding("bone.over_cup", "warn", SeamRef(seam.name))
        for seam in pattern.cup_seams
        if _boned(edge := pattern.edge_of(seam.a), order.notions) and "underbust" not in edge.marks
    ]
    return (*over, *_too_short(order, pattern))


def _too_short(order: Order, pattern: Pattern) -> tuple[Finding, ...]:
    return tuple(
        Finding("bone.short", "note", about, {"length": Length(b.length, "both")})
        for b, about in _all(order, pattern)
        if b.length < SHORTEST_BONE
    )


def _all(order: Order, pattern: Pattern) -> Iterator[tuple[Bone, SeamRef | EdgeRef]]:
    """Every bone, however short, and where it lies."""
    notions = order.notions
    for seam in pattern.seams:
        edge, _ = pattern.edges_of(seam)
        if not _boned(edge, notions):
            continue
        says = say("docket.bone.whole")
        channel = seam_length(pattern, seam)
        if seam.cup and "underbust" in edge.marks:
            says = say("docket.bone.cup")
            channel = edge.marks["underbust"]
        # The centre front seam of an uneven body is one seam, whatever side it is filed under.
        middle = seam.on_itself
        quantity = 2 if seam.side == "both" and not middle else 1
        side = "both" if middle else seam.side
        yield _bone(seam.name, side, quantity, channel, notions, says), SeamRef(seam.name)
    if CENTRE_BACK not in notions.bones:
        return
    each = AT_EDGE[order.style.closing]
    says = say("docket.bone.eyelets" if each == 2 else "docket.bone.whole")
    for panel, edge in _back_edges(pattern):
        quantity = each * (2 if panel.side == "both" else 1)
        bone = _bone("", panel.side, quantity, edge.curve.length, notions, says)
        yield bone, EdgeRef(panel.name, edge.role, panel.side)


def _boned(edge: Edge, notions: Notions) -> bool:
    """Whether the order bones a seam with this edge; one that no order can name is boned."""
    return edge.role in notions.bones or edge.role not in BONED


def _bone(seam: str, side: str, quantity: int, channel: float, notions: Notions, says: str) -> Bone:
    clear = notions.bone_clearance
    where = say("docket.where.seam", seam=seam) if seam else say("docket.where.back")
    return Bone(where, seam, side, quantity, channel, clear, max(channel - 2.0 * clear, 0.0), says)  # type: ignore[arg-type]


def seam_length(pattern: Pattern, seam: Seam) -> float:
    """Length in mm of the sewn seam: the mean of its two edges, which agree but for ease."""
    a, b = pattern.edges_of(seam)
    return (sewn_length(a) + sewn_length(b)) / 2.0


def back_edges(pattern: Pattern) -> tuple[float, ...]:
    """Finished lengths in mm of the two centre back edges, left and right; none where no centre back opens."""
    found = {panel.side: edge.curve.length for panel, edge in _back_edges(pattern)}
    return (found["both"],) * 2 if "both" in found else tuple(found.values())


def _back_edges(pattern: Pattern) -> Iterator[tuple[Panel, Edge]]:
    for panel in pattern.panels:
        for edge in panel.edges:
            # A pattern that was brought in may have its centre back on the fold, or be a part of a garment.
            if edge.role == CENTRE_BACK and panel.fold not in (edge.name, edge.role):
                yield panel, edge


def fastening(order: Order, pattern: Pattern) -> Fastening:
    """What the closing of the style needs, from the finished centre back edges.

    Eyelets and hooks are spread evenly, the first and last `closing_inset` from hem and top, as near to the wished
    spacing as a whole number allows; both sides get the same number, from the shorter edge.
    """
    notions, kind = order.notions, order.style.closing
    edges = back_edges(pattern)
    if not edges:
        return Fastening("none", (), 0, 0.0, 0.0, 0.0, say("docket.closing.none"))
    short = min(edges)
    if kind == "zip":
        return Fastening("zip", edges, 0, 0.0, 0.0, short, say("docket.closing.zip"))
    spaced = "eyelet_spacing" if kind == "lacing" else "hook_spacing"
    wished: float = getattr(notions, spaced)
    run = short - 2.0 * notions.closing_inset
    if run < wished:
        raise DocketError(
            "no_second_pair", Key("notions.closing_inset"), Key(f"notions.{spaced}"), length=Length(short, "whole_mm")
        )
    gaps = max(1, math.floor(run / wished + 0.5))
    spacing = run / gaps
    if kind == "hooks":
        return Fastening("hooks", edges, gaps + 1, spacing, 0.0, 0.0, say("docket.closing.hooks"))
    # Two ends cross from row to row at every gap; once they run straight across.
    across = order.style.gap + 2.0 * notions.eyelet_inset + notions.cord_open
    cord = 2.0 * gaps * math.hypot(across, spacing) + across + 2.0 * notions.cord_tail
    says = say(
        "docket.closing.lacing",
        gaps=gaps,
        across=f"{across:.0f}",
        gap=f"{order.style.gap:.0f}",
        inset=f"{notions.eyelet_inset:.0f}",
        open=f"{notions.cord_open:.0f}",
        spacing=f"{spacing:.1f}",
        tail=f"{notions.cord_tail:.0f}",
    )
    return Fastening("lacing", edges, gaps + 1, spacing, cord, 0.0, says)
