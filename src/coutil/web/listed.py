"""Changes to what stands several times in an order: its cloths, its openings, the seams of a seaming of one's own.

Each function changes a document of tomlkit in place.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from coutil.body import DEFAULT_STANDARD, NEEDED_WITHOUT_BUST, REQUIRED, missing_readings
from coutil.layers.words import LayerError
from coutil.make import work_out
from coutil.order import Order, OrderError, Style, seam_table
from coutil.seaming import CLOSED_WITH, GAPPED, OWN, READY, Closing, Place, ToldSeam, told_seams
from coutil.units import plain_number
from coutil.web.keys import CLOTH, LISTS, OPENING, SEAM, SHARED, SHARES, Address
from coutil.web.own_seams import added_seam, moved_cup, removed_seam

# What a place is closed with where one is added: the usual of the trade (common practice, no source).
_FIRST: Final[dict[Place, Closing]] = {
    "centre_back": "lacing",
    "centre_front": "busk",
    "side_left": "zip",
    "side_right": "zip",
}
# Where another opening is likeliest, first (judgement, no source).
_LIKELY: Final[tuple[Place, ...]] = ("centre_front", "centre_back", "side_left", "side_right")
# How far up a seaming of one's own goes where nothing says it; a ready one may go less far.
WHOLE_REACH: Final = 1.0
# Decimals of a share: what the others give way by is exact to less than what shares may miss one by.
_DECIMALS: Final = 6


def added(doc: Any, table: str, order: Order, unit: str) -> bool:
    """Add an entry to a list; `order` is as it was before. Whether that can be done.

    "style.seam.2" divides the panel of that number, "style.seam.2.cup" lets that seam pass over the bust point.
    """
    style = order.style
    if (number := _numbered(table, SEAM)) is not None:
        return added_seam(doc, number, order)
    if table.endswith(".cup") and (number := _numbered(table.removesuffix(".cup"), SEAM)) is not None:
        return moved_cup(doc, number, order)
    match table:
        case "cloth":
            return _add_cloth(doc)
        case "style.opening":
            return _add_opening(doc, style, unit)
        case "style.seam":
            start_own(doc, order, unit)
            return True
    return False


def removed(doc: Any, key: str, order: Order) -> bool:
    """Take an entry off its list; `order` is as it was before. Whether that can be done: the last opening stays, for
    she has to get in."""
    if (seam := _numbered(key, SEAM)) is not None:
        return removed_seam(doc, seam, order)
    table, _, number = key.rpartition(".")
    if table not in (CLOTH, OPENING) or not number.isdecimal() or len(number) > 3:
        return False
    outer, name = _outer(doc, table)
    entries = outer.get(name, []) if outer is not None else []
    if outer is None or int(number) >= len(entries) or (table == OPENING and len(entries) < 2):
        return False
    del entries[int(number)]
    if not entries:
        del outer[name]
    return True


def _numbered(key: str, table: str) -> int | None:
    """The number of the entry that a key names in a table; None for any other key."""
    outer, _, number = key.rpartition(".")
    return int(number) if outer == table and number.isdecimal() and len(number) <= 3 else None


def fitted(doc: Any, at: Address) -> None:
    """After a change of an opening: what the new place or closing has no use for goes, and a closing that it cannot
    have gives way to its usual one."""
    entry = doc["style"]["opening"][at.number]
    place, closing = entry.get("at"), entry.get("with")
    if place in CLOSED_WITH and closing not in CLOSED_WITH[place]:
        entry["with"] = closing = _FIRST[place]
    if closing not in GAPPED or (at.spec.name == "with" and "drawn" in entry):
        # A lacing's gap is no width of elastic.
        entry.pop("gap", None)
    if closing != "elastic":
        entry.pop("drawn", None)


def start_own(doc: Any, order: Order, unit: str) -> None:
    """A seaming of one's own that begins as the order's does, in the place of any before."""
    import tomlkit

    seaming = order.style.seaming
    seams = tomlkit.aot()
    for seam in told_seams(seaming):
        seams.append(_seam(seam))
    # An empty line before the next table, as between the seams.
    seams[-1].add(tomlkit.nl())
    style = _style(doc)
    if seaming.reach != WHOLE_REACH:
        # How far a ready one reaches where nothing says it is not told of seams: it is said now.
        style.update(_reaching(order, unit))
    style.pop("seam", None)
    style["seaming"] = OWN
    style["seam"] = seams


def _reaching(order: Order, unit: str) -> dict[str, float | str]:
    """The heights of a drawn garment that its seaming settles; none of one that cannot be drawn."""
    try:
        draft = work_out(order).draft
    except (OrderError, LayerError):
        draft = None
    if draft is None:
        return {}
    open_ = (name for name in ("side_top", "hem") if getattr(order.style, name) is None)
    return {name: plain_number(getattr(draft.style, name), unit) for name in open_}


def with_seaming(doc: Any, name: Any, order: Order, unit: str) -> None:
    """After another seaming was chosen: one's own begins as what was there, and what is not taken of the readings that
    it needs gets a standard size in its place, as in a new order."""
    import tomlkit

    style = order.style
    if name == OWN and style.own is None:
        start_own(doc, order, unit)
    chosen = READY.get(name) or style.own or style.seaming
    body = doc.get("body")
    if body is None or "standard" in body:
        return
    if missing_readings(body, REQUIRED if chosen.bust else NEEDED_WITHOUT_BUST):
        size = order.body.standard or DEFAULT_STANDARD
        table = tomlkit.table()
        table.update({"bust": plain_number(size.bust, unit), "cup": size.cup})
        body["standard"] = table


def share_out(doc: Any, at: Address, part: float) -> bool:
    """Give an edge its part of what its front (or back) loses down to a level; the others give way in proportion, so
    that all add up to one. Whether there are others that can."""
    seams = doc["style"]["seam"]
    edge, level = at.spec.name.partition(".")[0], SHARED.index(at.spec.name.partition(".")[2])
    mine = (at.number, edge)
    others = [e for e in next(es for es in _edges(seams) if mine in es) if e != mine]
    shares = {e: _three(seams[e[0]][e[1]]) for e in [mine, *others]}
    rest = sum(shares[e][level] for e in others)
    if rest <= 0.0:
        return False
    for e in others:
        shares[e][level] = round(shares[e][level] * (1.0 - part) / rest, _DECIMALS)
    shares[mine][level] = part
    largest = max(others, key=lambda e: shares[e][level])
    over = sum(three[level] for three in shares.values()) - 1.0
    shares[largest][level] = round(shares[largest][level] - over, _DECIMALS)
    for (number, name), three in shares.items():
        seams[number][name] = three
    return True


def share_now(entry: Mapping[str, Any], at: Address) -> float | None:
    """The part that an edge takes, as it stands in the order; None where nothing does."""
    edge, _, level = at.spec.name.partition(".")
    try:
        return float(_three(entry[edge])[SHARED.index(level)])
    except (KeyError, TypeError, ValueError, IndexError):
        return None


def _edges(seams: Any) -> Iterator[list[tuple[int, str]]]:
    """The edges of the front and those of the back, as number of the seam and "near" or "far"."""
    for part, at_side in (("front", "near"), ("back", "far")):
        found = [(k, e) for k, s in enumerate(seams) if s["role"] == part for e in SHARES]
        yield [*found, *((k, at_side) for k, s in enumerate(seams) if s["role"] == "side")]


def _three(value: Any) -> list[float]:
    return [float(v) for v in value] if isinstance(value, list) else [float(value)] * len(SHARED)


def _add_cloth(doc: Any) -> bool:
    import tomlkit

    there = doc.get(CLOTH, [])
    if len(there) >= LISTS[CLOTH]:
        return False
    cloth = tomlkit.table()
    cloth.update({"name": f"cloth {len(there) + 1}", "for": ["shell"]})
    if CLOTH not in doc:
        doc.append(CLOTH, tomlkit.aot())
    doc[CLOTH].append(cloth)
    return True


def _add_opening(doc: Any, style: Style, unit: str) -> bool:
    """One more opening, at the first place that is free; the closing of [style] becomes one of the list."""
    import tomlkit

    free = sorted(style.free_places, key=_LIKELY.index)
    if not free:
        return False
    table = _style(doc)
    if not style.openings:
        openings = tomlkit.aot()
        first = style.opens[0]
        entry = tomlkit.table()
        entry.update({"at": first.at, "with": first.closed_with})
        if "lacing_gap" in table and first.closed_with in GAPPED:
            entry["gap"] = table["lacing_gap"]
        table.pop("closing", None)
        table.pop("lacing_gap", None)
        openings.append(entry)
        table["opening"] = openings
    entry = tomlkit.table()
    entry.update({"at": free[0], "with": _FIRST[free[0]]})
    # An empty line before the next table, as between the entries.
    entry.add(tomlkit.nl())
    table["opening"].append(entry)
    return True


def _seam(told: ToldSeam) -> Any:
    import tomlkit

    out = tomlkit.table()
    out.update(seam_table(told))
    return out


def _style(doc: Any) -> Any:
    import tomlkit

    if "style" not in doc:
        doc["style"] = tomlkit.table()
    return doc["style"]


def _outer(doc: Any, table: str) -> tuple[Any, str]:
    """The table in which a list stands, and the list's name in it."""
    *path, name = table.split(".")
    outer = doc
    for part in path:
        outer = outer.get(part)
        if outer is None:
            return None, name
    return outer, name
