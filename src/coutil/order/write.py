"""Write an order as the file that reads back to the very same order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal
from typing import Any

from coutil.body import REQUIRED
from coutil.order.build_keys import MADE_LISTED
from coutil.order.costs import Hours, Money, Notions
from coutil.order.keys import TABLES
from coutil.order.model import VERSION, BoneBuild, Build, Cloth, Ease, Kit, Lace, Lining, Order, PadBuild, Style
from coutil.order.own import OwnPattern
from coutil.order.own_write import own_table
from coutil.order.read import BESIDE_OWN, parse_order
from coutil.order.read_made import carrying
from coutil.order.refusal import OrderError
from coutil.order.shelf import BoneKind, EyeletKind, Maker, ReadyCup, Wire
from coutil.seaming import GAPPED, Opening, Seaming, ToldSeam, told_seams
from coutil.units import plain_number


def write_order(order: Order) -> str:
    """The order file of an order, in its own unit: only what differs from the defaults, and all that was measured.

    `parse_order` of it gives an equal order. What was drawn from a standard size is not written, but the size is.
    Raises OrderError for a body that no order file can say: one that `standard_body` made of more than bust and cup.
    """
    # Only writing needs it, and it is slow to import.
    import tomlkit

    if any(key in order.body.assumed for key in REQUIRED if key in order.body.needed):
        raise OrderError("standard_is_no_reading")
    unit = order.unit
    doc = tomlkit.document()
    doc.add("coutil", tomlkit.item(VERSION))
    doc.add("name", tomlkit.item(order.name))
    doc.add("unit", tomlkit.item(unit))

    client = {k: v for k, v in (("label", order.client.label), ("note", order.client.note)) if v}
    left, right = order.body.measured_sides()
    sides = {k: _lengths(v, unit) for k, v in (("left", left), ("right", right)) if v}
    body: dict[str, Any] = {**_lengths(order.body.measured(), unit), **sides}
    if order.body.confirmed:
        body["confirmed"] = True
    if (standard := order.body.standard) is not None:
        body["standard"] = {"bust": _length(standard.bust, unit), "cup": standard.cup}
        if standard.as_asked:
            body["standard"]["as_asked"] = True
    style = _changed(order.style, Style(), "style", unit)
    if ease := _changed(order.style.ease, Ease(), "style.ease", unit):
        style["ease"] = ease
    if order.style.openings:
        style["opening"] = [_opening(o, unit) for o in order.style.openings]
    if order.style.own is not None:
        style["seam"] = [seam_table(s) for s in told_seams(order.style.own)]
    build = _build(order.build, unit)

    own = {} if order.pattern is None else own_table(order.pattern, lambda mm: _length(mm, unit))
    tables = (("client", client), ("body", body), ("style", style), ("pattern", own), ("build", build))
    for name, table in tables:
        if table:
            doc.add(tomlkit.nl())
            doc.add(name, tomlkit.item(table))
    shelf = order.shelf
    kept = (order.cloth, shelf.bones, shelf.eyelets, shelf.cups, shelf.wires)
    for name, entries in zip(("cloth", *MADE_LISTED), kept, strict=True):
        if entries:
            listed = tomlkit.aot()
            for entry in entries:
                listed.append(tomlkit.item(_entry(name, entry, unit)))
            doc.add(tomlkit.nl())
            doc.add(name, listed)
    for name, value, default in (
        ("money", order.money, Money()),
        ("hours", order.hours, Hours()),
        ("notions", order.notions, Notions()),
        ("maker", order.maker, Maker()),
    ):
        if changed := _changed(value, default, name, unit):
            doc.add(tomlkit.nl())
            doc.add(name, tomlkit.item(changed))
    return tomlkit.dumps(doc)


def with_own(text: str, own: OwnPattern) -> str:
    """The text of an order with this pattern; all else, remarks too, as it was. A style that only a draft has goes.

    Raises OrderError for a text that is no order, or that cannot hold this pattern.
    """
    import tomlkit

    was = parse_order(text)
    document: Any = tomlkit.parse(text)
    table = own_table(own, lambda mm: _length(mm, was.unit))
    if was.pattern is None:
        style = document.get("style", {})
        for key in [k for k in style if k not in BESIDE_OWN]:
            del style[key]
    if was.pattern is not None and was.pattern.file == own.file:
        # What she wrote about it stays as she wrote it.
        document["pattern"]["drawing"] = table["drawing"]
    else:
        document["pattern"] = table
    out: str = tomlkit.dumps(document)
    if parse_order(out).pattern != own:
        raise OrderError("not_exact")
    return out


def with_upper(text: str, upper: float) -> str:
    """The text of an order with this `[style] upper`; all else, remarks too, as it was.

    Raises OrderError for a text that is no order.
    """
    import tomlkit

    parse_order(text)
    document: Any = tomlkit.parse(text)
    if "style" not in document:
        document["style"] = tomlkit.table()
    document["style"]["upper"] = _short(round(upper, 3))
    out: str = tomlkit.dumps(document)
    parse_order(out)
    return out


def _changed(value: Any, default: Any, table: str, unit: str) -> dict[str, Any]:
    """The keys of `table` whose value is not the default's, as they are written."""
    out: dict[str, Any] = {}
    for key in TABLES[table].keys:
        v = getattr(value, key.name)
        if v != getattr(default, key.name):
            out[key.name] = _plain(key.kind, v, unit)
    return out


