"""Verdicts on stock put together for the purpose, and the sums they rest on."""

from datetime import date

import numpy as np
import pytest
from scipy.special import ndtr, ndtri
from scipy.stats import binom

from seedbank.facts.growing import under_cover_factor
from seedbank.facts.kinds import kind_facts
from seedbank.germination.forms import TestRecord, TestStart
from seedbank.germination.run_tests import record_test, start_test
from seedbank.kinds.edit_kinds import state_fact
from seedbank.kinds.forms import FactStated
from seedbank.kinds.tables import FactName
from seedbank.lots.forms import MovementCreate
from seedbank.lots.move_seed import record_movement
from seedbank.science.sowing.emergence import shift_of_factor
from seedbank.science.verdicts.verdict import Verdict
from seedbank.science.verdicts.verdict_reasons import Cause
from seedbank.verdicts.judge_lots import (
    TEST_SEEDS,
    Judgement,
    _leads,
    budget_of_tests,
    judge_collection,
    judge_varieties,
)
from seedbank.verdicts.lot_prospects import (
    PARENTS_CONFIDENCE,
    USUAL_PARENTS,
    Asked,
    curve_doses,
    lot_chances,
    probits_ahead,
)
from tests.use_cases.conftest import Garden

YOUNG = {"harvest_date": "2026-09-01", "acquired_on": "2026-10-01"}
OLD = {"harvest_date": "2009-09-01", "acquired_on": "2010-01-01"}
RARE = {"other_keepers": "none", "breeding": "open-pollinated", "plants_wanted": 10}


def judged(garden: Garden, today: date | None = None) -> Judgement:
    return judge_collection(garden.session, today=today or garden.today)


def verdict_on(garden: Garden, code: str) -> Verdict | None:
    seen = judged(garden)
    return seen.verdicts.verdict(seen.forecast.collection.code.index(code))


def record(garden: Garden, code: str, good: int, seeds: int, day: str = "2027-01-02") -> None:
    form = TestRecord.model_validate(
        {
            "lot": code,
            "started_on": day,
            "finished_on": day[:8] + "20",
            "replicates": [{"seeds_set": seeds, "normal": good}],
        }
    )
    record_test(garden.session, form, **garden.when)


def state(garden: Garden, kind: str, name: str, value: str) -> None:
    form = FactStated(value=value, source="my own word")
    state_fact(garden.session, kind, FactName(name), form, expected=None)


def use_up(garden: Garden, code: str) -> None:
    form = MovementCreate.model_validate(
        {"reason": "discarded", "amount": {"seeds": garden.balance(code)}}
    )
    record_movement(garden.session, code, form, **garden.when)


FOR_SEED = (Verdict.LAST_CHANCE, Verdict.GROW_FOR_SEED)


@pytest.mark.parametrize("seeds", [3, 60, 2000])
def test_the_last_lot_of_a_line_nobody_else_keeps_is_sown_to_the_end(
    garden: Garden, seeds: int
) -> None:
    variety = garden.variety("parsnip", **RARE)
    code = garden.lot(seeds + 60, variety_id=variety, **OLD).code
    record(garden, code, 0, 60)
    seen = judged(garden)
    assert seen.verdicts.inputs.p_usable[0] < 0.01
    assert seen.verdicts.verdict(0) in FOR_SEED


def test_a_dead_lot_can_go_only_beside_a_better_one_of_its_variety(garden: Garden) -> None:
    variety = garden.variety("leek", **RARE)
    dead = garden.lot(400, variety_id=variety, **OLD).code
    record(garden, dead, 0, 50)
    good = garden.lot(4000, variety_id=variety, **YOUNG).code
    record(garden, good, 96, 100)
    assert verdict_on(garden, dead) is Verdict.CAN_GO
    assert verdict_on(garden, good) is not Verdict.CAN_GO
    use_up(garden, good)
    assert verdict_on(garden, dead) in FOR_SEED
    assert verdict_on(garden, good) is None


def test_a_good_lot_of_another_variety_is_no_reason_to_let_one_go(garden: Garden) -> None:
    dead = garden.lot(400, variety_id=garden.variety("leek", **RARE), **OLD).code
    record(garden, dead, 0, 50)
    good = garden.lot(2000, variety_id=garden.variety("leek", **RARE), **YOUNG).code
    record(garden, good, 96, 100)
    assert verdict_on(garden, dead) in FOR_SEED


