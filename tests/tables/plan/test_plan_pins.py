import pytest
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.tables import PlanPinFilter, find_plan_pins, get_plan_pin, pins_between
from tests.tables.conftest import Garden


def test_pins_come_by_year_and_are_found_by_variety(session: Session, garden: Garden) -> None:
    later = garden.pin(year=2029, wanted=False)
    sooner = garden.pin(year=2027, isolation=Isolation.CAGE)
    assert find_plan_pins(session).items == [sooner, later]
    mine = PlanPinFilter(variety=later.variety_id)
    assert find_plan_pins(session, mine).items == [later]
    assert find_plan_pins(session, PlanPinFilter(year=2027)).items == [sooner]
    assert pins_between(session, 2027, 2028) == [sooner]
    assert pins_between(session, 2027, 2029) == [sooner, later]
    with pytest.raises(Missing, match="plan pin"):
        get_plan_pin(session, 999)
