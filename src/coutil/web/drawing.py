"""The right page: every panel with its edges, levels, pads and layers, as paths and ids (docs/web-api.md, 3b)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from coutil.docket.make import ORDER_OF_LAYERS
from coutil.make import Work
from coutil.pattern import LEVELS, Edge, Pad, Piece
from coutil.pattern.nicks import nicks
from coutil.plane import Curve
from coutil.sheets.wording import cut_words
from coutil.web.garment import Garment
from coutil.web.governs import hand
from coutil.web.handles import handles
from coutil.web.lengths import other, shown
from coutil.web.paths import joined, rounded
from coutil.web.places import SQUARE, Placed, paper_box, place_panels
from coutil.words import has, say


def drawing(work: Work, unit: str, placed: Sequence[Placed] | None = None) -> dict[str, Any]:
    """The whole drawing; `unit` is the person's."""
    placed = place_panels(work.pattern) if placed is None else placed
    pads = {(p.panel, p.side): p for p in work.pattern.pads}
    panels = [_panel(p, pads.get((p.panel.name, p.panel.side)), unit) for p in placed]
    used = {piece.layer for p in placed for piece in p.pieces}
    return {
        "box": rounded(paper_box(placed)),
        "square": SQUARE,
        "waist": 0,
        "panels": panels,
        "layers": [{"layer": n, "text": say(f"layer.{n}")} for n in ORDER_OF_LAYERS if n in used],
        "handles": handles(work, placed, unit),
        "hand": _hands(placed, panels, work),
    }


def part_ids(drawn: Mapping[str, Any], placed: Sequence[Placed]) -> dict[str, str]:
    """The id of every part of a drawing, and the same without the side of an uneven body."""
    out: dict[str, str] = {}
    for p, panel in zip(placed, drawn["panels"], strict=True):
        ids = [panel["id"], *(e["id"] for e in panel["edges"]), *(v["id"] for v in panel["levels"])]
        ids += [q["id"] for q in panel["points"]]
        ids += [n["id"] for n in panel["layers"]]
        if panel["pad"]:
            ids += [panel["pad"]["id"], *(e["id"] for e in panel["pad"]["edges"])]
        for part in ids:
            out[part] = p.plain + part[len(p.id) :]
    return out


def _hands(placed: Sequence[Placed], panels: Sequence[Mapping[str, Any]], work: Work) -> dict[str, str]:
    ids = part_ids({"panels": panels}, placed)
    garment, style, drafted = Garment.of(work.pattern), work.order.style, work.draft is not None
    found = {part: hand(plain, garment, style, drafted=drafted) for part, plain in ids.items()}
    return {part: key for part, key in found.items() if key is not None}


def _panel(p: Placed, pad: Pad | None, unit: str) -> dict[str, Any]:
    panel, place = p.panel, p.place
    edges = [_edge(p, e, unit) for e in panel.edges]
    return {
        "id": p.id,
        "name": panel.name if panel.side == "both" else f"{panel.side} {panel.name}",
        "side": panel.side,
        "box": rounded(p.box),
        "title": _title(p),
        "net": joined([e["d"] for e in edges]),
        "edges": edges,
        "levels": [_level(p, name, unit) for name in reversed(LEVELS) if name in panel.levels],
        "grain": {"id": f"{p.id}/grain", "d": place.line(*panel.grain)},
        "fold": None if panel.fold is None else {"id": f"{p.id}/fold", "d": place.curve(panel.edge(panel.fold).curve)},
        "points": [
            {"id": f"{p.id}/point/{name}", "name": name.replace("_", " "), "at": place.at(at)}
            for name, at in panel.points.items()
        ],
        "pad": None if pad is None else _pad(p, pad),
        "layers": _layers(p),
    }


