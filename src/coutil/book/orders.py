"""Orders as they come, are found, are copied and go."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Select, delete, insert, or_, select
from sqlalchemy.engine import Connection, Row

from coutil.body import REQUIRED
from coutil.book.edits import Edits, first_version, searched
from coutil.book.errors import BookError, ConflictError, MissingError
from coutil.book.files import read_small, write_whole
from coutil.book.model import How, OrderEntry, OrderLine
from coutil.book.store import (
    holds_words,
    line_query,
    new_uid,
    order_entry,
    order_line,
    order_row,
    require_client_row,
    stamp,
)
from coutil.book.tables import HOUSE, clients, orders, settings, tapes, versions
from coutil.book.texts import changed_readings, decode, fold, read, require_client, with_body, with_client, with_name
from coutil.order import OrderError, parse_house, stamped

# An order file is a page of text; coutil.order refuses more too.
_LARGEST: Final = 1_000_000


def _housed(c: Connection, text: str) -> str:
    """The text of a new order with the stamp of the book's house, where the book keeps one and the text bears none."""
    kept = c.execute(select(settings.c.value).where(settings.c.name == HOUSE)).scalar_one_or_none()
    if kept is None:
        return text
    try:
        return stamped(text, parse_house(str(kept)))
    except OrderError:
        # What is wrong with the text is told by whoever reads it next.
        return text


class Orders(Edits):
    """The part of the book that holds orders."""

    def add_order(self, text: str, *, client_id: int | None = None, due: date | None = None) -> OrderEntry:
        """A new order. Without `client_id` it goes to the one client with the label in the text, or to a new one.

        With `client_id` the client's label is written into the text. Raises BookError for a text that is no valid
        order, and where several clients bear the label; MissingError.
        """
        with self._writing() as c:
            return self._add(c, text, client_id, due, "made")

    def begin_order(
        self, text: str, *, client_id: int | None = None, new_client: str | None = None, due: date | None = None
    ) -> OrderEntry:
        """A new order with the measurements of the client's newest tape; where none is kept, with those of the text.

        `new_client` is the label of a client who is made along with it, whoever else bears it: both are in the book, or
        neither. Raises as `add_order`.
        """
        with self._writing() as c:
            if new_client is not None:
                require_client(new_client, "")
                client_id = insert_client(c, new_client, "", stamp(self._now()))
            tape = None
            if client_id is not None:
                require_client_row(c, client_id, hold=True)
                tape = c.execute(newest_tape(client_id)).first()
            if tape is not None:
                text = with_body(text, tape.text)
            return self._add(c, text, client_id, due, "made", tape)

    def orders(
        self, search: str = "", *, client_id: int | None = None, due_by: date | None = None
    ) -> tuple[OrderLine, ...]:
        """Orders, the last changed first, whose name, client's label or notes hold every word of `search`.

        With `due_by` those due up to that day, the earliest first.
        """
        query = line_query().order_by(orders.c.changed_at.desc(), orders.c.id.desc())
        if search.strip():
            query = query.where(
                *(
                    or_(holds_words(orders.c.find, word), holds_words(clients.c.find, word))
                    for word in fold(search).split()
                )
            )
        if client_id is not None:
            query = query.where(orders.c.client_id == client_id)
        if due_by is not None:
            query = query.where(orders.c.due <= due_by).order_by(None).order_by(orders.c.due, orders.c.id)
        with self._reading() as c:
            return tuple(order_line(r) for r in c.execute(query))

    def copy_order(
        self,
        order_id: int,
        client_id: int,
        *,
        name: str | None = None,
        tape_id: int | None = None,
        keep_body: bool = False,
    ) -> OrderEntry:
        """A new order like this one for another client: her label and note, and the body of her newest (or given) tape.

        The versions, the due date and the remarks in the text stay behind: they speak of somebody else. Look at the
        name: it goes along unless another is given. Without a tape BookError, unless `keep_body`: then the readings go
        along, and are no tape of hers (see `Tapes.tape_of`). For the same client note and remarks stay, and the body
        where no tape is given.
        """
        with self._writing() as c:
            row = order_row(c, order_id)
            client = require_client_row(c, client_id, hold=True)
            same = row.client_id == client_id
            text = row.text if same else with_client(row.text, client.label, client.note, remarks=False)
            tape = None if tape_id is None and (same or keep_body) else _tape_for(c, client_id, tape_id)
            if tape is not None:
                text = with_body(text, tape.text)
            if name is not None:
                read_name = name.strip()
                text = with_name(text, read_name)
            # The same client's figures are still those of the tape that the first order took over.
            lent = tape is None and (lent_readings(c, row) if same else not read(text, "order").body.as_asked)
            how: How = "copied with readings" if lent else "copied"
            return self._add(c, text, client_id, None, how, row if tape is None and same else tape)

    def remove_order(self, order_id: int, *, based_on: int) -> None:
        """Take an order out of the book with all its versions. Raises ConflictError."""
        with self._writing() as c:
            row = order_row(c, order_id, hold=True)
            if row.edit != based_on:
                raise ConflictError(order_entry(row), based_on)
            c.execute(delete(versions).where(versions.c.order_id == order_id))
            c.execute(delete(orders).where(orders.c.id == order_id))

    def export_order(self, order_id: int, file: Path, *, force: bool = False) -> Path:
        """Write the order file (TOML), exactly as it stands in the book; BookError if the file is there already."""
        return write_whole(file, self.order(order_id).text.encode(), force=force)

    def import_order(self, file: Path, *, client_id: int | None = None) -> OrderEntry:
        """`add_order` from a file; an order without a name takes the file's. A drawing that it names comes along."""
        text = decode(read_small(file, _LARGEST), str(file))
        order = read(text, str(file))
        if order.pattern is not None:
            text = _with_drawing(text, file)
        if "name" not in _top_keys(text):
            text = with_name(text, _plain_name(file.stem) or order.name)
        with self._writing() as c:
            return self._add(c, text, client_id, None, "imported")

    def _add(
        self,
        c: Connection,
        text: str,
        client_id: int | None,
        due: date | None,
        how: How,
        tape: Row[Any] | None = None,
    ) -> OrderEntry:
        now = self._now()
        if how == "made":
            text = _housed(c, text)
        order = read(text, "order")
        if client_id is None:
            client_id = self._client_for(c, order.client.label)
        else:
            client = require_client_row(c, client_id, hold=True)
            if order.client.label != client.label:
                text = with_client(text, client.label, None)
                order = read(text, "order")
        order_id = _new_id(
            c.execute(
                insert(orders).values(
                    uid=new_uid(),
                    client_id=client_id,
                    name=order.name,
                    find=searched(order),
                    due=due,
                    typed="{}",
                    current=1,
                    edit=1,
                    made_at=stamp(now),
                    changed_at=stamp(now),
                )
            )
        )
        first_version(c, order_id, text, due, how, now, tape)
        return order_entry(order_row(c, order_id))

    def _client_for(self, c: Connection, label: str) -> int:
        """The one client with this label, or a new one; an order without a label gets a client of its own."""
        found = c.execute(select(clients.c.id).where(clients.c.label == label)).scalars().all() if label else []
        if len(found) > 1:
            numbers = ", ".join(str(n) for n in sorted(found))
            raise BookError("several_clients", label=label, numbers=numbers)
        return int(found[0]) if found else insert_client(c, label, "", stamp(self._now()))


