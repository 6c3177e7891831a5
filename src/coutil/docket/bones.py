"""Bones with their casings, and what closes the centre back, from the finished seams and edges of the pattern."""

from __future__ import annotations

import math
from collections.abc import Iterator

from coutil.docket.model import Bone, DocketError, Fastening
from coutil.layers.boning import BoneLine, bone_lines, boned
from coutil.layers.openings import beside, edge_lengths, faced, openings, place_words, spread
from coutil.order import Order
from coutil.pattern import About, Finding, Pattern, Seam, SeamRef, Topic
from coutil.pattern.seams import sewn_length
from coutil.seaming import CENTRE_BACK, Opening
from coutil.units import bare, full, whole_mm, width
from coutil.words import Key, Length, say

# A bone shorter than this holds nothing up, in mm (judgement, no source): its seam is left without one.
SHORTEST_BONE = 40.0
# A busk stays this short of top and hem, in mm (common practice, no source).
BUSK_SHORT = 10.0
# Lengths in which busks are sold, in mm: 8 to 18 in by the inch (common practice, from memory).
BUSKS = tuple(25.4 * n for n in range(8, 19))


def bones(order: Order, pattern: Pattern) -> tuple[Bone, ...]:
    """The bones of every line that bears them, from the front to the back; for side "both" of both halves.

    Where several layers carry bones each has a set of its own. A bone is its channel less the clearance at each end, or
    the longest that is sold and not longer than that.
    """
    return tuple(b for b, _ in _all(order, pattern) if b.length >= SHORTEST_BONE)


def unclosed(order: Order, closing: Fastening) -> tuple[Finding, ...]:
    """A warning where the pattern has nothing that the order's closing could close."""
    if closing.kind != "none":
        return ()
    return (Finding("closing.none", "warn", Topic("closing"), {"closing": order.style.opens[0].closed_with}),)


def unboned(order: Order, pattern: Pattern) -> tuple[Finding, ...]:
    """A note for each channel that is too short for a bone, or for any that is sold; a warning where one may run over
    the cup."""
    over = [
        Finding("bone.over_cup", "warn", SeamRef(seam.name))
        for seam in pattern.cup_seams
        if boned(edge := pattern.edge_of(seam.a), order) and "underbust" not in edge.marks
    ]
    return (*over, *_too_short(order, pattern))


def _too_short(order: Order, pattern: Pattern) -> Iterator[Finding]:
    for bone, about in _all(order, pattern):
        if bone.length < SHORTEST_BONE:
            wanted = max(bone.channel - bone.clearance - bone.clearance_top, 0.0)
            code = "bone.none_sold" if bone.sold and wanted >= SHORTEST_BONE else "bone.short"
            yield Finding(code, "note", about, {"length": Length(wanted, "both")})


def _all(order: Order, pattern: Pattern) -> Iterator[tuple[Bone, About]]:
    """Every bone, however short, and what a finding about it is about."""
    for line in bone_lines(order, pattern):
        # The channels of a facing are sewn through all that lies beneath it: one set for all layers.
        one = line.place == "openings" and _faced(order, line.at)
        for carrier in order.build.bones.on[: 1 if one else None]:
            yield _bone(order, line, carrier), line.about


def _bone(order: Order, line: BoneLine, carrier: str) -> Bone:
    notions, kind = order.notions, order.shelf.bone(line.place)
    low, high = notions.bone_clearance, notions.bone_clearance_top
    length = max(line.channel - low - high, 0.0)
    if kind.lengths:
        length = max((x for x in kind.lengths if x <= length), default=0.0)
    where = say("docket.where.seam", seam=line.seam)
    if line.place == "openings":
        where = (
            say("docket.where.back") if line.at == CENTRE_BACK else say("docket.where.edge", edge=place_words(line.at))
        )
    elif line.place == "lines":
        where = say(f"docket.where.{line.runs}")
    return Bone(
        where,
        line.seam,
        line.side,
        line.quantity,
        line.channel,
        low,
        length,
        say(f"docket.bone.{line.runs}"),
        clearance_top=high,
        place=line.place,
        kind=kind.name,
        width=kind.width,
        carrier=carrier,
        sold=bool(kind.lengths),
        # Beside an opening with a facing the channel lies between shell and facing.
        cased=not (line.place == "openings" and _faced(order, line.at)),
    )


def _faced(order: Order, at: str) -> bool:
    """Whether an opening has a facing."""
    opening = order.style.opening(at)
    return order.build.kit is not None and opening is not None and faced(opening)


def seam_length(pattern: Pattern, seam: Seam) -> float:
    """Length in mm of the sewn seam: the mean of its two edges, which agree but for ease."""
    a, b = pattern.edges_of(seam)
    return (sewn_length(a) + sewn_length(b)) / 2.0


def fastenings(order: Order, pattern: Pattern) -> tuple[Fastening, ...]:
    """What closes each opening, from its finished edges; one of kind "none" where the pattern has no edge that opens.

    Raises DocketError for an edge too short for two eyelets, hooks or buttons, and for a busk.
    """
    made = tuple(_fastening(order, pattern, o) for o in openings(order, pattern))
    return made or (Fastening("none", (), 0, 0.0, 0.0, 0.0, say("docket.closing.none")),)


def _fastening(order: Order, pattern: Pattern, opening: Opening) -> Fastening:
    """What closes one opening.

    Eyelets, hooks and buttons are spread evenly, the first and last `closing_inset` from hem and top, as near to the
    wished spacing as a whole number allows; both sides get the same number, from the shorter edge.
    """
    notions, kind = order.notions, opening.closed_with
    edges = edge_lengths(pattern, opening)
    short = min(edges)
    says = "" if kind == "lacing" else say(f"docket.closing.{kind}", short=full(BUSK_SHORT))
    if kind in ("zip", "elastic"):
        return Fastening(kind, edges, 0, 0.0, 0.0, short, says, at=opening.at)
    if kind == "busk":
        sold = max((b for b in BUSKS if b <= short - 2.0 * BUSK_SHORT), default=None)
        if sold is None:
            raise DocketError("no_busk", Key("style.opening"), length=Length(short, "whole_mm"))
        return Fastening("busk", edges, 0, 0.0, 0.0, sold, says, at=opening.at)
    spaced = "eyelet_spacing" if kind == "lacing" else "hook_spacing"
    places = spread(short, getattr(notions, spaced), notions.closing_inset)
    if places is None:
        raise DocketError(
            "no_second_pair", Key("notions.closing_inset"), Key(f"notions.{spaced}"), length=Length(short, "whole_mm")
        )
    gaps, spacing = places[0] - 1, places[1]
    if kind != "lacing":
        return Fastening(kind, edges, gaps + 1, spacing, 0.0, 0.0, says, at=opening.at)
    # Two ends cross from row to row at every gap; once they run straight across.
    inset = beside(order, opening).row or 0.0
    across = opening.gap + 2.0 * inset + notions.cord_open
    cord = 2.0 * gaps * math.hypot(across, spacing) + across + 2.0 * notions.cord_tail
    says = say(
        "docket.closing.lacing",
        gaps=gaps,
        across=whole_mm(across),
        gap=bare(opening.gap),
        inset=bare(inset, 1),
        open=bare(notions.cord_open),
        spacing=width(spacing),
        tail=whole_mm(notions.cord_tail),
    )
    return Fastening("lacing", edges, gaps + 1, spacing, cord, 0.0, says, inset, opening.at)
