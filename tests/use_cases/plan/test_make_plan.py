"""The plan over the collection: its question put together, kept to, and said in words."""

import itertools
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
from sqlmodel import Session

from seedbank.common.errors import NotThere
from seedbank.database.cache import CacheRegion
from seedbank.plan import make_plan as service
from seedbank.plan.answers import SavingPlanAnswer
from seedbank.plan.edit_plan_pins import add_plan_pin
from seedbank.plan.forms import PlanAsk, PlanPinCreate
from seedbank.plan.inputs import gather_plan
from seedbank.plan.make_plan import keep_saving_plan, plan_saving, work_out_plan
from seedbank.plan.remedies import answer_pins, help_time
from seedbank.plan.show_plan import show_saving_plan
from seedbank.saving.edit_flowerings import add_flowering, state_window
from seedbank.saving.edit_sites import (
    add_gear,
    add_site,
    change_limits,
    show_limits,
    state_distance,
)
from seedbank.saving.forms import (
    DistanceStated,
    FloweringCreate,
    GearCreate,
    LimitsChange,
    SeedCropCreate,
    SeedCropFail,
    SiteCreate,
    WindowStated,
)
from seedbank.saving.grow_seed_crops import fail_seed_crop, start_seed_crop
from seedbank.science.plan.plan import PlanStatus, solve_plan
from seedbank.science.plan.plan_relief import Relief, ReliefKind
from tests.use_cases.conftest import DEMO_TODAY, Garden

ASK = PlanAsk(horizon_years=4)
RARE = {"other_keepers": "none", "breeding": "landrace", "plants_wanted": 10}


def standing_clock() -> float:
    """Stands still, so that no plan is cut short on a busy machine."""
    return 0.0


def planned(garden: Garden, ask: PlanAsk = ASK) -> SavingPlanAnswer:
    return plan_saving(garden.session, ask, today=garden.today, clock=standing_clock)


def rare(garden: Garden, kind: str = "radish", seeds: int = 200, **more: Any) -> int:
    """A rare variety whose only lot is nearly past it."""
    number = garden.variety(kind, **RARE)
    garden.lot(seeds, variety_id=number, **{"harvest_year": 2024, **more})
    return number


def site(garden: Garden, name: str = "Long garden", bed: float = 40.0) -> int:
    return add_site(garden.session, SiteCreate(name=name, seed_bed_m2=bed)).id


def flowering(garden: Garden, **told: Any) -> None:
    form = FloweringCreate.model_validate({"year": garden.today.year, **told})
    add_flowering(garden.session, form, today=garden.today)


def crop(garden: Garden, variety: int, where: int, **more: Any) -> int:
    form = SeedCropCreate.model_validate(
        {"variety_id": variety, "site_id": where, "purpose": "rare", **more}
    )
    return start_seed_crop(garden.session, form, **garden.when).id


def sown(plan: SavingPlanAnswer) -> set[int]:
    return {one.variety.id for one in plan.this_year}


def crops_of(plan: SavingPlanAnswer, variety: int) -> list[tuple[int, str, str]]:
    """Year of sowing, site and isolation of every crop of a variety."""
    every = [*plan.this_year, *(one for year in plan.later for one in year.sow)]
    return [(c.sow_in, c.site, c.isolation.value) for c in every if c.variety.id == variety]


def test_a_collection_without_seed_has_nothing_to_plan(garden: Garden) -> None:
    plan = planned(garden)
    assert (plan.this_year, plan.later, plan.exposed, plan.loss) == ([], [], [], 0.0)
    assert plan.status is PlanStatus.PROVEN


def test_a_rare_variety_that_fails_is_sown_this_year_and_waiting_costs(garden: Garden) -> None:
    number = rare(garden)
    plan = planned(garden)
    (one,) = plan.this_year
    assert one.variety.id == number
    assert one.chance_of_loss < one.chance_of_loss_if_skipped < one.chance_of_loss_without
    assert {"why-now", "if-skipped", "isolate"} <= {reason.code for reason in one.reasons}
    assert plan.loss < plan.loss_without
    assert plan.gap_pct <= 0.1
    assert plan.sources


