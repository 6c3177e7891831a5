"""The docket as tables for the page: cutting list, what to buy, bones, thread, hours, price."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from coutil.docket import Amount, Bone, CutLine, Docket
from coutil.order.keys import TABLES
from coutil.sheets.amounts import money, number, percent, rate
from coutil.sheets.wording import cut_words, turned_lining
from coutil.units import millimetres
from coutil.web.lengths import shown
from coutil.words import say


def docket_tables(docket: Docket, unit: str) -> dict[str, Any]:
    """Every table of the money spread (docs/web-api.md, 6); those with nothing in them are null."""
    return {
        "garment": docket.garment,
        "cut": _cut(docket),
        "fuse": _fuse(docket, unit),
        "buy": _buy(docket, unit),
        "bones": _bones(docket, unit),
        "closing": _closing(docket, unit),
        "thread": _thread(docket, unit),
        "materials": _amounts("materials", docket.materials, docket),
        "hours": _amounts("hours", docket.hours, docket),
        "price": _price(docket),
    }


def table(
    name: str, rows: Sequence[Sequence[str]], head: Sequence[str], *, right: Iterable[int] = (), foot: str | None = None
) -> dict[str, Any] | None:
    """A table whose texts are in the catalogue: its title, its columns; the columns `right` are figures."""
    if not rows:
        return None
    to_right = set(right)
    return {
        "title": say(f"table.{name}"),
        "head": [say(f"column.{h}") if h else "" for h in head],
        "rows": [list(r) for r in rows],
        "align": ["right" if k in to_right else "left" for k in range(len(head))],
        "foot": foot,
    }


def _cut(docket: Docket) -> dict[str, Any] | None:
    rows = [
        (
            say(f"layer.{n.layer}"),
            n.piece.rsplit(", ", 1)[0],
            _cut_how(n),
            n.block or "",
        )
        for n in docket.cut
    ]
    if not any(r[3] for r in rows):
        return table("cut", [r[:3] for r in rows], ("layer", "piece", "cut"))
    return table("cut", rows, ("layer", "piece", "cut", "block"))


def _cut_how(n: CutLine) -> str:
    how = cut_words(n.quantity, n.mirrored_pair, n.on_fold)
    return say("sheet.face_down", how=how) if turned_lining(n.layer, n.side) else how


def _counted(key: str, n: int) -> str:
    return say(f"{key}_one") if n == 1 else say(key, n=n)


def _fuse(docket: Docket, unit: str) -> dict[str, Any] | None:
    rows = [
        (
            n.block,
            say(f"layer.{n.layer}"),
            shown(n.length, unit),
            shown(n.width, unit),
            cut_words(n.quantity, n.mirrored_pair, n.on_fold),
        )
        for n in docket.fuse
    ]
    return table("fuse", rows, ("block", "layer", "along", "across", "cut"), right=(2, 3))


def _buy(docket: Docket, unit: str) -> dict[str, Any] | None:
    rows = []
    for n in docket.buy:
        layers = ", ".join(say(f"layer.{name}") for name in n.layers)
        if n.unit == "sheet":
            need, buy = f"{n.needed:g}", _counted("table.sheets", round(n.buy))
        else:
            need, buy = shown(n.needed, unit), shown(n.buy, unit)
        rows.append((n.cloth, layers, need, buy))
    return table("buy", rows, ("cloth", "for", "needed", "buy"), right=(2, 3))


def _bones(docket: Docket, unit: str) -> dict[str, Any] | None:
    rows = [(_where(b), str(b.quantity), shown(b.length, unit), shown(b.channel, unit)) for b in docket.bones]
    foot = say("table.bones.all", bones=shown(docket.bone_total, unit), casing=shown(docket.casing, unit))
    return table("bones", rows, ("where", "how_many", "bone", "channel"), right=(1, 2, 3), foot=foot)


def _where(bone: Bone) -> str:
    return bone.where if bone.side == "both" else f"{bone.where}, {bone.side}"


def _closing(docket: Docket, unit: str) -> dict[str, Any] | None:
    if docket.fastening.kind == "none":
        return None
    rows: list[tuple[str, str]] = []
    for f in docket.fastenings:
        rows.append((say("closing.edge"), ", ".join(dict.fromkeys(shown(e, unit) for e in f.edges))))
        apart = say("closing.apart", n=f.count, length=shown(f.spacing, unit))
        match f.kind:
            case "zip":
                rows.append((say("closing.zip"), shown(f.zip, unit)))
            case "busk" | "elastic":
                rows.append((say(f"docket.closes.{f.kind}"), shown(f.zip, unit)))
            case "hooks":
                rows.append((say("closing.hooks"), apart))
            case "buttons":
                rows.append((say("docket.closes.buttons"), apart))
            case _:
                twice = say("closing.apart", n=2 * f.count, length=shown(f.spacing, unit))
                rows.append((say("closing.eyelets"), twice))
                rows.append((say("closing.cord"), shown(f.cord, unit)))
    return table("closing", rows, ("what", "how_much"))


def _thread(docket: Docket, unit: str) -> dict[str, Any] | None:
    t = docket.thread
    rows = [
        (n.what, n.stitch, shown(n.sewn, unit), millimetres(n.thickness), f"{n.ratio:.2f}", f"{n.thread / 1000:.1f} m")
        for n in t.lines
    ]
    foot = say(
        "table.thread.all", wastage=t.wastage, metres=f"{t.total / 1000:.1f}", spools=_counted("table.spools", t.spools)
    )
    head = ("sewing", "stitch", "seam", "thickness", "ratio", "thread")
    return table("thread", rows, head, right=(2, 3, 4, 5), foot=foot)


def _amounts(name: str, lines: Sequence[Amount], docket: Docket) -> dict[str, Any] | None:
    price = docket.price
    rows = []
    for a in lines:
        unit = {"each": "", "h": " h"}.get(a.unit, f" {a.unit}")
        what = TABLES["hours"].key(a.what).says if a.unit == "h" else a.what
        row = [what, f"{number(a.quantity, docket.locale)}{unit}"]
        if price is not None:
            row.append(say("value.none") if a.rate is None else rate(a.rate, price.currency, docket.locale))
            row.append("—" if a.cost is None else money(a.cost, price.currency, docket.locale))
        rows.append(row)
    head = ("what", "how_much") if price is None else ("what", "how_much", "rate", "cost")
    total = sum((a.quantity for a in lines), Decimal(0))
    foot = say("table.hours.all", hours=number(total, docket.locale)) if name == "hours" else None
    return table(name, rows, head, right=range(1, len(head)), foot=foot)


def _price(docket: Docket) -> dict[str, Any] | None:
    p = docket.price
    if p is None:
        return None
    locale = docket.locale
    lines: list[tuple[str, Decimal]] = [
        (say("price.materials"), p.materials),
        (say("price.labour"), p.labour),
        (say("price.overhead", percent=percent(p.overhead_percent, locale)), p.overhead),
        (say("price.cost"), p.cost),
        (say("price.margin", percent=percent(p.margin_percent, locale)), p.margin),
        (say("price.net"), p.net),
        (f"{docket.tax_name} {percent(p.tax_percent, locale)}", p.tax),
        (say("price.total"), p.total),
    ]
    rows = [(what, money(amount, p.currency, locale)) for what, amount in lines]
    return table("price", rows, ("what", "how_much"), right=(1,), foot=say("price.rounded", currency=p.currency))
