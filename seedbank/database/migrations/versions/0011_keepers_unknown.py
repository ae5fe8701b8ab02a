"""Whether nobody knows how many others keep a variety; what was said before stays as it was."""

from alembic import op

revision: str = "0011"
down_revision: str | None = "0010"


def upgrade() -> None:
    op.execute("ALTER TABLE variety ADD COLUMN keepers_unknown BOOLEAN DEFAULT false NOT NULL")
