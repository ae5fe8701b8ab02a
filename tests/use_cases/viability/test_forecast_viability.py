"""A lot's forecast against its parts put together by hand, and what moves it which way."""

from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtr, ndtri

from seedbank.facts.keeping import packaged_keeping
from seedbank.facts.kinds import kind_facts
from seedbank.germination.forms import CountsCorrect, TestRecord, TestStart
from seedbank.germination.run_tests import correct_counts, record_test, start_test
from seedbank.kinds.edit_kinds import state_fact
from seedbank.kinds.forms import FactStated
from seedbank.kinds.tables import FactName
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import PlaceCreate, StayCreate
from seedbank.lots.tables.places import Place, move_lot
from seedbank.lots.take_in_lots import move_lot_to
from seedbank.science.viability.decline import (
    COLDEST_DAY_OF_YEAR,
    DAYS_PER_YEAR,
    ORDINARY_STORE,
    sigma_days,
)
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.prior import KNOWN_STORE_LOG_SD, UNKNOWN_STORE_LOG_SD
from seedbank.viability.forecast_viability import Forecast, forecast, lot_nodes
from seedbank.viability.lot_records import conditions_of
from seedbank.viability.tables.stock_columns import day_number
from tests.use_cases.conftest import Garden

SHED = {"temp_winter_c": 2.0, "temp_summer_c": 24.0, "rh_winter_pct": 80.0, "rh_summer_pct": 60.0}
FRIDGE = {"temp_winter_c": 4.0, "temp_summer_c": 4.0, "rh_winter_pct": 40.0, "rh_summer_pct": 40.0}


def place(garden: Garden, name: str, **values: Any) -> int:
    form = PlaceCreate.model_validate({"name": name, **values})
    return add_place(garden.session, form).id


def put(garden: Garden, code: str, place_id: int, day: str) -> None:
    form = StayCreate.model_validate({"place_id": place_id, "from_date": day})
    move_lot_to(garden.session, code, form, today=garden.today)


def record(garden: Garden, code: str, started_on: str, *replicates: tuple[int, int]) -> int:
    form = TestRecord.model_validate(
        {
            "lot": code,
            "started_on": started_on,
            "finished_on": started_on[:8] + "28",
            "replicates": [{"seeds_set": n, "normal": k} for k, n in replicates],
        }
    )
    return record_test(garden.session, form, **garden.when).id


def see(garden: Garden, *codes: str, today: date | None = None) -> Forecast:
    seen = forecast(garden.session, today=today or garden.today)
    if codes:
        assert list(seen.collection.code) == list(codes)
    return seen


def band(seen: Forecast, day: date, at: int = 0) -> list[float]:
    found = seen.posterior.band(seen.dose_on(day_number(day)))
    return [
        float(column[at])
        for column in (found.low_90, found.low_50, found.median, found.high_50, found.high_90)
    ]


def width(seen: Forecast, day: date, at: int = 0) -> float:
    found = band(seen, day, at)
    return found[-1] - found[0]


def dose_by_hand(kind: str, conditions: dict[str, float], start: date, end: date) -> float:
    """The dose in one open place, by adaptive integration of 1 / sigma."""
    keeping = packaged_keeping(kind)

    def rate(day: float) -> float:
        phase = 2 * np.pi * (day % DAYS_PER_YEAR - COLDEST_DAY_OF_YEAR) / DAYS_PER_YEAR

        def swung(name: str) -> float:
            winter, summer = (conditions[name.format(s)] for s in ("winter", "summer"))
            return float((winter + summer + (winter - summer) * np.cos(phase)) / 2)

        temp = np.array([swung("temp_{}_c")])
        rh = swung("rh_{}_pct")
        moisture = keeping.isotherm.moisture_pct(np.array([rh]), temp)
        damp, warm = min(max(rh - 66, 0) / 12, 1), min(max(temp[0] - 10, 0) / 16.7, 1)
        return float(np.exp(0.8 * damp * warm) / sigma_days(keeping.constants, moisture, temp)[0])

    days = np.arange(day_number(start), day_number(end), 90.0).tolist()
    edges = [*days, day_number(end)]
    return float(sum(quad(rate, a, b)[0] for a, b in pairwise(edges)))


