"""Germination printed on a packet, as evidence about its lot and never as a test of one's own."""

from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr

from seedbank.database.find import row_id
from seedbank.facts.kinds import kind_facts
from seedbank.lots.show_lots import show_lot
from seedbank.lots.tables.lots import find_lot
from seedbank.science.viability.evidence import GRID
from seedbank.science.viability.packet_evidence import printed_likelihood
from seedbank.viability.forecast_viability import Forecast, forecast
from seedbank.viability.show_viability import show_viability
from seedbank.viability.tables.stock_columns import day_date, read_collection
from tests.use_cases.conftest import Garden
from tests.use_cases.viability.test_forecast_viability import band, record

_LEAST = kind_facts("lettuce").minimum_germination_pct
assert _LEAST is not None
MINIMUM = _LEAST.value
BOUGHT: dict[str, Any] = {"harvest_date": "2024-09-01", "acquired_on": "2025-02-01"}


def lot(garden: Garden, kind: str = "lettuce", **more: Any) -> str:
    return garden.lot(400, variety_id=garden.variety(kind), **BOUGHT | more).code


def seen(garden: Garden, code: str) -> Forecast:
    number = row_id(find_lot(garden.session, code).id)
    return forecast(garden.session, today=garden.today, lot_ids=[number])


def ends(garden: Garden, code: str) -> np.ndarray:
    """The band's five figures, 0..100."""
    return 100.0 * np.array(band(seen(garden, code), garden.today))


def test_what_is_printed_moves_the_belief_as_direct_sums_say(garden: Garden) -> None:
    code = lot(garden, printed_germination_pct=96.0, printed_test_on="2024-11-15")
    known = seen(garden, code)
    prior = known.priors
    dose = [
        float(known.storage.doses_at(np.array([0]), np.array([day]))[0, 0])
        for day in (float(known.collection.packets.tested_day[0]), known.today)
    ]
    lam = prior.lam_mean[0] + prior.log_sigma_sd[0] * np.linspace(-6.5, 6.5, 801)[:, None]
    k = prior.ki_mean[0] + prior.ki_sd[0] * np.linspace(-7.0, 7.0, 1201)
    weight = -0.5 * ((lam - prior.lam_mean[0]) / prior.log_sigma_sd[0]) ** 2
    weight = weight - 0.5 * ((k - prior.ki_mean[0]) / prior.ki_sd[0]) ** 2
    [table] = printed_likelihood(np.array([96.0]), np.array([MINIMUM]))
    weight = weight + np.interp(k - np.exp(-lam) * dose[0], GRID, table)
    weight = np.exp(weight - weight.max())
    alive = ndtr(k - np.exp(-lam) * dose[1])
    order = np.argsort(alive, axis=None)
    below = np.cumsum(weight.ravel()[order])
    at = np.searchsorted(below / below[-1], [0.05, 0.25, 0.5, 0.75, 0.95])
    direct = 100.0 * alive.ravel()[order][at]
    assert ends(garden, code) == pytest.approx(direct, abs=0.15)


def test_more_printed_is_believed_more_and_narrows(garden: Garden) -> None:
    unsaid = ends(garden, lot(garden))
    low, high = (
        ends(garden, lot(garden, printed_germination_pct=pct, printed_test_on="2024-11"))
        for pct in (82.0, 97.0)
    )
    assert np.all(high > low)
    for told in (low, high):
        assert told[4] - told[0] < unsaid[4] - unsaid[0]


def test_the_legal_minimum_only_lifts_the_low_end(garden: Garden) -> None:
    unsaid, floor = (
        ends(garden, lot(garden, printed_germination_pct=pct, printed_test_on="2024-11"))
        for pct in (None, MINIMUM)
    )
    assert floor[0] >= unsaid[0]
    assert abs(floor[4] - unsaid[4]) < 1.0


def test_old_print_says_little_of_today(garden: Garden) -> None:
    old = {"harvest_date": "2010-09-01", "acquired_on": "2011-02-01"}
    fresh = lot(garden, "parsnip", printed_germination_pct=90.0, printed_test_on="2024-11")
    aged = lot(garden, "parsnip", **old, printed_germination_pct=90.0, printed_test_on="2010-11")
    assert ends(garden, aged)[2] < 0.3 * ends(garden, fresh)[2]


