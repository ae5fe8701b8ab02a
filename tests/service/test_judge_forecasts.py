"""Forecasts judged: on the demo collection, and on sowings whose outcome was drawn here."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from sqlmodel import Session

from seedbank.science.emergence import WeightedNodes
from seedbank.science.field_shift_prior import SowingConditions
from seedbank.science.plant_counts import Patches
from seedbank.science.seedling_losses import EatenRecord
from seedbank.science.shift_observation import SowingRecord
from seedbank.service.judge_forecasts import judge_forecasts, judge_sowings
from seedbank.service.sowing_history import PastSowing
from tests.service.conftest import DEMO_TODAY, Garden
from tests.service.test_garden_record import finished

ALIVE = WeightedNodes(np.array([1.2]), np.ones(1))


def past(number: int, year: int, emerged: int, sown: int = 100, wanted: int = 40) -> PastSowing:
    conditions = SowingConditions("radish", "row", "open", year, "spring")
    record = SowingRecord(conditions, sown, emerged, ALIVE, patches=Patches(0.06, 20))
    day, eaten = date(year, 4, 10), EatenRecord("open", sown, 0)
    return PastSowing(number, "4K7PM", "radish", day, wanted, 1000, record, eaten)


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
    alone = judge_sowings(early).items
    with_later = judge_sowings([*early, *(past(9 + n, 2025, 5) for n in range(9))]).items
    assert with_later[:3] == alone
    assert with_later[3].expected < alone[0].expected


def test_a_garden_worse_than_published_is_soon_foretold_as_such() -> None:
    drawn = np.random.RandomState(5).binomial(100, 0.35, 40)
    sowings = [past(n, 2015 + n // 4, int(count)) for n, count in enumerate(drawn)]
    items = judge_sowings(sowings).items
    first = np.mean([one.expected for one in items[:4]])
    last = np.mean([one.expected for one in items[-12:]])
    assert abs(last - 35) < 0.5 * abs(first - 35)


def test_seed_sown_over_and_under_the_advice_is_added_up_apart() -> None:
    thick, thin = past(1, 2024, 300, sown=600), past(2, 2024, 20, sown=45)
    saved = judge_sowings([thick, thin]).saved
    assert saved is not None
    assert (saved.oversown, saved.undersown) == (1, 1)
    assert saved.seeds_sown - saved.seeds_advised == saved.seeds_saved - saved.seeds_short
    assert saved.enough_as_sown.pct == 50.0
    bound = judge_sowings([replace(thin, held=50)]).saved
    assert bound is not None
    assert bound.seeds_advised == 50


def test_what_was_promised_stands_beside_what_would_have_been_enough(demo_stock: Session) -> None:
    # On the demo some lots were too small for 90 %, so the promise is the fairer yardstick.
    saved = judge_forecasts(demo_stock, today=DEMO_TODAY).saved
    assert saved is not None
    assert 50.0 < saved.promised_pct < 90.0
    assert saved.enough_as_advised.low_pct < saved.promised_pct < saved.enough_as_advised.high_pct
