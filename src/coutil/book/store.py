"""What the parts of the book share: transactions, the clock, rows turned into entries."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from sqlalchemy import ColumnElement, Select, and_, func, select, update
from sqlalchemy.engine import Connection, Engine, Row

from coutil.book.address import Address
from coutil.book.engine import PATIENCE, WRITES, told
from coutil.book.errors import MissingError
from coutil.book.model import ClientEntry, OrderEntry, OrderLine, TapeInOrder
from coutil.book.tables import clients, orders, settings, tapes, versions
from coutil.book.texts import changed_readings, fold
from coutil.book.wipe import wipe_file, wipe_server


class Store:
    """An open database. Every method of the book is one transaction of it."""

    def __init__(
        self, address: Address, engine: Engine, clock: Callable[[], datetime] | None = None, patience: float = PATIENCE
    ) -> None:
        self._address = address
        self._engine = engine
        self._patience = patience
        self._clock = clock or (lambda: datetime.now(UTC))

    @property
    def on_server(self) -> bool:
        return self._address.file is None

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        """One view of the book as it is at one moment."""
        with told(self._address), self._engine.connect() as connection:
            if self.on_server:
                connection = connection.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin():
                yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        """A transaction that writes: committed, and on the disk, when the block is left without an error."""
        with told(self._address), self._engine.connect() as connection:
            connection = connection.execution_options(**{WRITES: True})
            with connection.begin():
                yield connection

    def wipe(self) -> None:
        """Write the database's files anew, so that nothing deleted is left in free pages or the log of changes.

        Raises BookError while another program holds the book open.
        """
        with told(self._address):
            if self.on_server:
                wipe_server(self._engine, self._patience)
            else:
                wipe_file(self._engine, self._patience)

    def require_writable(self) -> None:
        """BookError if nothing could be written: better told at opening than at the first edit."""
        with self._writing() as c:
            # Changes no row, but asks for the right to.
            c.execute(update(settings).where(settings.c.name == "").values(value=""))

    def _now(self) -> datetime:
        return self._clock().astimezone(UTC)


def stamp(moment: datetime) -> str:
    """A time as the book keeps it: 2026-11-25T16:04:05.000000Z."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text)


def new_uid() -> str:
    return uuid4().hex


def holds_words(column: ColumnElement[Any], search: str) -> ColumnElement[bool]:
    """That a folded column holds every word of a search."""
    return and_(*(column.contains(word, autoescape=True) for word in fold(search).split()[:20]))


def client_query() -> Select[Any]:
    counts = [
        select(func.count()).select_from(t).where(t.c.client_id == clients.c.id).scalar_subquery()
        for t in (orders, tapes)
    ]
    newest = select(func.max(tapes.c.taken_on)).where(tapes.c.client_id == clients.c.id).scalar_subquery()
    return select(clients, counts[0].label("orders"), counts[1].label("tapes"), newest.label("taken_on"))


def client_entry(row: Row[Any]) -> ClientEntry:
    return ClientEntry(
        id=row.id,
        uid=row.uid,
        label=row.label,
        note=row.note,
        edit=row.edit,
        made_at=moment(row.made_at),
        changed_at=moment(row.changed_at),
        orders=row.orders,
        tapes=row.tapes,
        taken_on=row.taken_on,
    )


def require_client_row(connection: Connection, client_id: int, *, hold: bool = False) -> Row[Any]:
    """The row of a client; with `hold` nobody else changes it before this transaction ends. MissingError."""
    query = select(clients).where(clients.c.id == client_id)
    row = connection.execute(query.with_for_update() if hold else query).first()
    if row is None:
        raise MissingError("no_client", client=client_id)
    return row


def line_query() -> Select[Any]:
    return select(orders, clients.c.label).join(clients, clients.c.id == orders.c.client_id)


def order_line(row: Row[Any]) -> OrderLine:
    return OrderLine(
        id=row.id,
        uid=row.uid,
        client_id=row.client_id,
        client_label=row.label,
        name=row.name,
        due=row.due,
        edit=row.edit,
        made_at=moment(row.made_at),
        changed_at=moment(row.changed_at),
    )


def _order_query() -> Select[Any]:
    """Every order with its current version, as `order_row` says."""
    now, later = versions.alias("now"), versions.alias("later")
    return (
        select(
            orders,
            clients.c.label,
            now.c.text,
            now.c.parent,
            now.c.how,
            now.c.due.label("version_due"),
            now.c.changes,
            now.c.made_at.label("version_made_at"),
            now.c.tape_uid,
            now.c.tape_on,
            tapes.c.text.label("tape_text"),
            select(func.max(later.c.number))
            .where(later.c.order_id == orders.c.id, later.c.parent == orders.c.current)
            .scalar_subquery()
            .label("redo_to"),
        )
        .join(clients, clients.c.id == orders.c.client_id)
        .join(now, and_(now.c.order_id == orders.c.id, now.c.number == orders.c.current))
        .outerjoin(tapes, tapes.c.uid == now.c.tape_uid)
    )


# Made once: its columns are copied from four tables, which takes as long as asking the database.
_ORDER = _order_query()


def order_row(connection: Connection, order_id: int, *, hold: bool = False) -> Row[Any]:
    """An order with its current version; with `hold` nobody else changes it before this transaction ends.

    Besides the columns of the order: label, text, parent, how, version_due, changes, version_made_at, tape_uid,
    tape_on, tape_text (None where that tape is erased), redo_to. Raises MissingError.
    """
    if hold:
        # A statement of its own: what follows must see what the other transaction wrote while this one waited.
        connection.execute(select(orders.c.id).where(orders.c.id == order_id).with_for_update())
    query = _ORDER.where(orders.c.id == order_id)
    row = connection.execute(query).first()
    if row is None:
        raise MissingError("no_order", order=order_id)
    return row


def order_entry(row: Row[Any]) -> OrderEntry:
    typed: Mapping[str, str] = json.loads(row.typed)
    return OrderEntry(
        id=row.id,
        uid=row.uid,
        client_id=row.client_id,
        client_label=row.label,
        name=row.name,
        text=row.text,
        due=row.due,
        edit=row.edit,
        version=row.current,
        can_undo=row.parent is not None or bool(typed),
        can_redo=row.redo_to is not None,
        made_at=moment(row.made_at),
        changed_at=moment(row.changed_at),
        typed=typed,
        tape=tape_in_order(row),
    )


def tape_in_order(row: Row[Any]) -> TapeInOrder | None:
    """What a row of `order_row` says of the tape that its measurements were taken from."""
    if row.tape_on is None:
        return None
    if row.tape_text is None:
        return TapeInOrder(row.tape_on, kept=False)
    return TapeInOrder(row.tape_on, kept=True, changed=changed_readings(row.tape_text, row.text))
