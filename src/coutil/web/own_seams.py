"""Seams of a seaming of one's own, added, left out, and the one over the bust point changed.

Each function changes a document of tomlkit in place and says whether that can be done. Panels and seams are counted
from the centre front, panel k between the seams k - 1 and k. What the edges take of each loss still adds up to one
after every change.
"""

from __future__ import annotations

from typing import Any

from coutil.order import Order
from coutil.seaming import MOST_PANELS, OWN, Seaming
from coutil.web.keys import SHARED, SHARES

# Decimals of shares and of places; shares may miss one by less than these leave.
_SHARE_DECIMALS, _PLACE_DECIMALS = 6, 3

Edge = tuple[int, str]


def added_seam(doc: Any, panel: int, order: Order) -> bool:
    """Divide a panel in the middle: each edge of the new seam takes half of what the panel's edge on its side took.

    A panel at a centre has one edge; both new ones take a quarter of what that took. A panel under the arm is divided
    by a seam at the side.
    """
    seaming = order.style.own
    if seaming is None or seaming.name != order.style.seaming.name or not 0 <= panel < len(seaming.panels):
        return False
    if len(seaming.panels) >= MOST_PANELS:
        return False
    import tomlkit

    seams = doc["style"]["seam"]
    new = tomlkit.table()
    role = "side" if seaming.panels[panel].under_arm else seaming.panels[panel].part
    new.update({"name": _free_name(seams, role), "role": role})
    if role != "side":
        new["at"] = round(sum(_bounds(seaming, panel, order)) / 2.0, _PLACE_DECIMALS)
    inner = (panel - 1, "far") if panel > 0 else None
    outer = (panel, "near") if panel < len(seams) else None
    for edge, giver, parts in (
        ("near", inner or outer, 2 if inner and outer else 4),
        ("far", outer or inner, 2 if inner and outer else 4),
    ):
        assert giver is not None
        new[edge] = [round(v / parts, _SHARE_DECIMALS) for v in _taken(seams, giver)]
    for giver in filter(None, (inner, outer)):
        halves = [new[e] for e in SHARES] if not (inner and outer) else [new["near" if giver is inner else "far"]]
        left = [v - sum(h[k] for h in halves) for k, v in enumerate(_taken(seams, giver))]
        seams[giver[0]][giver[1]] = [round(v, _SHARE_DECIMALS) for v in left]
    # An empty line before the next table, as between the seams.
    new.add(tomlkit.nl())
    _replaced(doc, [*seams[:panel], new, *seams[panel:]])
    return True


def removed_seam(doc: Any, number: int, order: Order) -> bool:
    """Join the panels on either side: what the seam's edges took goes to the edges next to them.

    The seam over the bust point stays, and as much as has to be sewn: without a seam at the side one in front and one
    behind.
    """
    seaming = order.style.own
    if seaming is None or not can_leave_out(seaming, number):
        return False
    seams = doc["style"]["seam"]
    for edge in SHARES:
        heir = _heir(seaming, (number, edge))
        assert heir is not None
        taken = zip(_taken(seams, heir), _taken(seams, (number, edge)), strict=True)
        seams[heir[0]][heir[1]] = [round(a + b, _SHARE_DECIMALS) for a, b in taken]
    _replaced(doc, [s for k, s in enumerate(seams) if k != number])
    return True


def moved_cup(doc: Any, number: int, order: Order) -> bool:
    """Let a seam next to the one over the bust point pass over it in its stead.

    The one that passed there goes to the middle between the bust point and what lies beyond it on its own side.
    """
    seaming = order.style.own
    if seaming is None or not can_take_cup(seaming, number):
        return False
    was = seaming.cup
    assert was is not None
    seams, bust = doc["style"]["seam"], _bust_place(order)
    places = _places(seaming, order)
    beyond = places[was - 1] if number > was else places[was + 1]
    seams[was].pop("cup", None)
    seams[was]["at"] = round((bust + beyond) / 2.0, _PLACE_DECIMALS)
    seams[number].pop("at", None)
    seams[number]["cup"] = True
    return True


