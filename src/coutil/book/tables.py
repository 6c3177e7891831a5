"""The tables of the book. The text of an order is the truth; `name`, `due` and `find` repeat it for lists and search.

Times are ISO 8601 text in UTC with six decimals, so that both databases keep and sort them alike.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import Column, Date, ForeignKey, ForeignKeyConstraint, Index, Integer, MetaData, Table, Text

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
    }
)

clients = Table(
    "clients",
    metadata,
    Column("id", Integer, primary_key=True),
    # The same in every copy of the book, so that an import knows who is there already.
    Column("uid", Text, nullable=False, unique=True),
    Column("label", Text, nullable=False),
    Column("note", Text, nullable=False),
    # Label and note as they are searched: folded, see coutil.book.texts.fold.
    Column("find", Text, nullable=False),
    Column("edit", Integer, nullable=False),
    Column("made_at", Text, nullable=False),
    Column("changed_at", Text, nullable=False),
    # Numbers of erased rows are not given out again: an old page must not show somebody else.
    sqlite_autoincrement=True,
)

tapes = Table(
    "tapes",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("uid", Text, nullable=False, unique=True),
    Column("client_id", Integer, ForeignKey("clients.id"), nullable=False),
    Column("taken_on", Date, nullable=False),
    Column("note", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("made_at", Text, nullable=False),
    Index("ix_tapes_client_id", "client_id"),
    sqlite_autoincrement=True,
)

orders = Table(
    "orders",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("uid", Text, nullable=False, unique=True),
    Column("client_id", Integer, ForeignKey("clients.id"), nullable=False),
    Column("name", Text, nullable=False),
    Column("find", Text, nullable=False),
    Column("due", Date),
    # What was typed and cannot be used yet, a JSON object.
    Column("typed", Text, nullable=False),
    # The number of the current version. No foreign key: versions point here already; `check` looks.
    Column("current", Integer, nullable=False),
    Column("edit", Integer, nullable=False),
    Column("made_at", Text, nullable=False),
    Column("changed_at", Text, nullable=False),
    Index("ix_orders_client_id", "client_id"),
    sqlite_autoincrement=True,
)

versions = Table(
    "versions",
    metadata,
    Column("order_id", Integer, ForeignKey("orders.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("parent", Integer),
    Column("how", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("due", Date),
    # What differs from the parent, a JSON list of [key, before, after].
    Column("changes", Text, nullable=False),
    Column("made_at", Text, nullable=False),
    Column("changed_at", Text, nullable=False),
    # The tape that the measurements were last taken from, and its day. No foreign key: what an order holds of a tape
    # outlives the tape.
    Column("tape_uid", Text),
    Column("tape_on", Date),
    ForeignKeyConstraint(["order_id", "parent"], ["versions.order_id", "versions.number"], name="fk_versions_parent"),
    Index("ix_versions_parent", "order_id", "parent"),
)

# The setting that holds the maker's house.
HOUSE: Final = "house"

settings = Table(
    "settings",
    metadata,
    Column("name", Text, primary_key=True),
    Column("value", Text, nullable=False),
)

# Parents before children: the order to fill them in, and backwards to empty them.
ALL = (clients, tapes, orders, versions, settings)