def test_a_forecast_is_its_dose_prior_and_tests_put_together(garden: Garden) -> None:
    code = garden.lot(kind="onion", harvest_date="2021-08-20", acquired_on="2022-02-01").code
    put(garden, code, place(garden, "Shed", **SHED), "2021-08-20")
    put(garden, code, place(garden, "Fridge", **FRIDGE), "2024-03-05")
    record(garden, code, "2023-02-01", (22, 25), (23, 25))
    record(garden, code, "2026-02-01", (38, 50))
    moved = date(2024, 3, 5)
    in_shed = dose_by_hand("onion", SHED, date(2021, 8, 20), moved)
    at_first = dose_by_hand("onion", SHED, date(2021, 8, 20), date(2023, 2, 1))
    at_second = in_shed + dose_by_hand("onion", FRIDGE, moved, date(2026, 2, 1))
    later = date(2028, 3, 1)
    at_end = in_shed + dose_by_hand("onion", FRIDGE, moved, later)
    # Bought: K's 5 % point is the legal minimum, its median half way from there to 99 %.
    facts = kind_facts("onion")
    assert facts.minimum_germination_pct is not None
    floor, best = ndtri(facts.minimum_germination_pct.value / 100), ndtri(0.99)
    # What a store does to seed acts by the share of its ageing that the seed took up there.
    by_share = np.array([in_shed, at_second - in_shed]) / at_second * KNOWN_STORE_LOG_SD
    kind_sd = packaged_keeping("onion").estimate.log_sigma_sd
    lot_sd = np.sqrt(kind_sd**2 + np.sum(by_share**2))
    priors = Priors(
        np.array([(floor + best) / 2]),
        np.array([(best - floor) / 2 / ndtri(0.95)]),
        np.array([lot_sd]),
    )
    seen = see(garden, code)
    tests = Observations.of_tests(
        dose=np.array([[at_first, at_second]]),
        viable=np.array([[45.0, 38.0]]),
        seeds=np.array([[50.0, 50.0]]),
        overdispersion=np.full((1, 2), seen.garden.rho),
    )
    by_hand = fit_posterior(priors, tests).band(np.array([at_end]))
    assert seen.store_known.tolist() == [True]
    assert float(seen.dose_on(day_number(later))[0, 0]) == pytest.approx(at_end, rel=5e-4)
    expected = [by_hand.low_90, by_hand.low_50, by_hand.median, by_hand.high_50, by_hand.high_90]
    assert band(seen, later) == pytest.approx([float(b[0]) for b in expected], abs=5e-4)


def test_own_half_viability_moves_the_forecast_the_way_it_says(garden: Garden) -> None:
    code = garden.lot(kind="parsnip", harvest_date="2024-09-01", acquired_on="2024-10-01").code
    usual = band(see(garden, code), garden.today)[2]
    medians = []
    for years in ("0.5", "12"):
        fact = FactStated(value=years, source="my own lots, kept in the shed")
        state_fact(garden.session, "parsnip", FactName("half_viability_years"), fact, expected=None)
        medians.append(band(see(garden, code), garden.today)[2])
    assert medians[0] < usual - 0.05
    assert medians[1] > usual + 0.02


def test_a_lot_with_everything_unknown_has_a_wider_band_than_one_on_record(garden: Garden) -> None:
    known = garden.lot(kind="leek", harvest_date="2024-03-01", acquired_on="2024-03-01").code
    put(garden, known, place(garden, "Store", **_ordinary()), "2024-03-01")
    unknown = garden.lot(kind="leek", acquired_on="2025-03-01").code
    seen = see(garden, known, unknown)
    assert seen.store_known.tolist() == [True, False]
    assert seen.ages.known.tolist() == [True, False]
    doses = seen.dose_on(seen.today)[:, 0]
    assert doses[0] == pytest.approx(doses[1], rel=0.03)  # the same age in the same air
    assert width(seen, garden.today, 1) > 1.1 * width(seen, garden.today, 0)
    kind = seen.keeping_of(0).estimate.log_sigma_sd
    expected = [np.hypot(kind, KNOWN_STORE_LOG_SD)]
    expected.append(np.hypot(kind, UNKNOWN_STORE_LOG_SD))
    assert seen.priors.log_sigma_sd == pytest.approx(expected)
    assert np.count_nonzero(seen.storage.weight, axis=1).tolist() == [1, 5]


def _ordinary() -> dict[str, float]:
    names = ("temp_winter_c", "temp_summer_c", "rh_winter_pct", "rh_summer_pct")
    return {name: getattr(ORDINARY_STORE, name) for name in names}


