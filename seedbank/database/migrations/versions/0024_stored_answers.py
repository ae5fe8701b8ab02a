"""Answers kept for the next program that starts on the database."""

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table

revision: str = "0024"
down_revision: str | None = "0023"


def upgrade() -> None:
    create_table(
        "stored_answer",
        a.text("sort", length=80),
        a.text("seal", length=64),
        a.text("answer"),
        key=("sort",),
    )
