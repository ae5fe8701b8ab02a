"""What needs doing now: gathered from records, with reasons, and quickly."""

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest
from sqlmodel import Session

from seedbank.common.errors import Conflict, NotThere
from seedbank.plan.edit_plan_pins import start_planned_crop
from seedbank.plan.last_plan import plan_standing, stock_digest
from seedbank.plan.stops import must_not_flower
from seedbank.plan.tables import keep_plan_run
from seedbank.saving.answers import SeedCropAnswer, Stage
from seedbank.saving.edit_flowerings import state_window
from seedbank.saving.edit_sites import add_site
from seedbank.saving.forms import (
    PlannedCropStart,
    SeedCropCreate,
    SeedCropFail,
    SiteCreate,
    WindowStated,
)
from seedbank.saving.grow_seed_crops import fail_seed_crop, start_seed_crop
from seedbank.saving.show_seed_crops import next_steps
from seedbank.science.quantities import Finding
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import Do, ToDoAnswer, ToDoGroup
from seedbank.season.to_do import to_do, why_running_out
from seedbank.verdicts.answers import When
from seedbank.verdicts.judge_lots import judge_collection
from tests.use_cases.conftest import DEMO_TODAY, Garden

YEAR = DEMO_TODAY.year


def group(answer: ToDoAnswer, do: Do) -> ToDoGroup:
    return next(one for one in answer.groups if one.do is do)


def plan(session: Session, now: datetime, *crops: tuple[int, int, int, int | None]) -> None:
    """Keep a plan of crops given as variety, year sown, year of flower and site."""
    choices = [
        {
            "variety_id": variety,
            "crops": [{"year": sow, "flowers_in": flower, "site_id": site, "way": "distance"}],
        }
        for variety, sow, flower, site in crops
    ]
    keep_plan_run(
        session,
        first_year=now.year,
        horizon_years=3,
        choices=choices,
        now=now,
        made_of=stock_digest(session),
    )
    session.commit()


def test_nothing_to_do_in_an_empty_collection_leaves_no_group(garden: Garden) -> None:
    answer = to_do(garden.session, today=garden.today)
    assert (answer.groups, answer.plan) == ([], None)


def test_groups_of_lots_are_those_of_the_verdicts_the_most_urgent_first(
    demo_stock: Session,
) -> None:
    seen = judge_collection(demo_stock, today=DEMO_TODAY)
    answer = to_do(demo_stock, today=DEMO_TODAY)
    for do, verdict in (
        (Do.LAST_CHANCE, Verdict.LAST_CHANCE),
        (Do.GROW_FOR_SEED, Verdict.GROW_FOR_SEED),
        (Do.TOWEL_FIRST, Verdict.TOWEL_FIRST),
    ):
        listed = group(answer, do)
        codes = seen.forecast.collection.code
        urgency = [seen.verdicts.urgency[codes.index(str(one.lot))] for one in listed.items]
        due = np.flatnonzero(seen.to_be_done(verdict)).tolist()
        if do is not Do.TOWEL_FIRST:  # what can't be sown yet waits for its day
            due = [one for one in due if seen.time_of(one).when is When.NOW]
        assert listed.total == len(due) == len(listed.items)
        assert urgency == sorted(urgency, reverse=True)
        assert all(one.why.text for one in listed.items)


def test_a_few_of_each_are_listed_with_how_many_there_are(demo_stock: Session) -> None:
    everything = to_do(demo_stock, today=DEMO_TODAY)
    few = to_do(demo_stock, today=DEMO_TODAY, most=2)
    for whole, part in zip(everything.groups, few.groups, strict=True):
        assert (part.do, part.total) == (whole.do, whole.total)
        assert part.items == whole.items[:2]


