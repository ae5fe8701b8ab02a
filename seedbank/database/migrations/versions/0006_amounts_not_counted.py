"""Seed that came in uncounted, and lots to ask about once: what an import may have made up."""

import sqlalchemy as sa
from alembic import op

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table
from seedbank.database.migrations.doubted_entries import doubt_entries

revision: str = "0006"
down_revision: str | None = "0005"

_REASONS = "'acquired', 'harvested', 'tested', 'sown', 'given', 'discarded', 'stock-take'"


def upgrade() -> None:
    with op.batch_alter_table("movement", copy_from=_movement()) as movement:
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


def _movement() -> sa.Table:
    """The table as migration 0001 left it, for SQLite, which alters a table by copying it."""
    columns = [
        *a.whole("id", "lot_id", "serial"),
        *a.day("on_date"),
        *a.word("reason"),
        *a.whole("seeds"),
        *a.real("seeds_se"),
        *a.whole("balance_seeds"),
        *a.real("grams", "thousand_seed_weight_g", null=True),
        *a.whole("reverses_id", null=True),
        *a.text("note", length=400),
        *a.moment("recorded_at"),
    ]
    rules = {
        "balance_seeds": "balance_seeds >= 0",
        "grams": "grams >= 0",
        "seeds_se": "seeds_se >= 0",
        "serial": "serial >= 1",
        "movementreason": f"reason IN ({_REASONS})",
    }
    return sa.Table(
        "movement",
        sa.MetaData(),
        *columns,
        sa.PrimaryKeyConstraint("id", name=op.f("pk_movement")),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name=op.f("fk_movement_lot_id_lot")),
        sa.ForeignKeyConstraint(
            ["reverses_id"], ["movement.id"], name=op.f("fk_movement_reverses_id_movement")
        ),
        sa.UniqueConstraint("lot_id", "serial", name=op.f("uq_movement_lot_id")),
        *(
            sa.CheckConstraint(rule, name=op.f(f"ck_movement_{name}"))
            for name, rule in rules.items()
        ),
        sa.Index(
            "uq_movement_reverses_id",
            "reverses_id",
            unique=True,
            sqlite_where=sa.text("reverses_id IS NOT NULL"),
        ),
    )
