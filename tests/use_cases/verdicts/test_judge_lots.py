"""Verdicts on stock put together for the purpose, and the sums they rest on."""

from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
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
from seedbank.verdicts.judge_lots import (
    PARENTS_CONFIDENCE,
    TEST_SEEDS,
    USUAL_PARENTS,
    Judgement,
    _best_other,
    _best_others,
    _leads,
    budget_of_tests,
    judge_collection,
    judge_varieties,
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


@pytest.mark.parametrize("keepers", ["none", "few"])
@pytest.mark.parametrize("seeds", [3, 60, 2000])
def test_the_last_lot_of_a_rare_variety_is_never_discarded(
    garden: Garden, keepers: str, seeds: int
) -> None:
    variety = garden.variety("parsnip", **RARE | {"other_keepers": keepers})
    code = garden.lot(seeds + 60, variety_id=variety, **OLD).code
    record(garden, code, 0, 60)
    seen = judged(garden)
    assert seen.verdicts.inputs.p_usable[0] < 0.01
    assert seen.verdicts.verdict(0) in (Verdict.RESCUE, Verdict.SAVE_SEED)


def test_a_dead_lot_is_discarded_only_beside_a_better_one_of_its_variety(garden: Garden) -> None:
    variety = garden.variety("leek", **RARE)
    dead = garden.lot(400, variety_id=variety, **OLD).code
    record(garden, dead, 0, 50)
    good = garden.lot(4000, variety_id=variety, **YOUNG).code
    record(garden, good, 96, 100)
    assert verdict_on(garden, dead) is Verdict.DISCARD
    assert verdict_on(garden, good) is not Verdict.DISCARD
    use_up(garden, good)
    assert verdict_on(garden, dead) in (Verdict.RESCUE, Verdict.SAVE_SEED)
    assert verdict_on(garden, good) is None


def test_a_good_lot_of_another_variety_is_no_reason_to_discard(garden: Garden) -> None:
    dead = garden.lot(400, variety_id=garden.variety("leek", **RARE), **OLD).code
    record(garden, dead, 0, 50)
    good = garden.lot(2000, variety_id=garden.variety("leek", **RARE), **YOUNG).code
    record(garden, good, 96, 100)
    assert verdict_on(garden, dead) in (Verdict.RESCUE, Verdict.SAVE_SEED)


def test_a_failing_f1_is_replaced_and_a_failing_open_variety_is_not(garden: Garden) -> None:
    found = {}
    for breeding in ("f1", "open-pollinated"):
        variety = garden.variety("cabbage", **RARE | {"breeding": breeding})
        code = garden.lot(300, variety_id=variety, **OLD).code
        record(garden, code, 1, 50)
        found[breeding] = code
    assert verdict_on(garden, found["f1"]) is Verdict.REPLACE
    assert verdict_on(garden, found["open-pollinated"]) is Verdict.RESCUE


def test_a_rare_lot_about_to_collapse_is_rescued_and_the_same_lot_fresh_is_kept(
    garden: Garden,
) -> None:
    variety = garden.variety("parsnip", **RARE)
    code = garden.lot(600, variety_id=variety, harvest_date="2023-09-01").code
    record(garden, code, 46, 60)
    seen = judged(garden)
    inputs = seen.verdicts.inputs
    assert inputs.p_parents_now[0] - inputs.p_parents_next[0] > 0.1
    assert seen.verdicts.verdict(0) is Verdict.RESCUE
    fresh = garden.lot(5000, variety_id=garden.variety("parsnip", **RARE), **YOUNG).code
    record(garden, fresh, 95, 100)
    state(garden, "parsnip", "life_cycle", "annual")
    state(garden, "parsnip", "seed_parents_rare", "10")
    state(garden, "parsnip", "half_viability_years", "60")
    assert verdict_on(garden, fresh) is Verdict.KEEP


def test_a_biennial_is_judged_a_year_earlier(garden: Garden) -> None:
    code = garden.lot(200, variety_id=garden.variety("onion", **RARE), **YOUNG).code
    record(garden, code, 40, 50)
    inputs = {}
    for cycle in ("annual", "biennial"):
        state(garden, "onion", "life_cycle", cycle)
        inputs[cycle] = judged(garden).verdicts.inputs
    annual, biennial = inputs["annual"], inputs["biennial"]
    assert biennial.p_parents_now == pytest.approx(annual.p_parents_now)
    assert biennial.p_parents_next == pytest.approx(annual.p_parents_after)
    assert biennial.p_parents_next[0] < annual.p_parents_next[0] - 0.01
    assert biennial.p_parents_after[0] < biennial.p_parents_next[0]


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
    dose = seen.forecast.dose_on(seen.forecast.today)
    expected = seen.forecast.posterior.probability_at_least(need, dose)
    assert seen.verdicts.inputs.p_parents_now == pytest.approx(expected)
    assert seen.viability.median[0] == pytest.approx(
        seen.forecast.posterior.band(dose).median[0], abs=1e-4
    )


def test_too_little_seed_for_the_parents_wanted_is_judged_by_fewer(garden: Garden) -> None:
    facts = kind_facts("onion")
    counts = [
        fact.value if fact else 0
        for fact in (
            facts.seed_parents_viable,
            facts.seed_parents_maintain,
            facts.seed_parents_rare,
        )
    ]
    viable, maintain, rare = counts
    assert viable < maintain < rare
    variety = garden.variety("onion", **RARE)
    enough = [int(np.ceil(number / 0.8)) for number in (maintain, rare)]
    held = [5, enough[0] - 1, enough[0], enough[1] - 1, enough[1], 20_000]
    for seeds in held:
        garden.lot(seeds, variety_id=variety, **YOUNG)
    common = garden.variety("onion", plants_wanted=5)
    garden.lot(20_000, variety_id=common, **YOUNG)
    parents = judged(garden).verdicts.inputs.parents_needed.tolist()
    # Between the least and the number that maintains: half of what is left.
    half = (enough[0] - 1) // 2
    assert viable < half < maintain
    assert parents == [viable, half, maintain, maintain, rare, rare, maintain]


def test_a_kind_without_figures_takes_the_usual_parents_unless_the_gardener_says(
    garden: Garden,
) -> None:
    assert kind_facts("flax").seed_parents_viable is None
    variety = garden.variety("flax", **RARE)
    for seeds in (4, 1000):
        garden.lot(seeds, variety_id=variety, **YOUNG)
    assert judged(garden).verdicts.inputs.parents_needed.tolist() == [USUAL_PARENTS] * 2
    state(garden, "flax", "seed_parents_maintain", "5")
    assert judged(garden).verdicts.inputs.parents_needed.tolist() == [5.0, USUAL_PARENTS]


def test_an_empty_lot_has_no_verdict_and_does_not_count_for_its_fellows(garden: Garden) -> None:
    variety = garden.variety("leek", **RARE)
    empty = garden.lot(3000, variety_id=variety, **YOUNG).code
    garden.lot(20, variety_id=variety, **OLD)
    use_up(garden, empty)
    seen = judged(garden)
    assert seen.verdicts.verdict(0) is None
    assert seen.verdicts.urgency[0] == 0
    assert seen.verdicts.inputs.is_best_lot.tolist() == [False, True]
    assert seen.verdicts.inputs.p_best_other_lot_now[1] == 0


def test_an_empty_collection_is_judged_without_a_word(garden: Garden) -> None:
    seen = judged(garden)
    assert seen.verdicts.code.shape == seen.needed.shape == (0,)


def test_seed_that_cannot_be_stored_is_not_kept(garden: Garden) -> None:
    variety = garden.variety("chayote", **RARE)
    garden.lot(40, variety_id=variety, harvest_date="2026-11-01")
    seen = judged(garden)
    assert seen.verdicts.inputs.does_not_store.tolist() == [True]
    assert seen.verdicts.verdict(0) is Verdict.RESCUE


@pytest.mark.parametrize(
    ("keepers", "harvest", "verdict"),
    [
        ("few", "2025-10-20", Verdict.REPLACE),
        ("many", "2020-10-20", Verdict.REPLACE),
        ("none", "2026-10-20", Verdict.RESCUE),
    ],
)
def test_seed_that_cannot_be_stored_is_given_up_once_it_has_outlived_its_kind(
    garden: Garden, keepers: str, harvest: str, verdict: Verdict
) -> None:
    variety = garden.variety("chayote", other_keepers=keepers, plants_wanted=4)
    garden.lot(40, variety_id=variety, harvest_date=harvest)
    seen = judged(garden)
    assert seen.verdicts.verdict(0) is verdict
    said = {reason.code for reason in seen.verdicts.reasons(0)}
    assert ("outlived" in said) is (verdict is Verdict.REPLACE)


def test_the_dead_leave_the_living_lot_of_their_variety_to_be_sown(garden: Garden) -> None:
    variety = garden.variety("chayote", **RARE)
    garden.lot(40, variety_id=variety, harvest_date="2025-10-20")
    garden.lot(40, variety_id=variety, harvest_date="2026-11-01")
    seen = judged(garden)
    assert [seen.verdicts.verdict(at) for at in (0, 1)] == [Verdict.DISCARD, Verdict.RESCUE]


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
    for seeds in (110, 140, 5000):
        garden.lot(seeds, variety_id=variety, **YOUNG)
    budget = budget_of_tests(judged(garden).forecast.collection)
    assert budget.spare().tolist() == [10.0, 40.0, 4900.0]
    cost = budget.cost(np.array([float(TEST_SEEDS)]))[:, 0]
    assert cost[0] == np.inf
    assert cost[1] > cost[2] > 0


@st.composite
def fellows(draw: st.DrawFn) -> tuple[Any, ...]:
    size = draw(st.integers(0, 12))
    few = st.sampled_from([0.0, 0.25, 0.5, 1.0])

    def column(values: st.SearchStrategy[Any]) -> list[Any]:
        return draw(st.lists(values, min_size=size, max_size=size))

    return (
        np.array(column(st.integers(1, 4)), dtype=np.int64),
        np.array(column(few), dtype=float),
        np.array(column(few), dtype=float),
        np.array(column(st.sampled_from([0.0, 1.0, 50.0])), dtype=float),
    )


@given(fellows())
def test_the_best_among_fellows_is_what_looking_at_each_pair_finds(
    stock: tuple[Any, ...],
) -> None:
    variety, now, later, balance = stock
    size = variety.size

    def best(chance: Any, at: int) -> float:
        return max(
            (chance[o] for o in range(size) if o != at and variety[o] == variety[at]), default=0.0
        )

    assert _best_other(variety, now).tolist() == [best(now, at) for at in range(size)]
    found = _best_others(variety, now, later, balance)
    held_now, held_later = now * (balance > 0), later * (balance > 0)
    assert found.now.tolist() == [best(held_now, at) for at in range(size)]
    assert found.later.tolist() == [best(held_later, at) for at in range(size)]
    for number in set(variety.tolist()):
        mine = np.flatnonzero(variety == number)
        leader = mine[found.leads[mine]]
        assert leader.size == 1
        rank = [(held_later[o], held_now[o], balance[o]) for o in mine]
        at = int(leader[0])
        assert (held_later[at], held_now[at], balance[at]) == max(rank)
        if np.any(balance[mine] > 0):
            assert balance[at] > 0
    assert _leads(variety, later, now, balance).sum() == len(set(variety.tolist()))