def _title(p: Placed) -> dict[str, Any]:
    (ax, ay), (bx, by) = p.panel.grain
    x, y = p.place.point(((ax + bx) / 2.0, ay + 0.3 * (by - ay)))
    return {
        "at": [round(x, 2), round(y, 2)],
        "text": p.panel.name,
        "sub": "" if p.panel.side == "both" else p.panel.side,
    }


def _edge(p: Placed, e: Edge, unit: str) -> dict[str, Any]:
    mm = e.curve.length
    return {
        "id": f"{p.id}/edge/{e.name}",
        "role": e.role,
        "name": _edge_name(e),
        "d": p.place.curve(e.curve),
        "length": round(mm, 2),
        "text": shown(mm, unit),
        "also": shown(mm, other(unit)),
        "label": p.place.label(e.curve, inside=True),
    }


def _level(p: Placed, name: str, unit: str) -> dict[str, Any]:
    a, b = p.panel.levels[name]
    mm = math.dist(a, b)
    middle = ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0 + 3.0)
    return {
        "id": f"{p.id}/level/{name}",
        "level": name,
        "name": say(f"level.{name}"),
        "d": p.place.line(a, b),
        "length": round(mm, 2),
        "text": shown(mm, unit),
        "also": shown(mm, other(unit)),
        "label": {"at": p.place.at(middle), "angle": p.place.angle((b[0] - a[0], b[1] - a[1]))},
    }


def _pad(p: Placed, pad: Pad) -> dict[str, Any]:
    edges = [{"id": f"{p.id}/pad/{e.name}", "name": _edge_name(e), "d": p.place.curve(e.curve)} for e in pad.edges]
    return {"id": f"{p.id}/pad", "d": joined([e["d"] for e in edges]), "edges": edges}


def _edge_name(e: Edge) -> str:
    """What an edge is called: of the usual roles and of a pad's rims as the trade says, else by its seam."""
    for name in (e.name, e.role):
        if has(f"edge.{name}"):
            return say(f"edge.{name}")
    return say("edge.seam", name=e.role.replace("_", " "))


def _layers(p: Placed) -> list[dict[str, Any]]:
    # Shell, interfacing and lining share one cut line and its notches, foam and web theirs: they are written once.
    drawn: dict[int, str] = {}
    marked: dict[tuple[int, int], list[str]] = {}

    def line(curves: tuple[Curve, ...], *, closed: bool = True) -> str:
        key = id(curves)
        if key not in drawn:
            drawn[key] = p.place.curves(curves, closed=closed)
        return drawn[key]

    def net(edges: tuple[Edge, ...]) -> str:
        key = id(edges)
        if key not in drawn:
            drawn[key] = p.place.curves((e.curve for e in edges), closed=True)
        return drawn[key]

    def nicked(piece: Piece) -> list[str]:
        key = id(piece.cut), id(piece.notches)
        if key not in marked:
            marked[key] = ["".join(p.place.line(*ends) for ends in notch) for notch in nicks(piece)]
        return marked[key]

    out = []
    for piece in sorted(p.pieces, key=lambda q: ORDER_OF_LAYERS.index(q.layer)):
        own_net = piece.net is not p.panel.edges
        out.append(
            {
                "id": f"{p.id}/layer/{piece.layer}",
                "layer": piece.layer,
                "piece": piece.name,
                "words": cut_words(piece.quantity, piece.mirrored_pair, piece.on_fold),
                "cut": line(piece.cut),
                "net": net(piece.net) if own_net else "",
                "placement": [line(run, closed=_closes(run)) for run in piece.placement],
                "notches": [
                    {
                        "id": f"{p.id}/layer/{piece.layer}/notch/{n}",
                        "name": notch.name.replace("_", " "),
                        "d": d,
                    }
                    for n, (notch, d) in enumerate(zip(piece.notches, nicked(piece), strict=True))
                ],
            }
        )
    return out


def _closes(run: tuple[Curve, ...]) -> bool:
    return math.dist(run[0].start, run[-1].end) < 0.01
