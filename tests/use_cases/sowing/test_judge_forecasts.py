"""Forecasts judged: on the demo collection, and on sowings whose outcome was drawn here."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from sqlmodel import Session

from seedbank.facts.kinds import kind_facts
from seedbank.science.quantities import ProbitNodes
from seedbank.science.sowing.emergence import BetaShare
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.plant_counts import Patches
from seedbank.science.sowing.seedling_losses import EatenRecord
from seedbank.science.sowing.sowing_evidence import SowingRecord, seed_law
from seedbank.sowing.forecast_answers import ForecastRecordAnswer
from seedbank.sowing.judge_forecasts import (
    foretell,
    held_before,
    judge_forecasts,
    score_forecasts,
)
from seedbank.sowing.learn_from_sowings import learn_garden
from seedbank.viability.judge_foretold_tests import judge
from seedbank.viability.past_sowings import PastSowing
from seedbank.viability.sown_evidence import not_yet_learned
from tests.use_cases.conftest import DEMO_TODAY, Garden
from tests.use_cases.sowing.test_learn_from_sowings import finished

ALIVE = seed_law(ProbitNodes(np.array([[1.2]]), np.ones((1, 1))))
HELD = 1000
AWAKE = BetaShare(999.0, 1.0)


def judged(sowings: Sequence[PastSowing], held: int = HELD) -> ForecastRecordAnswer:
    """Each sowing foretold from the years before it, and compared; ``held`` by each lot."""
    seed = np.repeat(ALIVE, len(sowings), axis=0)
    sown = replace(not_yet_learned(sowings), seed_by_tests=seed)
    years = foretell(sown, {one.movement_id or 0: held for one in sowings}, {})
    return score_forecasts(years, judge([]))


def past(number: int, year: int, emerged: int, sown: int = 100, wanted: int = 40) -> PastSowing:
    conditions = SowingConditions("radish", "row", "open", year, "spring")
    record = SowingRecord(conditions, sown, emerged, patches=Patches(0.06, 20))
    day, eaten = date(year, 4, 10), EatenRecord("open", sown, 0)
    return PastSowing(
        number, 1, "4K7PM", kind_facts("radish"), day, wanted, number, record, eaten, AWAKE
    )


def test_nothing_sown_is_nothing_judged(garden: Garden) -> None:
    answer = judge_forecasts(garden.session, today=garden.today)
    assert (answer.sowings, answer.inside_90, answer.saved, answer.items) == (0, None, None, [])
    assert answer.mean_error_points is None


def test_one_sowing_is_held_against_the_published_forecast(garden: Garden) -> None:
    number = finished(garden, emerged=70, plants_wanted=40)
    answer = judge_forecasts(garden.session, today=garden.today)
    (item,) = answer.items
    assert (item.sowing, item.seeds, item.emerged) == (number, 100, 70)
    assert answer.inside_90 is not None
    assert answer.inside_90.pct == (100.0 if item.low <= 70 <= item.high else 0.0)
    assert answer.mean_error_points == pytest.approx(70 - item.expected, abs=0.1)
    assert answer.mean_error_low_points is None


def test_later_sowings_never_help_to_foretell_earlier_ones() -> None:
    early = [past(n, 2024, 50) for n in range(3)]
    alone = judged(early).items
    with_later = judged([*early, *(past(9 + n, 2025, 5) for n in range(9))]).items
    assert with_later[:3] == alone
    assert with_later[3].expected < alone[0].expected


def test_a_garden_worse_than_published_is_soon_foretold_as_such() -> None:
    drawn = np.random.RandomState(5).binomial(100, 0.35, 40)
    sowings = [past(n, 2015 + n // 4, int(count)) for n, count in enumerate(drawn)]
    items = judged(sowings).items
    first = np.mean([one.expected for one in items[:4]])
    last = np.mean([one.expected for one in items[-12:]])
    assert abs(last - 35) < 0.5 * abs(first - 35)


def test_seed_sown_over_and_under_the_advice_is_added_up_apart() -> None:
    thick, thin = past(1, 2024, 300, sown=600), past(2, 2024, 20, sown=45)
    saved = judged([thick, thin]).saved
    assert saved is not None
    assert (saved.oversown, saved.undersown) == (1, 1)
    assert saved.seeds_sown - saved.seeds_advised == saved.seeds_saved - saved.seeds_short
    assert saved.good_as_sown.pct == 50.0
    bound = judged([thin], held=50).saved
    assert bound is not None
    assert bound.seeds_advised == 50


def test_sowings_foretold_alike_are_held_against_what_came_together(demo_stock: Session) -> None:
    answer = judge_forecasts(demo_stock, today=DEMO_TODAY)
    foretold = np.array([100 * one.expected / one.seeds for one in answer.items])
    came = np.array([100 * one.emerged / one.seeds for one in answer.items])
    assert sum(one.sowings for one in answer.bins) == answer.sowings
    sizes = [one.sowings for one in answer.bins]
    for mean, all_of_them in (
        ([one.foretold_pct for one in answer.bins], foretold),
        ([one.emerged_pct for one in answer.bins], came),
    ):
        assert np.average(mean, weights=sizes) == pytest.approx(all_of_them.mean(), abs=0.2)
    for one in answer.bins:
        assert one.from_pct <= one.foretold_pct <= one.to_pct
        if one.emerged_low_pct is not None and one.emerged_high_pct is not None:
            assert one.emerged_low_pct <= one.emerged_pct <= one.emerged_high_pct
        else:
            assert one.sowings == 1


def test_half_the_range_lies_within_the_whole(demo_stock: Session) -> None:
    for one in judge_forecasts(demo_stock, today=DEMO_TODAY).items:
        assert 0 <= one.low <= one.low_50 <= one.high_50 <= one.high <= one.seeds


def test_the_record_after_one_more_sowing_is_as_if_judged_anew(garden: Garden) -> None:
    for emerged in (40, 60, 75):
        finished(garden, emerged=emerged, plants_wanted=30)
    judge_forecasts(garden.session, today=garden.today)
    finished(garden, emerged=20, plants_wanted=30)
    kept = judge_forecasts(garden.session, today=garden.today)
    sown = learn_garden(garden.session, today=garden.today).sown
    years = foretell(sown, held_before(garden.session, sown.sowings), {})
    anew = score_forecasts(years, judge([]))
    assert kept == anew
    assert kept.sowings == 4


def test_what_was_promised_stands_beside_what_would_have_been_enough(demo_stock: Session) -> None:
    saved = judge_forecasts(demo_stock, today=DEMO_TODAY).saved
    assert saved is not None
    assert saved.seeds_advised <= 5 * saved.plants_wanted
    assert saved.good_as_sown.pct < saved.good_as_advised.pct
    assert saved.promised_pct == pytest.approx(saved.good_as_advised.pct, abs=10.0)


def test_the_demonstration_holds_what_it_promises(demo_stock: Session) -> None:
    answer = judge_forecasts(demo_stock, today=DEMO_TODAY)
    assert answer.sowings >= 100
    assert answer.inside_90 is not None
    assert 86.0 <= answer.inside_90.pct <= 94.0
