"""The year drawn: months across, all of one width; a strip a crop or a way of sowing.

Places are per cent of a strip's width, so that one drawing serves a phone and a wide screen; its
template is ``_year.html``. Words stand under the marks where they have room at 360 px.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from seedbank.climate.answers import KindSeasonAnswer, SpanAnswer
from seedbank.common.catalogue import choice_words, text_of
from seedbank.common.local_format import Local
from seedbank.common.safe_text import plain_text
from seedbank.science.quantities import Finding
from seedbank.science.season.climate import MONTH_DAYS, YEAR
from seedbank.science.season.window_state import date_of, day_number
from seedbank.web.lettering import Box, Word

_PHONE_PX = 296.0  # what a strip is wide at 360 px
_WORD_Y, _LEAST_PCT = 40.0, 1.6
_HEADER = ("what", "from", "to")


@dataclass(frozen=True, slots=True)
class StripMark:
    """``what`` is sow, grow, eat, flowers, apart or ripe; left end and width in per cent."""

    what: str
    left: float
    width: float

    @property
    def right(self) -> float:
        """Its right end."""
        return round(self.left + self.width, 2)


@dataclass(frozen=True, slots=True)
class StripWord:
    """A word under a mark, from or (``end``) up to a place in per cent."""

    text: str
    at: float
    anchor: str


@dataclass(frozen=True, slots=True)
class Strip:
    """One line of the picture."""

    marks: tuple[StripMark, ...]
    words: tuple[StripWord, ...] = ()


@dataclass(frozen=True, slots=True)
class KindYearFigure:
    """A kind's year: a strip for each way of sowing, for flowers and for ripe seed, each with its
    name and its days; ``today`` is a place in per cent, ``month`` its month, ``months`` letter and
    short name of each."""

    title: str
    alt: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    strips: tuple[tuple[str, str, Strip], ...]
    months: tuple[tuple[str, str], ...]
    month: int
    today: float


@dataclass(frozen=True, slots=True)
class YearBar:
    """Spans of one row: ``what`` is a way of sowing, ``flowers`` or ``ripe``."""

    what: str
    spans: tuple[tuple[int, int], ...]


def bars_of(answer: KindSeasonAnswer) -> list[YearBar]:
    """The rows of a kind's year that have days in it."""
    bars = [YearBar(one.method.value, _spans(one.windows)) for one in answer.sow if one.windows]
    for what, span in (("flowers", answer.flowers), ("ripe", answer.ripe)):
        if span is not None:
            bars.append(YearBar(what, _spans([span])))
    return bars


def _spans(spans: Sequence[SpanAnswer]) -> tuple[tuple[int, int], ...]:
    return tuple((one.from_day, one.to_day) for one in spans)


def draw_kind_year(answer: KindSeasonAnswer, name: str, local: Local) -> KindYearFigure | None:
    """The picture; None: nothing of its year is known here."""
    bars = bars_of(answer)
    if not bars:
        return None
    rows = tuple(
        (_called(one.what, local), _day(first, answer.on, local), _day(last, answer.on, local))
        for one in bars
        for first, last in one.spans
    )
    told = tuple(
        Finding("kind-year-told", {"what": one.what, "from_day": first, "to_day": last})
        for one in bars
        for first, last in one.spans
    )
    return KindYearFigure(
        title=text_of(Finding("kind-year-picture", {"kind": plain_text(name)}), local),
        alt=text_of(Finding("kind-year-alt", {"told": told}), local),
        header=tuple(choice_words("kind-year-column", _HEADER).values()),
        rows=rows,
        strips=tuple(
            (_called(one.what, local), _days(one, local), Strip(_marks(one))) for one in bars
        ),
        months=month_names(),
        month=answer.on.month,
        today=place_of(day_number(answer.on)),
    )


def month_names() -> tuple[tuple[str, str], ...]:
    """Letter and short name of each month."""
    numbers = [float(month) for month in range(1, 13)]
    letters, names = (choice_words(code, numbers) for code in ("month-letter", "month-short"))
    return tuple(zip(letters.values(), names.values(), strict=True))


def _called(what: str, local: Local) -> str:
    return text_of(Finding("kind-year-row", {"what": what}), local)


def _day(day: int, on: date, local: Local) -> str:
    return local.day_and_month(date_of(day, on.year))


def _days(bar: YearBar, local: Local) -> str:
    found = tuple(
        Finding("all-year") if (last - first) % YEAR == YEAR - 1
        else Finding("season-span", {"from_day": first, "to_day": last})
        for first, last in bar.spans
    )  # fmt: skip
    return text_of(Finding("kind-year-days", {"spans": found}), local)


def _marks(bar: YearBar) -> tuple[StripMark, ...]:
    what = bar.what if bar.what in ("flowers", "ripe") else "sow"
    return tuple(mark for first, last in bar.spans for mark in marks_of(what, first, last))


def place_of(day: int) -> float:
    """Where a day of the year 1..366 stands, in per cent; 366 is the right end."""
    month = 0
    while month < len(MONTH_DAYS) - 1 and day > sum(MONTH_DAYS[: month + 1]):
        month += 1
    into = (day - 1 - sum(MONTH_DAYS[:month])) / MONTH_DAYS[month]
    return round(100.0 * (month + min(into, 1.0)) / len(MONTH_DAYS), 2)


def marks_of(what: str, first: int, last: int) -> Iterator[StripMark]:
    """A span as marks within one year: one over New Year in two."""
    pieces = [(first, last)] if first <= last else [(first, YEAR), (1, last)]
    for start, end in pieces:
        left, right = place_of(start), place_of(end + 1)
        width = max(right - left, _LEAST_PCT)
        yield StripMark(what, min(left, 100.0 - width), round(width, 2))


def words_under(wanted: Sequence[tuple[str, StripMark]]) -> tuple[StripWord, ...]:
    """Words under their marks from left to right, each where it stands clear of those before; one
    that has no room is left out."""
    placed: list[StripWord] = []
    taken: list[Box] = []
    for text, mark in sorted(wanted, key=lambda one: one[1].left):
        places = [(mark.left, "start"), (mark.right, "end"), (mark.left + mark.width / 2, "middle")]
        beside = (max(box.right for box in taken) + 6.0) / _PHONE_PX * 100.0 if taken else 100.0
        if mark.left < beside < mark.right:
            places.append((beside, "start"))
        for at, anchor in places:
            box = Word(text, at / 100.0 * _PHONE_PX, _WORD_Y, anchor).box
            within = box.left >= -3.0 and box.right <= _PHONE_PX + 3.0
            if within and not any(box.meets(one) for one in taken):
                placed.append(StripWord(text, round(at, 2), anchor))
                taken.append(box)
                break
    return tuple(placed)
