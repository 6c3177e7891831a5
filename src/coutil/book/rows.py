"""The rows of a whole book as plain data, and what makes them sound: one judge for the database and for files."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final, get_args

from sqlalchemy import Date, Integer, Table, select
from sqlalchemy.engine import Connection

from coutil.book.changes import all_changes, from_json
from coutil.book.edits import searched
from coutil.book.errors import BookError
from coutil.book.model import Fault, How
from coutil.book.store import moment
from coutil.book.tables import ALL, clients, orders, settings, tapes, versions
from coutil.book.texts import fold, read, require_client
from coutil.order import Order

Rows = dict[str, list[dict[str, Any]]]
# The largest whole number that both databases keep in an INTEGER column: PostgreSQL's has 32 bits.
_LARGEST_NUMBER: Final = 2**31 - 1
_UID: Final = re.compile(r"[0-9a-f]{32}")
_TIMES: Final = ("made_at", "changed_at")


def all_rows(c: Connection, *, client_id: int | None = None) -> Rows:
    """Every row of the book, dates as text; or what belongs to one client."""
    found: Rows = {}
    for table in ALL:
        query = select(table).order_by(*table.primary_key.columns)
        if client_id is not None:
            hers = select(orders.c.id).where(orders.c.client_id == client_id)
            match table.name:
                case "clients":
                    query = query.where(clients.c.id == client_id)
                case "versions":
                    query = query.where(versions.c.order_id.in_(hers))
                case "settings":
                    continue
                case _:
                    query = query.where(table.c.client_id == client_id)
        found[table.name] = [_plain(dict(r)) for r in c.execute(query).mappings()]
    return found


def row_faults(table: Table, row: Any) -> Iterator[str]:
    """What keeps a row that came from a file from being a row of this table."""
    if not isinstance(row, dict) or set(row) != {c.name for c in table.columns}:
        yield "does not have the columns of the table"
        return
    for column in table.columns:
        value = row[column.name]
        if value is None:
            fine = bool(column.nullable)
        elif isinstance(column.type, Integer):
            fine = type(value) is int and 1 <= value <= _LARGEST_NUMBER
        elif isinstance(column.type, Date):
            fine = isinstance(value, str) and _is_day(value)
        elif column.name in ("uid", "tape_uid"):
            fine = isinstance(value, str) and _UID.fullmatch(value) is not None
        else:
            # Neither a zero byte nor half a sign can be kept in both databases.
            fine = isinstance(value, str) and "\0" not in value and _is_whole(value)
        if not fine:
            yield f"{column.name} is not what the column holds"


def faults(rows: Rows) -> Iterator[Fault]:
    """What is unsound in the rows of a book; they must have passed `row_faults`, or come from a database."""
    judge = _Judge()
    people = {r["id"] for r in rows["clients"]}
    for table in (clients, tapes, orders):
        for name in ("id", "uid"):
            seen = [r[name] for r in rows[table.name]]
            if len(set(seen)) != len(seen):
                yield Fault(table.name, f"the same {name} stands there twice")
    for r in rows["clients"]:
        yield from judge.client(r)
    for r in rows["tapes"]:
        yield from judge.tape(r, people)
    chains: dict[int, list[dict[str, Any]]] = {}
    for v in rows["versions"]:
        chains.setdefault(v["order_id"], []).append(v)
    for r in rows["orders"]:
        yield from judge.order(r, people, chains.pop(r["id"], []))
    for order_id in chains:
        yield Fault(f"order {order_id}", "has versions but is not in the book")
    names = [r["name"] for r in rows["settings"]]
    if len(set(names)) != len(names):
        yield Fault(settings.name, "the same name stands there twice")


@dataclass
class _Judge:
    """Remembers the texts that it has read: most versions are read twice, as themselves and as a parent."""

    read: dict[str, Order | None] = field(default_factory=dict)

    def client(self, row: Mapping[str, Any]) -> Iterator[Fault]:
        where = f"client {row['id']}"
        try:
            require_client(row["label"], row["note"], may_be_nameless=True)
        except BookError as e:
            yield Fault(where, str(e))
        if row["find"] != fold(row["label"], row["note"]):
            yield Fault(where, "what it is found by differs from label and note")
        yield from self.times(where, row)

    def tape(self, row: Mapping[str, Any], people: set[int]) -> Iterator[Fault]:
        where = f"tape {row['id']}"
        if row["client_id"] not in people:
            yield Fault(where, f"belongs to client {row['client_id']}, who is not in the book")
        if self.order_of(row["text"]) is None:
            yield Fault(where, "its text cannot be read")
        yield from self.times(where, row)

    def order(self, row: Mapping[str, Any], people: set[int], chain: list[dict[str, Any]]) -> Iterator[Fault]:
        where = f"order {row['id']}"
        if row["client_id"] not in people:
            yield Fault(where, f"belongs to client {row['client_id']}, who is not in the book")
        if not _is_typed(row["typed"]):
            yield Fault(where, "what was typed cannot be read")
        yield from self.times(where, row)
        by_number = {v["number"]: v for v in chain}
        if sorted(v["number"] for v in chain) != list(range(1, len(chain) + 1)):
            yield Fault(where, "its versions are not numbered from 1 without a gap")
        for v in chain:
            yield from self.version(where, v, by_number)
        if row["edit"] < len(chain):
            yield Fault(where, f"has {len(chain)} versions but only {row['edit']} edits")
        now = by_number.get(row["current"])
        if now is None:
            yield Fault(where, f"its current version {row['current']} is missing")
            return
        says = self.order_of(now["text"])
        if says is not None and (row["name"], row["find"]) != (says.name, searched(says)):
            yield Fault(where, "its name in the list differs from its text")
        if row["due"] != now["due"]:
            yield Fault(where, "its due date in the list differs from its current version's")

    def version(self, order: str, v: Mapping[str, Any], by_number: Mapping[int, Mapping[str, Any]]) -> Iterator[Fault]:
        where = f"{order}, version {v['number']}"
        yield from self.times(where, v)
        if v["how"] not in get_args(How):
            yield Fault(where, "how it came to be is not known")
        try:
            said = from_json(v["changes"])
        except (ValueError, TypeError, RecursionError):
            yield Fault(where, "what changed cannot be read")
            said = None
        if (v["tape_uid"] is None) != (v["tape_on"] is None):
            yield Fault(where, "names a tape without its day, or a day without its tape")
        if self.order_of(v["text"]) is None:
            yield Fault(where, "its text cannot be read")
            return
        parent = v["parent"]
        if (parent is None) != (v["number"] == 1):
            yield Fault(where, "only the first version has none before it")
            return
        before = by_number.get(parent) if parent is not None else None
        if parent is None:
            right: tuple[Any, ...] | None = ()
        elif before is None or parent >= v["number"]:
            yield Fault(where, f"was made from version {parent}, which does not come before it")
            return
        elif self.order_of(before["text"]) is None:
            return
        else:
            right = all_changes(before["text"], _day(before["due"]), v["text"], _day(v["due"]))
        if said is not None and said != right:
            yield Fault(where, "what changed is not what differs from the version before")

    def times(self, where: str, row: Mapping[str, Any]) -> Iterator[Fault]:
        for name in _TIMES:
            if name in row and not _is_moment(row[name]):
                yield Fault(where, f"{name} is not a time")

    def order_of(self, text: str) -> Order | None:
        if text not in self.read:
            try:
                self.read[text] = read(text, "order")
            except BookError:
                self.read[text] = None
        return self.read[text]


def _plain(row: dict[str, Any]) -> dict[str, Any]:
    return {k: v.isoformat() if isinstance(v, date) else v for k, v in row.items()}


def filled(table: Table, row: Mapping[str, Any]) -> dict[str, Any]:
    """A plain row as the database takes it."""
    return {c.name: _day(row[c.name]) if isinstance(c.type, Date) else row[c.name] for c in table.columns}


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _is_moment(text: str) -> bool:
    try:
        return len(text) == 27 and text.endswith("Z") and moment(text).tzinfo is not None
    except ValueError:
        return False


def _is_whole(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _is_typed(text: str) -> bool:
    try:
        typed = json.loads(text)
    except (ValueError, RecursionError):
        return False
    return isinstance(typed, dict) and all(isinstance(v, str) for v in typed.values())