def can_leave_out(seaming: Seaming, number: int) -> bool:
    """Whether a seam can be left out of a seaming."""
    if not 0 <= number < len(seaming.seams) or number == seaming.cup:
        return False
    front, back = seaming.in_front, len(seaming.seams) - seaming.behind
    if number == seaming.side:
        return front > 0 and back > 0
    if seaming.side is None and (front if number < front else back) < 2:
        return False
    return all(_heir(seaming, (number, edge)) is not None for edge in SHARES)


def can_take_cup(seaming: Seaming, number: int) -> bool:
    """Whether a seam may pass over the bust point in the stead of the one that does."""
    return seaming.cup is not None and 0 <= number < seaming.in_front and abs(number - seaming.cup) == 1


def _heir(seaming: Seaming, edge: Edge) -> Edge | None:
    """Which edge of the same front, or back, takes what an edge took when its seam is left out."""
    number = edge[0]
    for part in _parts(seaming):
        if edge not in part:
            continue
        others = [e for e in part if e[0] != number]
        before = [e for e in others if e[0] < number]
        after = [e for e in others if e[0] > number]
        first, second = (before[-1:], after[:1]) if edge[1] == "near" else (after[:1], before[-1:])
        return next(iter((*first, *second)), None)
    return None


def _parts(seaming: Seaming) -> tuple[list[Edge], list[Edge]]:
    """The edges of the front and of the back, from the centre front on."""
    side = seaming.side
    front = [(k, e) for k in range(seaming.in_front) for e in SHARES]
    back = [(k, e) for k in range(seaming.behind, len(seaming.seams)) for e in SHARES]
    return (front, back) if side is None else ([*front, (side, "near")], [(side, "far"), *back])


def _places(seaming: Seaming, order: Order) -> dict[int, float]:
    """Where the seams stand as parts of the front's or the back's width, and -1 and the like for the centres."""
    bust = _bust_place(order)
    out = {k: s.at if s.at is not None else bust for k, s in enumerate(seaming.seams) if not s.side}
    out[-1] = 0.0
    # The side line is the end of the front's width; whatever follows the last front seam stands there.
    out[seaming.in_front] = 1.0
    return out


def _bounds(seaming: Seaming, panel: int, order: Order) -> tuple[float, float]:
    """Between which parts of its front's, or its back's, width a panel lies that is not under the arm."""
    bust = _bust_place(order)

    def place(seam: int, *, end: float) -> float:
        if not 0 <= seam < len(seaming.seams) or seaming.seams[seam].side:
            return end
        if (seam < seaming.in_front) != (seaming.panels[panel].part == "front"):
            return end
        at = seaming.seams[seam].at
        return bust if at is None else at

    return place(panel - 1, end=0.0), place(panel, end=1.0)


def _bust_place(order: Order) -> float:
    """Where the bust point lies, as a part of the front's width."""
    side = order.body.left
    return side.bust_point / side.front_bust


def _taken(seams: Any, edge: Edge) -> list[float]:
    value = seams[edge[0]][edge[1]]
    return [float(v) for v in value] if isinstance(value, list) else [float(value)] * len(SHARED)


def _free_name(seams: Any, role: str) -> str:
    if role == "side":
        return "side"
    taken = {str(s["name"]) for s in seams}
    names = (f"{role} seam" if n == 1 else f"{role} seam {n}" for n in range(1, MOST_PANELS + 2))
    return next(n for n in names if n not in taken)


def _replaced(doc: Any, seams: list[Any]) -> None:
    import tomlkit

    array = tomlkit.aot()
    for seam in seams:
        array.append(seam)
    doc["style"]["seaming"] = OWN
    doc["style"]["seam"] = array
