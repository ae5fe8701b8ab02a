"""The day a packet says to sow its seed by."""

from alembic import op

from seedbank.database.migrations import building as a

revision: str = "0009"
down_revision: str | None = "0008"


def upgrade() -> None:
    for column in a.day("sow_by", null=True):
        op.add_column("lot", column)
