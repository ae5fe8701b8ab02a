import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ndtr, ndtri

from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    Isotherm,
    ViabilityConstants,
    YearlyConditions,
    check_range,
    days_until_dose,
    dose_since_new_year,
    sigma_days,
    warm_damp_factor,
    yearly_dose,
)
from tests.published_rows import published

CHICKPEA = ViabilityConstants(9.070, 4.820, 0.045, 0.000324)
ONION = ViabilityConstants(6.975, 3.470, 0.040, 0.000428)
SHED = YearlyConditions(2.0, 26.0, 80.0, 55.0)


def _worked_lines() -> list[tuple[str, dict[str, float], dict[str, float]]]:
    """``arith-*`` of published_checks: constants and conditions in, sigma and viability out."""
    lines = []
    for row in published("published_checks"):
        if not row["id"].startswith("arith-"):
            continue
        given: dict[str, float] = {}
        for part in row["inputs"].replace(";", ",").split(","):
            name, _, value = part.strip().partition("=")
            if value:
                given[name] = float(value.split()[0])
            elif part.strip().startswith("initial"):
                given["initial"] = float(part.split()[1])
            elif part.strip().endswith(" d"):
                given["days"] = float(part.split()[0])
        expected = {word.split()[0]: float(word.split()[1]) for word in row["expected"].split("; ")}
        lines.append((row["id"], given, expected))
    return lines


@pytest.mark.parametrize(("line", "given", "expected"), _worked_lines(), ids=lambda x: str(x)[:8])
def test_worked_lines_of_the_viability_equation_are_reproduced(
    line: str, given: dict[str, float], expected: dict[str, float]
) -> None:
    # shared/reference/published_checks.csv, computed from the constants shown there.
    constants = ViabilityConstants(given["k_e"], given["c_w"], given["c_h"], given["c_q"])
    sigma = float(sigma_days(constants, given["m"], given["t"]))
    probit = float(ndtri(given["initial"] / 100.0)) - given["days"] / sigma
    assert sigma == pytest.approx(expected["sigma"], rel=5e-3), line
    assert probit == pytest.approx(expected["probit"], rel=5e-3, abs=2e-3)
    assert 100.0 * float(ndtr(probit)) == pytest.approx(expected["viability"], rel=5e-3)


def test_there_are_eight_worked_lines() -> None:
    assert len(_worked_lines()) == 8


def test_the_printed_chickpea_series_is_reproduced() -> None:
    # Open University, OpenLearn Create (Kew material), figures 7-8: years at 5 C until 85 % for
    # 6, 8, 10, 12 % moisture are 114, 28, 9, 4, whole years gone by. The initial viability is not
    # printed, so it is taken from the first figure; constants of 1982 from memory.
    sigma = sigma_days(CHICKPEA, np.array([6.0, 8.0, 10.0, 12.0]), 5.0) / DAYS_PER_YEAR
    drop = 114.0 / sigma[0]
    years = drop * sigma
    assert np.floor(years + 1e-9).tolist() == [114, 28, 9, 4]
    # The reference note says about 91.5 % fits.
    assert float(ndtr(ndtri(0.85) + drop)) == pytest.approx(0.915, abs=0.003)
    # The ratio does not depend on the initial viability: 114/4 printed, 4 rounded from 3.5-4.5.
    assert 114.5 / 4.5 <= years[0] / years[3] <= 114.5 / 3.5


def test_pepper_sigma_matches_the_published_trial() -> None:
    # Demir et al. 2009, HortScience 44:1679-1682: 10 %, 25 C gives sigma 94.6 d.
    pepper = ViabilityConstants(7.767, 4.670, 0.0329, 0.000478)
    assert float(sigma_days(pepper, 10.0, 25.0)) == pytest.approx(94.6, abs=0.1)


