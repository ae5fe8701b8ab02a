"""What a lot is, seed or planting stock, where its kind is usually kept as something else."""

from alembic import op

revision: str = "0010"
down_revision: str | None = "0009"


def upgrade() -> None:
    op.execute(
        "ALTER TABLE lot ADD COLUMN kept_as VARCHAR(32) CONSTRAINT ck_lot_keptas CHECK (kept_as "
        "IN ('seed', 'tubers', 'cloves', 'bulbs', 'bulbils', 'crowns', 'offsets', 'cuttings'))"
    )
    # Shallots were taken for seed whatever they were; that one lot is bulbs, its gardener says.
    op.execute(
        "UPDATE lot SET kept_as = 'seed' WHERE variety_id IN (SELECT variety.id FROM variety "
        "JOIN kind ON kind.id = variety.kind_id WHERE kind.slug = 'shallot')"
    )
