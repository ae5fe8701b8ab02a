"""Climates to test with: monthly means and frost dates recalled of weather services' normals."""

from dataclasses import replace

from seedbank.science.season.climate import YEAR, Climate, fit_climate
from seedbank.science.season.sowing_windows import REFERENCE

GARDENS: dict[str, Climate] = {
    # Iowa: hot summers, hard frost; last frost 28 April, first 7 October
    "inland north": fit_climate(
        [-5.2, -2.6, 4.1, 10.8, 16.7, 21.9, 24.5, 23.3, 18.4, 11.6, 3.7, -3.3], 118, 280
    ),
    # Vermont hills: hard frost until 20 May, from 24 September
    "mountain north": fit_climate(
        [-8.3, -6.7, -1.1, 5.9, 12.6, 17.5, 20.0, 19.0, 14.7, 8.2, 2.4, -4.4], 140, 267
    ),
    # Puget Sound: mild; last frost 31 March, first 11 November
    "maritime north": fit_climate(
        [5.6, 6.3, 8.1, 10.2, 13.3, 16.1, 18.8, 18.9, 16.3, 11.7, 7.7, 4.9], 90, 315
    ),
    # Canterbury, New Zealand: last frost 12 October, first 5 May
    "plain south": fit_climate(
        [17.5, 17.2, 15.5, 12.7, 9.8, 7.1, 6.6, 7.9, 10.3, 12.2, 14.1, 16.1], 285, 125
    ),
    # Dunedin, New Zealand: last frost 2 October, first 20 May
    "coast south": fit_climate(
        [15.3, 15.0, 13.7, 11.7, 9.3, 7.3, 6.6, 7.7, 9.5, 10.9, 12.4, 13.9], 275, 140
    ),
}
EVERYWHERE = {"reference": REFERENCE, **GARDENS}


def half_a_year_on(climate: Climate) -> Climate:
    """The same year with its seasons turned: each odd harmonic the other way up."""

    def turned(wave: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(-a if k % 2 else a for k, a in enumerate(wave, 1))

    told = (climate.last_frost, climate.first_frost)
    frost = [None if d is None else (d + 181) % YEAR + 1 for d in told]
    return replace(
        climate,
        cosine_c=turned(climate.cosine_c),
        sine_c=turned(climate.sine_c),
        last_frost=frost[0],
        first_frost=frost[1],
    )


def warmer_by(climate: Climate, degrees_c: float) -> Climate:
    """The same year, every day warmer by so much; its frost dates as they are."""
    return replace(climate, mean_c=climate.mean_c + degrees_c)
