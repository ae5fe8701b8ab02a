"""What went wrong with a germination test, when a sealed place was sealed anew, and
grams taken of seed that nobody has counted."""

from alembic import op

from seedbank.database.migrations.movement_table import movement_table

revision: str = "0017"
down_revision: str | None = "0016"

_FAULTS = "'too-cold', 'too-warm', 'dried-out', 'mould', 'old-paper', 'other'"

_BEFORE = "seeds IS NOT NULL OR reason IN ('acquired', 'harvested') OR reverses_id IS NOT NULL"
_COUNTED = f"{_BEFORE} OR (grams IS NOT NULL AND reason IN ('sown', 'given', 'discarded'))"


def upgrade() -> None:
    op.execute(
        "ALTER TABLE germination_test ADD COLUMN fault VARCHAR(32) "
        f"CONSTRAINT ck_germination_test_testfault CHECK (fault IN ({_FAULTS}))"
    )
    name = op.f("ck_movement_counted")
    with op.batch_alter_table("movement", copy_from=movement_table(counted=_BEFORE)) as movement:
        movement.drop_constraint(name, type_="check")
        movement.create_check_constraint(name, _COUNTED)
    op.execute("ALTER TABLE stay ADD COLUMN sealed_anew BOOLEAN DEFAULT false NOT NULL")