def test_a_variety_safe_for_years_is_left_in_peace(garden: Garden) -> None:
    number = garden.variety("radish", plants_wanted=10)
    garden.lot(9000, variety_id=number, harvest_date="2026-09-01")
    plan = planned(garden, PlanAsk(horizon_years=1))
    assert plan.this_year == []


def test_without_a_site_one_is_assumed_and_said(garden: Garden) -> None:
    rare(garden)
    plan = planned(garden)
    assert plan.this_year[0].site == "the garden"
    assert any("No site is on record" in remark.text for remark in plan.remarks)


def test_a_curve_begins_with_what_the_verdict_holds_a_crop_of_all_its_seed_to_keep(
    garden: Garden,
) -> None:
    number = garden.variety("radish", **RARE)
    garden.lot(300, variety_id=number, harvest_year=2024)
    garden.lot(80, variety_id=number, harvest_year=2025)
    inputs = gather_plan(garden.session, today=garden.today, horizon=3)
    (one,) = inputs.varieties.values()
    line = inputs.stock.judged.verdicts.inputs.line
    assert one.existing[0] == pytest.approx(line.crop_all[one.lot], abs=1e-9)
    assert np.all(np.diff(one.existing) <= 0.0)
    assert np.all(np.diff(one.fresh) <= 0.0)
    assert one.existing.size == one.fresh.size == inputs.problem.horizon + 2


def test_hybrids_and_varieties_without_seed_are_left_out_with_the_reason(garden: Garden) -> None:
    hybrid = garden.variety("cucumber", breeding="f1")
    garden.lot(20, variety_id=hybrid)
    empty = garden.variety("leek")
    garden.lot(0, variety_id=empty)
    left = {one.variety.id: one.why.code for one in planned(garden).left_out}
    assert left == {hybrid: "hybrid", empty: "no-seed"}


def test_two_of_a_species_flower_together_only_on_sites_far_enough_apart(garden: Garden) -> None:
    home, away = site(garden), site(garden, "Far field")
    both = {rare(garden, "radish"), rare(garden, "radish")}
    state_distance(garden.session, home, away, DistanceStated(metres=300.0), expected=None)
    assert len(sown(planned(garden)) & both) == 1
    state_distance(garden.session, home, away, DistanceStated(metres=1500.0), expected=None)
    assert sown(planned(garden)) == both


def test_sites_whose_distance_nobody_knows_stand_side_by_side(garden: Garden) -> None:
    site(garden), site(garden, "Far field")
    both = {rare(garden, "radish"), rare(garden, "radish")}
    plan = planned(garden)
    assert len(sown(plan) & both) == 1
    assert any("isn't known" in remark.text for remark in plan.remarks)


def test_a_cage_isolates_what_insects_carry_but_nothing_the_wind_does(garden: Garden) -> None:
    site(garden)
    add_gear(garden.session, GearCreate(name="Gauze cages", gear="cage", pieces=2))
    radishes = {rare(garden, "radish"), rare(garden, "radish")}
    spinaches = {rare(garden, "spinach"), rare(garden, "spinach")}
    plan = planned(garden)
    assert radishes <= sown(plan)
    assert "cage" in {way for n in radishes for _, _, way in crops_of(plan, n)}
    assert len(sown(plan) & spinaches) == 1
    assert {way for n in spinaches for _, _, way in crops_of(plan, n)} == {"distance"}


def test_the_work_of_a_season_is_a_limit(garden: Garden) -> None:
    version = show_limits(garden.session).version
    change = LimitsChange(seed_crops_a_year=1)
    change_limits(garden.session, change, expected={version})
    rare(garden, "radish"), rare(garden, "spinach"), rare(garden, "parsnip")
    plan = planned(garden)
    assert len([one for one in plan.this_year if one.flowers_in == garden.today.year]) <= 1


def test_what_flowers_near_an_open_crop_is_to_be_stopped_in_time(garden: Garden) -> None:
    where, number = site(garden), rare(garden, "radish")
    flowering(garden, site_id=where, kind="radish", what="neighbour", distance_m=700.0)
    flowering(garden, site_id=where, variety_id=number, what="self-sown")
    plan = planned(garden)
    (stop,) = plan.stop_flowering
    assert "neighbour" in stop.name
    assert [one.id for one in stop.endangers] == [number]
    assert stop.before is not None
    assert stop.before.year == garden.today.year
    assert number in sown(plan)


