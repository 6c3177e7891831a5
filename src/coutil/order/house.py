"""The house: what is the maker's and not the order's, said once. Orders take from it, win over it, and can keep it.

A house file has the order's own tables for how things are made, with two of its own: [rates] are the order's [money],
and [ease.lacing], [ease.zip] and so on are the eases of a bodice that closes so. What a house says is held as tables
of an order in which every length bears its unit; laid under an order's own tables they fill what that leaves out.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from coutil.order.build_keys import BUILD_TABLES, MADE_LISTED
from coutil.order.key import Key
from coutil.order.keys import TABLES
from coutil.order.model import Style
from coutil.order.read_made import MadeReading
from coutil.order.refusal import OrderError
from coutil.order.spot import one_line
from coutil.order.value import read_value
from coutil.seaming import CLOSINGS
from coutil.words import Refusal

# The version of the house file that this coutil reads and writes.
VERSION: Final = 1
# The house's name of a table of the order, and that table's.
SHARED: Final = {"maker": "maker", "rates": "money", "hours": "hours", "notions": "notions"}
# Tables inside the order's [build] that make a thing by being there.
_BY_HEADER: Final = ("lining", "kit")
_PRICES: Final = ("price", "currency")


@dataclass(frozen=True, slots=True)
class House:
    """A house that was read: `tables` as an order has them, lengths as texts with their unit, and eases by closing."""

    tables: Mapping[str, Any] = field(default_factory=dict, hash=False)
    ease: Mapping[str, Mapping[str, str]] = field(default_factory=dict, hash=False)

    @property
    def stamp(self) -> dict[str, Any]:
        """The house as it stands in a file, without the unit that it no longer needs."""
        own = {v: k for k, v in SHARED.items()}
        out: dict[str, Any] = {"coutil_house": VERSION}
        out |= {own.get(name, name): table for name, table in self.tables.items()}
        if self.ease:
            out["ease"] = dict(self.ease)
        return out

    @property
    def currency(self) -> str | None:
        found: str | None = self.tables.get("money", {}).get("currency")
        return found or next((c["currency"] for c in self.tables.get("cloth", ()) if "currency" in c), None)


def house_of(document: Any, source: str, *, stamped: bool = False) -> House:
    """Check what stands in a house file, or in the stamp of an order; raises OrderError and nothing else."""
    if not isinstance(document, dict):
        raise OrderError.of(Refusal("order.a_table", {"header": "house"}, source=(source,)))
    return _HouseReading(source, "house." if stamped else "").house(document)


class _HouseReading(MadeReading):
    """One reading of a house; `before` is what the names of its tables bear before them."""

    def __init__(self, source: str, before: str) -> None:
        super().__init__(source)
        self.before = before

    def house(self, document: Mapping[str, Any]) -> House:
        self.counted_in(document)
        known = {"coutil_house", "unit", "ease", "build", "cloth", *SHARED, *MADE_LISTED}
        for key in document:
            if key not in known:
                self.problem("", key, None, "not_in_a_house", known=", ".join(sorted(known)))
        if document.get("coutil_house", VERSION) != VERSION or isinstance(document.get("coutil_house"), bool):
            self.problem("", "coutil_house", document["coutil_house"], "version")
        unit = document.get("unit", "cm")
        if unit not in TABLES[""].key("unit").choices:
            self.problem("", "unit", unit, "choice", allowed=TABLES[""].key("unit").allowed)
        renamed = {SHARED.get(name, name): table for name, table in document.items()}
        self.build(renamed, Style())
        self.money(renamed, self.cloths(renamed), self.shelf(renamed))
        self.maker(renamed)
        self.table("hours", self.inner("", renamed, "hours"))
        eases = self.inner("", document, "ease")
        for closing in eases:
            if closing not in CLOSINGS:
                self.problem("ease", closing, None, "no_such_closing", known=", ".join(CLOSINGS))
            else:
                self.table("style.ease", self.inner("ease", eases, closing), f"ease.{closing}")
        if self.problems:
            raise self.error()
        tables = {
            name: self._spelt(name, renamed[name])
            for name in (*SHARED.values(), "build", "cloth", *MADE_LISTED)
            if name in renamed
        }
        return House(tables, {closing: self._table("style.ease", table) for closing, table in eases.items()})

    def _spelt(self, name: str, value: Any) -> Any:
        if isinstance(value, list):
            return [self._table(name, entry) for entry in value]
        return self._table(name, value)

    def _table(self, name: str, given: Mapping[str, Any]) -> dict[str, Any]:
        keys = {k.name: k for k in TABLES[name].keys}
        out: dict[str, Any] = {}
        for key, value in given.items():
            if key in keys:
                out[key] = spelt(keys[key], value, self.unit)
            else:
                out[key] = self._table(f"{name}.{key}", value)
        return out

    def wrong(self, table: str, key: str | None, value: Any, refusal: Refusal) -> None:
        own = {v: k for k, v in SHARED.items()}
        super().wrong(self.before + own.get(table, table), key, value, refusal)


def spelt(key: Key, value: Any, unit: str) -> Any:
    """A value that was checked, its lengths as texts in mm that read back to the very same."""
    read = read_value(key, value, unit)
    match key.kind:
        case "length":
            return f"{read!r} mm"
        case "pair" | "lengths":
            return [f"{v!r} mm" for v in read]
        case "pairs":
            return [[f"{v!r} mm" for v in pair] for pair in read]
        case "money":
            return f"{Decimal(read):f}"
    return value


def parsed_by(text: str) -> House:
    """The house of a text that coutil wrote itself; raises OrderError."""
    return house_of(tomllib.loads(text), "house")


def under(document: Mapping[str, Any], house: House) -> dict[str, Any]:
    """The order's document with all that it leaves out from the house; what it says itself stays.

    The house's prices are left out of an order that counts in another currency. Its lining and its kit are taken by an
    order that says nothing of how it is made; one with a [build] of its own says which of them it has.
    """
    out = dict(document)
    tables = dict(house.tables)
    own = _currency(document)
    if own is not None and house.currency is not None and own != house.currency:
        tables = {name: _unpriced(name, table) for name, table in tables.items()}
    for name in ("maker", "money", "hours", "notions"):
        _fill(out, name, tables.get(name, {}))
    if "build" in tables:
        had = "build" in document
        build = {
            k: v
            for k, v in tables["build"].items()
            if not (had and k in _BY_HEADER and k not in _mapping(document["build"]))
        }
        _fill(out, "build", build)
    for name in MADE_LISTED:
        if name in tables and name not in out:
            out[name] = tables[name]
    if "cloth" in tables:
        out["cloth"] = _cloths(out.get("cloth", []), tables["cloth"])
    if house.ease and "pattern" not in document:
        style = _mapping(document.get("style", {}))
        ease = house.ease.get(_closing(style), {})
        if ease and isinstance(style.get("ease", {}), dict):
            out["style"] = {**style, "ease": {**ease, **style.get("ease", {})}}
    return out


def _fill(out: dict[str, Any], name: str, given: Mapping[str, Any]) -> None:
    """Put the keys of a table of the house where the order says nothing; tables inside it likewise."""
    there = out.get(name, {})
    if not isinstance(there, dict) or not given:
        return
    merged = dict(there)
    for key, value in given.items():
        if isinstance(value, dict):
            _fill(merged, key, value)
            if key not in merged:
                merged[key] = value
        else:
            merged.setdefault(key, value)
    out[name] = merged


def _cloths(own: Any, kept: list[dict[str, Any]]) -> Any:
    """The order's cloths and, for layers that none of them is for, the house's."""
    if not isinstance(own, list) or not all(isinstance(c, dict) and isinstance(c.get("for"), list) for c in own):
        return own
    served = {layer for c in own for layer in c["for"] if isinstance(layer, str)}
    out = list(own)
    for cloth in kept:
        layers = [x for x in cloth["for"] if x not in served]
        if layers:
            out.append({**cloth, "for": layers})
            served.update(layers)
    return out


def _currency(document: Mapping[str, Any]) -> Any:
    money = _mapping(document.get("money", {}))
    cloths = document.get("cloth", [])
    codes = [c.get("currency") for c in cloths if isinstance(c, dict)] if isinstance(cloths, list) else []
    return money.get("currency") or next((c for c in codes if c), None)


def _unpriced(name: str, table: Any) -> Any:
    if isinstance(table, list):
        return [{k: v for k, v in entry.items() if k not in _PRICES} for entry in table]
    kinds = {k.name: k.kind for k in TABLES[name].keys}
    return {k: v for k, v in table.items() if kinds.get(k) != "money" and k != "currency"}


def _closing(style: Mapping[str, Any]) -> str:
    """What closes the centre back of an order's style, before it is checked."""
    openings = style.get("opening", [])
    for one in openings if isinstance(openings, list) else ():
        if isinstance(one, dict) and one.get("at") == "centre_back":
            return str(one.get("with", ""))
    return str(style.get("closing", Style().closing))


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def stamped(text: str, house: House) -> str:
    """The text of an order that bears the house as it is now, so that a later change of the house leaves it as it is.

    Remarks stay; an order that bears a stamp keeps it. Raises OrderError for a text that is no TOML.
    """
    import tomlkit
    from tomlkit.exceptions import ParseError

    try:
        document: Any = tomlkit.parse(text)
    except ParseError as e:
        raise OrderError("not_toml", why=one_line(str(e))) from None
    if "house" in document:
        return text
    document.append("house", tomlkit.item(house.stamp))
    out: str = tomlkit.dumps(document)
    return out


def house_text(house: House) -> str:
    """A house as the text of a house file, without remarks; `parse_house` gives an equal one."""
    import tomlkit

    out: str = tomlkit.dumps(house.stamp)
    return out


# The tables of a house file in the order in which they are written, each with the order's table that has its keys.
HOUSE_TABLES: Final = (
    ("maker", "maker"),
    ("rates", "money"),
    ("hours", "hours"),
    *((t.name, t.name) for t in BUILD_TABLES),
    *((f"ease.{c}", "style.ease") for c in CLOSINGS),
    ("notions", "notions"),
)
HOUSE_LISTS: Final = ("cloth", *MADE_LISTED)
