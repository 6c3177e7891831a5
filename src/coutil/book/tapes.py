"""Tapes: what was measured of a client, day by day, and the orders that took it over."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final

from sqlalchemy import ColumnElement, delete, insert, select, update
from sqlalchemy.engine import Connection, Row

from coutil.book.clients import Clients
from coutil.book.edits import count_edit, require_edit, write_version
from coutil.book.errors import BookError, MissingError
from coutil.book.model import ErasedTape, OrderEntry, OrderLine, Tape, TapeChange
from coutil.book.orders import lent_readings, tapes_of
from coutil.book.store import line_query, moment, new_uid, order_entry, order_line, order_row, require_client_row, stamp
from coutil.book.tables import orders, tapes, versions
from coutil.book.texts import read, require_client, tape_text, with_body
from coutil.book.wipe import left_behind

# Nobody who is measured today was measured before: a day before this is a slip of the pen (judgement).
EARLIEST: Final = date(1900, 1, 1)
# The date line: somewhere on earth it is already the day that it is in UTC so much later (UTC+14, the Line Islands).
_FOREMOST: Final = timedelta(hours=14)


class Tapes(Clients):
    """The part of the book that holds tapes."""

    def add_tape(self, client_id: int, text: str, *, taken_on: date, note: str = "") -> Tape:
        """A dated tape: the TOML text of `unit` and [body]; all else in the text is left out.

        Raises BookError if it could not stand in an order, or for a day that is still to come; MissingError.
        """
        kept = tape_text(text, "tape")
        require_client("tape", note)
        self._require_day(taken_on)
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
            return _tape(_require_tape(c, new))

    def tape_of(self, order_id: int, *, taken_on: date, note: str = "") -> Tape:
        """Keep the measurements of an order as a tape of its client.

        Raises MissingError; BookError as `add_tape`, and for readings that were copied from another client's order, as
        long as no needed one of them was written anew.
        """
        entry = self.order(order_id)
        with self._reading() as c:
            if lent_readings(c, order_row(c, order_id)):
                raise BookError("lent_readings")
        return self.add_tape(entry.client_id, entry.text, taken_on=taken_on, note=note)

    def tapes(self, client_id: int) -> tuple[Tape, ...]:
        """The tapes of a client, newest first: by the day, then by when they were kept. Raises MissingError."""
        with self._reading() as c:
            require_client_row(c, client_id)
            return tuple(_tape(r) for r in c.execute(tapes_of(client_id)))

    def tape(self, tape_id: int) -> Tape:
        """One tape. Raises MissingError."""
        with self._reading() as c:
            return _tape(_require_tape(c, tape_id))

    def change_tape(self, tape_id: int, *, taken_on: date | None = None, note: str | None = None) -> Tape:
        """Change the day or the note of a tape; None leaves it. Orders that took the tape over say its new day.

        Raises MissingError; BookError as `add_tape`.
        """
        if note is not None:
            require_client("tape", note)
        if taken_on is not None:
            self._require_day(taken_on)
        with self._writing() as c:
            row = _require_tape(c, tape_id, hold=True)
            day = row.taken_on if taken_on is None else taken_on
            c.execute(
                update(tapes).where(tapes.c.id == tape_id).values(taken_on=day, note=row.note if note is None else note)
            )
            if day != row.taken_on:
                for line in _took_over(c, row):
                    count_edit(c, order_row(c, line.id, hold=True), self._now())
                c.execute(update(versions).where(*_taken_from(row)).values(tape_on=day))
            return _tape(_require_tape(c, tape_id))

    def orders_from(self, tape_id: int) -> tuple[OrderLine, ...]:
        """The orders of which any version holds the figures of a tape. Raises MissingError."""
        with self._reading() as c:
            return _took_over(c, _require_tape(c, tape_id))

    def erase_tape(self, tape_id: int) -> ErasedTape:
        """Erase a tape, and what is left of it in the book's files. Orders that took it over keep figures and day.

        Raises MissingError; BookError where another program holds the book open for longer than the book's patience:
        the tape is deleted then, and `wipe` finishes the job.
        """
        with self._writing() as c:
            row = _require_tape(c, tape_id, hold=True)
            lines = _took_over(c, row)
            for line in lines:
                # What they say of the tape changes: it can no longer be held against theirs.
                count_edit(c, order_row(c, line.id, hold=True), self._now())
            c.execute(delete(tapes).where(tapes.c.id == tape_id))
        self.wipe()
        return ErasedTape(row.taken_on, lines, left_behind("this tape", on_server=self.on_server))

    def use_tape(self, order_id: int, tape_id: int, *, based_on: int) -> OrderEntry:
        """Put the figures of a tape of the same client into the order's [body], as a version of its own.

        Raises ConflictError, MissingError.
        """
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            require_edit(row, based_on)
            tape = c.execute(tapes_of(row.client_id).where(tapes.c.id == tape_id)).first()
            if tape is None:
                raise MissingError("no_tape_of_the_order", order=order_id, tape=tape_id)
            text = with_body(row.text, tape.text)
            if text != row.text or tape.tape_uid != row.tape_uid:
                write_version(c, row, text, row.due, "tape", self._now(), tape=tape)
            return order_entry(order_row(c, order_id))

    def _require_day(self, day: date) -> None:
        """BookError for a day on which nobody can have been measured. It is the maker's day, wherever she is."""
        if day < EARLIEST:
            raise BookError("tape_too_old", day=day.isoformat(), earliest=EARLIEST.year)
        if day > (self._now() + _FOREMOST).date():
            raise BookError("tape_to_come", day=day.isoformat())


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


def _require_tape(c: Connection, tape_id: int, *, hold: bool = False) -> Row[Any]:
    """The row of a tape; with `hold` nobody else changes it or its client before this transaction ends."""
    query = select(tapes).where(tapes.c.id == tape_id)
    if hold:
        # The client first, as whoever erases her does: two that wait for each other would wait for ever.
        whose = c.execute(query).first()
        if whose is not None:
            require_client_row(c, whose.client_id, hold=True)
    row = c.execute(query.with_for_update() if hold else query).first()
    if row is None:
        raise MissingError("no_tape", tape=tape_id)
    return row


def _taken_from(tape: Row[Any]) -> tuple[ColumnElement[bool], ...]:
    """The versions that hold a tape's figures. Sought among its client's orders alone: a book has many versions."""
    hers = select(orders.c.id).where(orders.c.client_id == tape.client_id)
    return versions.c.order_id.in_(hers), versions.c.tape_uid == tape.uid


def _took_over(c: Connection, tape: Row[Any]) -> tuple[OrderLine, ...]:
    hers = select(versions.c.order_id).where(*_taken_from(tape))
    return tuple(order_line(r) for r in c.execute(line_query().where(orders.c.id.in_(hers)).order_by(orders.c.id)))
