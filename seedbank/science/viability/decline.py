"""How fast seed ages, and the storage dose a lot has had.

Ellis & Roberts 1980 (Ann. Bot. 45:13-30, 31-37): log10 sigma = K_E - C_W log10 m - C_H T - C_Q T^2,
sigma in days, m in % fresh weight, T in C; viability falls by one probit in sigma days. Under
changing conditions probits add, so dose = integral dt / sigma: hot weeks count for what they are,
not for their share of a mean temperature. Outside checks: worked lines and the chickpea series in
``published_checks``, and scipy.integrate.quad over a year.

Seed moisture in balance with the air.

Cromarty, Ellis & Roberts 1982 (rev. 1985, 1990), The Design of Seed Storage Facilities for Genetic
Conservation, IBPGR, Rome; equation from memory. Where a measured table exists for the kind
(Harrington 1960, at 25 C) its value is taken and only the effect of temperature comes from the
equation. Outside checks: printed moistures for chickpea (Open University), lettuce and sunflower
(Ellis, Hong & Roberts 1995).
"""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray, IntArray

TABLE_TEMP_C = 25.0
WARM_DAMP_LOG = 0.8
"""Seed of ten kinds at 26.7 C and 78 % humidity fell e^0.8 = 2.2 times as fast as by the equation
(USDA Agriculture Handbook 506, table 13, fitted here; 0.7 to 0.9 with any one kind left out), as
where moulds grow. A steeper C_W does not serve: at 10 C still damper seed kept."""
DRIEST_USEFUL_RH_PCT = 10.6
"""Drier air adds no life (Ellis, Hong & Roberts 1989, Ann. Bot. 63:601-611, 12 species)."""


@dataclass(frozen=True, slots=True)
class Isotherm:
    """How one kind's seed follows the air: its oil fraction and, if measured, a table at 25 C."""

    oil_fraction: float
    table_rh_pct: tuple[float, ...] = ()
    table_moisture_pct: tuple[float, ...] = ()

    def moisture_pct(self, rh_pct: FloatArray, temp_c: FloatArray) -> FloatArray:
        """Equilibrium moisture, % of fresh weight, at ``rh_pct`` and ``temp_c`` (shapes broadcast).

        Raises ValueError unless 0 < rh_pct < 100.
        """
        by_equation = equilibrium_moisture_pct(rh_pct, temp_c, self.oil_fraction)
        if not self.table_rh_pct:
            return by_equation
        low, high = self.table_rh_pct[0], self.table_rh_pct[-1]
        nearest = np.clip(rh_pct, low, high)
        table = np.interp(nearest, self.table_rh_pct, self.table_moisture_pct)
        at_table = equilibrium_moisture_pct(
            nearest, np.full_like(nearest, TABLE_TEMP_C), self.oil_fraction
        )
        return np.asarray(by_equation * table / at_table, dtype=np.float64)


def equilibrium_moisture_pct(
    rh_pct: FloatArray | float, temp_c: FloatArray | float, oil_fraction: FloatArray | float
) -> FloatArray:
    """Moisture in % of fresh weight from relative humidity, temperature and oil (0..1, dry basis).

    1 - R = exp(-[M (1.1 + T/90) / (1 - D)]^2 / 440), M in % of dry weight. Raises ValueError unless
    0 < rh_pct < 100: damp air at 100 % has no finite balance.
    """
    rh = np.asarray(rh_pct, dtype=np.float64) / 100.0
    if np.any(~((rh > 0.0) & (rh < 1.0))):
        raise ValueError("relative humidity must lie between 0 and 100 %, both excluded")
    dry = (1.0 - np.asarray(oil_fraction)) * np.sqrt(-440.0 * np.log1p(-rh))
    dry = dry / (1.1 + np.asarray(temp_c) / 90.0)
    return np.asarray(100.0 * dry / (100.0 + dry), dtype=np.float64)


OUTLIVED_YEARS = 1.0  # most that seed which can't be dried lasts; common practice, no single source


DAYS_PER_YEAR = 365.25
COLDEST_DAY_OF_YEAR = 20
"""Coldest about 20 January, warmest half a year later: common practice, no single source."""
_PHASE_DAYS = 366


@dataclass(frozen=True, slots=True)
class ViabilityConstants:
    """K_E, C_W, C_H, C_Q of one kind."""

    k_e: float
    c_w: float
    c_h: float
    c_q: float


@dataclass(frozen=True, slots=True)
class YearlyConditions:
    """Conditions of one place through a year: a cosine between winter and summer values.

    ``sealed`` seed keeps the moisture it was closed up with: ``seed_moisture_pct`` if measured,
    else the balance with the mean air. ``known`` is false where a default stands in for a value.
    """

    temp_winter_c: float
    temp_summer_c: float
    rh_winter_pct: float
    rh_summer_pct: float
    sealed: bool = False
    seed_moisture_pct: float | None = None
    known: bool = True


ORDINARY_STORE = YearlyConditions(20.3, 20.3, 50.5, 50.5, known=False)
"""An ordinary indoor store: the ambient store of Nagel & Boerner 2010, Seed Sci. Res. 20:1-12."""


def sigma_days(
    constants: ViabilityConstants, moisture_pct: FloatArray | float, temp_c: FloatArray | float
) -> FloatArray:
    """Days in which viability falls by one probit. Raises ValueError for moisture not above 0."""
    moisture = np.asarray(moisture_pct, dtype=np.float64)
    temp = np.asarray(temp_c, dtype=np.float64)
    if np.any(~(moisture > 0)):
        raise ValueError("seed moisture must be above 0 %")
    log_sigma = (
        constants.k_e
        - constants.c_w * np.log10(moisture)
        - constants.c_h * temp
        - constants.c_q * temp**2
    )
    return np.asarray(10.0**log_sigma, dtype=np.float64)