def test_a_year_of_swinging_storage_is_the_integral_of_its_days() -> None:
    isotherm = Isotherm(0.22)

    def rate(day: float) -> float:
        swing = np.cos(2 * np.pi * (day - 20) / DAYS_PER_YEAR)
        temp = np.array([14.0 - 12.0 * swing])
        moisture = isotherm.moisture_pct(np.array([67.5 + 12.5 * swing]), temp)
        damp_and_warm = min(max(1.5 + 12.5 * swing, 0) / 12, 1) * min(
            max(temp[0] - 10, 0) / 16.7, 1
        )
        return float(np.exp(0.8 * damp_and_warm) / sigma_days(ONION, moisture, temp)[0])

    exact, _ = quad(rate, 0.0, DAYS_PER_YEAR, epsabs=1e-12, limit=200)
    dose = yearly_dose(ONION, isotherm, SHED)
    assert dose[-1] == pytest.approx(exact, rel=1e-5)
    part, _ = quad(rate, 31.0, 212.5, epsabs=1e-12, limit=200)
    table = dose[None, :]
    row = np.zeros(2, dtype=np.int64)
    ends = dose_since_new_year(table, row, np.array([31.0, 212.5]))
    assert ends[1] - ends[0] == pytest.approx(part, rel=1e-4)


def test_a_swing_ages_seed_faster_than_its_mean() -> None:
    mean = YearlyConditions(14.0, 14.0, 55.5, 55.5)
    shed = YearlyConditions(2.0, 26.0, 62.0, 49.0)
    swinging = yearly_dose(ONION, Isotherm(0.22), shed)[-1]
    assert swinging > 1.15 * yearly_dose(ONION, Isotherm(0.22), mean)[-1]


def test_only_air_both_damp_and_warm_ages_seed_faster_than_the_equation() -> None:
    rh = np.array([78.0, 66.0, 81.0, 44.0, 72.0, 95.0])
    temp = np.array([26.7, 26.7, 10.0, 26.7, 18.35, 35.0])
    expected = np.exp([0.8, 0.0, 0.0, 0.0, 0.2, 0.8])
    assert warm_damp_factor(rh, temp) == pytest.approx(expected)


def test_sealed_seed_keeps_its_measured_moisture() -> None:
    jar = YearlyConditions(5.0, 5.0, 50.0, 50.0, sealed=True, seed_moisture_pct=6.5)
    # arith-2 of published_checks: onion at 6.5 %, 5 C has sigma 8779.92 d.
    assert yearly_dose(ONION, Isotherm(0.22), jar)[-1] == pytest.approx(
        DAYS_PER_YEAR / 8779.92, rel=1e-5
    )


def test_days_until_a_dose_undo_the_dose_of_those_days() -> None:
    table = np.stack(
        [
            yearly_dose(ONION, Isotherm(0.22), SHED),
            yearly_dose(CHICKPEA, Isotherm(0.05), SHED),
        ]
    )
    row = np.array([0, 1, 0, 1])
    day = np.array([9000.25, 9100.0, 12.0, 365.25 * 3])
    dose = np.array([0.01, 0.4, 2.5, 1e-4])
    later = day + days_until_dose(table, row, day, dose)
    got = dose_since_new_year(table, row, later) - dose_since_new_year(table, row, day)
    assert got == pytest.approx(dose, rel=1e-6)
    never = days_until_dose(table, row, day, np.array([np.inf, 0.4, np.inf, np.inf]))
    assert np.isinf(never).tolist() == [True, False, True, True]


def test_drier_air_than_the_limit_adds_no_life() -> None:
    # Ellis, Hong & Roberts 1989, Ann. Bot. 63:601-611: below about 10.6 % equilibrium RH.
    at = [
        yearly_dose(ONION, Isotherm(0.22), YearlyConditions(15, 15, rh, rh))[-1]
        for rh in (5.0, 10.6, 15.0)
    ]
    assert at[0] == at[1] < at[2]


def test_conditions_outside_the_fitted_range_are_named() -> None:
    assert check_range(np.array([8.0]), np.array([20.0])).codes == ()
    assert check_range(np.array([26.0]), np.array([-18.0])).codes == (
        "too-moist",
        "colder-than-fitted",
    )
    assert check_range(np.array([1.5, 15.0]), np.array([5.0])).codes == (
        "mould-and-heating",
        "too-dry",
    )


def test_bone_dry_seed_is_refused_rather_than_divided_by() -> None:
    with pytest.raises(ValueError, match="moisture"):
        sigma_days(ONION, 0.0, 20.0)
