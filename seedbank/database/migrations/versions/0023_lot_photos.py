"""Photographs of lots' packets."""

from seedbank.database.migrations import building as a
from seedbank.database.migrations.building import create_table

revision: str = "0023"
down_revision: str | None = "0022"


def upgrade() -> None:
    create_table(
        "lot_photo",
        a.whole("lot_id", "width_px", "height_px"),
        a.moment("added_at"),
        a.binary("jpeg"),
        key=("lot_id",),
        links={"lot_id": "lot"},
        rules={
            "width_px": "width_px BETWEEN 1 AND 1600",
            "height_px": "height_px BETWEEN 1 AND 1600",
            "jpeg": "length(jpeg) BETWEEN 1 AND 200000",
        },
    )