def test_moisture_measured_in_a_sealed_jar_is_what_the_seed_ages_at(garden: Garden) -> None:
    codes, rates = [], []
    temps = {"temp_winter_c": 10.0, "temp_summer_c": 10.0}
    keeping = packaged_keeping("onion")
    for moisture in (6.0, 11.0):
        jar = place(garden, f"Jar {moisture}", **temps, seed_moisture_pct=moisture, sealed=True)
        code = garden.lot(kind="onion", harvest_date="2023-03-01", acquired_on="2023-03-01").code
        put(garden, code, jar, "2023-03-01")
        codes.append(code)
        rates.append(1.0 / float(sigma_days(keeping.constants, moisture, 10.0)))
    seen = see(garden, *codes)
    days = (garden.today - date(2023, 3, 1)).days
    assert seen.dose_on(seen.today)[:, 0] == pytest.approx(
        [rate * days for rate in rates], rel=1e-3
    )
    assert seen.store_known.all()


def test_a_stay_from_before_the_harvest_ages_no_seed_until_there_is_some(garden: Garden) -> None:
    shed = place(garden, "Shed", **SHED)
    early = garden.lot(kind="onion", harvest_date="2024-09-01", acquired_on="2024-09-01").code
    put(garden, early, place(garden, "Attic"), "2019-01-01")
    put(garden, early, shed, "2020-01-01")
    right = garden.lot(kind="onion", harvest_date="2024-09-01", acquired_on="2024-09-01").code
    put(garden, right, shed, "2024-09-01")
    doses = see(garden, early, right).dose_on(day_number(garden.today))[:, 0]
    assert doses[0] == pytest.approx(doses[1], rel=1e-9)
    assert doses[0] == pytest.approx(
        dose_by_hand("onion", SHED, date(2024, 9, 1), garden.today), rel=5e-4
    )


def test_a_move_still_to_come_changes_nothing_today(garden: Garden) -> None:
    code = garden.lot(kind="onion", harvest_date="2023-09-01", acquired_on="2023-10-01").code
    put(garden, code, place(garden, "Shed", **SHED), "2023-10-01")
    before = see(garden, code)
    days = [date(2025, 1, 1), garden.today, date(2030, 1, 1)]
    bands = [band(before, day) for day in days]
    unknown = place(garden, "Unmeasured")
    lot_id = int(before.collection.lot_id[0])
    move_lot(garden.session, lot_id=lot_id, place_id=unknown, from_date=date(2028, 1, 1))
    garden.session.commit()
    after = see(garden, code)
    assert [band(after, day) for day in days] == bands
    assert after.store_known.tolist() == [True]
    assert not see(garden, code, today=date(2028, 1, 2)).store_known[0]


def test_before_its_first_recorded_stay_a_lot_was_in_an_ordinary_store(garden: Garden) -> None:
    code = garden.lot(kind="onion", harvest_date="2022-09-01", acquired_on="2022-10-01").code
    put(garden, code, place(garden, "Fridge", **FRIDGE), "2025-09-01")
    moved = date(2025, 9, 1)
    expected = dose_by_hand("onion", _ordinary(), date(2022, 9, 1), moved)
    expected += dose_by_hand("onion", FRIDGE, moved, garden.today)
    dose = float(see(garden, code).dose_on(day_number(garden.today))[0, 0])
    assert dose == pytest.approx(expected, rel=5e-4)


def test_uneven_replicates_count_for_less_than_even_ones_of_the_same_total(garden: Garden) -> None:
    codes = []
    for replicates in (((15, 25), (15, 25)), ((5, 25), (25, 25))):
        code = garden.lot(kind="onion", harvest_date="2024-03-01", acquired_on="2024-03-01").code
        record(garden, code, "2027-02-01", *replicates)
        codes.append(code)
    seen = see(garden, *codes)
    rho = seen.collection.tests.correlation.tolist()
    assert rho[0] == 0.01
    assert rho[1] > 0.1
    assert seen.observations.table[0, 0] != seen.observations.table[1, 0]
    assert width(seen, garden.today, 1) > 1.3 * width(seen, garden.today, 0)


def test_an_open_test_says_nothing_until_it_is_finished(garden: Garden) -> None:
    code = garden.lot(kind="onion", harvest_date="2024-03-01", acquired_on="2024-03-01").code
    before = band(see(garden, code), garden.today)
    form = TestStart.model_validate({"lot": code, "replicates": [20]})
    start_test(garden.session, form, **garden.when)
    seen = see(garden, code)
    assert seen.collection.open_test.tolist() == [True]
    assert band(seen, garden.today) == before


