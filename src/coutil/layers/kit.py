"""The back kit: what an opening needs behind it, as pieces, and the lines and places that are marked for it.

A facing holds the channels and the eyelets, hooks or buttons beside its edge, and 5 mm more; a lacing has a modesty
panel behind it, a zip or a busk a guard, hooks and buttons an underlap. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from coutil.layers.allowances import edges_cut
from coutil.layers.boning import bone_lines
from coutil.layers.inside import beside_edge, inwards, neighbours, upright
from coutil.layers.joined import FACING_INNER, NARROW, joined, narrowest
from coutil.layers.openings import (
    LEAST_STRIP,
    RIM_MORE,
    Beside,
    beside,
    channel,
    faced,
    open_edges,
    openings,
    place_words,
    spread,
    wished,
)
from coutil.layers.pieces import SPOKEN, panel_piece
from coutil.order import Kit, Order
from coutil.pattern import Edge, EdgeRef, Finding, Panel, Pattern, Piece, Topic, about_words, girths, panel_ref
from coutil.pattern.model import DrawnLine, Layer, Spot
from coutil.plane import line, upright_line
from coutil.seaming import PAD_RIM, Opening
from coutil.seaming.roles import HEM, TOP
from coutil.words import Length

# What closes an opening, and the strip that lies under or behind it.
STRIPS: Final[dict[str, Layer]] = {
    "lacing": "modesty_panel",
    "zip": "guard",
    "busk": "guard",
    "hooks": "underlap",
    "buttons": "underlap",
}
# What is marked at each place of an opening's row.
SPOTS: Final = {"lacing": "eyelet", "hooks": "hook", "buttons": "button"}
# From an eyelet's rim to the nearest line of stitching there is at least half of what the strip has more than the rim.
LEAST_CLEAR: Final = RIM_MORE / 2.0
# To this the allowances of a narrow strip of lining are trimmed, in mm: a quarter inch (common practice, no source).
TRIMMED: Final = 6.35


def kit_up(pattern: Pattern, order: Order) -> Pattern:
    """The layered pattern with the pieces of its back kit, and with the lines and places of openings and bones marked.

    The marks go on the shell, on the facing, and on what carries the bones. Where a facing cannot be drawn a warning
    says so. Raises LayerError, naming the piece, where a cut line cannot be drawn.
    """
    if not pattern.pieces:
        return pattern
    pieces: list[Piece] = list(pattern.pieces)
    findings: list[Finding] = []
    marks: dict[tuple[str, str], tuple[list[DrawnLine], list[Spot]]] = {}
    for opening in openings(order, pattern):
        by = beside(order, opening)
        findings += _crowded(order, opening, by)
        for panel, edge in () if opening.side else open_edges(pattern, opening):
            lines, spots = marks.setdefault((panel.name, panel.side), ([], []))
            lines += _channels(panel, edge, by)
            spots += _places(order, pattern, opening, edge, by)
        if order.build.kit is not None:
            made, said = _kit(order, order.build.kit, pattern, opening, by, pieces)
            pieces += made
            findings += said
    drawn = _bones(order, pattern)
    carriers = set(order.build.bones.on)
    out = []
    for piece in pieces:
        at = (piece.panel, piece.side)
        lines, spots = marks.get(at, ([], []))
        if any(e.name == FACING_INNER for e in piece.net) and piece.layer != "facing":
            # A lining that ends at a facing bears only what lies elsewhere.
            lines, spots = [], []
        if piece.layer in ("shell", "facing") or piece.layer in carriers:
            inner = drawn.get(at, []) if piece.layer in carriers else []
            # A facing bears what lies beside its edge alone.
            piece = replace(piece, lines=(*piece.lines, *lines, *inner), spots=(*piece.spots, *spots))
        out.append(piece)
    return replace(pattern, pieces=tuple(out), findings=(*pattern.findings, *findings))


def _crowded(order: Order, opening: Opening, by: Beside) -> Iterator[Finding]:
    """A warning where a row leaves no room between its rims and the stitching of the channels."""
    about = Topic("closing")
    if opening.closed_with != "lacing" or by.row is None:
        return
    clear = by.clear
    if clear is not None and clear < LEAST_CLEAR - 1e-9:
        args = {"clear": Length(max(clear, 0.0), "full"), "wanted": Length(LEAST_CLEAR, "full")}
        yield Finding("opening.crowded", "warn", about, args)
    wide = channel(order.shelf.bone("openings").width)
    near, far = by.channels[0]
    if far - near < wide - 1e-9:
        strip = max(by.rim + RIM_MORE, LEAST_STRIP)
        args = {
            "row": Length(by.row, "full"),
            "wanted": Length(wide + strip / 2.0, "full"),
            "channel": Length(wide, "full"),
        }
        yield Finding("opening.no_channel", "warn", about, args)


def _channels(panel: Panel, edge: Edge, by: Beside) -> Iterator[DrawnLine]:
    for away in dict.fromkeys(d for pair in by.channels for d in pair):
        made = beside_edge(panel, edge, away) if away > 0.0 else None
        if made is not None:
            yield DrawnLine("channel", (made[0],))


def _places(order: Order, pattern: Pattern, opening: Opening, edge: Edge, by: Beside) -> Iterator[Spot]:
    """Where eyelets, hooks or buttons lie on an edge, from the hem up; both sides of an opening get as many."""
    step = wished(order, opening)
    what = SPOTS.get(opening.closed_with)
    if step is None or what is None or by.row is None:
        return
    short = min(e.curve.length for _, e in open_edges(pattern, opening))
    inset = order.notions.closing_inset
    found = spread(short, step, inset)
    if found is None:
        return
    count, apart = found
    hole = order.shelf.eyelet.hole if opening.closed_with == "lacing" else 0.0
    for k in range(count):
        yield Spot(what, inwards(edge, min(inset + k * apart, edge.curve.length), by.row), hole)


def _bones(order: Order, pattern: Pattern) -> dict[tuple[str, str], list[DrawnLine]]:
    """The channels of further lines, by panel and side: both lines of stitching, or the one beside a fold."""
    wide = channel(order.shelf.bone("lines").width)
    out: dict[tuple[str, str], list[DrawnLine]] = {}
    for bone in bone_lines(order, pattern):
        if bone.place != "lines" or bone.panel is None:
            continue
        here = out.setdefault((bone.panel.name, bone.panel.side), [])
        for curve in bone.curves:
            edge = next((e for e in bone.panel.edges if e.role == bone.at), None)
            if edge is not None:
                made = beside_edge(bone.panel, edge, wide / 2.0)
                here += [DrawnLine("channel", (made[0],))] if made is not None else []
            else:
                (x, low), (_, high) = curve.start, curve.end
                sides = [upright(bone.panel, x + d, (low + high) / 2.0) for d in (-wide / 2.0, wide / 2.0)]
                here += [DrawnLine("channel", (line(*ends),)) for ends in sides if ends is not None]
    return out


def _kit(
    order: Order, kit: Kit, pattern: Pattern, opening: Opening, by: Beside, cut: list[Piece]
) -> tuple[list[Piece], list[Finding]]:
    """The pieces behind one opening; a lining among those that are `cut` already is changed to end at its facings."""
    pieces: list[Piece] = []
    findings: list[Finding] = []
    edges = open_edges(pattern, opening)
    for panel, edge in edges if faced(opening) else ():
        lined = joined(cut, panel, edge, by.facing, order.build)
        made = _facing(order, panel, edge, by, order.build.allowance if lined else 0.0)
        if made is not None:
            for k, piece in (lined or {}).items():
                cut[k] = piece
            left = min((narrowest(p) for p in (lined or {}).values()), default=NARROW)
            if left < NARROW:
                about = EdgeRef(panel.name, edge.role, panel.side)
                findings.append(
                    Finding(
                        "opening.narrow_lining",
                        "note",
                        about,
                        {"left": Length(left, "full"), "trim": Length(TRIMMED, "full")},
                    )
                )
        if made is None:
            about = EdgeRef(panel.name, edge.role, panel.side)
            findings.append(Finding("opening.no_facing", "warn", about, {"width": Length(by.facing, "full")}))
        else:
            pieces.append(made)
    strip = STRIPS.get(opening.closed_with)
    if strip is None or not edges or (strip == "modesty_panel" and not kit.modesty):
        return pieces, findings
    width, quantity = {
        # Its outside and its own lining; a guard and an underlap are folded along their middle.
        "modesty_panel": (opening.gap + 2.0 * kit.overlap, 2),
        "guard": (2.0 * kit.guard, 1),
        "underlap": (2.0 * kit.underlap, 1),
    }[strip]
    panel, edge = max(edges, key=lambda pair: pair[1].curve.length)
    pieces.append(_strip(order, panel, edge, opening, strip, width, quantity))
    return pieces, findings


def _facing(order: Order, panel: Panel, edge: Edge, by: Beside, inner_room: float) -> Piece | None:
    """The facing of an edge: the panel's own outline as far as its width, cut with the panel's allowances.

    `inner_room` is the allowance of its inner edge: where no lining is joined there it lies free, and is overlocked or
    bound.
    """
    found = beside_edge(panel, edge, by.facing)
    if found is None:
        return None
    inner, low, high = found
    before, after = neighbours(panel, edge)
    net = (
        replace(before, name=before.name, curve=before.curve.part(low, before.curve.length), marks={}),
        edge,
        replace(after, curve=after.curve.part(0.0, high), marks={}),
        Edge(FACING_INNER, PAD_RIM, inner.reversed()),
    )
    build = order.build
    margins = [inner_room if e.role == PAD_RIM else build.allowance_for(e.role) for e in net]
    pair = panel.side == "both"
    return Piece(
        name=f"{about_words(panel_ref(panel))}, {SPOKEN['facing']}",
        panel=panel.name,
        layer="facing",
        side=panel.side,
        quantity=2 if pair else 1,
        mirrored_pair=pair,
        on_fold=False,
        net=net,
        cut=edges_cut(net, margins, panel),
        notches=(),
        placement=(),
        grain=upright_line([p for e in net for p in e.curve.points(tolerance=0.5)[:-1]]),
        part=panel.part,
    )


def _strip(
    order: Order, panel: Panel, edge: Edge, opening: Opening, layer: Layer, width: float, quantity: int
) -> Piece:
    """A straight strip as long as the edge, at the edge's height, with the build's allowance all round."""
    y0 = edge.upward().start[1]
    y1 = y0 + edge.curve.length
    a, b, c, d = (0.0, y0), (width, y0), (width, y1), (0.0, y1)
    net = (
        Edge("hem", HEM, line(a, b)),
        Edge("strip_far", PAD_RIM, line(b, c)),
        Edge("top", TOP, line(c, d)),
        Edge("strip_near", PAD_RIM, line(d, a)),
    )
    middle = width / 2.0
    folded = layer in ("guard", "underlap")
    return Piece(
        name=f"{place_words(opening.at)}, {SPOKEN[layer]}",
        panel=panel.name,
        layer=layer,
        side=panel.side,
        quantity=quantity,
        mirrored_pair=False,
        on_fold=False,
        net=net,
        cut=edges_cut(net, [order.build.allowance] * 4, panel),
        notches=(),
        placement=(),
        grain=((middle / 2.0, y0 + 0.2 * (y1 - y0)), (middle / 2.0, y0 + 0.8 * (y1 - y0))),
        part=panel.part,
        lines=(DrawnLine("fold", (line((middle, y0), (middle, y1)),)),) if folded else (),
    )


def toile(pattern: Pattern, allowance: float) -> Pattern:
    """The pattern of a toile: each panel once, with `allowance` mm all round, no pads, and its seam lines to be marked.

    Raises LayerError, naming the panel, where a cut line cannot be drawn.
    """
    pieces = []
    for panel in (p for p in pattern.panels if p.material == "cloth"):
        margins = [0.0 if e.name == panel.fold else allowance for e in panel.edges]
        own = (p for p in pattern.pieces if (p.panel, p.side) == (panel.name, panel.side) and p.layer == "shell")
        notches = next((p.notches for p in own), ())
        pieces.append(panel_piece(panel, "toile", edges_cut(panel.edges, margins, panel), notches, ()))
    return replace(pattern, pads=(), pieces=tuple(pieces), findings=())


def stay_length(order: Order, pattern: Pattern) -> float | None:
    """How long a closed waist stay is: the garment's waist as worn less what the kit takes off; None without one."""
    kit = order.build.kit
    gap = order.style.gap if openings(order, pattern) else 0.0
    girth = girths(pattern, gap=gap).get("waist")
    return None if kit is None or not kit.stay or girth is None else girth - kit.stay_less


def gripper_length(order: Order, pattern: Pattern) -> float | None:
    """Gripper tape for the whole top edge; None where the kit has none."""
    kit = order.build.kit
    if kit is None or not kit.gripper:
        return None
    return sum(
        e.curve.length * (2.0 if p.side == "both" else 1.0) for p in pattern.panels for e in p.edges if e.role == TOP
    )