def test_a_packet_is_no_test_but_teaches_what_is_shared(garden: Garden) -> None:
    kind = garden.variety("lettuce")
    code = lot(garden)
    before = seen(garden, code)
    for _ in range(6):
        garden.lot(
            400,
            variety_id=kind,
            harvest_date="2019-09-01",
            acquired_on="2024-02-01",
            printed_germination_pct=55.0,
            printed_test_on="2023-12",
        )
    after = seen(garden, code)
    assert (before.garden.tests, after.garden.tests) == (0, 0)
    assert after.garden.rho == before.garden.rho
    assert after.garden.teachers.size == 6
    assert after.garden.mean[0] < before.garden.mean[0] - 0.02  # such seed keeps worse, then
    answer = show_viability(garden.session, code, today=garden.today)
    assert "viability-taught" not in {one.code for one in answer.reasons}
    assert answer.tests == []


def test_the_spread_between_tests_is_learned_from_tests_alone(garden: Garden) -> None:
    codes = [lot(garden) for _ in range(4)]
    for code in codes:
        record(garden, code, "2026-11-01", (24, 25))
        record(garden, code, "2026-12-01", (23, 25))
    before = seen(garden, codes[0]).garden.rho
    lot(garden, printed_germination_pct=30.0, printed_test_on="2024-11")
    twice = lot(garden, printed_germination_pct=30.0, printed_test_on="2024-11")
    record(garden, twice, "2026-12-01", (24, 25))
    assert seen(garden, codes[0]).garden.rho == before


def test_the_answer_says_that_it_was_taken_into_account(garden: Garden) -> None:
    code = lot(garden, printed_germination_pct=88.0, printed_test_on="2024-11")
    answer = show_viability(garden.session, code, today=garden.today)
    [told] = [one for one in answer.reasons if one.code == "viability-printed"]
    assert told.text.startswith("The 88 % printed on its packet counts as about 80 seeds")
    [own] = [one for one in answer.sources if "printed on a packet" in one.text]
    assert own.confidence == "own"
    floor = lot(garden, printed_germination_pct=MINIMUM)
    answer = show_viability(garden.session, floor, today=garden.today)
    assert any("what the law asks at least" in one.text for one in answer.reasons)


@pytest.mark.parametrize(
    ("says", "day"),
    [
        ({"printed_test_on": "2024-11-15"}, "2024-11-15"),
        ({"printed_test_on": "2024-11"}, "2024-11-15"),
        ({"printed_test_on": "2024"}, "2024-07-01"),
        ({"packed_on": "2025-01"}, "2025-01-16"),
        ({"packed_on": "2025-01", "printed_test_on": "2024-11"}, "2024-11-15"),
        ({"packed_for": 2025}, "2024-10-01"),
    ],
)
def test_a_test_without_a_day_is_of_the_packing_or_half_a_year_before_the_season(
    garden: Garden, says: dict[str, object], day: str
) -> None:
    lot(garden, printed_germination_pct=88.0, **says)
    packets = read_collection(garden.session).packets
    assert str(day_date(float(packets.tested_day[0]))) == day


def test_seed_that_was_tested_was_harvested_before_whatever_else_is_guessed(
    garden: Garden,
) -> None:
    bought = {"harvest_date": None, "acquired_on": "2026-02-01"}
    young, old = lot(garden, **bought), lot(garden, **bought, printed_test_on="2020-03")
    harvested = [seen(garden, code).ages.harvest_day[0] for code in (young, old)]
    assert str(day_date(harvested[1]))[:4] in ("2018", "2019", "2020")
    assert harvested[1] < harvested[0] - 365


@pytest.mark.parametrize("form", ["pelleted", "primed"])
def test_pelleted_and_primed_seed_keeps_half_as_long_and_nobody_knows_exactly(
    garden: Garden, form: str
) -> None:
    bare, raw, short = (lot(garden, seed_form=one) for one in (None, "raw", form))
    known = forecast(garden.session, today=garden.today)
    dose = known.dose_on(known.today)[:, 0]
    assert dose[2] == pytest.approx(2.0 * dose[0])
    assert dose[1] == dose[0]
    spread = known.priors.log_sigma_sd
    assert spread[2] ** 2 - spread[0] ** 2 == pytest.approx(0.35**2)
    assert np.all(ends(garden, short)[:3] < ends(garden, bare)[:3])
    assert ends(garden, raw) == pytest.approx(ends(garden, bare))
    answer = show_viability(garden.session, short, today=garden.today)
    assert "viability-pelleted" in {one.code for one in answer.reasons}
    assert any("common practice" in one.text for one in answer.sources)
    cautions = [one.text for one in show_lot(garden.session, short, today=garden.today).cautions]
    assert sum("doesn't keep" in text for text in cautions) == 1
    cautions = [one.text for one in show_lot(garden.session, bare, today=garden.today).cautions]
    assert not any("doesn't keep" in text for text in cautions)
