"""Several lots sown together, recorded in one go."""

from datetime import date, datetime

from sqlmodel import Session

from seedbank.common.faults import StockFault
from seedbank.database.transaction import transaction
from seedbank.sowing.answers.sowings import SowingAnswer
from seedbank.sowing.forms.several_sowings import SeveralSowings
from seedbank.sowing.record_sowing import record_sowing


def record_sowings(
    session: Session, form: SeveralSowings, *, today: date, now: datetime
) -> list[SowingAnswer]:
    """Record each sowing; where one can't be, none is.

    Raises as recording one, the field told by its entry, like ``sowings[1].seeds_sown``.
    """
    recorded = []
    with transaction(session):
        for at, one in enumerate(form.sowings):
            try:
                recorded.append(record_sowing(session, one, today=today, now=now))
            except StockFault as fault:
                fault.field = f"sowings[{at}].{fault.field}"
                raise
    return recorded
