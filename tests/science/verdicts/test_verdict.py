"""Checks of verdicts: a table of cases in sentences, and properties over random collections.

The rules are the project's own choice, so the checks are of what they promise, not of a source.
"""

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seedbank.common.catalogue import text_of
from seedbank.science.verdicts.verdict import (
    VERDICTS,
    Keepers,
    SavesTrue,
    Verdict,
    VerdictInputs,
    Verdicts,
    judge,
)
from tests.sizes import sized

HEALTHY = {
    "balance_seeds": 200.0, "reserve": 20.0, "parents_needed": 20.0, "p_parents_now": 1.0,
    "p_parents_next": 0.999, "p_parents_after": 0.995, "p_below_regeneration": 0.05,
    "sowings_left": 8.0, "viability_median": 0.9, "p_usable": 0.99, "other_keepers": Keepers.FEW,
    "saves_true": SavesTrue.YES, "p_best_other_lot_now": 0.0, "p_best_other_lot_next": 0.0,
    "is_best_lot": True, "plants_wanted": 12.0, "value_of_test": 0.0, "cost_of_test": 1.0,
    "seeds_a_test_would_take": 20.0, "days_since_test": 100.0, "open_test": False,
    "does_not_store": False, "outlived": False, "age_years": 3.0, "counted": True,
    "planting_stock": False, "mixture": False, "keeps_years": np.inf, "keepers_unknown": False,
}  # fmt: skip
KINDS = {"other_keepers": np.int64, "saves_true": np.int64} | dict.fromkeys(
    (
        "is_best_lot",
        "open_test",
        "does_not_store",
        "outlived",
        "counted",
        "planting_stock",
        "mixture",
        "keepers_unknown",
    ),
    np.bool_,
)


def inputs_of(lots: list[dict]) -> VerdictInputs:
    return VerdictInputs(
        **{
            name: np.array([lot[name] for lot in lots], dtype=KINDS.get(name, np.float64))
            for name in HEALTHY
        }
    )


def judged(**changes) -> Verdicts:
    return judge(inputs_of([HEALTHY | changes]))


def codes(verdicts: Verdicts) -> set[str]:
    return {reason.code for reason in verdicts.reasons(0)}