def _opening(opening: Opening, unit: str) -> dict[str, Any]:
    out: dict[str, Any] = {"at": opening.at, "with": opening.closed_with}
    if opening.closed_with in GAPPED:
        out["gap"] = _length(opening.gap, unit)
    if opening.closed_with == "elastic":
        out["drawn"] = _short(opening.drawn)
    return out


def seam_table(told: ToldSeam) -> dict[str, Any]:
    """A seam of one's own as its table in an order."""
    out: dict[str, Any] = {"name": told.name, "role": told.role}
    if told.at is not None:
        out["at"] = _short(told.at)
    out.update(near=_plain("parts", told.near, ""), far=_plain("parts", told.far, ""))
    if told.cup:
        out["cup"] = True
    if not told.boned:
        out["boned"] = False
    return out


def _build(made: Build, unit: str) -> dict[str, Any]:
    """How it is made. What carries pads and bones where nothing is said hangs on the layers."""
    build = _changed(made, Build(), "build", unit)
    if made.allowances:
        build["allowances"] = _lengths(made.allowances, unit)
    on = carrying(made.layers)
    for name, value, default in (
        ("pad", made.pad, PadBuild(on=on)),
        ("lace", made.lace, Lace()),
        ("bones", made.bones, BoneBuild(on=on)),
    ):
        if changed := _changed(value, default, f"build.{name}", unit):
            build[name] = changed
    # These two are made by being there.
    if made.lining is not None:
        build["lining"] = {"fused": made.lining.fused, **_changed(made.lining, Lining(), "build.lining", unit)}
    if made.kit is not None:
        build["kit"] = _changed(made.kit, Kit(), "build.kit", unit)
    return build


# Keys of lists that an entry holds under another name.
_HELD = {("cloth", "for"): "layers", ("bone", "for"): "places"}
_ENTRIES = {"cloth": Cloth, "bone": BoneKind, "eyelet": EyeletKind, "cup": ReadyCup, "wire": Wire}


def _entry(table: str, entry: Any, unit: str) -> dict[str, Any]:
    """One entry of a list: what is needed, and what differs from what is usual."""
    defaults = {f.name: f.default for f in fields(_ENTRIES[table])}
    out: dict[str, Any] = {}
    for key in TABLES[table].keys:
        name = _HELD.get((table, key.name), key.name)
        v = getattr(entry, name)
        if v != defaults[name]:
            out[key.name] = _plain(key.kind, v, unit)
    return out


def _plain(kind: str, value: Any, unit: str) -> Any:
    match kind:
        case "length":
            return _length(value, unit)
        case "pair" | "lengths":
            return [_length(v, unit) for v in value]
        case "pairs":
            return [[_length(v, unit) for v in pair] for pair in value]
        case "choices":
            return list(value)
        case "money":
            # As text, so that no float comes between.
            return f"{Decimal(value):f}"
        case "percent" | "part":
            return _short(value)
        case "parts":
            return [_short(part) for part in (value.underbust, value.waist, value.high_hip)]
        case "choice" if isinstance(value, Seaming):
            return value.name
        case "decimal":
            # At most 2 decimals: the float's shortest text is the decimal again.
            return _short(float(value))
    return value


def _lengths(values: Mapping[str, float], unit: str) -> dict[str, Any]:
    return {key: _length(mm, unit) for key, mm in values.items()}


def _length(mm: float, unit: str) -> float | int | str:
    number = plain_number(mm, unit)
    return number if isinstance(number, str) else _short(number)


def _short(number: float) -> float | int:
    return int(number) if number == int(number) else number