def test_a_failing_f1_is_fetched_again_and_a_failing_line_nobody_keeps_is_sown(
    garden: Garden,
) -> None:
    found = {}
    for breeding in ("f1", "open-pollinated"):
        variety = garden.variety("cabbage", **RARE | {"breeding": breeding})
        code = garden.lot(300, variety_id=variety, **OLD).code
        record(garden, code, 1, 50)
        found[breeding] = code
    assert verdict_on(garden, found["f1"]) is Verdict.GET_FRESH
    assert verdict_on(garden, found["open-pollinated"]) in FOR_SEED


@pytest.mark.parametrize("kind", ["parsnip", "common-bean", "tomato", "leek", "carrot"])
def test_a_good_fresh_harvest_clears_its_variety_until_a_day_that_is_told(
    garden: Garden, kind: str
) -> None:
    variety = garden.variety(kind, **RARE)
    old = garden.lot(60, variety_id=variety, harvest_date="2020-09-01").code
    record(garden, old, 20, 50)
    assert verdict_on(garden, old) in FOR_SEED
    new = garden.lot(900, variety_id=variety, origin="self-saved", harvest_date="2026-10-01").code
    record(garden, new, 46, 50)
    seen = judged(garden)
    assert verdict_on(garden, new) not in FOR_SEED
    assert verdict_on(garden, old) not in FOR_SEED
    at = seen.forecast.collection.code.index(new)
    told = seen.next_on(at)
    assert told is not None
    assert told > garden.today
    # Left alone it is not asked for before, and it is by the season told.
    before = judged(garden, told.replace(year=told.year - 1))
    assert before.verdicts.verdict(at) not in FOR_SEED
    assert before.next_on(at) == told
    assert judged(garden, told).verdicts.verdict(at) in (*FOR_SEED, Verdict.TOWEL_FIRST)


def test_a_harvest_that_may_have_crossed_clears_nothing(garden: Garden) -> None:
    variety = garden.variety("common-bean", **RARE)
    old = garden.lot(60, variety_id=variety, harvest_date="2020-09-01").code
    saved = {"origin": "self-saved", "harvest_date": "2026-10-01", "purity": "risk"}
    garden.lot(900, variety_id=variety, **saved)
    assert verdict_on(garden, old) in FOR_SEED


def test_a_bought_packet_is_never_judged_as_a_parent(garden: Garden) -> None:
    for keepers in ("few", "many"):
        for harvest in ("2026-09-01", "2019-09-01", "1999-09-01"):
            variety = garden.variety("carrot", other_keepers=keepers, plants_wanted=10)
            garden.lot(300, variety_id=variety, harvest_date=harvest)
    seen = judged(garden)
    assert not seen.verdicts.parent.any()
    assert not seen.verdicts.where(*FOR_SEED).any()
    assert not any("parents_needed" in reason.values
                   for at in range(6) for reason in seen.verdicts.reasons(at))  # fmt: skip


def test_a_single_seed_is_never_grown_for_seed_as_though_it_would_do(garden: Garden) -> None:
    for harvest in ("2026-09-01", "2022-09-01", "2012-09-01"):
        variety = garden.variety("common-bean", **RARE)
        garden.lot(1, variety_id=variety, harvest_date=harvest)
    assert not judged(garden).verdicts.where(Verdict.GROW_FOR_SEED).any()


def test_the_chance_of_raising_the_parents_is_the_posterior_beyond_what_they_need(
    garden: Garden,
) -> None:
    code = garden.lot(60, variety_id=garden.variety("onion", **RARE), **YOUNG).code
    record(garden, code, 8, 10)
    seen = judged(garden)
    parents = seen.verdicts.inputs.parents_needed[0]
    need, shift = seen.needed[0], float(shift_of_factor(under_cover_factor().value))
    # At the viability needed, 50 seeds raise the parents with the confidence asked, no more.
    emerging = ndtr(ndtri(need) - shift)
    assert binom.sf(parents - 1, 50, emerging) == pytest.approx(PARENTS_CONFIDENCE, abs=1e-6)
    dose = seen.forecast.dose_on(seen.first_day)
    expected = seen.forecast.posterior.probability_at_least(need, dose)
    assert seen.verdicts.inputs.p_parents_now == pytest.approx(expected)
    today = seen.forecast.dose_on(seen.forecast.today)
    assert seen.viability.median[0] == pytest.approx(
        seen.forecast.posterior.band(today).median[0], abs=1e-4
    )


