"""A plan knows what it was made of: whether the stock has changed since is told after a restart."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from sqlmodel import Session, select

from seedbank.database.engine import open_engine, session_factory
from seedbank.lots.forms import LotChange, MovementCreate
from seedbank.lots.move_seed import record_movement
from seedbank.lots.take_in_lots import change_lot
from seedbank.plan.forms import PlanAsk
from seedbank.plan.last_plan import plan_standing, stock_digest
from seedbank.plan.make_plan import keep_saving_plan, work_out_plan
from seedbank.plan.tables import PlanRun
from tests.use_cases.conftest import Garden


def keep_plan(garden: Garden) -> None:
    worked = work_out_plan(garden.session, PlanAsk(horizon_years=2), today=garden.today)
    keep_saving_plan(garden.session, worked, now=garden.now)


def changed(session: Session) -> bool:
    standing = plan_standing(session)
    assert standing is not None
    return standing.stock_changed


def changed_after_restart(garden: Garden) -> bool:
    """As a server started anew tells, with nothing in memory."""
    engine = open_engine(str(garden.session.get_bind().engine.url))
    with session_factory(engine, writes=False)() as session:
        answer = changed(session)
    engine.dispose()
    return answer


@pytest.fixture
def planned(garden: Garden) -> str:
    """A lot's code, in a garden whose plan was kept last, by a clock ahead of what was entered."""
    code = garden.lot(300, harvest_year=2025).code
    keep_plan(garden)
    return code


def test_a_plan_of_this_stock_is_fresh_after_a_restart_whatever_the_hour(
    garden: Garden, planned: str
) -> None:
    assert planned
    run = garden.session.exec(select(PlanRun)).one()
    run.created_at = datetime(
        2020, 1, 1, tzinfo=UTC
    )  # the real hour, while a later day is pretended
    garden.session.add(run)
    garden.session.commit()
    assert not changed(garden.session)
    assert not changed_after_restart(garden)


GIVEN = {"reason": "given", "on_date": "2027-03-01", "amount": {"seeds": 5}}
CHANGES: dict[str, Callable[[Garden, str], object]] = {
    "seed given away": lambda g, code: record_movement(
        g.session, code, MovementCreate.model_validate(GIVEN), **g.when
    ),
    "another lot": lambda g, _: g.lot(20),
    "a lot's age": lambda g, code: change_lot(
        g.session,
        code,
        LotChange.model_validate({"harvest_year": 2019}),
        expected=None,
        today=g.today,
    ),
}


@pytest.mark.parametrize("what", CHANGES)
def test_whatever_it_was_made_of_changes_is_told_at_once_and_after_a_restart(
    garden: Garden, planned: str, what: str
) -> None:
    CHANGES[what](garden, planned)
    assert changed(garden.session)
    assert changed_after_restart(garden)
    keep_plan(garden)
    assert not changed(garden.session)


def test_a_note_on_a_lot_leaves_the_plan_as_fresh_as_it_was(garden: Garden, planned: str) -> None:
    form = LotChange.model_validate({"notes": "in the blue tin"})
    change_lot(garden.session, planned, form, expected=None, today=garden.today)
    assert not changed(garden.session)
    assert not changed_after_restart(garden)


def test_of_a_plan_that_never_said_what_it_was_made_of_the_stock_may_have_changed(
    garden: Garden, planned: str
) -> None:
    assert planned
    run = garden.session.exec(select(PlanRun)).one()
    run.made_of = None
    garden.session.add(run)
    garden.session.commit()
    assert changed(garden.session)


def test_the_digest_is_of_what_is_on_record_not_of_when_it_is_asked(garden: Garden) -> None:
    before = stock_digest(garden.session)
    code = garden.lot(40).code
    held = stock_digest(garden.session)
    assert held != before
    record_movement(garden.session, code, MovementCreate.model_validate(GIVEN), **garden.when)
    assert stock_digest(garden.session) not in (before, held)
