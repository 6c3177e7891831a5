"""The book as a whole: export, import, backup, restore, check; and one client wholly exported or erased."""

from __future__ import annotations

import contextlib
import re
from dataclasses import asdict
from itertools import islice
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Table, delete, func, insert, select, update
from sqlalchemy.engine import Connection

from coutil.book.errors import BookError
from coutil.book.model import Erased, Fault, Imported, OrderLine, Restored
from coutil.book.packing import entry_name, pack, pack_client, unpack, version_data
from coutil.book.rows import Rows, all_rows, faults, filled, row_faults
from coutil.book.store import line_query, new_uid, order_line, require_client_row, stamp
from coutil.book.tables import ALL, HOUSE, clients, orders, settings, tapes, versions
from coutil.book.tapes import Tapes
from coutil.book.wipe import left_behind
from coutil.order import house_text, parse_house

# A check tells at most this many faults; a book with more is beyond reading them.
MOST_FAULTS: Final = 200
_LONGEST_SETTING: Final = 10_000
# The setting that tells this book from others.
_IDENTITY: Final = "identity"


class Whole(Tapes):
    """The part of the book that deals with all of it at once."""

    def export_book(self, file: Path, *, force: bool = False) -> Path:
        """The whole book in one file, with checksums, for either database; read back to prove it.

        Raises BookError: not writable, there already, or the book is not sound (the file is written all the same).
        """
        with self._reading() as c:
            rows = all_rows(c)
        pack(rows, file, self._now(), force=force)
        try:
            same = unpack(file) == rows
        except BookError as e:
            raise BookError("not_put_back", file=str(file), why=str(e)) from None
        if not same:
            raise BookError("reads_back_otherwise", file=str(file))
        return file

    def backup(self, target: Path | None = None) -> Path:
        """An export named by the time, into the folder `target` or as that file; returns the file.

        Without `target` into the folder "backups" beside the book, or in the user's data folder for a server.
        """
        if target is not None and not target.is_dir():
            return self.export_book(target)
        return self.export_book(self._backup_file(target))

    def restore(self, file: Path) -> Restored:
        """Replace the whole book by a backup, in one transaction; what it held before is saved in "backups" first.

        Edits are counted on from the book's own, so that no open window takes the restored orders for those it shows.
        Raises BookError; then the book is as it was.
        """
        rows = unpack(file)
        before: Path | None = None
        with self._writing() as c:
            if self.on_server:
                # Readers may go on; whoever writes waits, and then finds the restored book.
                c.exec_driver_sql(f"LOCK TABLE {', '.join(t.name for t in ALL)} IN EXCLUSIVE MODE")
            held = all_rows(c)
            if held["clients"]:
                before = pack(held, self._backup_file(None), self._now(), force=False)
            for table in reversed(ALL):
                c.execute(delete(table))
            for table in (clients, orders):
                ahead = 1 + max((r["edit"] for r in held[table.name]), default=0)
                rows[table.name] = [{**r, "edit": r["edit"] + ahead} for r in rows[table.name]]
            _insert_all(c, rows)
            if self.on_server:
                for table in (clients, tapes, orders):
                    _count_on(c, table)
        return Restored(len(rows["clients"]), len(rows["orders"]), len(rows["versions"]), before)

    def import_book(self, file: Path) -> Imported:
        """Add what the file of a whole book holds, in one transaction; settings stay as they are here.

        Who and what is there already (by its uid, the same in every copy) is not added twice and never overwritten.
        An order that is here but went on otherwise is added as an order of its own. Raises BookError.
        """
        rows = unpack(file)
        with self._writing() as c:
            return _Import(c).all(rows)

    def check(self) -> tuple[Fault, ...]:
        """Prove the book sound: the database, references, every text, every chain of versions. Empty: all is well."""
        try:
            with self._reading() as c:
                if not self.on_server:
                    says = c.exec_driver_sql(f"PRAGMA integrity_check({MOST_FAULTS})").scalars().all()
                    if list(says) != ["ok"]:
                        return tuple(Fault("the file", str(s)) for s in says)
                    lost = c.exec_driver_sql("PRAGMA foreign_key_check").all()
                    if lost:
                        return tuple(
                            Fault(f"{r[0]}, row {r[1]}", f"refers to {r[2]}, which has no such row") for r in lost
                        )
                rows = all_rows(c)
        except BookError as e:
            return (Fault("the database", str(e)),)
        odd = [Fault(t.name, says) for t in ALL for r in rows[t.name] for says in row_faults(t, r)]
        return tuple(odd[:MOST_FAULTS] or islice(faults(rows), MOST_FAULTS))

    def export_client(self, client_id: int, file: Path, *, force: bool = False) -> Path:
        """All that the book holds about a client, in one zip: client.json, each tape and order as TOML.

        Raises BookError, MissingError.
        """
        about = self.client(client_id)
        kept = self.tapes(client_id)
        lines = sorted(self.orders(client_id=client_id), key=lambda line: line.id)
        named: dict[str, tuple[Any, ...]] = {}
        told_orders = []
        for line in lines:
            entry, chain = self.order(line.id), self.history(line.id)
            now = next(v for v in chain if v.place == "now")
            named[entry_name(line.id, line.name)] = (now, *(v for v in chain if v is not now))
            told_orders.append(
                {
                    "id": line.id,
                    "uid": line.uid,
                    "name": line.name,
                    "due": line.due.isoformat() if line.due else None,
                    "made_at": stamp(line.made_at),
                    "changed_at": stamp(line.changed_at),
                    "typed_and_not_usable": dict(entry.typed),
                    "versions": [version_data(v) for v in reversed(chain)],
                }
            )
        data = {
            "format": "coutil-client",
            "version": 1,
            "made": stamp(self._now()),
            "client": {
                "id": about.id,
                "uid": about.uid,
                "label": about.label,
                "note": about.note,
                "made_at": stamp(about.made_at),
                "changed_at": stamp(about.changed_at),
            },
            "tapes": [{**asdict(t), "taken_on": t.taken_on.isoformat(), "made_at": stamp(t.made_at)} for t in kept],
            "orders": told_orders,
        }
        return pack_client(data, kept, named, file, force=force)

    def erase_client(self, client_id: int) -> Erased:
        """Erase a client wholly: tapes, orders, every version, and what is left of them in the book's files.

        Raises MissingError; BookError where another program holds the book open for longer than the book's patience:
        the client is deleted then, and `wipe` finishes the job.
        """
        with self._writing() as c:
            row = require_client_row(c, client_id, hold=True)
            hers = (
                c.execute(select(orders.c.id).where(orders.c.client_id == client_id).with_for_update()).scalars().all()
            )
            gone = c.execute(delete(versions).where(versions.c.order_id.in_(hers))).rowcount
            c.execute(delete(orders).where(orders.c.client_id == client_id))
            measured = c.execute(delete(tapes).where(tapes.c.client_id == client_id)).rowcount
            c.execute(delete(clients).where(clients.c.id == client_id))
            mentions = _mentions(c, row.label)
        self.wipe()
        left = left_behind("this client", on_server=self.on_server)
        return Erased(row.label, len(hers), gone, measured, mentions, left)

    def setting(self, name: str) -> str | None:
        """A setting of this book, None where it was never set."""
        with self._reading() as c:
            value = c.execute(select(settings.c.value).where(settings.c.name == name)).scalar_one_or_none()
        return None if value is None else str(value)

    def set_setting(self, name: str, value: str | None) -> None:
        """Keep a setting; None takes it away. Settings are the book's: all who share it share them."""
        if value is not None and (len(value) > _LONGEST_SETTING or "\0" in value):
            raise BookError("setting_too_long", name=name, longest=_LONGEST_SETTING)
        with self._writing() as c:
            if value is None:
                c.execute(delete(settings).where(settings.c.name == name))
            elif c.execute(update(settings).where(settings.c.name == name).values(value=value)).rowcount == 0:
                c.execute(insert(settings).values(name=name, value=value))

    def keep_house(self, text: str) -> None:
        """Keep the maker's house: every order that is made from now on takes from it, and bears its stamp.

        Remarks are left out. Raises OrderError for a text that is no house, BookError for one that is too long.
        """
        self.set_setting(HOUSE, house_text(parse_house(text)))

    def house(self) -> str | None:
        """The house that the book keeps, as the text of a house file; None where it keeps none."""
        return self.setting(HOUSE)

    def identity(self) -> str:
        """What tells this book from every other, made when it is first asked for; a backup of it bears the same."""
        found = self.setting(_IDENTITY)
        if found is None:
            # Another program may be asked at the same time: what it wrote holds.
            with contextlib.suppress(BookError), self._writing() as c:
                if c.execute(select(settings.c.value).where(settings.c.name == _IDENTITY)).first() is None:
                    c.execute(insert(settings).values(name=_IDENTITY, value=new_uid()))
            found = self.setting(_IDENTITY)
        if found is None:
            raise BookError("no_identity")
        return found

    def _backup_file(self, folder: Path | None) -> Path:
        """A name by the time that is not taken yet."""
        from coutil.book.address import default_file

        if folder is None:
            folder = (self._address.file or default_file()).parent / "backups"
        plain = f"coutil-book-{self._now().astimezone():%Y-%m-%d-%H%M%S}"
        file, number = folder / f"{plain}.zip", 1
        while file.exists():
            number += 1
            file = folder / f"{plain}-{number}.zip"
        return file


