"""Mixtures: seed of several lots or kinds in one packet, which is a lot with parts.

What it is made of is known roughly at best: a part may name a lot here or only say what it is,
and its share may not be known.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import CheckConstraint
from sqlmodel import Field, Session, SQLModel, col, delete, select

from seedbank.database.queries import in_parts
from seedbank.database.references import goes_along
from seedbank.lots.tables.lots import Lot


class MixturePart(SQLModel, table=True):
    """One part of a mixture. ``share`` is by number of seeds, 0..1; None: not known."""

    __tablename__ = "mixture_part"
    __table_args__ = (
        CheckConstraint("share > 0 AND share <= 1", name="share"),
        CheckConstraint("position >= 1", name="position"),
    )

    lot_id: int = Field(foreign_key="lot.id", primary_key=True, sa_column_kwargs=goes_along())
    position: int = Field(primary_key=True, description="counts the parts from 1")
    part_id: int | None = Field(
        default=None, foreign_key="lot.id", index=True, description="the lot it is seed of"
    )
    name: str = Field(default="", max_length=120, description="what it is, where no lot says it")
    share: float | None = Field(default=None)


@dataclass(frozen=True, slots=True)
class MixtureEntry:
    """A part with the lot it is seed of, if that is one here."""

    part: MixturePart
    lot: Lot | None


def parts_of(session: Session, lot_ids: Iterable[int]) -> dict[int, list[MixtureEntry]]:
    """The parts of those lots that are mixtures, in order, by the lot's id."""
    found: dict[int, list[MixtureEntry]] = {}
    query = (
        select(MixturePart, Lot)
        .outerjoin(Lot, col(Lot.id) == col(MixturePart.part_id))
        .order_by(col(MixturePart.lot_id), col(MixturePart.position))
    )
    for some in in_parts(lot_ids):
        for part, lot in session.exec(query.where(col(MixturePart.lot_id).in_(some))):
            found.setdefault(part.lot_id, []).append(MixtureEntry(part, lot))
    return found


def set_parts(session: Session, lot_id: int, parts: Iterable[MixturePart]) -> None:
    """Make these the lot's parts, in place of those it had; flushes."""
    session.exec(delete(MixturePart).where(col(MixturePart.lot_id) == lot_id))
    for position, part in enumerate(parts, 1):
        part.lot_id, part.position = lot_id, position
        session.add(part)
    session.flush()
