import numpy as np
import pytest

from seedbank.science.viability.decline import Isotherm, equilibrium_moisture_pct


@pytest.mark.parametrize(
    ("rh_pct", "temp_c", "oil", "low", "high"),
    [
        # Open University, OpenLearn Create seed conservation course, chickpea 6 % at 15 % RH, 15 C.
        (15.0, 15.0, 0.055, 5.5, 6.5),
        # Ellis, Hong & Roberts 1995, Ann. Bot. 76:521-534: lettuce 2.5-3.0 % at 8-10 % RH, 20 C,
        # sunflower 2.2-2.5 %; tolerances 0.3 and 0.4 as in shared/reference/published_checks.
        (8.0, 20.0, 0.37, 2.2, 3.3),
        (10.0, 20.0, 0.37, 2.2, 3.3),
        (8.0, 20.0, 0.42, 1.8, 2.9),
        (10.0, 20.0, 0.42, 1.8, 2.9),
    ],
)
def test_printed_moistures_are_met(
    rh_pct: float, temp_c: float, oil: float, low: float, high: float
) -> None:
    # The reference gives the equation's own values to two decimals.
    assert low <= round(float(equilibrium_moisture_pct(rh_pct, temp_c, oil)), 2) <= high


def test_the_worked_example_of_the_equation_is_reproduced() -> None:
    # shared/reference/cromarty_equation.md, computed: RH 45 %, 20 C, oil 2 % -> 10.73 % fresh
    # weight; oil 37 % -> 7.17 %.
    assert float(equilibrium_moisture_pct(45.0, 20.0, 0.02)) == pytest.approx(10.73, abs=0.005)
    assert float(equilibrium_moisture_pct(45.0, 20.0, 0.37)) == pytest.approx(7.17, abs=0.005)


def test_the_equation_holds_when_put_back_into_itself() -> None:
    fresh = equilibrium_moisture_pct(np.array([20.0, 60.0]), np.array([5.0, 30.0]), 0.25)
    dry = 100.0 * fresh / (100.0 - fresh)
    right = np.exp(-((dry * (1.1 + np.array([5.0, 30.0]) / 90.0) / 0.75) ** 2) / 440.0)
    assert right == pytest.approx([0.8, 0.4], rel=1e-12)


@pytest.mark.parametrize("rh_pct", [0.0, 100.0, -3.0, np.nan])
def test_air_with_no_balance_is_refused(rh_pct: float) -> None:
    with pytest.raises(ValueError, match="relative humidity"):
        equilibrium_moisture_pct(rh_pct, 20.0, 0.1)


def test_a_measured_table_is_met_at_its_temperature_and_moved_only_by_temperature() -> None:
    isotherm = Isotherm(0.22, (10.0, 45.0, 75.0), (4.6, 9.5, 13.4))
    at_table = isotherm.moisture_pct(np.array([10.0, 45.0, 75.0]), np.full(3, 25.0))
    assert at_table == pytest.approx([4.6, 9.5, 13.4])
    cooler = isotherm.moisture_pct(np.array([45.0]), np.array([5.0]))
    assert cooler[0] > 9.5