FADING = {"p_parents_now": 0.85, "p_parents_next": 0.6, "p_parents_after": 0.3}
DEAD = {
    "p_parents_now": 1e-4, "p_parents_next": 1e-5, "p_parents_after": 0.0, "p_usable": 0.02,
    "viability_median": 0.1, "p_below_regeneration": 1.0,
}  # fmt: skip
WORTH_TESTING = {"value_of_test": 4.0, "days_since_test": math.inf}
NONE, MANY = {"other_keepers": Keepers.NONE}, {"other_keepers": Keepers.MANY}
F1 = {"saves_true": SavesTrue.NO}
BETTER_LOT = {"is_best_lot": False, "p_best_other_lot_now": 0.999, "p_best_other_lot_next": 0.995}
CASES = [
    ("a healthy lot is kept", {}, Verdict.KEEP, {"all-well"}),
    (
        "a lot that can wait one season but not two has seed saved this year",
        {"p_parents_after": 0.8}, Verdict.SAVE_SEED, {"weak-after", "only-hope", "rare"},
    ),
    (
        "the last keeper of a variety saves at a chance good enough for one of few",
        NONE | {"p_parents_next": 0.985, "p_parents_after": 0.985}, Verdict.SAVE_SEED,
        {"weak-next", "rare"},
    ),
    (
        "one of few keepers may wait at that same chance",
        {"p_parents_next": 0.985, "p_parents_after": 0.985}, Verdict.KEEP, {"all-well"},
    ),
    (
        "a lot under 85 percent of its start is grown again",
        {"p_below_regeneration": 0.6}, Verdict.SAVE_SEED, {"regeneration-due"},
    ),
    (
        "fewer than three sowings left means saving seed",
        {"sowings_left": 2.9}, Verdict.SAVE_SEED, {"few-sowings"},
    ),
    (
        "a weak lot need not be saved from while another covers the variety",
        {"p_below_regeneration": 0.9, "p_best_other_lot_next": 0.97}, Verdict.KEEP,
        {"other-covers", "has-fallen"},
    ),
    ("the best hope that fades fast is rescued", FADING, Verdict.RESCUE, {"cannot-wait"}),
    (
        "a best hope already low and slipping is rescued before it has lost a tenth",
        {"p_parents_now": 0.7, "p_parents_next": 0.64}, Verdict.RESCUE, {"cannot-wait"},
    ),
    (
        "a best hope that is low but steady has seed saved instead",
        {"p_parents_now": 0.7, "p_parents_next": 0.69}, Verdict.SAVE_SEED, {"weak-next"},
    ),
    (
        "a rare variety's last lot is rescued even when it is nearly dead",
        NONE | DEAD, Verdict.RESCUE, {"cannot-wait", "failing"},
    ),
    (
        "too few fresh seeds of a rare variety still have seed saved from them",
        {"balance_seeds": 8.0, "p_parents_now": 0.0, "p_parents_next": 0.0, "p_parents_after": 0.0},
        Verdict.SAVE_SEED, {"too-few-seeds", "weak-next"},
    ),
    (
        "a second string of a rare variety in trouble is kept",
        FADING | {"is_best_lot": False, "p_best_other_lot_now": 0.9}, Verdict.KEEP, {"not-best"},
    ),
    (
        "seed that cannot be stored is sown now however well the model thinks it will wait",
        {"does_not_store": True}, Verdict.RESCUE, {"does-not-store"},
    ),
    (
        "seed that cannot be stored is sown whatever an equation that does not apply makes of it",
        {"does_not_store": True} | DEAD | WORTH_TESTING, Verdict.RESCUE, {"does-not-store"},
    ),
    (
        "seed that cannot be stored and came up dead in a test is replaced",
        {"does_not_store": True} | DEAD, Verdict.REPLACE, {"test-failed"},
    ),
    (
        "a guess at a fading lot is tested before everything is sown",
        FADING | WORTH_TESTING, Verdict.TEST, {"test-pays", "test-before-rescue"},
    ),
    (
        "a fading lot too short to share with a test is sown at once",
        FADING | WORTH_TESTING | {"balance_seeds": 35.0, "reserve": 0.0}, Verdict.RESCUE,
        {"cannot-wait", "test-alongside"},
    ),
    (
        "a test never breaks into the reserve",
        {"p_usable": 0.8, "reserve": 190.0} | WORTH_TESTING, Verdict.KEEP, {"all-well"},
    ),
    (
        "a lot whose worth is open is tested",
        MANY | {"p_usable": 0.6} | WORTH_TESTING, Verdict.TEST, {"test-pays"},
    ),
    (
        "a lot tested this season is not tested again",
        MANY | {"p_usable": 0.6, "value_of_test": 4.0, "days_since_test": 30.0}, Verdict.KEEP,
        {"all-well"},
    ),
    (
        "a test that costs more than it is worth is not asked for",
        {"p_usable": 0.6, "value_of_test": 0.9, "days_since_test": math.inf}, Verdict.KEEP,
        {"all-well"},
    ),
    ("a failing common lot is replaced", MANY | DEAD, Verdict.REPLACE, {"failing", "common"}),
    ("a failing f1 is replaced", F1 | DEAD, Verdict.REPLACE, {"failing", "f1"}),
    (
        "an f1 short of a sowing is replaced",
        F1 | {"sowings_left": 0.4}, Verdict.REPLACE, {"f1", "no-sowing"},
    ),
    ("a fading f1 still worth sowing is kept", F1 | FADING, Verdict.KEEP, {"f1"}),
    (
        "a dead lot with a better one beside it is discarded",
        DEAD | BETTER_LOT, Verdict.DISCARD, {"failing", "better-lot", "other-covers"},
    ),
    (
        "a dead lot of a common variety nobody wants is discarded",
        MANY | DEAD | {"plants_wanted": 0.0}, Verdict.DISCARD, {"failing", "common", "not-wanted"},
    ),
    (
        "a dead lot beside a better one of a rare variety that will not last is kept",
        DEAD | BETTER_LOT | {"p_best_other_lot_next": 0.5}, Verdict.KEEP, {"better-lot"},
    ),
    (
        "nothing is discarded while its test is open",
        DEAD | BETTER_LOT | {"open_test": True}, Verdict.KEEP, {"open-test"},
    ),
    (
        "a lot that is only probably failing is not discarded",
        BETTER_LOT | {"p_usable": 0.3}, Verdict.KEEP, {"failing", "better-lot"},
    ),
    (
        "saved seed of unknown breeding is rescued with a caution",
        FADING | {"saves_true": SavesTrue.UNKNOWN}, Verdict.RESCUE, {"breeding-unknown"},
    ),
    (
        "a common variety that is wanted and low but alive has seed saved",
        MANY | {"sowings_left": 2.0}, Verdict.SAVE_SEED, {"few-sowings", "common"},
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "verdict", "causes"), [case[1:] for case in CASES], ids=[case[0] for case in CASES]
)
def test_in_this_case(changes, verdict, causes):
    found = judged(**changes)
    assert found.verdict(0) is verdict
    assert causes <= codes(found)
    assert found.where(verdict).tolist() == [True]