def test_what_no_day_of_cutting_keeps_away_is_told_so_in_the_plan(garden: Garden) -> None:
    where, number = site(garden), rare(garden, "radish")
    always = WindowStated(from_day=2, to_day=1, source="my notebook")
    state_window(garden.session, "radish", always, site_id=None, expected=None)
    flowering(garden, site_id=where, kind="radish", what="neighbour", distance_m=700.0)
    (stop,) = planned(garden).stop_flowering
    assert (stop.before, [one.id for one in stop.endangers]) == (None, [number])
    assert stop.text.startswith("No day of cutting neighbouring radish near ")
    assert stop.text.endswith("apart: a cage, hand pollination and distance.")


def test_a_day_to_cut_before_that_lies_past_new_year_is_a_day_of_the_next_year(
    garden: Garden,
) -> None:
    where = site(garden)
    rare(garden, "radish")
    late = WindowStated(from_day=10, to_day=60, source="my notebook")
    state_window(garden.session, "radish", late, site_id=None, expected=None)
    year = garden.today.year
    days = {"from_date": f"{year}-12-01", "to_date": f"{year + 1}-02-10"}
    flowering(garden, site_id=where, kind="radish", what="neighbour", distance_m=700.0, **days)
    (stop,) = planned(garden).stop_flowering
    assert stop.before == date(year + 1, 1, 10)


def test_a_stand_right_beside_it_keeps_a_crop_from_being_sown_in_the_open(garden: Garden) -> None:
    where, number = site(garden), rare(garden, "radish", seeds=40, harvest_year=2022)
    flowering(garden, site_id=where, kind="radish", what="left-to-run")
    plan = planned(garden)
    assert number not in sown(plan)
    assert plan.exposed[0].variety.id == number
    assert plan.exposed[0].relief is not None
    assert "from flowering" in plan.exposed[0].relief.text


def test_wild_plants_noted_this_year_come_again(garden: Garden) -> None:
    where = site(garden)
    rare(garden, "carrot")
    flowering(garden, site_id=where, kind="carrot", what="wild", distance_m=500.0)
    stands = gather_plan(garden.session, today=garden.today, horizon=3).problem.stands
    assert sorted(stand.season for stand in stands) == [0, 1, 2, 3]
    assert {stand.crossing for stand in stands} == {stands[0].crossing}


def test_where_not_all_can_be_saved_who_is_exposed_and_what_would_help_is_told(
    garden: Garden,
) -> None:
    site(garden)
    add_gear(garden.session, GearCreate(name="Gauze cage", gear="cage", pieces=1))
    three = {rare(garden, "radish", seeds=60, harvest_year=2021) for _ in range(3)}
    plan = planned(garden, PlanAsk(horizon_years=1))
    assert len(sown(plan) & three) == 2
    (left,) = three - sown(plan)
    exposed = {one.variety.id: one for one in plan.exposed}
    assert exposed[left].relief is not None
    assert "One more cage" in exposed[left].relief.text
    after = exposed[left].chance_of_loss_with_relief
    assert after is not None
    assert after < exposed[left].chance_of_loss
    assert ReliefKind.GEAR in {relief.kind for relief in plan.reliefs}


def test_a_pin_is_kept_and_its_cost_shown(garden: Garden) -> None:
    site(garden)
    chosen, other = rare(garden, "radish"), rare(garden, "radish", harvest_year=2026)
    assert sown(planned(garden)) & {chosen, other} == {chosen}
    form = PlanPinCreate(variety_id=other, year=garden.today.year)
    add_plan_pin(garden.session, form)
    plan = planned(garden)
    assert other in sown(plan)
    assert chosen not in sown(plan)
    (pin,) = plan.pins
    assert pin.kept
    assert pin.cost is not None
    assert pin.cost > 0.0
    assert "it adds" in pin.text
    assert next(one for one in plan.this_year if one.variety.id == other).pinned


