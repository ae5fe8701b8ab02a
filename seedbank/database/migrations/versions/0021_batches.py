"""Work done on many lots at once, so that it can be undone at once."""

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table

revision: str = "0021"
down_revision: str | None = "0019"


def upgrade() -> None:
    create_table(
        "batch",
        a.whole("version", "id"),
        a.word("work"),
        a.day("on_date"),
        a.moment("done_at"),
        a.whole("place_id", null=True),
        a.text("target", length=200),
        a.text("note", length=400),
        a.text("parts"),
        a.moment("undone_at", null=True),
        rules=a.words({"work": "batchwork: move give throw-out keepers test"}),
    )
