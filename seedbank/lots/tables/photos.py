"""A photograph of a lot's packet: one at most, a small JPEG, nothing in it of its taking."""

from datetime import datetime
from typing import Final

from sqlalchemy import CheckConstraint, LargeBinary
from sqlmodel import Field, Session, SQLModel, col, select

from seedbank.database.base import UtcDateTime
from seedbank.database.references import goes_along

MOST_BYTES: Final = 200_000
MOST_EDGE_PX: Final = 1600  # letters of 1 mm on a packet of 15 cm are 10 pixels tall; our choice


class LotPhoto(SQLModel, table=True):
    """The photograph of one lot. It has a table of its own, since lots are read far more often."""

    __tablename__ = "lot_photo"
    __table_args__ = (
        CheckConstraint(f"width_px BETWEEN 1 AND {MOST_EDGE_PX}", name="width_px"),
        CheckConstraint(f"height_px BETWEEN 1 AND {MOST_EDGE_PX}", name="height_px"),
        CheckConstraint(f"length(jpeg) BETWEEN 1 AND {MOST_BYTES}", name="jpeg"),
    )

    lot_id: int = Field(foreign_key="lot.id", primary_key=True, sa_column_kwargs=goes_along())
    width_px: int = Field(description="how wide it is")
    height_px: int = Field(description="how tall it is")
    added_at: datetime = Field(sa_type=UtcDateTime, description="when it was put here")
    jpeg: bytes = Field(sa_type=LargeBinary, description="the picture, a JPEG file beside this one")


def photo_of(session: Session, lot_id: int) -> LotPhoto | None:
    """The photograph of a lot, if it has one."""
    return session.get(LotPhoto, lot_id)


def photo_added_at(session: Session, lot_id: int) -> datetime | None:
    """When a lot's photograph was put here, without reading it; None: it has none."""
    query = select(LotPhoto.added_at).where(col(LotPhoto.lot_id) == lot_id)
    return session.exec(query).first()
