"""What a garden's tests say of its other lots, through the records as a gardener keeps them."""

from datetime import date
from typing import Any

import numpy as np
import pytest
from sqlmodel import Session

from seedbank.database.find import row_id
from seedbank.lots.tables.lots import find_lot
from seedbank.viability.forecast_viability import Forecast, forecast
from seedbank.viability.garden_keeping import learn_from
from seedbank.viability.lot_records import LotRecords, records_of
from seedbank.viability.tables.stock_columns import day_number, read_collection
from tests.use_cases.conftest import DEMO_TODAY, Garden
from tests.use_cases.viability.test_forecast_viability import band, place, put, record

TIN = {"temp_winter_c": 12.0, "temp_summer_c": 20.0, "rh_winter_pct": 50.0, "rh_summer_pct": 50.0}
AGED = {"harvest_date": "2020-09-01", "acquired_on": "2020-10-01"}


def records_on(session: Session, today: date, lot_ids: list[int] | None = None) -> LotRecords:
    return records_of(session, read_collection(session, lot_ids), day_number(today))


def lots(garden: Garden, tin: int, number: int, kind: str = "lettuce", **more: Any) -> list[str]:
    variety = garden.variety(kind)
    codes = [garden.lot(400, variety_id=variety, **AGED | more).code for _ in range(number)]
    for code in codes:
        put(garden, code, tin, "2020-09-01")
    return codes


def put_to_test(garden: Garden, codes: list[str], viable: int) -> None:
    for code in codes:
        record(garden, code, "2026-12-01", (viable, 50))


def seen(garden: Garden, code: str) -> Forecast:
    lot = find_lot(garden.session, code)
    return forecast(garden.session, today=garden.today, lot_ids=[row_id(lot.id)])


def median(garden: Garden, code: str) -> float:
    return float(band(seen(garden, code), garden.today)[2])


def width(garden: Garden, code: str) -> float:
    ends = band(seen(garden, code), garden.today)
    return float(ends[4] - ends[0])


def test_an_untested_lot_gains_from_the_towels_of_its_neighbours(garden: Garden) -> None:
    tin = place(garden, "Tin", **TIN)
    [untested] = lots(garden, tin, 1)
    alone = width(garden, untested)
    put_to_test(garden, lots(garden, tin, 6), 44)
    assert width(garden, untested) < 0.85 * alone


def test_untested_lots_in_a_tin_of_good_towels_and_in_one_of_bad_ones_differ(
    garden: Garden,
) -> None:
    good, bad = place(garden, "Good tin", **TIN), place(garden, "Bad tin", **TIN)
    [with_good], [with_bad] = lots(garden, good, 1), lots(garden, bad, 1)
    assert median(garden, with_good) == pytest.approx(median(garden, with_bad), abs=1e-9)
    put_to_test(garden, lots(garden, good, 5), 47)
    put_to_test(garden, lots(garden, bad, 5), 15)
    assert median(garden, with_good) > median(garden, with_bad) + 0.1


def test_a_kind_that_disappoints_does_not_drag_others_down_as_far(garden: Garden) -> None:
    tin, elsewhere = place(garden, "Tin", **TIN), place(garden, "Other tin", **TIN)
    [same_kind] = lots(garden, elsewhere, 1)
    [other_kind] = lots(garden, elsewhere, 1, kind="tomato")
    before = median(garden, same_kind), median(garden, other_kind)
    put_to_test(garden, lots(garden, tin, 8), 20)
    put_to_test(garden, lots(garden, tin, 8, kind="tomato"), 48)
    fallen = before[0] - median(garden, same_kind)
    assert fallen > 0.04
    assert before[1] - median(garden, other_kind) < 0.2 * fallen


def test_a_seller_whose_seed_disappoints_is_expected_to_again(garden: Garden) -> None:
    tin = place(garden, "Tin", **TIN)
    [from_poor] = lots(garden, tin, 1, kind="onion", origin="bought", donor="Poor seller")
    [from_good] = lots(garden, tin, 1, kind="onion", origin="bought", donor="Good seller")
    for kind in ("lettuce", "carrot", "tomato"):
        put_to_test(garden, lots(garden, tin, 3, kind, origin="bought", donor="POOR seller "), 12)
        put_to_test(garden, lots(garden, tin, 3, kind, origin="bought", donor="Good seller"), 47)
    assert median(garden, from_good) > median(garden, from_poor) + 0.02


def test_a_lot_alone_is_what_its_own_records_say(garden: Garden) -> None:
    [code] = lots(garden, place(garden, "Tin", **TIN), 1)
    put_to_test(garden, [code], 30)
    found = seen(garden, code)
    assert found.priors.lam_mean == pytest.approx([0.0], abs=1e-9)
    assert found.priors.log_sigma_sd == pytest.approx(found.alone.log_sigma_sd, abs=1e-9)


def test_seed_that_cannot_be_stored_teaches_no_one_and_learns_from_no_one(garden: Garden) -> None:
    tin = place(garden, "Tin", **TIN)
    [code] = lots(garden, tin, 1)
    before = band(seen(garden, code), garden.today)
    fleeting = lots(garden, tin, 3, kind="chayote")
    put_to_test(garden, fleeting, 0)
    assert band(seen(garden, code), garden.today) == pytest.approx(before, abs=1e-12)
    of_its_own = seen(garden, fleeting[0])
    put_to_test(garden, lots(garden, tin, 5), 10)
    assert seen(garden, fleeting[0]).priors.lam_mean == pytest.approx([0.0], abs=1e-12)
    assert of_its_own.priors.log_sigma_sd == pytest.approx(of_its_own.alone.log_sigma_sd)


def test_one_lot_and_all_of_them_are_seen_alike(demo_stock: Session) -> None:
    everything = forecast(demo_stock, today=DEMO_TODAY)
    for at in range(0, everything.collection.size, 7):
        one = forecast(
            demo_stock, today=DEMO_TODAY, lot_ids=[int(everything.collection.lot_id[at])]
        )
        assert one.priors.lam_mean[0] == everything.priors.lam_mean[at]
        assert one.priors.log_sigma_sd[0] == everything.priors.log_sigma_sd[at]


def test_a_garden_learned_test_by_test_is_one_learned_at_once(demo_stock: Session) -> None:
    records = records_on(demo_stock, DEMO_TODAY)
    at_once = learn_from(records)
    some = records_on(demo_stock, DEMO_TODAY, records.collection.lot_id[::2].tolist())
    step_by_step = learn_from(records, before=learn_from(some))
    assert step_by_step.teachers.tolist() == at_once.teachers.tolist()
    assert np.max(np.abs(step_by_step.mean - at_once.mean)) < 1e-5
    assert np.max(np.abs(step_by_step.sd - at_once.sd)) < 1e-5
    assert at_once.learned.settled


def test_lots_alike_to_the_letter_each_say_how_much_tests_vary(garden: Garden) -> None:
    tin = place(garden, "Tin", **TIN)
    found = []
    for number in (1, 2):
        for code in lots(garden, tin, number):
            record(garden, code, "2026-10-01", (46, 50))
            record(garden, code, "2026-12-01", (25, 50))
        found.append(learn_from(records_on(garden.session, garden.today)).rho)
    assert found[1] > found[0] > 0.012
