"""Reading how a bodice is made: build, cloths, money, and the maker's shelf. An order and a house say it alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from coutil.order.build_keys import MADE_LISTED
from coutil.order.costs import Money, Notions
from coutil.order.model import BoneBuild, Build, Cloth, Kit, Lace, Lining, PadBuild, Style
from coutil.order.reading import MOST_LISTED, Reading
from coutil.order.shelf import BoneKind, EyeletKind, Maker, ReadyCup, Shelf, Wire
from coutil.seaming import SIDE
from coutil.words import Length


def carrying(layers: tuple[str, ...]) -> tuple[str, ...]:
    """What carries pads and bones where nothing is said: the strength layer, without one the shell."""
    return ("strength",) if "strength" in layers else ("shell",)


class MadeReading(Reading):
    """One reading of the tables that an order and a house share."""

    def build(self, document: Mapping[str, Any], style: Style) -> Build:
        """How it is made. A zip has the kit's allowance where the order tells none for the edge that it closes."""
        given = self.inner("", document, "build")
        got = self.table("build", given)
        layers = got.get("layers", Build().layers)
        if "shell" not in layers:
            self.problem("build", "layers", given.get("layers"), "no_shell")
        pad_in = self.inner("build", given, "pad")
        pad = PadBuild(**{"on": carrying(layers), **self.table("build.pad", pad_in)})
        lining = None
        if "lining" in given:
            lining = Lining(**self.table("build.lining", self.inner("build", given, "lining")))
        kit = None
        if "kit" in given:
            kit = Kit(**self.table("build.kit", self.inner("build", given, "kit")))
        of = "usual" if kit is None else kit.facing_of
        if (of == "lining" and lining is None) or (of == "strength" and "strength" not in layers):
            self.problem("build.kit", "facing_of", of, f"no_{of}")
        bones_in = self.inner("build", given, "bones")
        bones = BoneBuild(**{"on": carrying(layers), **self.table("build.bones", bones_in)})
        for table, here, named in (("build.pad", pad_in, pad.on), ("build.bones", bones_in, bones.on)):
            if "lining" in named and lining is None:
                self.problem(table, "on", here.get("on"), "no_lining")
            if "strength" in named and "strength" not in layers:
                self.problem(table, "on", here.get("on"), "no_strength")
        if pad.thickness is None and "thickness" not in pad_in:
            if style.foam_ease:
                self.problem("style", "foam_ease", True, "no_thickness")
            if lining is not None and lining.smaller:
                self.problem("build.lining", "smaller", True, "no_thickness")
        allowances = self.table("build.allowances", self.inner("build", given, "allowances"))
        for opening in style.opens if kit is not None else ():
            if kit is not None and opening.closed_with == "zip":
                allowances.setdefault(SIDE if opening.side else opening.at, kit.zip_allowance)
        lace = Lace(**self.table("build.lace", self.inner("build", given, "lace")))
        return replace(Build(pad=pad, lining=lining, lace=lace, kit=kit, bones=bones, allowances=allowances), **got)

    def shelf(self, document: Mapping[str, Any]) -> Shelf:
        """Bones, eyelets, cups and wires that are kept."""
        bones = []
        for got in self.entries("bone", document):
            if "for" in got:
                got["places"] = got.pop("for")
            bones.append(BoneKind(**got))
        return Shelf(
            bones=tuple(bones),
            eyelets=tuple(EyeletKind(**got) for got in self.entries("eyelet", document)),
            cups=tuple(ReadyCup(**got) for got in self.entries("cup", document)),
            wires=tuple(Wire(**got) for got in self.entries("wire", document)),
        )

    def entries(self, name: str, document: Mapping[str, Any]) -> list[dict[str, Any]]:
        """The sound entries of a list at the top of a file; what is wrong with the others is told."""
        out = []
        for number, entry in enumerate(self.listed("", document, name), start=1):
            before = len(self.problems)
            got = self.table(name, entry, f"{name} {number}")
            if len(self.problems) == before:
                out.append(got)
        return out

    def maker(self, document: Mapping[str, Any]) -> Maker:
        return Maker(**self.table("maker", self.inner("", document, "maker")))

    def cloths(self, document: Mapping[str, Any]) -> tuple[Cloth, ...]:
        given = document.get("cloth", [])
        if not isinstance(given, list) or not all(isinstance(c, dict) for c in given):
            self.problem("", "cloth", given, "cloth_not_listed")
            return ()
        if len(given) > MOST_LISTED:
            self.problem("", "cloth", given, "too_many_cloths", most=MOST_LISTED)
            return ()
        out = []
        for number, entry in enumerate(given, start=1):
            before = len(self.problems)
            header = f"cloth {number}"
            got = self.table("cloth", entry, header)
            self.currency(header, got.get("currency"))
            if "price" in got and "currency" not in entry:
                self.problem(header, "price", entry["price"], "no_currency")
            width, selvedge = got.get("width"), got.get("selvedge")
            if width is not None and selvedge is not None and 2 * selvedge >= width:
                self.problem(header, "selvedge", entry["selvedge"], "wide_selvedge", width=Length(width, "both"))
            if len(self.problems) == before:
                got["layers"] = got.pop("for")
                out.append(Cloth(**got))
        return tuple(out)

    def money(self, document: Mapping[str, Any], cloth: tuple[Cloth, ...], shelf: Shelf) -> tuple[Money, Notions]:
        """The rates and the notions; all amounts of the order must be in one known currency."""
        before = len(self.problems)
        given = self.inner("", document, "money")
        priced = self.inner("", document, "notions")
        got, notions = self.table("money", given), self.table("notions", priced)
        self.currency("money", got.get("currency"))
        self.locale(got.get("locale"))
        if not got.get("tax_name", "tax").strip():
            self.problem("money", "tax_name", got["tax_name"], "empty_tax_name")
        if len(self.problems) > before:
            return Money(), Notions()
        codes = dict.fromkeys(c.currency for c in cloth if c.currency is not None)
        own = got.get("currency") or next(iter(codes), None)
        for code in codes:
            if code != own:
                self.problem("cloth", "currency", code, "two_currencies", own=own)
        needs = [("money", "hour")] if "hour" in got else []
        needs += [("notions", key) for key in notions if key.endswith("_price")]
        needs += [
            (f"{name} {n}", "price")
            for name, kept in zip(MADE_LISTED, shelf.prices, strict=True)
            for n, price in enumerate(kept, start=1)
            if price is not None
        ]
        if own is None and needs:
            table, key = needs[0]
            value = given[key] if table == "money" else priced.get(key)
            self.problem(table, key, value, "no_currency_at_all")
        return Money(**got), Notions(**notions)
