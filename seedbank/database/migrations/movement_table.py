"""The ledger's table as earlier migrations left it, for those that change its rules."""

import sqlalchemy as sa
from alembic import op

from seedbank.database.migrations import building as a

_REASONS = "'acquired', 'harvested', 'tested', 'sown', 'given', 'discarded', 'stock-take'"


def movement_table(*, counted: str = "") -> sa.Table:
    """The table for SQLite, which alters a table by copying it.

    As migration 0001 left it; with the rule ``counted`` as 0006 did, which let amounts be unknown.
    """
    columns = [
        *a.whole("id", "lot_id", "serial"),
        *a.day("on_date"),
        *a.word("reason"),
        *a.whole("seeds", null=bool(counted)),
        *a.real("seeds_se"),
        *a.whole("balance_seeds", null=bool(counted)),
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
        **({"counted": counted} if counted else {}),
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
