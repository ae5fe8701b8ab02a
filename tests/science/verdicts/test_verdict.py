"""Checks of verdicts: a table of cases in sentences, and properties over random lots.

The rules are the project's own choice, so the checks are of what they promise, not of a source.
"""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seedbank.common.catalogue import text_of
from seedbank.science.sowing.lot_thickness import UsualRates
from seedbank.science.verdicts.line_decision import SEASONS, Act, LineDecision
from seedbank.science.verdicts.row_decision import Rows, decide_rows
from seedbank.science.verdicts.verdict import (
    FOR_SEED,
    VERDICTS,
    Keepers,
    SavesTrue,
    Verdict,
    VerdictInputs,
    Verdicts,
    judge,
)

DRILLED = np.array([[0.6], [1.6], [2.0], [1.0]])  # low, high, most, of a good lot
LOT: dict[str, Any] = {
    "balance_seeds": 200.0, "counted": True, "saved": True, "leads": True, "covered": False,
    "rivalled": False, "parents_needed": 12.0, "parents_genebank": 20.0, "p_parents_now": 0.99,
    "p_parents_next": 0.98, "p_below_regeneration": 0.05, "viability_median": 0.9,
    "p_usable": 0.99, "other_keepers": Keepers.FEW, "keepers_unknown": False,
    "saves_true": SavesTrue.YES, "plants_wanted": 12.0, "worth_of_test": 0.0, "cost_of_test": 0.01,
    "seeds_a_test_would_take": 10.0, "days_since_test": math.inf, "open_test": False,
    "does_not_store": False, "outlived": False, "age_years": 3.0, "planting_stock": False,
    "keeps_years": math.inf, "mixture": False,
}  # fmt: skip
LINE: dict[str, Any] = {"act": Act.KEEP, "waiting": 0.0, "rest_fades": False}
ALIVE = 0.9


def judged(*lots: dict[str, Any]) -> Verdicts:
    """Lots as told by what differs from ``LOT`` and ``LINE``; ``alive`` decides of rows."""
    every = [LOT | LINE | {"alive": ALIVE} | lot for lot in lots]

    def column(name: str) -> Any:
        kind = type(LOT.get(name, LINE.get(name)))
        return np.array([one[name] for one in every], dtype=kind if kind is bool else None)

    size, act = len(every), column("act").astype(np.int64)
    keepers = column("other_keepers").astype(np.int64)
    value = np.array([1.0, 0.5, 0.15])[keepers]
    losses = np.full((size, 4), 0.1)
    losses[:, Act.KEEP] += column("waiting") * value
    line = LineDecision(
        losses=losses,
        act=act,
        acts_in=np.where(act == Act.KEEP, SEASONS, 0),
        next_act=act,
        next_crop_seeds=column("balance_seeds"),
        sow_seeds=column("balance_seeds") / 2.0,
        crop_some=np.full(size, 0.9),
        crops_all=np.full((size, 15), 0.95),
        crop_rest=np.full(size, 0.9),
        rest_fades=column("rest_fades"),
        value=value,
    )
    row = decide_rows(
        Rows(
            seeds=column("balance_seeds"),
            alive=np.repeat(column("alive")[:, None], 16, axis=1),
            plants=np.full(size, 30.0),
            usual=UsualRates(np.zeros(size, dtype=np.int64), *np.full((4, size), 5.0) * DRILLED),
        )
    )
    whole = {"other_keepers", "saves_true"}
    columns = {
        name: column(name).astype(np.int64) if name in whole else column(name) for name in LOT
    }
    return judge(VerdictInputs(line=line, row=row, **columns))


def codes(found: Verdicts) -> set[str]:
    return {reason.code for reason in found.reasons(0)}


