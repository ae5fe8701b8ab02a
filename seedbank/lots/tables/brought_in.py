"""Which row of which list a lot came from, so that a list brought again makes no lot twice."""

from collections.abc import Iterable
from enum import StrEnum

from sqlmodel import Field, Session, SQLModel, col, select

from seedbank.database.base import word
from seedbank.database.migrations.marks_in_notes import mark_of
from seedbank.database.queries import in_parts
from seedbank.database.references import goes_along
from seedbank.lots.tables.lots import Lot

__all__ = ["BroughtBy", "BroughtIn", "enter_row", "labels_of", "lots_of_rows", "mark_of"]


class BroughtBy(StrEnum):
    """What a lot was brought in by."""

    FOLDER = "folder"
    SPREADSHEET = "spreadsheet"
    PASSPORT = "passport"
    DESCRIPTORS = "descriptors"


class BroughtIn(SQLModel, table=True):
    """The row that a lot was made of. ``label`` is the lot's name in a folder's lots.csv."""

    __tablename__ = "brought_in"

    lot_id: int = Field(foreign_key="lot.id", primary_key=True, sa_column_kwargs=goes_along())
    source: BroughtBy = Field(sa_type=word(BroughtBy), primary_key=True)
    mark: str = Field(max_length=64, index=True, description="what the row is known again by")
    label: str = Field(default="", max_length=120)


def enter_row(session: Session, lot: Lot, source: BroughtBy, mark: str, label: str = "") -> None:
    """Remember the row a lot, which has its number, was made of; doesn't flush."""
    session.add(BroughtIn(lot_id=lot.id or 0, source=source, mark=mark, label=label))


def lots_of_rows(session: Session, source: BroughtBy, marks: Iterable[str]) -> dict[str, Lot]:
    """Lots that were made of these rows before, the first of each, by the row's mark."""
    found: dict[str, Lot] = {}
    query = select(BroughtIn.mark, Lot).join(Lot, col(Lot.id) == col(BroughtIn.lot_id))
    for part in in_parts(marks):
        of_part = query.where(col(BroughtIn.source) == source, col(BroughtIn.mark).in_(part))
        for mark, lot in session.exec(of_part.order_by(col(Lot.id))):
            found.setdefault(mark, lot)
    return found


def labels_of(session: Session, lot_ids: Iterable[int]) -> dict[int, str]:
    """Labels that lots had in the folder they were brought in with, by the lot's id."""
    query = select(BroughtIn.lot_id, BroughtIn.label).where(
        col(BroughtIn.lot_id).in_(list(lot_ids)), col(BroughtIn.label) != ""
    )
    return dict(session.exec(query).all())
