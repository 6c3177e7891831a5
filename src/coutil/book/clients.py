"""Clients."""

from __future__ import annotations

from sqlalchemy import select, update

from coutil.book.edits import write_version
from coutil.book.errors import ConflictError, MissingError
from coutil.book.model import ClientEntry
from coutil.book.orders import Orders, insert_client
from coutil.book.store import (
    client_entry,
    client_query,
    holds_words,
    order_row,
    require_client_row,
    stamp,
)
from coutil.book.tables import clients, orders
from coutil.book.texts import fold, require_client, with_client


class Clients(Orders):
    """The part of the book that holds clients."""

    def add_client(self, label: str, *, note: str = "") -> ClientEntry:
        """A new client. Raises BookError for an empty label or one that an order file would not take."""
        require_client(label, note)
        with self._writing() as c:
            client_id = insert_client(c, label, note, stamp(self._now()))
            return client_entry(c.execute(client_query().where(clients.c.id == client_id)).one())

    def client(self, client_id: int) -> ClientEntry:
        """One client. Raises MissingError."""
        with self._reading() as c:
            row = c.execute(client_query().where(clients.c.id == client_id)).first()
        if row is None:
            raise MissingError("no_client", client=client_id)
        return client_entry(row)

    def clients(self, search: str = "") -> tuple[ClientEntry, ...]:
        """All clients by label, or those whose label or note holds every word; case and accents do not matter."""
        query = client_query().order_by(clients.c.find, clients.c.id)
        if search.strip():
            query = query.where(holds_words(clients.c.find, search))
        with self._reading() as c:
            return tuple(client_entry(r) for r in c.execute(query))

    def change_client(
        self, client_id: int, *, based_on: int, label: str | None = None, note: str | None = None
    ) -> ClientEntry:
        """Change label or note. A new label is written into the client's orders too, a version in each.

        Raises ConflictError, BookError as `add_client`, MissingError.
        """
        with self._writing() as c:
            row = require_client_row(c, client_id, hold=True)
            new_label = row.label if label is None else label
            new_note = row.note if note is None else note
            require_client(new_label, new_note, may_be_nameless=label is None)
            entry = client_query().where(clients.c.id == client_id)
            if (new_label, new_note) == (row.label, row.note):
                return client_entry(c.execute(entry).one())
            if row.edit != based_on:
                raise ConflictError(client_entry(c.execute(entry).one()), based_on)
            now = self._now()
            c.execute(
                update(clients)
                .where(clients.c.id == client_id)
                .values(
                    label=new_label,
                    note=new_note,
                    find=fold(new_label, new_note),
                    edit=row.edit + 1,
                    changed_at=stamp(now),
                )
            )
            if new_label != row.label:
                hers = c.execute(select(orders.c.id).where(orders.c.client_id == client_id).order_by(orders.c.id))
                for order_id in hers.scalars().all():
                    held = order_row(c, order_id, hold=True)
                    renamed = with_client(held.text, new_label, None)
                    if renamed != held.text:
                        write_version(c, held, renamed, held.due, "renamed", now)
            return client_entry(c.execute(entry).one())
