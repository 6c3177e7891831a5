"""Versions say from which tape their measurements were taken."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    # Adding a column that may be empty needs no rewriting of the table in either database.
    op.add_column("versions", sa.Column("tape_uid", sa.Text()))
    op.add_column("versions", sa.Column("tape_on", sa.Date()))