BOUGHT = {"saved": False}
DEAD = {"alive": 0.02, "viability_median": 0.02, "p_usable": 0.01}
MANY = {"other_keepers": Keepers.MANY}
TEST = {"worth_of_test": 0.05}
SOME, ALL, REPLACE = {"act": Act.SOW_SOME}, {"act": Act.SOW_ALL}, {"act": Act.REPLACE}
FLEETING = {"does_not_store": True}
CASES = [
    ("a healthy saved lot is sown as usual", {}, Verdict.SOW_AS_USUAL, {"can-wait"}),
    ("a saved lot due is grown for seed", SOME, Verdict.GROW_FOR_SEED, {"due", "half-held-back"}),
    (
        "one that can't wait is a last chance",
        SOME | {"waiting": 0.1}, Verdict.LAST_CHANCE, {"cannot-wait", "only-hope"},
    ),
    (
        "one best sown all for it is dying is a last chance",
        ALL | {"rest_fades": True}, Verdict.LAST_CHANCE, {"rest-is-dying"},
    ),
    (
        "one with too little to divide is a last chance",
        ALL, Verdict.LAST_CHANCE, {"too-little-to-divide"},
    ),
    ("a spent line that others keep is fetched again", REPLACE, Verdict.GET_FRESH, {"spent"}),
    ("a bought packet is never grown for seed", BOUGHT | SOME, Verdict.SOW_AS_USUAL, {"rows"}),
    (
        "an F1 is never grown for seed even where it was saved",
        SOME | {"saves_true": SavesTrue.NO}, Verdict.SOW_AS_USUAL, {"f1"},
    ),
    (
        "weaker bought seed is sown thicker",
        BOUGHT | {"alive": 0.5}, Verdict.SOW_THICKER, {"row-short"},
    ),
    ("dead bought seed is fetched again", BOUGHT | DEAD, Verdict.GET_FRESH, {"weak-row"}),
    (
        "dead bought seed nobody wants and many keep can go",
        BOUGHT | DEAD | MANY | {"plants_wanted": 0.0}, Verdict.CAN_GO, {"not-wanted"},
    ),
    (
        "dead bought seed nobody wants may be kept by few: it is fetched",
        BOUGHT | DEAD | {"plants_wanted": 0.0}, Verdict.GET_FRESH, {"weak-row"},
    ),
    (
        "nothing goes while it is on a towel",
        BOUGHT | DEAD | MANY | {"plants_wanted": 0.0, "open_test": True},
        Verdict.SOW_THICKER, {"open-test"},
    ),
    (
        "a dead lot beside one that would give a good crop can go",
        DEAD | {"leads": False, "covered": True, "rivalled": True},
        Verdict.CAN_GO, {"other-covers"},
    ),
    (
        "a dead lot beside one that gives a poor crop counts as seed",
        DEAD | ALL | {"leads": False, "rivalled": True}, Verdict.LAST_CHANCE, set(),
    ),
    (
        "a good lot beside the one that leads is for rows",
        SOME | {"leads": False, "covered": True, "rivalled": True},
        Verdict.SOW_AS_USUAL, {"second-string"},
    ),
    ("a test that pays comes first", BOUGHT | TEST, Verdict.TOWEL_FIRST, {"test-pays"}),
    (
        "a seed crop comes before a test, which is offered beside it",
        SOME | TEST, Verdict.GROW_FOR_SEED, {"test-alongside"},
    ),
    (
        "no test soon after another",
        BOUGHT | TEST | {"days_since_test": 100.0}, Verdict.SOW_AS_USUAL, {"rows"},
    ),
    (
        "no test takes more than a third of the seed",
        BOUGHT | TEST | {"balance_seeds": 29.0}, Verdict.SOW_AS_USUAL, {"row-short"},
    ),
    (
        "seed that can't be stored is sown all this season",
        FLEETING | DEAD, Verdict.LAST_CHANCE, {"does-not-store"},
    ),
    (
        "seed that can't be stored and came up dead is fetched again",
        FLEETING | DEAD | {"days_since_test": 20.0}, Verdict.GET_FRESH, {"test-failed"},
    ),
    (
        "seed that can't be stored and is past its time is fetched again",
        FLEETING | {"outlived": True, "alive": 0.0}, Verdict.GET_FRESH, {"outlived"},
    ),
    (
        "of a variety nobody has told the rarity of it is asked",
        SOME | {"keepers_unknown": True}, Verdict.GROW_FOR_SEED, {"keepers-decide"},
    ),
    (
        "planting stock is not judged as seed",
        {"planting_stock": True}, Verdict.NOT_JUDGED, {"plant-again"},
    ),
    (
        "whoever alone keeps a variety in one packet divides it",
        {"other_keepers": Keepers.NONE}, Verdict.SOW_AS_USUAL, {"all-in-one-packet"},
    ),
    ("a mixture is not judged as seed", {"mixture": True}, Verdict.NOT_JUDGED, {"mixture"}),
    (
        "an amount nobody has counted is told",
        BOUGHT | {"counted": False}, Verdict.SOW_AS_USUAL, {"not-counted"},
    ),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "verdict", "causes"), [c[1:] for c in CASES],
                         ids=[c[0] for c in CASES])  # fmt: skip
def test_in_this_case(changes: dict[str, Any], verdict: Verdict, causes: set[str]) -> None:
    found = judged(changes)
    assert found.verdict(0) is verdict
    assert causes <= codes(found)


