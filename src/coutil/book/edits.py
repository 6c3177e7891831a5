"""Saving, undo and redo, and the history of an order.

Versions are never changed but for one case: keystrokes on the same keys, one after the other within a minute, make one
version whose text is the last of them. Undo and redo move the order's pointer along the versions; an edit after an
undo starts a new line from there, and what was undone stays in the history.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any, Final

from sqlalchemy import delete, func, insert, select, update
from sqlalchemy.engine import Connection, Row

from coutil.book.changes import DUE, all_changes, from_json, to_json, values
from coutil.book.errors import BookError, ConflictError, MissingError
from coutil.book.model import Before, Hand, How, OrderEntry, Place, Version
from coutil.book.store import Store, moment, order_entry, order_row, stamp
from coutil.book.tables import orders, versions
from coutil.book.texts import LONGEST_TYPED, MOST_TYPED, fold, read
from coutil.order import Order

# Keystrokes on one key within this time make one version (judgement: what one would want undone at a stroke).
ONE_VERSION: Final = timedelta(minutes=1)


class Edits(Store):
    """The part of the book that changes orders."""

    def order(self, order_id: int) -> OrderEntry:
        """The order as it stands. Raises MissingError."""
        with self._reading() as c:
            return order_entry(order_row(c, order_id))

    def edit_of(self, order_id: int) -> int:
        """The number of the last edit: a quick look whether another window changed the order. Raises MissingError."""
        with self._reading() as c:
            edit = c.execute(select(orders.c.edit).where(orders.c.id == order_id)).scalar_one_or_none()
        if edit is None:
            raise MissingError("no_order", order=order_id)
        return int(edit)

    def save(
        self,
        order_id: int,
        text: str,
        *,
        based_on: int,
        typed: Mapping[str, str] | None = None,
        hand: Hand | None = None,
    ) -> OrderEntry:
        """Save the text; committed when this returns.

        `typed` replaces what was typed and cannot be used yet; None keeps it. Edits of the same keys within a minute
        make one version, whose text is the last of them. With a `hand` its edits alone make one version, however long
        it takes; and where the text is again what it was before, that version is withdrawn, as if it had never been.
        A text that the book holds already is no edit, and never a conflict. Raises ConflictError; BookError for a text
        that is no valid order (nothing is saved then: keep what was typed with `keep_typed`).
        """
        new = read(text, f"order {order_id}")
        kept = None if typed is None else _typed_json(typed)
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            if row.text == text and kept in (None, row.typed):
                return order_entry(row)
            require_edit(row, based_on)
            if row.text == text:
                _touch(c, row, self._now(), typed=kept)
            elif hand is not None and _holds(row, hand) and _parent(c, row).text == text:
                _withdraw(c, row, self._now(), typed=kept)
            else:
                write_version(c, row, text, row.due, "edit", self._now(), order=new, typed=kept, hand=hand)
            return order_entry(order_row(c, order_id))

    def before_hand(self, order_id: int, hand: Hand) -> Before | None:
        """What stood in the order before a hand changed anything; None if it changed nothing. Raises MissingError."""
        with self._reading() as c:
            row = order_row(c, order_id)
            if row.current == hand.since:
                return None
            taken = c.execute(
                select(versions.c.text).where(versions.c.order_id == order_id, versions.c.number == hand.since)
            ).scalar_one_or_none()
            if _holds(row, hand):
                parent = _parent(c, row)
                # Where the version that it was taken in hand upon is gone, the step before tells.
                stood = parent.text if taken is None else taken
                if values(parent.text).get(hand.key) == values(stood).get(hand.key):
                    return Before(parent.text, whole=True)
                return Before(stood, whole=False)
            return None if taken is None else Before(taken, whole=False)

    def keep_typed(self, order_id: int, typed: Mapping[str, str], *, based_on: int) -> OrderEntry:
        """Keep what was typed, by key, and cannot be used yet, so that a kill does not lose it. Counts as an edit.

        Raises ConflictError; BookError for more than an order has room for.
        """
        kept = _typed_json(typed)
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            if kept == row.typed:
                return order_entry(row)
            require_edit(row, based_on)
            _touch(c, row, self._now(), typed=kept)
            return order_entry(order_row(c, order_id))

    def set_due(self, order_id: int, due: date | None, *, based_on: int) -> OrderEntry:
        """Set or take away the due date; a version like any other, so undo takes it back. Raises ConflictError."""
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            if due == row.due:
                return order_entry(row)
            require_edit(row, based_on)
            write_version(c, row, row.text, due, "edit", self._now())
            return order_entry(order_row(c, order_id))

    def undo(self, order_id: int, *, based_on: int) -> OrderEntry:
        """One step back. If there is something typed and not usable, that alone is taken away, for it came last.

        Raises ConflictError; BookError where there is nothing to undo.
        """
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            require_edit(row, based_on)
            if row.typed != "{}":
                _touch(c, row, self._now(), typed="{}")
            elif row.parent is None:
                raise BookError("nothing_to_undo")
            else:
                _go_to(c, row, row.parent, self._now())
            return order_entry(order_row(c, order_id))

    def redo(self, order_id: int, *, based_on: int) -> OrderEntry:
        """One step forward again, to the version made last from this one; what is typed and not usable goes.

        Raises ConflictError; BookError where there is nothing to redo.
        """
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            require_edit(row, based_on)
            if row.redo_to is None:
                raise BookError("nothing_to_redo")
            _go_to(c, row, row.redo_to, self._now())
            return order_entry(order_row(c, order_id))

    def history(self, order_id: int) -> tuple[Version, ...]:
        """Every version, newest first, those left behind by an edit after an undo among them. Raises MissingError."""
        with self._reading() as c:
            current = order_row(c, order_id).current
            rows = c.execute(select(versions).where(versions.c.order_id == order_id)).all()
        places = _places({r.number: r.parent for r in rows}, current)
        found = [_version(r, places[r.number]) for r in rows]
        return tuple(sorted(found, key=lambda v: -v.number))

    def version(self, order_id: int, number: int) -> Version:
        """One version of an order. Raises MissingError."""
        for v in self.history(order_id):
            if v.number == number:
                return v
        raise MissingError("no_version", order=order_id, version=number)

    def bring_back(self, order_id: int, number: int, *, based_on: int) -> OrderEntry:
        """Make the text and due date of an older version current, as a new version. Raises ConflictError."""
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            require_edit(row, based_on)
            old = c.execute(
                select(versions).where(versions.c.order_id == order_id, versions.c.number == number)
            ).first()
            if old is None:
                raise MissingError("no_version", order=order_id, version=number)
            if (old.text, old.due, old.tape_uid) == (row.text, row.due, row.tape_uid):
                return order_entry(row)
            write_version(c, row, old.text, old.due, "brought back", self._now(), typed="{}", tape=old)
            return order_entry(order_row(c, order_id))


def write_version(
    c: Connection,
    row: Row[Any],
    text: str,
    due: date | None,
    how: How,
    now: datetime,
    *,
    order: Order | None = None,
    typed: str | None = None,
    tape: Row[Any] | None = None,
    hand: Hand | None = None,
) -> None:
    """Put a new text and due date behind the current version of a held order (a row of `order_row`).

    `order` is the text as read, if it was; `typed` None keeps what is typed; edits of one `hand` are one version.
    `tape`: a row with the tape_uid and tape_on that the measurements are from, None where they are from the same as
    before.
    """
    source = row if tape is None else tape
    made = all_changes(row.text, row.due, text, due)
    further = _joins(row, made, how, now) if hand is None else _holds(row, hand)
    joined = further and _join(c, row, text, due, now)
    number = row.current
    if not joined:
        number = c.execute(select(func.max(versions.c.number)).where(versions.c.order_id == row.id)).scalar_one() + 1
        c.execute(
            insert(versions).values(
                order_id=row.id,
                number=number,
                parent=row.current,
                how=how,
                text=text,
                due=due,
                changes=to_json(made),
                made_at=stamp(now),
                changed_at=stamp(now),
                tape_uid=source.tape_uid,
                tape_on=source.tape_on,
            )
        )
    _touch(c, row, now, text=text, due=due, current=number, order=order, typed=typed)


def first_version(
    c: Connection, order_id: int, text: str, due: date | None, how: How, now: datetime, tape: Row[Any] | None
) -> None:
    """The version that an order begins with; `tape` as in `write_version`, None where the figures are from none."""
    c.execute(
        insert(versions).values(
            order_id=order_id,
            number=1,
            parent=None,
            how=how,
            text=text,
            due=due,
            changes="[]",
            made_at=stamp(now),
            changed_at=stamp(now),
            tape_uid=None if tape is None else tape.tape_uid,
            tape_on=None if tape is None else tape.tape_on,
        )
    )


def searched(order: Order) -> str:
    """What an order is found by, besides its client: name, label and note."""
    return fold(order.name, order.client.label, order.client.note)


def _joins(row: Row[Any], made: tuple[Any, ...], how: How, now: datetime) -> bool:
    """Whether an edit is a further keystroke of the current version: same keys, within a minute, nothing undone.

    A version from which another was made stays as it is, or undo and redo would lead to texts that never were.
    """
    if how != "edit" or row.how != "edit" or row.parent is None or row.redo_to is not None:
        return False
    if not timedelta(0) <= now - moment(row.version_made_at) <= ONE_VERSION:
        return False
    keys = {c.key for c in made}
    return DUE not in keys and keys == {c.key for c in from_json(row.changes)}


def _holds(row: Row[Any], hand: Hand) -> bool:
    """Whether the current version is what a hand has made so far, and nothing was made of it."""
    if row.current == hand.since or row.how != "edit" or row.parent is None or row.redo_to is not None:
        return False
    return row.due == row.version_due and hand.key in {c.key for c in from_json(row.changes)}


def _parent(c: Connection, row: Row[Any]) -> Any:
    query = select(versions.c.text, versions.c.due).where(
        versions.c.order_id == row.id, versions.c.number == row.parent
    )
    found: Any = c.execute(query).one()
    return found


def _withdraw(c: Connection, row: Row[Any], now: datetime, *, typed: str | None) -> None:
    """Go back to the parent of the current version, and let that version never have been."""
    parent = _parent(c, row)
    _touch(c, row, now, text=parent.text, due=parent.due, current=row.parent, typed=typed)
    c.execute(delete(versions).where(versions.c.order_id == row.id, versions.c.number == row.current))


def _join(c: Connection, row: Row[Any], text: str, due: date | None, now: datetime) -> bool:
    """Let the current version say this text; not where it would then say the same as its parent."""
    this = (versions.c.order_id == row.id, versions.c.number == row.current)
    parent = _parent(c, row)
    whole = all_changes(parent.text, parent.due, text, due)
    if not whole:
        return False
    c.execute(update(versions).where(*this).values(text=text, due=due, changes=to_json(whole), changed_at=stamp(now)))
    return True


def _go_to(c: Connection, row: Row[Any], number: int, now: datetime) -> None:
    there = c.execute(
        select(versions.c.text, versions.c.due).where(versions.c.order_id == row.id, versions.c.number == number)
    ).one()
    _touch(c, row, now, text=there.text, due=there.due, current=number, typed="{}")


def _touch(
    c: Connection,
    row: Row[Any],
    now: datetime,
    *,
    text: str | None = None,
    due: date | None = None,
    current: int | None = None,
    order: Order | None = None,
    typed: str | None = None,
) -> None:
    """Count one edit of a held order, and let its row repeat what the now current version says."""
    new: dict[str, Any] = {"edit": row.edit + 1, "changed_at": stamp(now)}
    if typed is not None:
        new["typed"] = typed
    if text is not None:
        says = order or read(text, f"order {row.id}")
        new.update(current=current, due=due, name=says.name, find=searched(says))
    c.execute(update(orders).where(orders.c.id == row.id).values(**new))


def count_edit(c: Connection, row: Row[Any], now: datetime) -> None:
    """Count an edit of a held order that wrote no version, so that every window looks at it anew."""
    _touch(c, row, now)


def require_edit(row: Row[Any], based_on: int) -> None:
    """ConflictError unless the order is at the edit that a change was based on."""
    if row.edit != based_on:
        raise ConflictError(order_entry(row), based_on)


def _typed_json(typed: Mapping[str, str]) -> str:
    if len(typed) > MOST_TYPED or any(len(k) + len(v) > LONGEST_TYPED for k, v in typed.items()):
        raise BookError("too_much_typed", most=MOST_TYPED, longest=LONGEST_TYPED)
    # ASCII, so that any sign at all can be kept in either database.
    return json.dumps(dict(sorted(typed.items())), separators=(",", ":"))


def _places(parents: Mapping[int, int | None], current: int) -> dict[int, Place]:
    """Where each version stands, seen from the current one."""
    places: dict[int, Place] = dict.fromkeys(parents, "aside")
    step = parents[current]
    while step is not None:
        places[step] = "before"
        step = parents[step]
    # The child that redo goes to is the one made last.
    forward = {parent: number for number, parent in sorted(parents.items())}
    ahead = forward.get(current)
    while ahead is not None:
        places[ahead] = "after"
        ahead = forward.get(ahead)
    places[current] = "now"
    return places


def _version(row: Row[Any], place: Place) -> Version:
    return Version(
        order_id=row.order_id,
        number=row.number,
        parent=row.parent,
        how=row.how,
        place=place,
        text=row.text,
        due=row.due,
        changes=from_json(row.changes),
        made_at=moment(row.made_at),
        changed_at=moment(row.changed_at),
        tape_on=row.tape_on,
    )
