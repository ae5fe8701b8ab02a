"""Seed that came in uncounted, and lots to ask about once: what an import may have made up."""

import sqlalchemy as sa
from alembic import op

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table
from seedbank.database.migrations.doubted_entries import doubt_entries
from seedbank.database.migrations.movement_table import movement_table

revision: str = "0006"
down_revision: str | None = "0005"


def upgrade() -> None:
    with op.batch_alter_table("movement", copy_from=movement_table()) as movement:
        movement.alter_column("seeds", existing_type=sa.Integer(), nullable=True)
        movement.alter_column("balance_seeds", existing_type=sa.Integer(), nullable=True)
        movement.create_check_constraint(
            op.f("ck_movement_counted"),
            "seeds IS NOT NULL OR reason IN ('acquired', 'harvested') OR reverses_id IS NOT NULL",
        )
    create_table(
        "entry_doubt",
        a.whole("lot_id"),
        a.flag("amount", "acquired_day"),
        key=("lot_id",),
        links={"lot_id": "lot"},
        rules={"of_something": "amount OR acquired_day"},
    )
    doubt_entries(op.get_bind())