def test_no_plan_is_worked_out_for_it(demo_stock: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    def solve(*_: object, **__: object) -> None:
        raise AssertionError("a plan was worked out")

    monkeypatch.setattr("scipy.optimize.milp", solve)
    assert to_do(demo_stock, today=date(2027, 2, 21)).groups


def test_a_variety_without_seed_for_the_plants_wanted_is_running_out(garden: Garden) -> None:
    empty = garden.variety("dill", plants_wanted=30)
    short = garden.variety("pea", plants_wanted=10, reserve_seeds=150)
    garden.lot(60, kind="pea", variety_id=short)
    enough = garden.variety("lettuce", plants_wanted=10, reserve_seeds=50)
    garden.lot(2000, kind="lettuce", variety_id=enough)
    listed = group(to_do(garden.session, today=garden.today), Do.RUNNING_OUT)
    assert [one.variety_id for one in listed.items] == [empty, short]
    assert [one.why.text for one in listed.items] == [
        "No living seed is left for the 30 plants wanted a year.",
        "60 seeds are left, fewer than the 150 kept in reserve.",
    ]


def test_seed_that_has_outlived_its_kind_is_not_seed_held(garden: Garden) -> None:
    number = garden.variety("chayote", plants_wanted=4)
    garden.lot(40, variety_id=number, harvest_date="2026-11-01")
    judged = judge_collection(garden.session, today=garden.today)
    assert why_running_out(garden.session, number, judged) is None
    other = garden.variety("chayote", plants_wanted=4)
    garden.lot(40, variety_id=other, harvest_date="2020-10-20")
    judged = judge_collection(garden.session, today=garden.today)
    said = why_running_out(garden.session, other, judged)
    assert said == Finding("none-living", {"plants": 4, "reserve_seeds": 0})


def test_what_must_not_flower_is_what_the_crossing_check_says_of_crops_on_record(
    demo_stock: Session,
) -> None:
    stops = must_not_flower(demo_stock, YEAR)
    [crop] = {one.name for stop in stops for one in stop.endangers}
    assert crop == "Tattermoss Goldcoin"  # the one seed crop of the demo still in the open
    assert {stop.what.value for stop in stops} == {"left-to-run", "neighbour"}


def test_the_kept_plan_adds_its_crops_to_what_must_be_done(garden: Garden) -> None:
    site = add_site(garden.session, SiteCreate(name="Long garden")).id
    bean, later = garden.variety("broad-bean"), garden.variety("carrot")
    year = garden.today.year
    plan(garden.session, garden.now, (bean, year, year, site), (later, year + 1, year + 2, site))
    listed = group(to_do(garden.session, today=garden.today), Do.SEED_CROP)
    assert [one.variety_id for one in listed.items] == [bean]
    start_planned_crop(
        garden.session, PlannedCropStart(variety_id=bean, flower_year=year), **garden.when
    )
    [begun] = group(to_do(garden.session, today=garden.today), Do.SEED_CROP).items
    assert (begun.variety_id, begun.why.text) == (bean, "Planned and not sown yet.")


def test_a_planned_crop_is_begun_once_as_planned_from_the_best_lot(garden: Garden) -> None:
    site = add_site(garden.session, SiteCreate(name="Long garden")).id
    bean = garden.variety("broad-bean", other_keepers="none")
    garden.lot(5, kind="broad-bean", variety_id=bean)
    best = garden.lot(400, kind="broad-bean", variety_id=bean)
    year = garden.today.year
    plan(garden.session, garden.now, (bean, year, year, site))
    form = PlannedCropStart(variety_id=bean, flower_year=year)
    crop = start_planned_crop(garden.session, form, **garden.when)
    assert (crop.lot, crop.site.id, crop.flower_year) == (best.code, site, year)
    assert (crop.isolation, crop.purpose, crop.stage) == ("distance", "rare", "planned")
    with pytest.raises(Conflict, match="is on record"):
        start_planned_crop(garden.session, form, **garden.when)
    fail_seed_crop(garden.session, crop.id, SeedCropFail(why="mice"), today=garden.today)
    with pytest.raises(Conflict, match="is on record"):
        start_planned_crop(garden.session, form, **garden.when)


def test_what_the_plan_does_not_have_is_not_begun(garden: Garden) -> None:
    bean = garden.variety("broad-bean")
    with pytest.raises(NotThere):
        start_planned_crop(
            garden.session, PlannedCropStart(variety_id=bean, flower_year=2027), **garden.when
        )


def test_a_plan_older_than_what_was_recorded_last_says_so(garden: Garden) -> None:
    assert plan_standing(garden.session) is None
    garden.lot(100)
    plan(garden.session, garden.now)
    standing = plan_standing(garden.session)
    assert standing is not None
    assert not standing.stock_changed
    later = replace(garden, now=datetime(2190, 1, 1, tzinfo=UTC))
    later.lot(100)
    standing = plan_standing(garden.session)
    assert standing is not None
    assert standing.stock_changed


def seed_crop(garden: Garden, **more: object) -> SeedCropAnswer:
    site = add_site(garden.session, SiteCreate(name=f"Bed {more}")).id
    body = {"variety_id": garden.variety("beet"), "site_id": site, "purpose": "keep", **more}
    return start_seed_crop(garden.session, SeedCropCreate.model_validate(body), **garden.when)


def test_each_stage_of_a_seed_crop_has_its_next_step(garden: Garden) -> None:
    year = garden.today.year
    crop = seed_crop(garden)

    def step(**more: object) -> tuple[str, bool]:
        (found,) = next_steps(garden.session, [crop.model_copy(update=more)], garden.today)
        assert found is not None
        return found.text, found.pressing

    assert step() == ("Planned and not sown yet.", True)
    assert step(sow_on=garden.today)[0] == "To be sown today."
    assert step(sow_on=date.fromordinal(garden.today.toordinal() + 3)) == (
        "To be sown in 3 days.",
        False,
    )
    assert step(sow_on=date.fromordinal(garden.today.toordinal() - 1)) == (
        "It was to be sown 1 day ago.",
        True,
    )
    sown = {"stage": Stage.SOWN, "isolation": "cage"}
    assert step(**sown, flower_year=year + 1)[1] is False
    assert "put up its cage" in step(**sown, flower_year=year)[0]
    assert "in flower" in step(**sown, flower_year=year, flower_from=garden.today)[0]
    assert "harvest" in step(**sown, flower_year=year, flower_to=garden.today)[0]
    assert "record its harvest" in step(**sown, flower_year=year - 1)[0]
    over = crop.model_copy(update={"stage": Stage.FAILED})
    assert next_steps(garden.session, [over], garden.today) == [None]


def test_a_crop_asks_for_its_isolation_a_fortnight_before_its_kind_flowers_and_then_for_harvest(
    garden: Garden,
) -> None:
    year = garden.today.year
    days = WindowStated(from_day=160, to_day=200, source="my notebook")
    state_window(garden.session, "beet", days, site_id=None, expected=None)
    crop = seed_crop(garden).model_copy(update={"stage": Stage.SOWN, "flower_year": year})

    def step(on: date) -> tuple[str, bool]:
        (found,) = next_steps(garden.session, [crop], on)
        assert found is not None
        return found.code, found.pressing

    assert step(date(year, 3, 1)) == ("crop-before-flower", False)
    assert step(date(year, 5, 20)) == ("crop-before-flower", False)
    assert step(date(year, 5, 26)) == ("crop-before-flower", True)
    assert step(date(year, 7, 30)) == ("crop-ripening", True)