class _Import:
    """One import: remembers what the numbers of the file are here."""

    def __init__(self, c: Connection) -> None:
        self.c = c
        self.people: dict[int, int] = {}
        self.notes: list[str] = []
        self.there = 0

    def all(self, rows: Rows) -> Imported:
        added = sum(self.client(r) for r in rows["clients"])
        measured = sum(self.tape(r) for r in rows["tapes"])
        chains: dict[int, list[dict[str, Any]]] = {}
        for v in rows["versions"]:
            chains.setdefault(v["order_id"], []).append(v)
        written = [self.order(r, chains[r["id"]]) for r in rows["orders"]]
        count = sum(1 for n in written if n)
        return Imported(added, measured, count, sum(written), self.there, tuple(self.notes))

    def client(self, row: dict[str, Any]) -> bool:
        here = self.c.execute(select(clients).where(clients.c.uid == row["uid"])).first()
        if here is None:
            self.people[row["id"]] = _insert_new(self.c, clients, row)
            return True
        self.people[row["id"]] = here.id
        self.there += 1
        if (here.label, here.note) != (row["label"], row["note"]):
            self.notes.append(f"client {here.id} has another label or note in the file; kept as it is here")
        return False

    def tape(self, row: dict[str, Any]) -> bool:
        if self.c.execute(select(tapes.c.id).where(tapes.c.uid == row["uid"])).first() is not None:
            self.there += 1
            return False
        _insert_new(self.c, tapes, {**row, "client_id": self.people[row["client_id"]]})
        return True

    def order(self, row: dict[str, Any], chain: list[dict[str, Any]]) -> int:
        """Add one order unless it is here already; how many versions were added."""
        new = {**row, "client_id": self.people[row["client_id"]]}
        here = self.c.execute(select(orders).where(orders.c.uid == row["uid"])).first()
        if here is not None:
            if self.goes_on_here(here.id, chain):
                self.there += 1
                return 0
            new["uid"] = new_uid()
        number = _insert_new(self.c, orders, new)
        if here is not None:
            self.notes.append(f"order {here.id} went on otherwise in the file; that one was added as order {number}")
        self.c.execute(insert(versions), [filled(versions, {**v, "order_id": number}) for v in chain])
        return len(chain)

    def goes_on_here(self, order_id: int, chain: list[dict[str, Any]]) -> bool:
        """Whether every version of the file stands here too."""
        mine = select(versions.c.number, versions.c.parent, versions.c.text, versions.c.due)
        stand = {tuple(r) for r in self.c.execute(mine.where(versions.c.order_id == order_id))}
        return all((v["number"], v["parent"], v["text"], filled(versions, v)["due"]) in stand for v in chain)