def test_a_variety_ruled_out_this_year_is_not_sown(garden: Garden) -> None:
    number = rare(garden, "radish")
    form = PlanPinCreate(variety_id=number, year=garden.today.year, wanted=False)
    add_plan_pin(garden.session, form)
    plan = planned(garden)
    assert number not in sown(plan)
    assert plan.pins[0].kept


@pytest.mark.parametrize(
    ("kind", "more", "said"),
    [
        pytest.param("carrot", {}, "outside the plan", id="a biennial can't flower this year"),
        pytest.param("spinach", {"isolation": "cage"}, "can't be isolated", id="wind and a cage"),
    ],
)
def test_a_pin_that_cannot_be_is_told_not_kept(
    garden: Garden, kind: str, more: dict[str, str], said: str
) -> None:
    number = rare(garden, kind)
    form = PlanPinCreate(variety_id=number, year=garden.today.year, **more)
    add_plan_pin(garden.session, form)
    (pin,) = planned(garden).pins
    assert not pin.kept
    assert pin.cost is None
    assert said in pin.text


def test_a_crop_on_record_is_in_the_plan_and_one_lost_is_not_sown_again_this_year(
    garden: Garden,
) -> None:
    where, number = site(garden), rare(garden, "radish")
    begun = crop(garden, number, where)
    assert planned(garden).this_year[0].on_record
    failed = SeedCropFail(why="pigeons")
    fail_seed_crop(garden.session, begun, failed, today=garden.today)
    plan = planned(garden)
    assert number not in sown(plan)
    assert crops_of(plan, number)[0][0] == garden.today.year + 1


def test_a_crop_whose_seed_is_all_sown_lives_in_the_ground(garden: Garden) -> None:
    where, number = site(garden), garden.variety("radish", **RARE)
    lot = garden.lot(200, variety_id=number, harvest_year=2025)
    crop(garden, number, where, lot=lot.code, sow={"seeds_sown": 200})
    assert garden.balance(lot.code) == 0
    (one,) = planned(garden).this_year
    assert one.sow_lot is None
    assert one.on_record
    assert one.chance_of_loss < 0.5


def test_a_biennial_standing_flowers_this_year_and_is_not_sown_beside(garden: Garden) -> None:
    where, number = site(garden), rare(garden, "carrot", seeds=400)
    year = garden.today.year
    crop(garden, number, where, flower_year=year, sow={"sown_on": "2026-06-20"})
    plan = planned(garden)
    assert [one.variety.id for one in plan.standing] == [number]
    assert number not in sown(plan)


def test_a_biennial_never_sown_does_not_stand(garden: Garden) -> None:
    where, number = site(garden), rare(garden, "carrot", seeds=400)
    crop(garden, number, where, sow_on="2026-06-20", flower_year=garden.today.year)
    plan = planned(garden)
    assert plan.standing == []
    assert number in sown(plan)
    assert any("isn't on record as sown" in remark.text for remark in plan.remarks)


def test_a_biennial_is_sown_this_year_to_flower_next(garden: Garden) -> None:
    number = rare(garden, "carrot", seeds=400)
    plan = planned(garden)
    assert [one.id for one in plan.sow_for_next_year] == [number]
    assert "two-years" in {reason.code for reason in plan.this_year[0].reasons}


def test_a_plan_kept_is_found_again_and_planned_anew_changes_as_little_as_it_must(
    garden: Garden,
) -> None:
    where = site(garden)
    numbers = [rare(garden, kind) for kind in ("radish", "spinach", "carrot")]
    worked = work_out_plan(garden.session, ASK, today=garden.today)
    kept = keep_saving_plan(garden.session, worked, now=garden.now)
    assert kept.id is not None
    shown = show_saving_plan(garden.session, kept.id)
    assert {(c.variety.id, c.sow_in) for c in shown.crops if c.sow_in == garden.today.year} == {
        (number, garden.today.year) for number in sown(kept)
    }
    again = planned(garden)
    assert again.changes == 0
    assert again.this_year == kept.this_year
    begun = crop(garden, numbers[0], where)
    fail_seed_crop(garden.session, begun, SeedCropFail(why="hail"), today=garden.today)
    after = planned(garden)
    assert after.changes >= 1
    for number in numbers[1:]:
        assert crops_of(after, number) == crops_of(kept, number)