def test_an_empty_lot_has_no_verdict_and_its_only_reason_is_that_none_is_left():
    found = judged(balance_seeds=0.0)
    assert found.verdict(0) is None
    assert [reason.code for reason in found.reasons(0)] == ["none-left"]
    assert found.urgency[0] == 0


def test_a_reason_reads_as_a_sentence_and_carries_the_numbers_it_says():
    reason = next(r for r in judged(p_parents_after=0.8).reasons(0) if r.code == "weak-after")
    assert reason.numbers == {"parents_needed": 20.0, "p_parents_after": 0.8, "wanted": 0.95}
    assert "20 seed parents" in text_of(reason)
    assert "80 %" in text_of(reason)
    assert "95 %" in text_of(reason)


def test_of_seed_that_cannot_be_stored_no_chance_is_told():
    (reason,) = judged(does_not_store=True, days_since_test=math.inf, **FADING).reasons(0)
    assert reason.code == "does-not-store"
    assert "%" not in text_of(reason)


def test_no_fraction_of_a_sowing_is_told():
    short = judged(balance_seeds=6.0, sowings_left=0.27, **DEAD | MANY)
    assert "no-sowing" in codes(short)
    assert "6 seeds left are too few to raise 20 plants from" in "".join(
        text_of(reason) for reason in short.reasons(0)
    )


def test_the_rarer_of_two_equal_troubles_is_the_more_urgent():
    lots = [HEALTHY | FADING | {"other_keepers": keepers} for keepers in Keepers]
    urgency = judge(inputs_of(lots)).urgency
    assert urgency[0] > urgency[1] > urgency[2] > 0
    assert urgency[0] == pytest.approx(1 - FADING["p_parents_next"])
    covered = judged(**FADING, p_best_other_lot_next=0.98).urgency[0]
    assert covered == pytest.approx(0.5 * 0.02)


chance = st.one_of(st.sampled_from([0.0, 0.02, 0.5, 0.8, 0.95, 0.99, 1.0]), st.floats(0, 1))
count = st.integers(0, 300).map(float)


