"""What to buy, swap and give, kept in memory while nothing it rests on has changed."""

from datetime import date

from sqlmodel import Session

from seedbank.database.cache import Kept
from seedbank.database.change_stamps import Stamp
from seedbank.database.lanes import PLANS
from seedbank.plan.answers.supplies import SuppliesAnswer
from seedbank.plan.plan_supply import plan_supplies
from seedbank.plan.remedies import Clock
from seedbank.plan.tables.change_stamps import plan_stamp

_KEPT: Kept[SuppliesAnswer] = Kept(lane=PLANS)


def supplies_kept(session: Session, *, today: date) -> SuppliesAnswer | None:
    """The lists if they were worked out before and still hold; None: they must be worked out."""
    last = _KEPT.last(session)
    return last[1] if last is not None and last[0] == _stamp(session, today) else None


def work_out_supplies(session: Session, *, today: date, clock: Clock = None) -> SuppliesAnswer:
    """The lists; they take seconds unless they were worked out before."""
    return _KEPT.get(
        session,
        lambda asking: _stamp(asking, today),
        lambda: plan_supplies(session, today=today, clock=clock),
    )


def _stamp(session: Session, today: date) -> Stamp:
    return (today, *plan_stamp(session))