def test_a_plan_nobody_kept_is_not_there(garden: Garden) -> None:
    with pytest.raises(NotThere):
        show_saving_plan(garden.session, 7)


def test_planning_writes_nothing(garden: Garden) -> None:
    rare(garden)
    before = garden.dump()
    planned(garden)
    assert garden.dump() == before


def test_the_demo_is_planned_to_proof_the_rarest_first_and_always_the_same(
    demo_stock: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    ask = PlanAsk(time_limit_s=60.0)
    plan = plan_saving(demo_stock, ask, today=DEMO_TODAY, clock=standing_clock)
    assert plan.status is PlanStatus.PROVEN
    keepers = [one.other_keepers.value for one in plan.this_year]
    assert keepers == sorted(keepers, key=["none", "few", "many"].index)
    assert "Durrow Emberroot" in {one.variety.name for one in plan.this_year}
    monkeypatch.setattr(service, "_PLANS", CacheRegion())
    assert plan == plan_saving(demo_stock, ask, today=DEMO_TODAY, clock=standing_clock)


def test_a_plan_is_worked_out_once_until_something_it_rests_on_changes(garden: Garden) -> None:
    rare(garden, "radish")
    first = planned(garden)
    assert planned(garden) is first
    rare(garden, "spinach")
    again = planned(garden)
    assert len(again.this_year) + len(again.later) > len(first.this_year) + len(first.later)
    site(garden)
    assert planned(garden) is not again


def test_a_plan_that_ran_out_of_time_is_not_kept(
    garden: Garden, monkeypatch: pytest.MonkeyPatch
) -> None:
    rare(garden)
    whole = service.answer_plan
    late = {"status": PlanStatus.TIME_RAN_OUT}
    monkeypatch.setattr(service, "answer_plan", lambda *a: whole(*a).model_copy(update=late))
    assert planned(garden).status is PlanStatus.TIME_RAN_OUT
    monkeypatch.undo()
    assert planned(garden).status is PlanStatus.PROVEN


def test_help_cut_short_is_told_and_tried_again_when_asked_again(
    garden: Garden, monkeypatch: pytest.MonkeyPatch
) -> None:
    rare(garden, seeds=6)
    whole = service.plan_help
    monkeypatch.setattr(service, "plan_help", lambda *a: replace(whole(*a), cut_short=True))
    cut = planned(garden)
    assert any("Time ran out before all that might help" in one.text for one in cut.remarks)
    assert cut.exposed
    assert all(one.relief is None or one.relief.code != "no-relief" for one in cut.exposed)
    monkeypatch.undo()
    whole_answer = planned(garden)
    assert not any("Time ran out" in remark.text for remark in whole_answer.remarks)
    assert any(one.relief and one.relief.code == "no-relief" for one in whole_answer.exposed)


def test_pins_say_when_there_was_no_time_to_see_what_they_cost(garden: Garden) -> None:
    form = PlanPinCreate(variety_id=rare(garden), year=garden.today.year + 2)
    pinned = add_plan_pin(garden.session, form)
    inputs = gather_plan(garden.session, today=garden.today, horizon=4)
    plan = solve_plan(inputs.problem, time_limit_s=10.0, gap=0.0)
    seconds = itertools.count()
    late = help_time(0.5, lambda: float(next(seconds)))
    (told,) = answer_pins(inputs, plan, plan, late)
    assert (told.id, told.kept, told.cost) == (pinned.id, True, None)
    assert told.text == "Kept; time ran out before what it costs was seen."


@pytest.mark.parametrize(("most", "said"), [(0.01, True), (0.3, False)])
def test_nothing_is_said_to_help_only_where_all_that_might_was_tried_or_proven_useless(
    garden: Garden, monkeypatch: pytest.MonkeyPatch, most: float, said: bool
) -> None:
    rare(garden, seeds=6)
    whole = service.plan_help
    untried = Relief(ReliefKind.BED, "another", 2.0, None, 0.0, most)
    monkeypatch.setattr(
        service, "plan_help", lambda *a: replace(whole(*a), tried=(*whole(*a).tried, untried))
    )
    (one,) = planned(garden).exposed
    assert (one.relief is not None) is said
