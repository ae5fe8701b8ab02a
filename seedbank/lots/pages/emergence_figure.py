"""What came up of a sowing drawn: a dot a seedling, stacked on the day it was counted.

Coordinates are px of a picture 328 wide; its template is ``_emergence.html``.
"""

from dataclasses import dataclass
from datetime import date

from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.science.quantities import Finding, Value
from seedbank.sowing.answers import SowingAnswer

_COLUMNS = 3  # the first count, one between, the last
_FIRST_X, _APART, _GROUND_Y = 76.0, 100.0, 55.0
_DOT, _ACROSS, _MOST_DOTS = 5.0, 16, 96
_EACH = (1, 2, 5, 10, 20, 50, 100, 1000)


@dataclass(frozen=True, slots=True)
class EmergenceColumn:
    """One count: ``up`` in all by ``day`` days after sowing; its words stand over ``top``."""

    day: int
    up: int
    x: float
    top: float
    dots: str


@dataclass(frozen=True, slots=True)
class EmergenceFigure:
    """A sowing's counts; a dot is ``each`` seedlings."""

    sowing: int
    sown: int
    sown_on: date
    each: int
    columns: tuple[EmergenceColumn, ...]
    alt: str


def draw_emergence(sowing: SowingAnswer, local: Local) -> EmergenceFigure | None:
    """The picture; None where nothing was counted."""
    counts = sowing.emergence
    if not counts:
        return None
    shown = sorted({0, (len(counts) - 1) // 2, len(counts) - 1})[:_COLUMNS]
    most = max(one.units_emerged for one in counts)
    each = next((one for one in _EACH if most <= one * _MOST_DOTS), _EACH[-1])
    columns = tuple(
        _column(
            (counts[at].on_date - sowing.sown_on).days,
            counts[at].units_emerged,
            _FIRST_X + place * _APART,
            each,
        )
        for place, at in enumerate(shown)
    )
    told = tuple(Finding("emergence-by-day", {"units": one.up, "days": one.day}) for one in columns)
    values: dict[str, Value] = {"sown": sowing.seeds_sown, "on": sowing.sown_on, "counts": told}
    alt = text_of(Finding("emergence-told", values), local)
    return EmergenceFigure(sowing.id, sowing.seeds_sown, sowing.sown_on, each, columns, alt)


def _column(day: int, up: int, x: float, each: int) -> EmergenceColumn:
    dots = -(-up // each)
    across = min(dots, _ACROSS)
    left = x - (across - 1) * _DOT / 2.0
    places = [
        (left + (dot % _ACROSS) * _DOT, _GROUND_Y - (dot // _ACROSS) * _DOT) for dot in range(dots)
    ]
    rows = max(1, -(-dots // _ACROSS))
    marks = "".join(f"M{px:g} {py:g}h0" for px, py in places)
    return EmergenceColumn(day, up, x, _GROUND_Y - (rows - 1) * _DOT - 9.0, marks)