def insert_client(c: Connection, label: str, note: str, now: str) -> int:
    """A new row for a client; its number."""
    return _new_id(
        c.execute(
            insert(clients).values(
                uid=new_uid(), label=label, note=note, find=fold(label, note), edit=1, made_at=now, changed_at=now
            )
        )
    )


def _new_id(result: Any) -> int:
    return int(result.inserted_primary_key[0])


def tapes_of(client_id: int) -> Select[Any]:
    """The tapes of a client, the newest first: by the day, then by when they were kept.

    Each also names itself as a version does that takes it over: tape_uid, tape_on.
    """
    mine = select(tapes, tapes.c.uid.label("tape_uid"), tapes.c.taken_on.label("tape_on"))
    newest = (tapes.c.taken_on.desc(), tapes.c.made_at.desc(), tapes.c.id.desc())
    return mine.where(tapes.c.client_id == client_id).order_by(*newest)


def newest_tape(client_id: int) -> Select[Any]:
    return tapes_of(client_id).limit(1)


def lent_readings(c: Connection, row: Row[Any]) -> bool:
    """Whether an order's needed readings are all still those that came along from another client's order.

    One of them written anew says that the client was measured: which of the others were read off her too, and found the
    same, nobody can tell.
    """
    query = select(versions.c.how, versions.c.text).where(versions.c.order_id == row.id, versions.c.number == 1)
    first = c.execute(query).one()
    if first.how != "copied with readings" or row.tape_uid is not None:
        return False
    return not set(REQUIRED) & set(changed_readings(first.text, row.text))


def _tape_for(c: Connection, client_id: int, tape_id: int | None) -> Row[Any]:
    query = newest_tape(client_id) if tape_id is None else tapes_of(client_id).where(tapes.c.id == tape_id)
    found = c.execute(query).first()
    if found is not None:
        return found
    if tape_id is not None:
        raise MissingError("no_tape_of_the_client", client=client_id, tape=tape_id)
    raise BookError("no_tape_yet")


def _top_keys(text: str) -> set[str]:
    import tomllib

    return set(tomllib.loads(text))


def _plain_name(stem: str) -> str:
    return "".join(s for s in stem if s.isprintable()).strip()[:120]


def _with_drawing(text: str, file: Path) -> str:
    """The text with the drawing in it that it names: it lies beside the file."""
    # Reading drawings is slow to load, and few orders need it.
    from coutil.trace import TraceError, carrying
    from coutil.trace.model import LARGEST_FILE

    try:
        return carrying(text, lambda name: read_small(file.parent / name, LARGEST_FILE))
    except TraceError as e:
        raise BookError.of(*e.led(str(file))) from None
