"""What changes with anything that sowings teach, or that advice on sowing rests on."""

from collections.abc import Iterator

from sqlalchemy import Subquery
from sqlmodel import Session, col

from seedbank.database.change_stamps import Stamp, edited, stamp_of, weighed
from seedbank.sowing.tables.sowings import Emergence, Loss, Sowing
from seedbank.viability.tables.change_stamps import alive, amounts


def garden_stamp(session: Session) -> Stamp:
    """Changes with anything the gardener's sowings teach from; taking seed changes nothing."""
    return stamp_of(session, alive, sown)


def sowing_stamp(session: Session) -> Stamp:
    """Changes with anything advice on sowing rests on."""
    return stamp_of(session, alive, sown, amounts)


def sown() -> Iterator[Subquery]:
    yield from edited(Sowing, col(Sowing.seeds_sown), col(Sowing.lot_id), last=Sowing.created_at)
    seen = (col(Emergence.units_emerged), col(Emergence.sowing_id))
    yield from weighed(Emergence, *seen, last=Emergence.recorded_at)
    yield from weighed(Loss, col(Loss.units_lost), col(Loss.sowing_id), last=Loss.recorded_at)
