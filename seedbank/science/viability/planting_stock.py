"""How long planting stock lasts out of the ground: tubers, cloves, bulbs and the like.

No ageing of seed applies to it. How long it is said to keep is the middle of how long it does;
the spread about that, and what is taken where nobody has said, are our choice. Outside check:
none is published that we know of; properties alone are tested.
"""

import numpy as np
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray

USUAL_YEARS = 0.75  # from one lifting to the next planting
KNOWN_LOG_SD, UNKNOWN_LOG_SD = 0.3, 0.6


def chance_kept(keeps_years: FloatArray, age_years: FloatArray) -> FloatArray:
    """Chance that planting stock of an age (L,) can still be planted, 0..1.

    ``keeps_years`` (L,) is how long its kind keeps, nan where nobody has said.
    """
    unknown = np.isnan(keeps_years)
    years = np.where(unknown, USUAL_YEARS, keeps_years)
    spread = np.where(unknown, UNKNOWN_LOG_SD, KNOWN_LOG_SD)
    left = np.log(years) - np.log(np.maximum(age_years, 1e-3))
    return np.asarray(ndtr(left / spread), dtype=np.float64)