def yearly_dose(
    constants: ViabilityConstants, isotherm: Isotherm, place: YearlyConditions
) -> FloatArray:
    """Dose through a year (367,), that after d days at d, from daily conditions at noon; day 0 is
    1 January."""
    moisture, temp = daily_conditions(isotherm, place, driest_rh_pct=DRIEST_USEFUL_RH_PCT)
    daily = DAYS_PER_YEAR / _PHASE_DAYS / sigma_days(constants, moisture, temp)
    if place.seed_moisture_pct is None:
        daily = daily * warm_damp_factor(_daily_humidity(place), temp)
    return np.concatenate([[0.0], np.cumsum(daily)])


def daily_conditions(
    isotherm: Isotherm, place: YearlyConditions, *, driest_rh_pct: float = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Seed moisture (% fresh weight) and temperature (C) at noon of each day, (366,) each.

    Air drier than ``driest_rh_pct`` is taken for that dry. Outside check: see ``yearly_dose``.
    """
    temp = _swung(place.temp_winter_c, place.temp_summer_c)
    if place.seed_moisture_pct is not None:
        return np.full_like(temp, place.seed_moisture_pct), temp
    air = np.full_like(temp, temp.mean()) if place.sealed else temp
    return isotherm.moisture_pct(np.maximum(_daily_humidity(place), driest_rh_pct), air), temp


def _swing() -> FloatArray:
    """From 1 on the coldest day to -1 half a year later, at noon of each day (366,)."""
    day = (np.arange(_PHASE_DAYS) + 0.5) * DAYS_PER_YEAR / _PHASE_DAYS
    return np.asarray(np.cos(2.0 * np.pi * (day - COLDEST_DAY_OF_YEAR) / DAYS_PER_YEAR))


def _swung(winter: float, summer: float) -> FloatArray:
    return 0.5 * (winter + summer) + 0.5 * (winter - summer) * _swing()


def _daily_humidity(place: YearlyConditions) -> FloatArray:
    rh = _swung(place.rh_winter_pct, place.rh_summer_pct)
    return np.full_like(rh, rh.mean()) if place.sealed else rh


def warm_damp_factor(rh_pct: FloatArray, temp_c: FloatArray) -> FloatArray:
    """How many times faster than by the equation seed ages in air both damp and warm.

    None below 66 % humidity or 10 C, most from 78 % and 26.7 C on, where the trial ends.
    """
    damp = np.clip((rh_pct - 66.0) / 12.0, 0.0, 1.0)
    warm = np.clip((temp_c - 10.0) / 16.7, 0.0, 1.0)
    return np.asarray(np.exp(WARM_DAMP_LOG * damp * warm), dtype=np.float64)


def dose_since_new_year(table: FloatArray, row: IntArray, day: FloatArray) -> FloatArray:
    """Dose from 1 January of year 0 of the day count to ``day``, in ``row`` of ``table``.

    ``table`` stacks rows of ``yearly_dose``, shape (P, 367); ``day`` counts days (fractions
    allowed) from any 1 January. The difference of two calls is the dose of a stay.
    """
    year, within = np.divmod(day, DAYS_PER_YEAR)
    place = within * (_PHASE_DAYS / DAYS_PER_YEAR)
    node = np.minimum(place.astype(np.int64), _PHASE_DAYS - 1)
    low, high = table[row, node], table[row, node + 1]
    return np.asarray(year * table[row, -1] + low + (place - node) * (high - low), dtype=np.float64)


def days_until_dose(
    table: FloatArray, row: IntArray, day: FloatArray, dose: FloatArray
) -> FloatArray:
    """Days from ``day`` until a further ``dose`` has been taken up in ``row``: the inverse.

    ``inf`` where the place ages seed so slowly that no date could be named (over 1,000 years), and
    for a dose that is never reached (``inf``).
    """
    endless = np.isposinf(dose)
    goal = dose_since_new_year(table, row, day) + np.where(endless, 0.0, dose)
    whole = table[row, -1]
    year, left = np.divmod(goal, whole)
    curve = table[row]
    node = np.sum(curve[..., 1:] <= left[..., None], axis=-1)
    node = np.minimum(node, _PHASE_DAYS - 1)
    lots = np.arange(curve.shape[0])
    low, high = curve[lots, node], curve[lots, node + 1]
    within = (node + (left - low) / (high - low)) * (DAYS_PER_YEAR / _PHASE_DAYS)
    days = year * DAYS_PER_YEAR + within - day
    never = endless | (days > 1000 * DAYS_PER_YEAR)
    return np.where(never, np.inf, np.maximum(days, 0.0))


@dataclass(frozen=True, slots=True)
class RangeCheck:
    """Why the equation may not hold here, as short codes; empty when it does."""

    codes: tuple[str, ...]


def check_range(moisture_pct: FloatArray, temp_c: FloatArray) -> RangeCheck:
    """Fitted range: 2-25 % moisture (Ellis & Hong 2007); -13..90 C (Dickie et al. 1990)."""
    codes = []
    if np.any(moisture_pct > 25.0):
        codes.append("too-moist")
    elif np.any(moisture_pct > 14.0):
        codes.append("mould-and-heating")
    if np.any(moisture_pct < 2.0):
        codes.append("too-dry")
    if np.any(temp_c < -13.0):
        codes.append("colder-than-fitted")
    return RangeCheck(tuple(codes))