@st.composite
def lots(draw):
    now, later, last = sorted((draw(chance) for _ in range(3)), reverse=True)
    return {
        "balance_seeds": draw(count), "reserve": draw(count), "parents_needed": draw(count),
        "p_parents_now": now, "p_parents_next": later, "p_parents_after": last,
        "p_below_regeneration": draw(chance),
        "sowings_left": draw(st.one_of(st.floats(0, 20), st.just(math.inf))),
        "viability_median": draw(chance), "p_usable": draw(chance),
        "other_keepers": draw(st.sampled_from(Keepers)),
        "saves_true": draw(st.sampled_from(SavesTrue)),
        "p_best_other_lot_now": draw(chance), "p_best_other_lot_next": draw(chance),
        "is_best_lot": draw(st.booleans()), "plants_wanted": draw(count),
        "value_of_test": draw(st.floats(0, 10)),
        "cost_of_test": draw(st.one_of(st.floats(0, 10), st.just(math.inf))),
        "seeds_a_test_would_take": draw(st.integers(0, 100).map(float)),
        "days_since_test": draw(st.one_of(st.floats(0, 5000), st.just(math.inf))),
        "open_test": draw(st.booleans()), "does_not_store": draw(st.booleans()),
        "outlived": draw(st.booleans()), "counted": draw(st.booleans()),
        "age_years": draw(st.floats(0, 60)), "planting_stock": draw(st.booleans()),
        "keepers_unknown": draw(st.booleans()), "mixture": draw(st.booleans()),
        "keeps_years": draw(st.one_of(st.floats(0.1, 5), st.just(math.inf))),
    }  # fmt: skip


def test_planting_stock_is_to_be_planted_whatever_else_holds() -> None:
    for changes in ({}, FADING, DEAD, {"other_keepers": Keepers.NONE}, {"counted": False}):
        fresh = judged(**changes, planting_stock=True, age_years=0.4, keeps_years=0.7)
        assert (fresh.verdict(0), codes(fresh)) == (Verdict.PLANT, {"plant-again"})
        late = judged(**changes, planting_stock=True, age_years=1.4, keeps_years=0.7)
        assert (late.verdict(0), codes(late)) == (Verdict.PLANT, {"past-keeping"})
    gone = judged(planting_stock=True, balance_seeds=0.0)
    assert (gone.verdict(0), codes(gone)) == (None, {"none-left"})


def test_a_mixture_is_not_judged_whatever_else_holds() -> None:
    for changes in ({}, FADING, DEAD, {"other_keepers": Keepers.NONE}, {"planting_stock": True}):
        found = judged(**changes, mixture=True)
        assert (found.verdict(0), codes(found)) == (Verdict.NOT_JUDGED, {"mixture"})
        assert found.urgency[0] == 0


OUTLIVED = {
    "does_not_store": True, "outlived": True, "p_parents_now": 0.0, "p_parents_next": 0.0,
    "p_parents_after": 0.0, "p_usable": 0.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({}, Verdict.REPLACE),
        (MANY, Verdict.REPLACE),
        (MANY | {"plants_wanted": 0.0}, Verdict.DISCARD),
        (BETTER_LOT, Verdict.DISCARD),
        (NONE, Verdict.REPLACE),
        (NONE | WORTH_TESTING | {"p_below_regeneration": 0.5}, Verdict.REPLACE),
    ],
)
def test_seed_older_than_such_seed_lasts_is_given_up_with_its_reason(changes, verdict):
    dead = judged(**OUTLIVED | changes)
    assert dead.verdict(0) is verdict
    assert "outlived" in codes(dead)
    assert not codes(dead) & {"does-not-store", "cannot-wait", "weak-next", "regeneration-due"}
    assert "3 years after its harvest" in "".join(text_of(r) for r in dead.reasons(0))


many_examples = settings(deadline=None, max_examples=sized(100, 300))


@given(lots())
@many_examples
def test_the_last_lot_of_a_variety_with_few_or_no_other_keepers_is_never_discarded(lot):
    alone = {"p_best_other_lot_now": 0.0, "p_best_other_lot_next": 0.0}
    for best in (True, False):
        rare = lot | alone | {"other_keepers": min(lot["other_keepers"], Keepers.FEW)}
        assert judged(**rare | {"is_best_lot": best}).verdict(0) is not Verdict.DISCARD


