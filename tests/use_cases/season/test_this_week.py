"""This week: five jobs, the most urgent first; what is done, begun or put off leaves them."""

import shutil
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlmodel import Session

from seedbank.common.errors import NotThere
from seedbank.database.engine import open_engine, session_factory
from seedbank.emergence.tables import Protection, SowingMethod
from seedbank.germination.show_tests import counts_due
from seedbank.saving.answers import Stage
from seedbank.saving.show_seed_crops import next_steps
from seedbank.season.answers import Do, ThisWeekAnswer
from seedbank.season.postpone_jobs import PUT_OFF_DAYS, put_off, take_up
from seedbank.season.sowing_looks import LOOK_AFTER_DAYS, LOOK_AGAIN_DAYS
from seedbank.season.this_week import show_this_week
from seedbank.season.to_do import to_do
from seedbank.season.week_jobs import MOST_JOBS
from seedbank.sowing.forms import EmergenceCreate, SowingCreate
from seedbank.sowing.record_sowing import count_emergence, record_sowing
from seedbank.verdicts.judge_lots import judge_collection
from tests.use_cases.conftest import DEMO_NOW, DEMO_TODAY, Garden
from tests.use_cases.germination.test_counts_due import begun, counted
from tests.use_cases.season.test_to_do import seed_crop

# The order design and decisions ask for: due, else lost, in season, towels.
ORDER = (Do.COUNT, Do.EMERGENCE, Do.LAST_CHANCE, Do.GROW_FOR_SEED, Do.SEED_CROP, Do.TOWEL_FIRST)


def week(garden: Garden, days: int = 0) -> ThisWeekAnswer:
    return show_this_week(garden.session, today=garden.today + timedelta(days=days))


def jobs(garden: Garden, days: int = 0) -> list[str]:
    return [one.job for one in week(garden, days).jobs]


def test_five_jobs_stand_out_the_most_urgent_first(demo_stock: Session) -> None:
    answer = show_this_week(demo_stock, today=DEMO_TODAY)
    assert len(answer.jobs) == MOST_JOBS
    assert answer.jobs[0].do in (Do.COUNT, Do.EMERGENCE)
    counts = counts_due(demo_stock, today=DEMO_TODAY)
    due = {one.test for one in counts if one.due and one.due <= DEMO_TODAY}
    assert due <= {one.item.test for one in answer.jobs}
    ranks = [ORDER.index(one.do) > 1 for one in answer.jobs]
    assert ranks == sorted(ranks)  # what is due comes before all else
    grown = [one.item.variety_id for one in answer.jobs if ORDER.index(one.do) > 1]
    assert len(set(grown)) == len(grown)  # a variety asks for one thing at a time
    assert all(one.title.text and one.item.why.text for one in answer.jobs)


def test_nothing_is_lost_between_the_jobs_and_what_can_wait(demo_stock: Session) -> None:
    answer = show_this_week(demo_stock, today=DEMO_TODAY)
    everything = {one.do: one.total for one in to_do(demo_stock, today=DEMO_TODAY).groups}
    to_come = [one for one in answer.begun if one.test]
    for do, total in everything.items():
        listed = sum(one.do is do for one in answer.jobs) + answer.waiting.get(do, 0)
        if do is not Do.COUNT:
            assert listed == total, do
    counts = counts_due(demo_stock, today=DEMO_TODAY)
    due = sum(one.due is not None and one.due <= DEMO_TODAY for one in counts)
    assert sum(one.do is Do.COUNT for one in answer.jobs) + answer.waiting.get(Do.COUNT, 0) == due
    assert len(to_come) == len(counts) - due


def test_the_strip_counts_every_packet_that_is_judged_once(demo_stock: Session) -> None:
    answer = show_this_week(demo_stock, today=DEMO_TODAY)
    judged = judge_collection(demo_stock, today=DEMO_TODAY)
    assert sum(answer.states.values()) == int((judged.verdicts.code >= 0).sum())
    for one in answer.jobs:
        lot = one.item.lot
        if lot is not None:
            at = judged.forecast.collection.code.index(lot)
            assert one.state == judged.verdicts.verdict(at)


