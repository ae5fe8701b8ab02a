"""What the plan kept last said is told again, by whatever program reads it, for as long as it
holds."""

import json
from datetime import date

from sqlmodel import Session

from seedbank.common.local_format import Local
from seedbank.plan.forms import PlanAsk
from seedbank.plan.make_plan import WorkedOut, keep_saving_plan, work_out_plan
from seedbank.plan.show_plan import show_plan_now
from seedbank.plan.tables import PlanReport, keep_plan_run
from seedbank.settings import Units
from tests.use_cases.conftest import Garden

RARE = {"other_keepers": "none", "breeding": "landrace", "plants_wanted": 10}


def worked_out(garden: Garden) -> WorkedOut:
    return work_out_plan(garden.session, PlanAsk(horizon_years=4), today=garden.today)


def keep(garden: Garden) -> int:
    worked = worked_out(garden)
    number = keep_saving_plan(garden.session, worked, now=garden.now).id
    assert number is not None
    return number


def rare(garden: Garden) -> None:
    garden.lot(200, variety_id=garden.variety("radish", **RARE), harvest_year=2024)


def test_a_plan_says_the_same_to_a_service_started_anew(garden: Garden) -> None:
    rare(garden)
    number = keep(garden)
    garden.session.rollback()  # it is kept already; an open session would hold the lock
    with Session(garden.session.get_bind().engine) as anew:
        now = show_plan_now(anew, today=garden.today)
    assert now is not None
    assert now.told is not None
    assert now.told.id == now.standing.id == number
    assert [one.told for one in now.this_year] == now.told.this_year
    assert now.this_year[0].told is not None
    assert now.this_year[0].told.reasons
    us = Local(Units.US, "en-US")
    assert now.told.remarks
    said = worked_out(garden).answer.remarks
    assert [one.text_for(us) for one in now.told.remarks] == [one.text_for(us) for one in said]
    assert any("sq ft" in one.text_for(us) for one in now.told.remarks)


def test_what_a_plan_said_holds_for_its_year(garden: Garden) -> None:
    rare(garden)
    keep(garden)
    now = show_plan_now(garden.session, today=date(garden.today.year + 1, 1, 1))
    assert now is not None
    assert now.told is None


def test_what_another_program_wrote_is_passed_over(garden: Garden) -> None:
    rare(garden)
    row = garden.session.get_one(PlanReport, keep(garden))
    row.told = json.dumps({"said": "otherwise"})
    garden.session.flush()
    now = show_plan_now(garden.session, today=garden.today)
    assert now is not None
    assert now.told is None


def test_a_plan_of_which_only_the_crops_were_kept_tells_no_reasons(garden: Garden) -> None:
    keep_plan_run(garden.session, first_year=2027, horizon_years=3, choices=[], now=garden.now)
    now = show_plan_now(garden.session, today=garden.today)
    assert now is not None
    assert (now.told, now.this_year) == (None, [])
