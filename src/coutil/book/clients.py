"""Clients and their tapes."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import delete, insert, select, update
from sqlalchemy.engine import Row

from coutil.book.edits import require_edit, write_version
from coutil.book.errors import ConflictError, MissingError
from coutil.book.model import ClientEntry, OrderEntry, Tape, TapeChange
from coutil.book.orders import Orders, insert_client
from coutil.book.store import (
    client_entry,
    client_query,
    holds_words,
    moment,
    new_uid,
    order_entry,
    order_row,
    require_client_row,
    stamp,
)
from coutil.book.tables import clients, orders, tapes
from coutil.book.texts import fold, read, require_client, tape_text, with_body, with_client


class Clients(Orders):
    """The part of the book that holds clients and tapes."""

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

    def add_tape(self, client_id: int, text: str, *, taken_on: date, note: str = "") -> Tape:
        """A dated tape: the TOML text of `unit` and [body]; all else in the text is left out.

        Raises BookError if it could not stand in an order; MissingError.
        """
        kept = tape_text(text, "tape")
        require_client("tape", note)
        with self._writing() as c:
            require_client_row(c, client_id, hold=True)
            result: Any = c.execute(
                insert(tapes).values(
                    uid=new_uid(),
                    client_id=client_id,
                    taken_on=taken_on,
                    note=note,
                    text=kept,
                    made_at=stamp(self._now()),
                )
            )
            new = int(result.inserted_primary_key[0])
            return _tape(c.execute(select(tapes).where(tapes.c.id == new)).one())

    def tape_of(self, order_id: int, *, taken_on: date, note: str = "") -> Tape:
        """Keep the measurements of an order as a tape of its client. Raises MissingError."""
        entry = self.order(order_id)
        return self.add_tape(entry.client_id, entry.text, taken_on=taken_on, note=note)

    def tapes(self, client_id: int) -> tuple[Tape, ...]:
        """The tapes of a client, newest first. Raises MissingError."""
        newest = (tapes.c.taken_on.desc(), tapes.c.id.desc())
        with self._reading() as c:
            require_client_row(c, client_id)
            return tuple(
                _tape(r) for r in c.execute(select(tapes).where(tapes.c.client_id == client_id).order_by(*newest))
            )

    def tape(self, tape_id: int) -> Tape:
        """One tape. Raises MissingError."""
        with self._reading() as c:
            row = c.execute(select(tapes).where(tapes.c.id == tape_id)).first()
        if row is None:
            raise MissingError("no_tape", tape=tape_id)
        return _tape(row)

    def remove_tape(self, tape_id: int) -> None:
        """Take a tape out of the book; orders that used it keep their figures. Raises MissingError."""
        with self._writing() as c:
            if c.execute(delete(tapes).where(tapes.c.id == tape_id)).rowcount == 0:
                raise MissingError("no_tape", tape=tape_id)

    def use_tape(self, order_id: int, tape_id: int, *, based_on: int) -> OrderEntry:
        """Put the figures of a tape of the same client into the order's [body], as a version of its own.

        Raises ConflictError, MissingError.
        """
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            require_edit(row, based_on)
            tape = c.execute(select(tapes).where(tapes.c.id == tape_id, tapes.c.client_id == row.client_id)).first()
            if tape is None:
                raise MissingError("no_tape_of_the_order", order=order_id, tape=tape_id)
            text = with_body(row.text, tape.text)
            if text != row.text:
                write_version(c, row, text, row.due, "tape", self._now())
            return order_entry(order_row(c, order_id))


def tape_changes(before: Tape, after: Tape) -> tuple[TapeChange, ...]:
    """What differs between two tapes, in mm, whatever their units; measurements of one side after the others."""
    old, new = read(before.text, "tape").body, read(after.text, "tape").body
    sides = zip(
        ("", "left", "right"),
        (old.measured(), *old.measured_sides()),
        (new.measured(), *new.measured_sides()),
        strict=True,
    )
    return tuple(
        TapeChange(key, side, a.get(key), b.get(key))
        for side, a, b in sides
        for key in dict.fromkeys((*a, *b))
        if a.get(key) != b.get(key)
    )


def _tape(row: Row[Any]) -> Tape:
    return Tape(
        id=row.id,
        uid=row.uid,
        client_id=row.client_id,
        taken_on=row.taken_on,
        note=row.note,
        text=row.text,
        made_at=moment(row.made_at),
    )
