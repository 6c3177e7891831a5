"""The first form of the book."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

# Marks an SQLite file as a book: "cout" in ASCII.
_APPLICATION_ID = 0x636F7574
# What may name or describe a person. PostgreSQL keeps samples of a column's values for its planner; these columns
# get none, so that nothing of an erased client stays there.
_PERSONAL = {
    "clients": ("label", "note", "find"),
    "tapes": ("note", "text"),
    "orders": ("name", "find", "typed"),
    "versions": ("text", "changes"),
}


def upgrade() -> None:
    text = sa.Text()
    op.create_table(
        "clients",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", text, nullable=False),
        sa.Column("label", text, nullable=False),
        sa.Column("note", text, nullable=False),
        sa.Column("find", text, nullable=False),
        sa.Column("edit", sa.Integer(), nullable=False),
        sa.Column("made_at", text, nullable=False),
        sa.Column("changed_at", text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_clients"),
        sa.UniqueConstraint("uid", name="uq_clients_uid"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "tapes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", text, nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("note", text, nullable=False),
        sa.Column("text", text, nullable=False),
        sa.Column("made_at", text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_tapes"),
        sa.UniqueConstraint("uid", name="uq_tapes_uid"),
        sa.ForeignKeyConstraint(["client_id"], ["clients.id"], name="fk_tapes_client_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_tapes_client_id", "tapes", ["client_id"])
    op.create_table(
        "orders",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", text, nullable=False),
        sa.Column("client_id", sa.Integer(), nullable=False),
        sa.Column("name", text, nullable=False),
        sa.Column("find", text, nullable=False),
        sa.Column("due", sa.Date()),
        sa.Column("typed", text, nullable=False),
        sa.Column("current", sa.Integer(), nullable=False),
        sa.Column("edit", sa.Integer(), nullable=False),
        sa.Column("made_at", text, nullable=False),
        sa.Column("changed_at", text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_orders"),
        sa.UniqueConstraint("uid", name="uq_orders_uid"),
        sa.ForeignKeyConstraint(["client_id"], ["clients.id"], name="fk_orders_client_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_orders_client_id", "orders", ["client_id"])
    op.create_table(
        "versions",
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("parent", sa.Integer()),
        sa.Column("how", text, nullable=False),
        sa.Column("text", text, nullable=False),
        sa.Column("due", sa.Date()),
        sa.Column("changes", text, nullable=False),
        sa.Column("made_at", text, nullable=False),
        sa.Column("changed_at", text, nullable=False),
        sa.PrimaryKeyConstraint("order_id", "number", name="pk_versions"),
        sa.ForeignKeyConstraint(["order_id"], ["orders.id"], name="fk_versions_order_id"),
        sa.ForeignKeyConstraint(
            ["order_id", "parent"], ["versions.order_id", "versions.number"], name="fk_versions_parent"
        ),
    )
    op.create_index("ix_versions_parent", "versions", ["order_id", "parent"])
    op.create_table(
        "settings",
        sa.Column("name", text, nullable=False),
        sa.Column("value", text, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_settings"),
    )
    if op.get_bind().dialect.name == "sqlite":
        op.execute(f"PRAGMA application_id = {_APPLICATION_ID}")
    else:
        for table, columns in _PERSONAL.items():
            for column in columns:
                op.execute(f"ALTER TABLE {table} ALTER COLUMN {column} SET STATISTICS 0")
