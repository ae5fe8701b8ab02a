"""Which row of which list a lot came from, in a table of its own instead of in the lot's notes."""

from alembic import op

from seedbank.database import word_index
from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table
from seedbank.database.migrations.marks_in_notes import move_marks

revision: str = "0007"
down_revision: str | None = "0006"


def upgrade() -> None:
    create_table(
        "brought_in",
        a.whole("lot_id"),
        a.word("source"),
        a.text("mark", length=64),
        a.text("label", length=120),
        key=("lot_id", "source"),
        links={"lot_id": "lot"},
        rules=a.words({"source": "broughtby: folder spreadsheet passport descriptors"}),
        indexed=("mark",),
    )
    word_index.make(op.get_bind())  # notes are written through it
    move_marks(op.get_bind())
