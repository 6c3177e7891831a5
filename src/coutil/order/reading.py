"""The reading of one file: tables and keys by the table of keys, and the problems, collected and raised together."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any, Final

from coutil.order.key import Table
from coutil.order.keys import LISTED, TABLES
from coutil.order.refusal import OrderError, WrongError
from coutil.order.spot import Here, Spot
from coutil.order.value import read_value, shown
from coutil.words import Refusal

# More problems than this are not worth reading; the rest is counted.
_SHOWN: Final = 20
# More entries of one list than this are a slip.
MOST_LISTED: Final = 100


class Reading:
    """One reading: collects problems as it goes; `unit` is that of plain numbers."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.problems: list[Refusal] = []
        self.unit = "cm"

    def counted_in(self, document: Mapping[str, Any]) -> None:
        """Take the unit of plain numbers from the top of a file, where it is one."""
        unit = document.get("unit", "cm")
        if isinstance(unit, str) and unit in TABLES[""].key("unit").choices:
            self.unit = unit

    def error(self) -> OrderError:
        rest = len(self.problems) - _SHOWN
        more = (Refusal("order.more", {"count": rest}, source=(self.source,)),) if rest > 0 else ()
        return OrderError.of(*self.problems[:_SHOWN], *more)

    def currency(self, header: str, code: str | None) -> None:
        if code is None:
            return
        if not re.fullmatch("[A-Z]{3}", code):
            self.problem(header, "currency", code, "currency_capitals")
            return
        # Only an order with prices needs it.
        from babel.numbers import is_currency

        if not is_currency(code):
            self.problem(header, "currency", code, "no_such_currency")

    def locale(self, name: str | None) -> None:
        if name is None:
            return
        from babel import Locale, UnknownLocaleError

        try:
            Locale.parse(name)
        except (UnknownLocaleError, ValueError, TypeError):
            self.problem("money", "locale", name, "no_such_locale")

    def listed(self, outer: str, given: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
        """The tables under [[outer.name]]; empty, with a problem told, if what stands there is something else."""
        value = given.get(name, [])
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            self.problem(outer, name, value, "not_listed", header=f"{outer}.{name}" if outer else name)
            return []
        if len(value) > MOST_LISTED:
            self.problem(outer, name, value, "too_many", most=MOST_LISTED)
            return []
        return value

    def inner(self, outer: str, given: Mapping[str, Any], name: str) -> Mapping[str, Any]:
        """The table `name` inside `outer`; empty, with a problem told, if what stands there is no table."""
        value = given.get(name, {})
        if isinstance(value, dict):
            return value
        full = f"{outer}.{name}" if outer else name
        self.problem(outer, name, value, "a_table", header=full)
        return {}

    def table(
        self,
        name: str,
        given: Mapping[str, Any],
        header: str | None = None,
        *,
        needed: Collection[str] | None = None,
    ) -> dict[str, Any]:
        """The checked values of a table by key; what is wrong with it is told and left out.

        `needed` are the keys that must be there; None: those that always must.
        """
        table = TABLES[name]
        header = name if header is None else header
        known = {k.name: k for k in table.keys}
        out: dict[str, Any] = {}
        for key, value in given.items():
            if key in known:
                try:
                    out[key] = read_value(known[key], value, self.unit)
                except WrongError as e:
                    self.wrong(header, key, value, e.refusal)
            elif key not in table.inner:
                self.wrong(header, key, value, self.unknown(table, key))
        for k in table.keys:
            if (k.required if needed is None else k.name in needed) and k.name not in given:
                code = "missing_reading" if name == "body" else "missing"
                self.problem(header, k.name, None, code, says=k.says, allowed=k.allowed)
        out.pop("coutil", None)
        return out

    def unknown(self, table: Table, key: str) -> Refusal:
        if len(self.problems) >= _SHOWN:
            # Will not be shown; a file of ten thousand wrong keys must not cost ten thousand searches.
            return Refusal("order.no_such_key_here")
        names = [k.name for k in table.keys] + list(table.inner)
        close = difflib.get_close_matches(key[:60].lower(), names, n=1, cutoff=0.0)[0]
        elsewhere = [t.name for t in TABLES.values() if t is not table and any(k.name == key for k in t.keys)]
        full = f"{table.name}.{close}" if table.name else close
        args: dict[str, Any] = {"nearest": Here(full), "known": tuple(names)}
        if elsewhere:
            return Refusal("order.no_such_key_but_elsewhere", {**args, "table": elsewhere[0]})
        return Refusal("order.no_such_key", args)

    def problem(self, table: str, key: str | None, value: Any, code: str, /, **args: Any) -> None:
        """Note what is wrong by its code; see `wrong`."""
        self.wrong(table, key, value, Refusal(f"{OrderError.room}.{code}", args))

    def wrong(self, table: str, key: str | None, value: Any, refusal: Refusal) -> None:
        """Note a refusal of what stands at a key of a table, "NAME NUMBER" for an entry of a list."""
        name, _, number = table.partition(" ")
        listed = int(number) if number and name in LISTED else 0
        spot = Spot(name if listed else table, key, listed, "" if value is None else shown(value))
        self.problems.append(replace(refusal, place=spot, source=(self.source,)))