def test_the_decline_between_the_years_worked_out_is_as_good_as_straight(garden: Garden) -> None:
    for kind, harvest in (
        ("parsnip", "2025-09-01"),
        ("tomato", "2020-09-01"),
        ("onion", "2026-09-01"),
    ):
        garden.lot(300, kind=kind, harvest_date=harvest)
    seen = judged(garden)
    doses = curve_doses(seen.forecast, seen.first_day)
    asked = Asked(seen.forecast.dose_on(seen.forecast.today), doses, seen.needed)
    ahead = probits_ahead(lot_chances(seen.forecast.posterior, asked).curve)
    for season in (2, 4, 5, 9):
        dose = seen.forecast.dose_on(seen.first_day + 365.25 * season)
        exact = seen.forecast.posterior.nodes(dose)
        shift = float(shift_of_factor(under_cover_factor().value))
        mean = (exact.weight * ndtr(exact.probit - shift)).sum(axis=1)
        found = ndtr(ahead[season] - shift).mean(axis=1)
        assert found == pytest.approx(mean, abs=0.02)


def test_the_practical_number_of_parents_leads_unless_the_gardener_says(garden: Garden) -> None:
    leek, flax = garden.variety("leek", **RARE), garden.variety("flax", **RARE)
    for variety in (leek, flax):
        garden.lot(1000, variety_id=variety, **YOUNG)
    practical = kind_facts("leek").seed_parents_practical
    assert practical is not None
    assert practical.value == 12
    assert kind_facts("flax").seed_parents_practical is None
    assert judged(garden).verdicts.inputs.parents_needed.tolist() == [12.0, USUAL_PARENTS]
    state(garden, "flax", "seed_parents_maintain", "5")
    state(garden, "leek", "seed_parents_maintain", "30")
    assert judged(garden).verdicts.inputs.parents_needed.tolist() == [30.0, 5.0]


def test_an_empty_lot_has_no_verdict_and_does_not_count_for_its_fellows(garden: Garden) -> None:
    variety = garden.variety("leek", **RARE)
    empty = garden.lot(3000, variety_id=variety, **YOUNG).code
    garden.lot(20, variety_id=variety, **OLD)
    use_up(garden, empty)
    seen = judged(garden)
    assert seen.verdicts.verdict(0) is None
    assert seen.verdicts.urgency[0] == 0
    assert seen.verdicts.inputs.leads.tolist() == [False, True]
    assert not seen.verdicts.inputs.rivalled[1]


def test_seed_that_cannot_be_stored_is_sown_all(garden: Garden) -> None:
    variety = garden.variety("chayote", **RARE)
    garden.lot(40, variety_id=variety, harvest_date="2026-11-01")
    seen = judged(garden)
    assert seen.verdicts.inputs.does_not_store.tolist() == [True]
    assert seen.verdicts.verdict(0) is Verdict.LAST_CHANCE


@pytest.mark.parametrize("keepers", ["few", "many"])
def test_seed_that_cannot_be_stored_is_given_up_once_it_has_outlived_its_kind(
    garden: Garden, keepers: str
) -> None:
    variety = garden.variety("chayote", other_keepers=keepers, plants_wanted=4)
    garden.lot(40, variety_id=variety, harvest_date="2025-10-20")
    seen = judged(garden)
    assert seen.verdicts.verdict(0) is Verdict.GET_FRESH
    assert "outlived" in {reason.code for reason in seen.verdicts.reasons(0)}


def test_the_dead_leave_the_living_lot_of_their_variety_to_be_sown(garden: Garden) -> None:
    variety = garden.variety("chayote", **RARE)
    garden.lot(40, variety_id=variety, harvest_date="2025-10-20")
    garden.lot(40, variety_id=variety, harvest_date="2026-11-01")
    seen = judged(garden)
    assert seen.verdicts.verdict(1) is Verdict.LAST_CHANCE
    assert seen.verdicts.verdict(0) in (Verdict.CAN_GO, Verdict.GET_FRESH)


def test_an_empty_collection_is_judged_without_a_word(garden: Garden) -> None:
    seen = judged(garden)
    assert seen.verdicts.code.shape == seen.needed.shape == (0,)


