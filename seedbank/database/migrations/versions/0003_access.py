"""Access: tokens that let others in, and the trail of who changed what."""

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table, words

revision: str = "0003"
down_revision: str | None = "0002"


def upgrade() -> None:
    create_table(
        "access_token",
        a.whole("id"),
        a.text("name", length=120),
        a.word("rights"),
        a.text("digest", length=64),
        a.moment("made_at"),
        a.moment("revoked_at", null=True),
        rules=words({"rights": "rights: reader keeper owner"}),
    )
    create_table(
        "audit_entry",
        a.whole("id"),
        a.moment("at"),
        a.text("who", length=120),
        a.text("asked", length=400),
        a.whole("row_count"),
        a.text("touched"),
        indexed=["at"],
    )