def test_a_count_made_leaves_and_comes_back_on_the_day_of_the_next(garden: Garden) -> None:
    test = begun(garden, days_ago=7)  # a carrot's counts: 7 CFR 201.58 table 2, days 6 and 14
    name = f"count-{test}"
    assert name in jobs(garden)
    counted(garden, test, 0, 4)
    answer = week(garden)
    assert name not in [one.job for one in answer.jobs]
    [towel] = [one for one in answer.begun if one.test == test]
    assert towel.look_on == garden.today + timedelta(days=7)
    assert answer.next_on == towel.look_on
    assert name not in jobs(garden, 6)
    assert name in jobs(garden, 7)


@pytest.fixture
def demo_own(garden_file: Path, tmp_path: Path) -> Iterator[Session]:
    """A session on a copy of the demonstration's garden, to write to."""
    engine = open_engine(f"sqlite:///{shutil.copy(garden_file, tmp_path / 'own.sqlite')}")
    with session_factory(engine)() as session:
        yield session
    engine.dispose()


def test_a_job_put_off_leaves_for_a_week_and_the_next_takes_its_place(demo_own: Session) -> None:
    before = show_this_week(demo_own, today=DEMO_TODAY)
    first = before.jobs[0].job
    until = put_off(demo_own, first, today=DEMO_TODAY, now=DEMO_NOW)
    assert until == DEMO_TODAY + timedelta(days=PUT_OFF_DAYS)
    assert put_off(demo_own, first, today=DEMO_TODAY, now=DEMO_NOW) == until  # repeats: harmless
    after = show_this_week(demo_own, today=DEMO_TODAY)
    assert [one.job for one in after.jobs[:-1]] == [one.job for one in before.jobs[1:]]
    assert [(one.job, one.until) for one in after.put_off] == [(first, until)]
    take_up(demo_own, first)
    take_up(demo_own, first)
    assert show_this_week(demo_own, today=DEMO_TODAY) == before


def test_what_was_put_off_comes_back_by_itself(garden: Garden) -> None:
    name = f"count-{begun(garden, days_ago=20)}"
    until = put_off(garden.session, name, **garden.when)
    days = (until - garden.today).days
    assert name not in jobs(garden, days - 1)
    assert name in jobs(garden, days)


def test_only_a_job_of_this_week_is_put_off(garden: Garden) -> None:
    with pytest.raises(NotThere):
        put_off(garden.session, "count-9", **garden.when)


def test_a_sowing_waits_until_it_should_be_up_and_then_a_week_from_each_count(
    garden: Garden,
) -> None:
    lot = garden.lot(400)
    form = SowingCreate(
        lot=lot.code,
        sown_on=garden.today,
        seeds_sown=100,
        method=SowingMethod.ROW,
        protection=Protection.OPEN,
        row_m=2.0,
    )
    sowing = record_sowing(garden.session, form, **garden.when).id
    name = f"emergence-{sowing}"
    [one] = [one for one in week(garden).begun if one.sowing == sowing]
    assert one.look_on == garden.today + timedelta(days=LOOK_AFTER_DAYS)
    assert name not in jobs(garden, LOOK_AFTER_DAYS - 1)
    assert name in jobs(garden, LOOK_AFTER_DAYS)
    day = garden.today + timedelta(days=LOOK_AFTER_DAYS)
    up = EmergenceCreate(on_date=day, units_emerged=30)
    count_emergence(garden.session, sowing, up, today=day, now=garden.now)
    assert name not in jobs(garden, LOOK_AFTER_DAYS)
    assert name in jobs(garden, LOOK_AFTER_DAYS + LOOK_AGAIN_DAYS)


def test_a_seed_crop_asks_for_its_isolation_a_fortnight_before_it_flowers(garden: Garden) -> None:
    crop = seed_crop(garden)
    flowers = date(garden.today.year, 6, 20)
    sown = {"stage": Stage.SOWN, "flower_year": garden.today.year, "flower_from": flowers}
    grown = crop.model_copy(update=sown)
    year = garden.today.year
    (before,) = next_steps(garden.session, [grown], date(year, 6, 5))
    (on,) = next_steps(garden.session, [grown], date(year, 6, 6))
    assert before is not None
    assert on is not None
    assert (before.pressing, on.pressing) == (False, True)
    assert before.due == date(garden.today.year, 6, 6)


def test_an_empty_collection_has_no_job_and_no_strip(garden: Garden) -> None:
    answer = week(garden)
    assert (answer.jobs, answer.begun, answer.states, answer.waiting) == ([], [], {}, {})
