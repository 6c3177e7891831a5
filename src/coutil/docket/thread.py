"""How much thread the garment takes, by ISO 4915 stitch type.

Seen from the side a lockstitch (301) is two threads, each as long as the seam, that meet in the cloth: per stitch they
go once up and once down through half the thickness each. With thickness T and S stitches per unit of length that makes
2 + 2 T S lengths of thread per length of seam; a two-thread chain stitch (401), whose looper thread runs to and fro
underneath, takes 4 + 2 T S. Both from textile calculation handbooks, which also give about 2.5 for 301 in common cloth
and 10 to 15 % for wastage. The tension's pull is left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from coutil.docket.bones import seam_length
from coutil.docket.model import Bone, Thread, ThreadLine
from coutil.lay.cloths import cut_from
from coutil.layers.joined import FACING_INNER
from coutil.layers.openings import edge_lengths, openings, place_words
from coutil.order import Order
from coutil.pattern import Pattern
from coutil.words import say

# Lengths of thread that lie along the seam, per length of seam (textile calculation handbooks).
ALONG: Final = {"301": 2.0, "401": 4.0}
# Thickness of one ply in mm where the cloth does not state it: common cloths for such work, judgement, no source.
THICKNESS: Final = {
    "shell": 0.4,
    "interfacing": 0.25,
    "foam": 3.0,
    "web": 0.05,
    "lining": 0.15,
    "lining_interfacing": 0.2,
    "lace": 0.5,
    "flat_lining": 0.15,
    "strength": 0.45,
    "facing": 0.45,
    "modesty_panel": 0.4,
    "guard": 0.4,
    "underlap": 0.4,
    "elastic": 1.2,
    "net": 0.2,
}
# Rows of stitching along each edge of an opening, by what closes it (common practice, no source).
ROWS: Final = {"lacing": 1, "zip": 2, "hooks": 2, "busk": 2, "buttons": 1, "elastic": 2}
# The tape of a casing, in mm (judgement, no source).
CASING_THICKNESS: Final = 0.4
# To what part of its thickness the stitch pulls foam together (judgement, no source).
FOAM_PRESSED: Final = 0.25


def thread_ratio(stitch: str, thickness: float, per_length: float) -> float:
    """Lengths of thread per length of seam. `thickness` and 1 / `per_length` (stitches per length) share a unit.

    Raises ValueError for a stitch type other than 301 and 401, and for figures that are negative.
    """
    if stitch not in ALONG:
        raise ValueError(f"stitch type {stitch!r} is not known: use {' or '.join(ALONG)}")
    if not (thickness >= 0.0 and per_length >= 0.0):
        raise ValueError("thickness and stitch density cannot be negative")
    return ALONG[stitch] + 2.0 * thickness * per_length


def thread(order: Order, pattern: Pattern, bones: tuple[Bone, ...]) -> Thread:
    """Thread for every machine seam of both halves: seams of shell and lining, casings, top and hem, closing."""
    notions = order.notions
    lines = tuple(
        _line(what, stitch, sewn, thickness, notions.stitch_length)
        for what, stitch, sewn, thickness in _sewing(order, pattern, bones)
        if sewn > 0.0
    )
    bare = sum(n.thread for n in lines)
    total = bare * float(1 + notions.wastage / Decimal(100))
    return Thread(lines, notions.wastage, total, max(1, math.ceil(total / notions.thread_spool - 1e-9)))


def _line(what: str, stitch: str, sewn: float, thickness: float, stitch_length: float) -> ThreadLine:
    ratio = thread_ratio(stitch, thickness, 1.0 / stitch_length)
    return ThreadLine(what, stitch, sewn, thickness, stitch_length, ratio, ratio * sewn)


def _sewing(order: Order, pattern: Pattern, bones: tuple[Bone, ...]) -> Iterator[tuple[str, str, float, float]]:
    """What is sewn: words, stitch type, length and thickness in mm."""
    ply = _plies(order)
    layers = {p.layer for p in pattern.pieces}
    shell = ply["shell"] + ply["interfacing"] * ("interfacing" in layers)
    shell += ply["flat_lining"] * ("flat_lining" in layers)
    strength = ply["strength"] * ("strength" in layers)
    lace = ply["lace"] * ("lace" in layers)
    lining = (ply["lining"] + ply["lining_interfacing"] * ("lining_interfacing" in layers)) * ("lining" in layers)
    foam = ply["foam"] * FOAM_PRESSED + ply["web"] * ("web" in layers)
    stitch, on = order.notions.stitch, order.build.pad.on
    seams = sum(seam_length(pattern, s) * _halves(s.side) for s in pattern.seams)
    # The pad's sewn edge is caught in the cup seam; both pads of a half share that stretch.
    caught = (
        sum(
            pad.sewn.curve.length * _halves(pad.side)
            for pad in pattern.pads
            if (pad.panel, pad.side) in {(s.b.panel, s.b.side) for s in pattern.cup_seams}
        )
        if "foam" in layers
        else 0.0
    )
    for name, thick in (("shell", shell), ("strength", strength), ("lace", lace), ("lining", lining)):
        if thick > 0.0:
            over = caught if name in on else 0.0
            layer = say(f"cloth_layer.{name}")
            yield say("docket.thread.seams", layer=layer), stitch, seams - over, 2.0 * thick
            yield say("docket.thread.over_pad", layer=layer), stitch, over, 2.0 * (thick + foam)
    plies = {"shell": shell, "strength": strength, "lining": lining}
    carried = max((plies[b.carrier] for b in bones), default=shell)
    yield say("docket.thread.casings"), "301", 2.0 * sum(b.casing for b in bones), carried + CASING_THICKNESS
    # The channels that a facing holds are sewn along both edges through it and what lies outside.
    faced = 2.0 * sum(b.quantity * b.channel for b in bones if not b.cased)
    facing_ply = ply[cut_from(order, "facing", layers)]
    yield say("docket.thread.faced"), "301", faced, shell + strength + facing_ply
    join = sum(
        e.curve.length * p.quantity
        for p in pattern.pieces
        if p.layer == "lining"
        for e in p.net
        if e.name == FACING_INNER
    )
    yield say("docket.thread.joined"), "301", join, lining + facing_ply
    shell += strength
    # Without a lining the allowance is turned in and stitched down, so there are two plies as well.
    facing = lining or shell
    for role in ("top", "hem"):
        length = sum(e.curve.length * _halves(p.side) for p in pattern.panels for e in p.edges if e.role == role)
        yield say("docket.thread.edge", edge=role), "301", length, shell + facing
    for opening in openings(order, pattern):
        rows = ROWS[opening.closed_with]
        key = "docket.thread.opening_rows" if rows > 1 else "docket.thread.opening_row"
        what = say(key, rows=rows, edge=place_words(opening.at))
        yield what, "301", rows * sum(edge_lengths(pattern, opening)), shell + facing


def _plies(order: Order) -> dict[str, float]:
    """Thickness of one ply of each layer in mm: what the order states, else the usual."""
    out = dict(THICKNESS)
    if order.build.pad.thickness is not None:
        out["foam"] = order.build.pad.thickness
    for cloth in order.cloth:
        if cloth.thickness is not None:
            out.update(dict.fromkeys(cloth.layers, cloth.thickness))
    return out


def _halves(side: str) -> int:
    return 2 if side == "both" else 1