def test_an_empty_lot_has_no_verdict_and_its_only_reason_is_that_none_is_left() -> None:
    found = judged({"balance_seeds": 0.0} | SOME)
    assert found.verdict(0) is None
    assert codes(found) == {"none-left"}
    assert found.urgency[0] == 0.0


def test_every_reason_reads_as_a_sentence() -> None:
    for _, changes, _, _ in CASES:
        for reason in judged(changes).reasons(0):
            assert text_of(reason)[-1] in ".", reason.code


def test_every_verdict_has_a_case() -> None:
    assert {verdict for _, _, verdict, _ in CASES} == set(VERDICTS)


@st.composite
def lots(draw: st.DrawFn) -> dict[str, Any]:
    flags = [name for name, value in LOT.items() if isinstance(value, bool)]
    lot: dict[str, Any] = {name: draw(st.booleans()) for name in flags}
    lot |= {
        "balance_seeds": float(draw(st.integers(0, 400))),
        "alive": draw(st.floats(0.0, 1.0)),
        "other_keepers": draw(st.sampled_from(list(Keepers))),
        "saves_true": draw(st.sampled_from(list(SavesTrue))),
        "plants_wanted": float(draw(st.integers(0, 3))),
        "worth_of_test": draw(st.sampled_from([0.0, 0.05])),
        "days_since_test": draw(st.sampled_from([10.0, 400.0, math.inf])),
        "p_usable": draw(st.floats(0.0, 1.0)),
        "act": draw(st.sampled_from(list(Act))),
        "waiting": draw(st.sampled_from([0.0, 0.05, 0.3])),
    }
    return lot


@settings(max_examples=300, deadline=None)
@given(lots())
def test_what_the_gardener_does_not_save_is_never_grown_for_seed(lot: dict[str, Any]) -> None:
    for never in ({"saved": False}, {"saves_true": SavesTrue.NO}):
        found = judged(lot | never)
        assert found.verdict(0) not in FOR_SEED
        assert not found.parent[0]


@settings(max_examples=300, deadline=None)
@given(lots())
def test_a_variety_without_many_other_keepers_is_never_let_go_by_its_last_good_hope(
    lot: dict[str, Any],
) -> None:
    rare = {"other_keepers": Keepers.FEW, "covered": False, "planting_stock": False}
    assert judged(lot | rare).verdict(0) is not Verdict.CAN_GO


@settings(max_examples=300, deadline=None)
@given(lots())
def test_living_seed_that_nobody_else_keeps_is_never_let_go_whatever_lies_beside_it(
    lot: dict[str, Any],
) -> None:
    alone = lot | {"other_keepers": Keepers.NONE, "covered": True, "planting_stock": False}
    for balance, let_go in ((40.0, False), (1.0, True)):
        few = alone | {"balance_seeds": balance, "counted": True, "viability_median": 0.1}
        assert (judged(few).verdict(0) is not Verdict.CAN_GO) or let_go
    dead = DEAD | {"other_keepers": Keepers.NONE, "leads": False, "covered": True}
    assert judged(dead | {"viability_median": 0.0}).verdict(0) is Verdict.CAN_GO


@settings(max_examples=300, deadline=None)
@given(lots())
def test_nothing_goes_or_is_tested_again_while_it_is_on_a_towel(lot: dict[str, Any]) -> None:
    found = judged(lot | {"open_test": True})
    assert found.verdict(0) is not Verdict.CAN_GO
    assert "test-pays" not in codes(found)


@settings(max_examples=300, deadline=None)
@given(st.lists(lots(), min_size=1, max_size=6))
def test_lots_are_judged_one_by_one(several: list[dict[str, Any]]) -> None:
    together = judged(*several)
    for at, lot in enumerate(several):
        alone = judged(lot)
        assert together.verdict(at) == alone.verdict(0)
        assert together.causes[at] == alone.causes[0]


@settings(max_examples=300, deadline=None)
@given(lots())
def test_every_lot_has_reasons_and_only_what_is_not_counted_has_no_number(
    lot: dict[str, Any],
) -> None:
    found = judged(lot)
    reasons = found.reasons(0)
    assert reasons or found.verdict(0) is Verdict.SOW_THICKER
    for reason in reasons:
        numbers = [v for v in reason.values.values() if isinstance(v, float)]
        assert all(math.isfinite(v) for v in numbers) or not lot["counted"]


@pytest.mark.parametrize(
    ("name", "value"),
    [("p_usable", 1.5), ("viability_median", -0.1), ("balance_seeds", math.nan)],
)
def test_values_out_of_range_are_refused_by_name(name: str, value: float) -> None:
    with pytest.raises(ValueError, match=name):
        judged({name: value})


def test_unknown_codes_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match="saves_true"):
        judged({"saves_true": 3})
