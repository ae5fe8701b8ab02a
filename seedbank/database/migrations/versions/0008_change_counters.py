"""Counters of what was written, and with each plan what it was made of."""

import sqlalchemy as sa
from alembic import op

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table

revision: str = "0008"
down_revision: str | None = "0007"


def upgrade() -> None:
    create_table("change_counter", a.text("topic", length=80), a.whole("number"), key=("topic",))
    op.add_column("plan_run", sa.Column("made_of", sa.String(64), nullable=True))
