"""What went wrong with a germination test, and when a sealed place was sealed anew."""

from alembic import op

revision: str = "0017"
down_revision: str | None = "0016"

_FAULTS = "'too-cold', 'too-warm', 'dried-out', 'mould', 'old-paper', 'other'"


def upgrade() -> None:
    op.execute(
        "ALTER TABLE germination_test ADD COLUMN fault VARCHAR(32) "
        f"CONSTRAINT ck_germination_test_testfault CHECK (fault IN ({_FAULTS}))"
    )
    op.execute("ALTER TABLE stay ADD COLUMN sealed_anew BOOLEAN DEFAULT false NOT NULL")