@given(lots())
@many_examples
def test_a_lot_is_discarded_only_if_failing_untested_at_present_and_bettered_or_common(lot):
    if judged(**lot).verdict(0) is Verdict.DISCARD:
        assert lot["p_usable"] < 0.2
        assert not lot["open_test"]
        bettered = not lot["is_best_lot"] and lot["p_best_other_lot_now"] > 0
        assert bettered or lot["other_keepers"] == Keepers.MANY


@given(lots(), st.floats(0, 1), st.floats(0, 1))
@many_examples
def test_a_worse_outlook_never_turns_saving_or_rescuing_into_keeping(lot, shrink, further):
    active = {Verdict.SAVE_SEED, Verdict.RESCUE}
    if judged(**lot).verdict(0) in active:
        later = lot["p_parents_next"] * shrink
        worse = lot | {"p_parents_next": later, "p_parents_after": later * further}
        assert judged(**worse).verdict(0) in active | {Verdict.TEST}


@given(lots())
@many_examples
def test_every_lot_has_reasons_and_every_reason_finite_numbers_that_are_its_own(lot):
    reasons = judged(**lot).reasons(0)
    assert reasons
    for reason in reasons:
        assert reason.numbers or not lot["counted"]
        for name, value in reason.numbers.items():
            assert math.isfinite(value)
            told = {**lot, "reckoned_seeds": lot["balance_seeds"]}
            assert name == "wanted" or value == told[name], name
        assert "inf" not in text_of(reason)
        assert text_of(reason).endswith((".", ")."))


@given(st.lists(lots(), min_size=2, max_size=12), st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=60)
def test_the_order_of_lots_changes_nothing(collection, random):
    order = list(range(len(collection)))
    random.shuffle(order)
    straight, mixed = judge(inputs_of(collection)), judge(inputs_of([collection[i] for i in order]))
    assert mixed.code.tolist() == straight.code[order].tolist()
    assert mixed.causes.tolist() == straight.causes[order].tolist()
    assert mixed.urgency.tolist() == straight.urgency[order].tolist()


def test_random_collections_meet_every_verdict():
    rng = np.random.default_rng(7)
    size = 4000
    chances = np.sort(rng.beta(0.5, 0.5, (3, size)), axis=0)[::-1]
    drawn = {name: np.full(size, value) for name, value in HEALTHY.items()}
    drawn |= {"p_parents_now": chances[0], "p_parents_next": chances[1]}
    drawn |= {"p_parents_after": chances[2], "p_usable": rng.beta(0.5, 0.5, size)}
    drawn |= {"other_keepers": rng.integers(0, 3, size), "saves_true": rng.integers(0, 3, size)}
    drawn |= {"is_best_lot": rng.random(size) < 0.5, "value_of_test": rng.uniform(0, 1.3, size)}
    drawn |= {"p_best_other_lot_now": rng.beta(0.5, 0.5, size)}
    drawn |= {"days_since_test": rng.uniform(0, 600, size)}
    drawn |= {name: rng.random(size) < 0.05 for name in ("planting_stock", "mixture")}
    found = judge(
        VerdictInputs(
            **{k: np.asarray(v, dtype=KINDS.get(k, np.float64)) for k, v in drawn.items()}
        )
    )
    assert {VERDICTS[code] for code in found.code.tolist()} == set(Verdict)


@pytest.mark.parametrize(
    ("name", "value"),
    [("p_usable", 1.2), ("p_parents_next", math.nan), ("sowings_left", math.nan)],
)
def test_values_out_of_range_are_refused_by_name(name, value):
    with pytest.raises(ValueError, match=name):
        judged(**{name: value})


def test_unknown_codes_and_unequal_lengths_are_refused_by_name():
    inputs = inputs_of([HEALTHY])
    with pytest.raises(ValueError, match="saves_true"):
        judge(replace(inputs, saves_true=np.array([3])))
    with pytest.raises(ValueError, match="reserve"):
        judge(replace(inputs, reserve=np.zeros(2)))


def test_the_case_table_covers_every_input_with_a_value():
    assert set(HEALTHY) == {field.name for field in fields(VerdictInputs)}
