"""What a packet says: germination printed on it, when it was packed, what was done to the seed."""

from alembic import op

revision: str = "0012"
down_revision: str | None = "0011"

_COLUMNS = (
    "packed_on VARCHAR(10)",
    "packed_for INTEGER CONSTRAINT ck_lot_packed_for CHECK (packed_for BETWEEN 1800 AND 2200)",
    "printed_germination_pct FLOAT CONSTRAINT ck_lot_printed_germination_pct "
    "CHECK (printed_germination_pct BETWEEN 0 AND 100)",
    "printed_test_on VARCHAR(10)",
    "seed_form VARCHAR(32) CONSTRAINT ck_lot_seedform "
    "CHECK (seed_form IN ('raw', 'pelleted', 'primed'))",
)


def upgrade() -> None:
    for column in _COLUMNS:
        op.execute(f"ALTER TABLE lot ADD COLUMN {column}")
