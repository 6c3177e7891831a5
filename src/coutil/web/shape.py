"""The spread that says what the garment looks like: its seaming, top, hem, openings and ease, in sentences."""

from __future__ import annotations

from typing import Any

from coutil.order import Order
from coutil.seaming import CENTRE_BACK, CENTRE_FRONT, FEWEST_PANELS, MOST_PANELS, OWN, Seaming
from coutil.web.governs import tells_low
from coutil.web.keys import OPENING, SEAM
from coutil.web.outlines import ASKED
from coutil.web.own_seams import can_leave_out, can_take_cup
from coutil.web.telling import act, plain, section, sentence
from coutil.words import say


def shape(order: Order, *, drawn: bool, low: float | None) -> list[dict[str, Any]]:
    """Its sections. `low`: how far the top at the centre front lies above the underbust, in mm, None if not drawn."""
    if order.pattern is not None:
        return [_brought_in(order, drawn=drawn), section("shape.closing", [_closing(order)])]
    seaming = order.style.seaming
    fit = ["shape.ease" if seaming.bust else "shape.ease.low"]
    if order.build.pad.thickness is not None and seaming.cup is not None:
        fit.append("shape.foam")
    return [
        _seaming(order),
        *([_seams(seaming)] if seaming.name == OWN else []),
        section("shape.top", _top(order, low)),
        section("shape.hem", ["shape.hem.above" if (order.style.hem or 0.0) < 0.0 else "shape.hem"]),
        _openings(order),
        section("shape.ease", fit),
    ]


def _brought_in(order: Order, *, drawn: bool) -> dict[str, Any]:
    """A pattern that exists already: whence it is, and what its outlines are."""
    assert order.pattern is not None
    if not order.pattern.drawing:
        return section("shape.own", ["shape.own.elsewhere"], file=order.pattern.file)
    told = section("shape.own", ["shape.own", "shape.own.change"], file=order.pattern.file)
    line = "said" if order.pattern.line is not None else "told" if drawn else "unsaid"
    told["sentences"].insert(1, {**plain(f"shape.own.{line}"), "asks": list(ASKED)})
    return told


def _closing(order: Order) -> str:
    return "shape.lacing" if order.style.closing == "lacing" else "shape.closing"


def _seaming(order: Order) -> dict[str, Any]:
    style = order.style
    panels = ", ".join(p.name for p in style.seaming.panels)
    told = section("shape.seaming", ["shape.seaming"], panels=panels)
    closed = [at for at in (CENTRE_FRONT, CENTRE_BACK) if style.opening(at) is None]
    told["sentences"] += [plain(f"shape.{at}") for at in closed]
    if style.seaming.name != OWN:
        act(told, {"key": SEAM, "add": True}, say("action.own.start" if style.own is None else "action.own.anew"))
    return told


def _seams(seaming: Seaming) -> dict[str, Any]:
    """One's own seams: where each stands, whether it is boned, and what its edges take."""
    told = section("shape.seams", ["shape.seams"], fewest=FEWEST_PANELS, most=MOST_PANELS)
    if len(seaming.panels) < MOST_PANELS:
        act(told, {"key": f"{SEAM}.0", "add": True}, say("action.seam.first"))
    for n, seam in enumerate(seaming.seams):
        part = "side" if seam.side else "front" if n < seaming.in_front else "back"
        told["sentences"].append(sentence("shape.seam.cup" if seam.cup else f"shape.seam.{part}", n))
        shares = "shape.shares" if seaming.bust else "shape.shares.low"
        told["sentences"].append(sentence(f"{shares}.{part}", n))
        if can_take_cup(seaming, n):
            act(told, {"key": f"{SEAM}.{n}.cup", "add": True}, say("action.seam.cup"))
        if len(seaming.panels) < MOST_PANELS:
            act(told, {"key": f"{SEAM}.{n + 1}", "add": True}, say("action.seam.add"))
        if can_leave_out(seaming, n):
            act(told, {"key": f"{SEAM}.{n}", "remove": True}, say("action.seam.remove"))
    return told


def _top(order: Order, low: float | None) -> list[str]:
    style, below = order.style, low is not None and low < 0.0
    if not style.seaming.bust:
        return ["shape.low.below" if below else "shape.low", "shape.sides"]
    neckline = "shape.neckline"
    if tells_low(style):
        neckline = "shape.neckline.deep" if below else "shape.neckline.low"
    return [neckline, "shape.cup", "shape.upper", "shape.sides"]


def _openings(order: Order) -> dict[str, Any]:
    """Where it opens; as long as no opening is told apart it is the centre back, as its closing says."""
    style = order.style
    if not style.openings:
        told = section("shape.closing", [_closing(order)])
    else:
        told = section("shape.closing", [])
        for n, opening in enumerate(style.openings):
            how = {"lacing": ".lacing", "elastic": ".elastic"}.get(opening.closed_with, "")
            told["sentences"].append(sentence(f"shape.opening{how}", n))
            if len(style.openings) > 1:
                act(told, {"key": f"{OPENING}.{n}", "remove": True}, say("action.opening.remove"))
    if style.free_places:
        act(told, {"key": OPENING, "add": True}, say("action.opening.add"))
    return told