def test_a_lot_is_judged_alike_with_its_variety_and_with_the_whole_collection(
    garden: Garden,
) -> None:
    varieties = [garden.variety("carrot", **RARE), garden.variety("onion", **RARE)]
    for variety in (varieties[0], varieties[1], varieties[1], varieties[0]):
        garden.lot(150, variety_id=variety, harvest_year=2024, acquired_on="2025-01-01")
    whole = judged(garden)
    part = judge_varieties(garden.session, [2, 3], today=garden.today)
    assert part.forecast.collection.lot_id.tolist() == [2, 3]
    assert part.verdicts.code.tolist() == whole.verdicts.code[1:3].tolist()
    assert part.verdicts.urgency == pytest.approx(whole.verdicts.urgency[1:3], abs=1e-5)


def test_days_since_the_last_finished_test_are_counted_from_its_start(garden: Garden) -> None:
    twice, never, running = (garden.lot(200, **YOUNG).code for _ in range(3))
    record(garden, twice, 18, 20, "2026-12-01")
    record(garden, twice, 18, 20, "2027-02-01")
    form = TestStart.model_validate({"lot": running, "replicates": [20]})
    start_test(garden.session, form, **garden.when)
    inputs = judged(garden).verdicts.inputs
    assert inputs.days_since_test.tolist() == [28.0, np.inf, np.inf]
    assert inputs.open_test.tolist() == [False, False, True]
    assert never


def test_testing_costs_more_where_less_can_be_spared_and_all_beyond_the_reserve(
    garden: Garden,
) -> None:
    variety = garden.variety("carrot", **RARE, reserve_seeds=100)
    for seeds in (105, 140, 5000):
        garden.lot(seeds, variety_id=variety, **YOUNG)
    budget = budget_of_tests(judged(garden).forecast.collection)
    assert budget.spare().tolist() == [5.0, 40.0, 4900.0]
    cost = budget.cost(np.array([TEST_SEEDS]))[:, 0]
    assert cost[0] == np.inf
    assert cost[1] > cost[2] > 0


def test_one_lot_of_each_variety_leads_the_best_hope_then_the_oldest_entry() -> None:
    variety = np.array([2, 1, 2, 1, 3, 2])
    hope = np.array([0.4, np.inf, 0.2, 0.7, np.inf, 0.2])
    assert _leads(variety, hope).tolist() == [False, False, True, True, True, False]


def test_a_full_harvest_clears_its_variety_though_older_seed_is_still_there(
    garden: Garden,
) -> None:
    variety = garden.variety("lettuce", **RARE)
    old = garden.lot(
        600, variety_id=variety, origin="self-saved", harvest_date="2022-09-01",
        acquired_on="2022-09-01",
    ).code  # fmt: skip
    assert verdict_on(garden, old) in FOR_SEED
    fresh = garden.lot(900, variety_id=variety, origin="self-saved", **YOUNG).code
    seen = judged(garden)
    assert not seen.verdicts.where(*FOR_SEED).any()
    next_on = seen.next_on(seen.forecast.collection.code.index(fresh))
    assert next_on is not None
    assert next_on.year > garden.today.year


def test_of_two_harvests_the_one_held_beside_the_other_has_its_day(garden: Garden) -> None:
    variety = garden.variety("leek", **RARE)
    mine = {"variety_id": variety, "origin": "self-saved", **YOUNG}
    codes = [garden.lot(seeds, **mine).code for seeds in (540, 900)]
    beside = garden.lot(900, variety_id=garden.variety("leek", breeding="f1"), **YOUNG)
    seen = judged(garden)
    lots = seen.forecast.collection
    leads, held = sorted(map(lots.code.index, codes), key=lambda at: not seen.verdicts.parent[at])
    assert seen.verdicts.causes[held] & Cause.SECOND_STRING
    assert seen.next_on(leads) is not None
    assert seen.next_on(held) == seen.next_on(leads)
    assert seen.next_on(lots.code.index(beside.code)) is None


def test_a_weak_lot_of_what_isnt_saved_asks_for_fresh_seed_until_there_is_some(
    garden: Garden,
) -> None:
    common = {"other_keepers": "many", "breeding": "open-pollinated", "plants_wanted": 10}
    variety = garden.variety("leek", **common)
    weak = garden.lot(400, variety_id=variety, **OLD).code
    record(garden, weak, 2, 50)
    assert verdict_on(garden, weak) is Verdict.GET_FRESH
    garden.lot(60, variety_id=variety, **YOUNG)
    assert verdict_on(garden, weak) is Verdict.CAN_GO
