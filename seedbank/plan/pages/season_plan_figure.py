"""The plan of seed crops: varieties down, years across, how each is kept apart as a letter.

Coordinates are px of a picture 328 wide; its template (``_plan_years.html``) draws them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from seedbank.common.catalogue import choice_words, text_of
from seedbank.common.safe_text import plain_text, shortened
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.answers import (
    LastPlanAnswer,
    LastPlanCropAnswer,
    PlannedCropAnswer,
    SavingPlanAnswer,
)
from seedbank.science.quantities import Finding

MOST_DRAWN = 40
"""Varieties drawn, the first; the rows give them all."""
_TOP, _ROW, _FOOT = 30.0, 28.0, 4.0
_FIRST_X, _LAST_X = 164.0, 311.0  # middles of the first year and the last
_NAME, _MOST_WHOLE_YEARS = 18, 4  # letters; years
_HEADER = ("variety", "sown", "flowers", "where", "kept-apart-by")


@dataclass(frozen=True, slots=True)
class PlannedCrop:
    """A seed crop as it is drawn: years of sowing and flower, site, way of isolation."""

    variety: str
    kind: str
    sow_in: int
    flowers_in: int
    site: str
    isolation: str


@dataclass(frozen=True, slots=True)
class CropMark:
    """A crop's box at ``x`` with its letter; ``sown_x``: it is sown in a year before."""

    x: int
    letter: str
    sown_x: int | None


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A variety and its crops at the height of their middles."""

    y: float
    name: str
    crops: tuple[CropMark, ...]


@dataclass(frozen=True, slots=True)
class PlanFigure:
    """The picture, what it says in words, and all that it draws as rows under ``header``.

    ``key`` says what each letter means; ``years`` are places and labels.
    """

    height: float
    title: str
    alt: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    years: tuple[tuple[int, str], ...]
    drawn: tuple[PlanRow, ...]
    key: tuple[str, ...]


def crops_of(answer: SavingPlanAnswer | LastPlanAnswer) -> list[PlannedCrop]:
    """The seed crops of a plan, worked out or kept, in the plan's own order."""
    if isinstance(answer, LastPlanAnswer):
        return [_crop(one) for one in answer.crops]
    later = (one for year in answer.later for one in year.sow)
    return [*map(_crop, answer.this_year), *map(_crop, later)]


def _crop(one: PlannedCropAnswer | LastPlanCropAnswer) -> PlannedCrop:
    name, kind = plain_text(one.variety.name), one.variety.kind
    return PlannedCrop(name, kind, one.sow_in, one.flowers_in, one.site, one.isolation.value)


def draw_season_plan(crops: Sequence[PlannedCrop], first_year: int, years: int) -> PlanFigure:
    """The plan from ``first_year`` over so many ``years``, the last crops' flowering included."""
    names = list(dict.fromkeys((one.variety, one.kind) for one in crops))
    last = max([first_year + years - 1, *(one.flowers_in for one in crops)])
    ways = sorted({one.isolation for one in crops}, key=[one.value for one in Isolation].index)
    apart = (_LAST_X - _FIRST_X) / max(last - first_year, 1)
    every = _years(first_year, last)
    places = {year: round(_FIRST_X + apart * (year - first_year)) for year in every}
    short = len(places) > _MOST_WHOLE_YEARS
    drawn = tuple(
        PlanRow(
            _TOP + _ROW * (at + 0.5),
            shortened(name, _NAME),
            tuple(_mark(one, places) for one in crops if (one.variety, one.kind) == (name, kind)),
        )
        for at, (name, kind) in enumerate(names[:MOST_DRAWN])
    )
    rows = tuple(
        (
            f"{one.variety} ({one.kind})",
            str(one.sow_in),
            str(one.flowers_in),
            plain_text(one.site),
            _way("isolation-way", one.isolation),
        )
        for one in crops
    )
    return PlanFigure(
        height=_TOP + _ROW * max(len(drawn), 1) + _FOOT,
        title=text_of(Finding("plan-picture", {"first_year": first_year, "last_year": last})),
        alt=_alt(crops, len(names), first_year, last),
        header=tuple(choice_words("plan-picture-column", _HEADER).values()),
        rows=rows,
        years=tuple(
            (x, f"’{year % 100:02d}" if short else str(year)) for year, x in places.items()
        ),
        drawn=drawn,
        key=tuple(_way("plan-picture-key", way) for way in ways),
    )


def _years(first: int, last: int) -> range:
    return range(first, last + 1)


def _mark(crop: PlannedCrop, places: dict[int, int]) -> CropMark:
    """A crop sown before the picture begins has no ring."""
    sown = places.get(crop.sow_in) if crop.sow_in < crop.flowers_in else None
    letter = _way("plan-picture-letter", crop.isolation)
    return CropMark(places[crop.flowers_in], letter, sown)


def _alt(crops: Sequence[PlannedCrop], varieties: int, first: int, last: int) -> str:
    if not crops:
        return text_of(Finding("plan-picture-empty", {"first_year": first, "last_year": last}))
    by_year = tuple(
        Finding("plan-picture-year", {"crops": number, "year": year})
        for year in _years(first, last)
        if (number := sum(one.sow_in == year for one in crops))
    )
    return text_of(
        Finding(
            "plan-picture-told",
            {
                "crops": len(crops),
                "varieties": varieties,
                "by_year": by_year,
                "drawn": MOST_DRAWN,
                "all_drawn": varieties <= MOST_DRAWN,
            },
        )
    )


def _way(code: str, isolation: str) -> str:
    return text_of(Finding(code, {"way": isolation}))
