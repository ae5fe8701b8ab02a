"""What mixtures of seed are made of."""

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table

revision: str = "0016"
down_revision: str | None = "0015"


def upgrade() -> None:
    create_table(
        "mixture_part",
        a.whole("lot_id", "position"),
        a.whole("part_id", null=True),
        a.text("name", length=120),
        a.real("share", null=True),
        key=("lot_id", "position"),
        links={"lot_id": "lot", "part_id": "lot"},
        rules={"share": "share > 0 AND share <= 1", "position": "position >= 1"},
        indexed=("part_id",),
    )
