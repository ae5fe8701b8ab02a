"""Seed moisture in balance with the air.

Cromarty, Ellis & Roberts 1982 (rev. 1985, 1990), The Design of Seed Storage Facilities for Genetic
Conservation, IBPGR, Rome; equation from memory. Where a measured table exists for the kind
(Harrington 1960, at 25 C) its value is taken and only the effect of temperature comes from the
equation. Outside checks: printed moistures for chickpea (Open University), lettuce and sunflower
(Ellis, Hong & Roberts 1995).
"""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray

TABLE_TEMP_C = 25.0
TABLE_RH_PCT = (10.0, 75.0)
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