def _insert_all(c: Connection, rows: Rows) -> None:
    for table in ALL:
        # Versions come by number, so that each finds the one it was made from.
        found = (
            sorted(rows[table.name], key=lambda r: (r["order_id"], r["number"]))
            if table is versions
            else rows[table.name]
        )
        if found:
            c.execute(insert(table), [filled(table, r) for r in found])


def _insert_new(c: Connection, table: Table, row: dict[str, Any]) -> int:
    """Insert a row under a number of this book's own; the number."""
    values = {k: v for k, v in filled(table, row).items() if k != "id"}
    result: Any = c.execute(insert(table).values(**values))
    return int(result.inserted_primary_key[0])


def _count_on(c: Connection, table: Table) -> None:
    """Let the server's counter go on behind the highest number, and never back."""
    sequence = c.exec_driver_sql(f"SELECT pg_get_serial_sequence('{table.name}', 'id')").scalar_one()
    highest = c.execute(select(func.coalesce(func.max(table.c.id), 0))).scalar_one()
    last = c.exec_driver_sql(f"SELECT last_value FROM {sequence}").scalar_one()
    if highest >= last:
        c.exec_driver_sql(f"SELECT setval('{sequence}', {int(highest)})")


def _mentions(c: Connection, label: str) -> tuple[OrderLine, ...]:
    """Orders in any of whose versions a label still stands as a word of its own."""
    if not label.strip():
        return ()
    word = re.compile(rf"(?<!\w){re.escape(label.strip())}(?!\w)")
    found = select(versions.c.order_id, versions.c.text).where(versions.c.text.contains(label.strip(), autoescape=True))
    numbers = {r.order_id for r in c.execute(found) if word.search(r.text)}
    if not numbers:
        return ()
    query = line_query().where(orders.c.id.in_(sorted(numbers))).order_by(orders.c.id)
    return tuple(order_line(r) for r in c.execute(query))
