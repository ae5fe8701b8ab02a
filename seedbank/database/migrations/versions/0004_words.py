"""The indexes that words are found by, where the database can have them."""

from alembic import op

from seedbank.database import word_index

revision: str = "0004"
down_revision: str | None = "0003"


def upgrade() -> None:
    word_index.make(op.get_bind())