def test_correcting_a_finished_test_changes_the_forecast(garden: Garden) -> None:
    code = garden.lot(kind="onion", harvest_date="2024-03-01", acquired_on="2024-03-01").code
    number = record(garden, code, "2027-02-01", (48, 50))
    before = band(see(garden, code), garden.today)
    form = CountsCorrect.model_validate(
        {
            "on_date": "2027-02-28",
            "counts": [{"replicate": 1, "normal": 8, "dead": 42}],
            "why": "counted the dead",
        }
    )
    correct_counts(garden.session, number, form, now=garden.now)
    seen = see(garden, code)
    assert seen.collection.tests.viable.tolist() == [8]
    assert band(seen, garden.today)[4] < before[0]


def test_each_lot_has_its_own_tests_however_many_the_others_have(garden: Garden) -> None:
    codes = [
        garden.lot(kind="onion", harvest_date="2024-03-01", acquired_on="2024-03-01").code
        for _ in range(3)
    ]
    record(garden, codes[2], "2027-02-01", (3, 20))
    record(garden, codes[0], "2026-02-01", (19, 20))
    record(garden, codes[0], "2027-02-01", (18, 20))
    together = see(garden, *codes)
    assert together.observations.number.tolist() == [2, 0, 1]
    for at, number in enumerate(together.collection.lot_id.tolist()):
        alone = forecast(garden.session, today=garden.today, lot_ids=[number])
        assert band(alone, garden.today) == pytest.approx(
            band(together, garden.today, at), abs=1e-5
        )


def test_half_known_conditions_borrow_their_other_season_first() -> None:
    half = conditions_of(Place(name="a", temp_summer_c=15.0, rh_winter_pct=70.0))
    assert (half.temp_winter_c, half.temp_summer_c) == (15.0, 15.0)
    assert (half.rh_winter_pct, half.rh_summer_pct) == (70.0, 70.0)
    assert half.known
    air_only = conditions_of(Place(name="b", rh_winter_pct=70.0))
    assert (air_only.temp_winter_c, air_only.known) == (ORDINARY_STORE.temp_winter_c, False)
    assert not conditions_of(Place(name="c", temp_winter_c=0.0)).known
    assert conditions_of(Place(name="d", temp_winter_c=0.0, seed_moisture_pct=5.0)).known


@pytest.mark.parametrize("harvested", ["2026-03-01", "2022-03-01", "2010-03-01"])
def test_nodes_of_a_lot_spread_as_its_band_does_even_where_it_is_likely_dead(
    garden: Garden, harvested: str
) -> None:
    code = garden.lot(kind="onion", harvest_date=harvested, acquired_on=harvested).code
    seen = see(garden, code)
    nodes = lot_nodes(seen, 0, seen.today)
    assert nodes.weight.sum() == pytest.approx(1.0)
    alive = np.array([1e-6, 0.02, 0.3, 0.6])
    dose = seen.dose_on(seen.today)
    expected = [float(seen.posterior.probability_at_least(v, dose)[0]) for v in alive]
    # Smoothed by half a step, as a count of nodes is no finer than its steps.
    step = nodes.probit[0, 1] - nodes.probit[0, 0]
    share = [
        float(nodes.weight[0] @ np.clip((nodes.probit[0] - ndtri(v)) / step + 0.5, 0, 1))
        for v in alive
    ]
    assert share == pytest.approx(expected, abs=0.01)
    assert ndtr(nodes.probit).max() <= 1.0


def test_all_nodes_of_a_lot_dead_beyond_doubt_lie_there(garden: Garden) -> None:
    code = garden.lot(kind="onion", harvest_date="1920-09-01", acquired_on="1955-11-29").code
    wet = {"temp_summer_c": 45.0, "temp_winter_c": 30.0, "seed_moisture_pct": 30.0}
    put(garden, code, place(garden, "Boiler house", **wet), "1955-11-29")
    seen = see(garden, code)
    nodes = lot_nodes(seen, 0, seen.today)
    assert nodes.weight.sum() == pytest.approx(1.0)
    assert ndtr(nodes.probit).max() < 1e-12


def test_an_empty_collection_has_an_empty_forecast(garden: Garden) -> None:
    seen = see(garden)
    assert seen.collection.size == seen.posterior.size == 0
    assert seen.dose_on(seen.today).shape == (0, 1)
