"""This year drawn: a strip a crop, in folds by when it is sown; seed crops first."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from seedbank.climate.answers import SpanAnswer
from seedbank.common.answers import FindingAnswer
from seedbank.common.catalogue import choice_words, text_of
from seedbank.common.local_format import Local
from seedbank.common.safe_text import plain_text
from seedbank.science.quantities import Finding, Value
from seedbank.science.season.window_state import day_number
from seedbank.season.answers import CropLineAnswer, YearAnswer
from seedbank.season.pages.year_figure import (
    Strip,
    StripMark,
    marks_of,
    month_names,
    place_of,
    words_under,
)
from seedbank.season.year_list import YEAR_COLUMNS, crop_name, year_row
from seedbank.verdicts.answers import When

MOST_OPEN = 12
"""Lines of the folds that stand open; what comes after is folded."""
_NAMED = 2  # varieties named beside a kind
SHOWS = ("all", "eat", "seed")
"""Which lines are shown."""


@dataclass(frozen=True, slots=True)
class SeasonLine:
    """A crop: its name and what stands beside it, its strip, why, and where more is told."""

    name: str
    beside: str
    strip: Strip
    reasons: tuple[FindingAnswer, ...]
    address: str


@dataclass(frozen=True, slots=True)
class SeasonFold:
    """Lines sown at one time, or for seed."""

    heading: str
    lines: tuple[SeasonLine, ...]
    open: bool


@dataclass(frozen=True, slots=True)
class SeasonFigure:
    """The picture, and all that it draws as rows under ``header``; ``today`` is in per cent."""

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    folds: tuple[SeasonFold, ...]
    months: tuple[tuple[str, str], ...]
    month: int
    today: float


def draw_season(answer: YearAnswer, local: Local, show: str = "all") -> SeasonFigure | None:
    """The picture of the lines asked for; None: there are none."""
    shown = [one for one in answer.crops if show == "all" or one.for_seed == (show == "seed")]
    if not shown:
        return None
    groups: dict[str, list[CropLineAnswer]] = {}
    for one in shown:
        groups.setdefault(_heading(one, local), []).append(one)
    return SeasonFigure(
        title=text_of(Finding("season-picture", {"year": answer.on.year}), local),
        header=tuple(choice_words("season-column", YEAR_COLUMNS).values()),
        rows=tuple(year_row(one, answer.on.year, local) for one in shown),
        folds=tuple(_folds(groups, answer.on.year, local)),
        months=month_names(),
        month=answer.on.month,
        today=place_of(day_number(answer.on)),
    )


def _heading(line: CropLineAnswer, local: Local) -> str:
    if line.for_seed:
        return text_of(Finding("season-fold", {"fold": "seed"}), local)
    if line.when is When.NOW or line.from_on is None:
        return text_of(Finding("season-fold", {"fold": "now"}), local)
    month = local.month_name(line.from_on.month)
    return text_of(Finding("season-fold", {"fold": "month", "month": month}), local)


def _folds(
    groups: dict[str, list[CropLineAnswer]], year: int, local: Local
) -> Iterator[SeasonFold]:
    before = 0
    for heading, lines in groups.items():
        drawn = tuple(_line(one, year, local) for one in lines)
        yield SeasonFold(heading, drawn, open=before == 0 or before + len(lines) <= MOST_OPEN)
        before += len(lines)


def _line(one: CropLineAnswer, year: int, local: Local) -> SeasonLine:
    names = [plain_text(name) for name in one.varieties]
    values: dict[str, Value] = {
        "varieties": ", ".join(names[:_NAMED]),
        "more": max(0, len(names) - _NAMED),
    }
    address = f"/kind/{one.kind}/season" if one.seed_crop is None else f"/crop/{one.seed_crop}"
    return SeasonLine(
        crop_name(one, local),
        text_of(Finding("season-beside", values), local),
        _strip(one, year, local),
        tuple(one.reasons),
        address,
    )


def _strip(one: CropLineAnswer, year: int, local: Local) -> Strip:
    drawn: list[StripMark] = []
    wanted: list[tuple[str, StripMark]] = []

    def add(what: str, span: SpanAnswer | None, word: str = "") -> None:
        if span is None:
            return
        marks = list(marks_of(what, span.from_day, span.to_day))
        drawn.extend(marks)
        if word:
            wanted.append((_word(word, year, local), marks[0]))

    add("grow", one.grows)
    for span in one.sow:
        add("sow", span, "sow-indoors" if one.method == "indoors" else "sow")
    add("eat", one.eat, "crop")
    add("apart", one.keep_apart)
    add("flowers", one.flowers, "keep-apart" if one.keep_apart else "flowers")
    add("ripe", one.ripe, "ripe")
    if one.seed_in is not None and one.seed_in > year:
        end = StripMark("", 100.0, 0.0)
        wanted.append((_word("seed-in", one.seed_in, local), end))
    return Strip(tuple(drawn), words_under(wanted))


def _word(what: str, year: int, local: Local) -> str:
    return text_of(Finding("season-word", {"what": what, "year": year}), local)


def soon(answer: YearAnswer, most: int) -> list[CropLineAnswer]:
    """What can be sown now or by the end of next month and isn't begun: for seed first."""
    today = answer.on
    end = date(today.year + (today.month == 12), today.month % 12 + 1, 28)
    waiting = [
        one
        for one in answer.crops
        if one.seed_crop is None and one.from_on is not None and one.from_on <= end
    ]
    waiting.sort(key=lambda one: (not one.for_seed, one.until_on is None, one.until_on or end))
    return waiting[:most]
