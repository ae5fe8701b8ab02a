"""What is said of growing a variety for seed is the same on every surface, lot by lot."""

import pytest
from sqlmodel import Session

from seedbank.kinds.tables import OtherKeepers
from seedbank.overview.show_variety import show_variety_at_hand
from seedbank.plan.answers import CropNowAnswer, SavingPlanAnswer
from seedbank.plan.forms import PlanAsk
from seedbank.plan.inputs import gather_plan
from seedbank.plan.make_plan import plan_saving
from seedbank.science.verdicts.verdict import FOR_SEED
from seedbank.season.answers import Do
from seedbank.season.to_do import to_do
from seedbank.verdicts.answers import SeedToSaveItem, VerdictAnswer, When
from seedbank.verdicts.list_verdicts import list_seed_to_save, show_verdict
from tests.use_cases.conftest import DEMO_TODAY


@pytest.fixture(scope="module")
def plan(demo_stock: Session) -> SavingPlanAnswer:
    ask = PlanAsk(time_limit_s=60.0)
    return plan_saving(demo_stock, ask, today=DEMO_TODAY, clock=lambda: 0.0)


@pytest.fixture(scope="module")
def to_save(demo_stock: Session) -> list[SeedToSaveItem]:
    every = tuple(OtherKeepers)
    return list_seed_to_save(demo_stock, today=DEMO_TODAY, other_keepers=every).items


def verdict(session: Session, lot: str) -> VerdictAnswer:
    return show_verdict(session, lot, today=DEMO_TODAY)


def test_seed_to_save_and_the_verdict_of_its_lot_say_the_same(
    demo_stock: Session, to_save: list[SeedToSaveItem]
) -> None:
    assert to_save
    for item in to_save:
        one = verdict(demo_stock, item.sow_lot)
        assert item.advice == one.advice
        assert (item.seeds_to_sow, item.seeds_to_hold) == (one.sow_seeds, one.hold_seeds)
        assert item.probability_now == one.probability_parents_now
        assert item.probability_next_season == one.probability_parents_next_season
        assert item.seed_parents == one.seed_parents


def test_the_plan_says_of_each_crop_what_the_verdict_of_its_lot_does(
    demo_stock: Session, plan: SavingPlanAnswer
) -> None:
    grown = [one for one in plan.this_year if one.sow_lot is not None]
    assert grown
    for crop in grown:
        _as_verdict(crop, verdict(demo_stock, str(crop.sow_lot)))


def _as_verdict(crop: CropNowAnswer, one: VerdictAnswer) -> None:
    assert one.verdict in FOR_SEED
    assert (crop.seeds_to_sow, crop.seeds_to_hold) == (one.sow_seeds, one.hold_seeds)
    assert crop.probability_now == one.probability_parents_now
    assert crop.probability_next_season == one.probability_parents_next_season
    assert one.seed_parents is not None
    assert crop.seed_parents == one.seed_parents.plants
    for reason in crop.reasons:
        if reason.code == "why-now":
            said = (reason.numbers["now"], reason.numbers["next"])
            assert said == (crop.probability_now, crop.probability_next_season)


def test_the_plan_sows_what_verdicts_would_grow_and_nothing_before_it_is_due(
    demo_stock: Session, plan: SavingPlanAnswer, to_save: list[SeedToSaveItem]
) -> None:
    due = {one.variety.id for one in to_save if not one.begun}
    sown = {one.variety.id for one in plan.this_year}
    assert sown <= due
    inputs = gather_plan(demo_stock, today=DEMO_TODAY, horizon=6)
    groups = {
        one.variety_id: asked.group
        for asked in inputs.problem.varieties
        for one in [inputs.varieties[asked.name]]
    }
    planned = {number for number in due if number in groups}
    for number in planned - sown:  # put off only for another of its species
        assert groups[number] in {groups[other] for other in sown}


def test_each_variety_says_of_its_lots_what_their_verdicts_do_and_the_front_page_too(
    demo_stock: Session, to_save: list[SeedToSaveItem]
) -> None:
    wanted = {one.sow_lot: one for one in to_save if not one.begun and one.when is When.NOW}
    listed = {
        str(item.lot): item
        for group in to_do(demo_stock, today=DEMO_TODAY).groups
        if group.do in (Do.LAST_CHANCE, Do.GROW_FOR_SEED)
        for item in group.items
    }
    assert set(listed) == set(wanted)
    for lot, item in listed.items():
        assert item.why == wanted[lot].advice
        number = wanted[lot].variety.id
        at_hand = show_variety_at_hand(demo_stock, number, today=DEMO_TODAY)
        (mine,) = [one for one in at_hand.lots if one.lot == lot]
        assert mine == verdict(demo_stock, lot)


def test_no_chance_of_losing_what_the_plan_grows_is_told_as_none(plan: SavingPlanAnswer) -> None:
    for crop in plan.this_year:
        assert 0.0 < crop.chance_of_loss <= crop.chance_of_loss_if_skipped < 1.0
