"""A kind's year here: months across; each way of sowing, flowers and ripe seed a bar."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from seedbank.climate.answers import KindSeasonAnswer, SpanAnswer
from seedbank.common.catalogue import choice_words, text_of
from seedbank.common.local_format import Local
from seedbank.common.safe_text import plain_text
from seedbank.science.quantities import Finding
from seedbank.science.season.climate import MONTH_DAYS, YEAR
from seedbank.science.season.window_state import date_of, day_number
from seedbank.web.figures import LINE, MARK, OUTER, PAPER, SOFT, WARN, WIDTH, Canvas, Figure

# CSS pixels.
_TOP, _LEFT, _ROW, _FOOT = 24, 92, 26, 8
_HEADER = ("what", "from", "to")


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


def draw_kind_year(answer: KindSeasonAnswer, name: str, local: Local) -> Figure | None:
    """The picture; None: nothing of its year is known here."""
    bars = bars_of(answer)
    if not bars:
        return None
    today = day_number(answer.on)
    title = text_of(Finding("kind-year-picture", {"kind": plain_text(name)}), local)
    rows = tuple(
        (_called(one.what, local), _day(first, answer, local), _day(last, answer, local))
        for one in bars
        for first, last in one.spans
    )
    told = tuple(
        Finding("kind-year-told", {"what": one.what, "from_day": first, "to_day": last})
        for one in bars
        for first, last in one.spans
    )
    alt = text_of(Finding("kind-year-alt", {"told": told}), local)
    height = _TOP + _ROW * len(bars) + _FOOT

    def draw() -> bytes:
        with Canvas(height, left=_LEFT, right=6, top=_TOP, bottom=_FOOT) as canvas:
            for row, one in enumerate(bars):
                _draw(canvas, row, one)
            _frame(canvas, [_called(one.what, local) for one in bars], today)
            return canvas.svg(title, alt)

    return Figure(
        width=WIDTH,
        height=height,
        title=title,
        alt=alt,
        header=tuple(choice_words("kind-year-column", _HEADER).values()),
        rows=rows,
        sources=tuple(answer.sources),
        drawn_from=f"{bars}{today}",
        draw=draw,
    )


def _called(what: str, local: Local) -> str:
    return text_of(Finding("kind-year-row", {"what": what}), local)


def _day(day: int, answer: KindSeasonAnswer, local: Local) -> str:
    return local.day_and_month(date_of(day, answer.on.year))


def _draw(canvas: Canvas, row: int, bar: YearBar) -> None:
    """Sowing a full bar, flowers a hollow one, ripe seed a hatched one: shapes tell them apart."""
    look: dict[str, Any] = {"color": MARK, "edgecolor": LINE}
    if bar.what == "flowers":
        look = {"color": PAPER, "edgecolor": LINE}
    elif bar.what == "ripe":
        look = {"color": OUTER, "edgecolor": LINE, "hatch": "///"}
    for first, last in _pieces(bar.spans):
        canvas.axes.barh(row, last - first + 1, left=first, height=0.55, linewidth=1.2, **look)


def _pieces(spans: Sequence[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Spans within one year: those over New Year in two."""
    for first, last in spans:
        if first <= last:
            yield first, last
        else:
            yield first, YEAR
            yield 1, last


def _frame(canvas: Canvas, names: Sequence[str], today: int) -> None:
    axes = canvas.axes
    axes.axvline(today, color=WARN, linewidth=1.6)
    axes.set_xlim(1, YEAR + 1)
    axes.set_ylim(len(names) - 0.5, -0.5)
    axes.xaxis.tick_top()
    starts = [sum(MONTH_DAYS[:month]) + 1 for month in range(12)]
    middles = [start + days / 2 for start, days in zip(starts, MONTH_DAYS, strict=True)]
    letters = choice_words("month-letter", [float(month) for month in range(1, 13)])
    axes.set_xticks(middles, list(letters.values()))
    axes.set_xticks(starts, minor=True)
    axes.grid(visible=False, which="major", axis="x")
    axes.grid(visible=True, which="minor", axis="x", color=SOFT, linewidth=0.4)
    axes.set_yticks(range(len(names)), names)
    axes.spines["bottom"].set_visible(False)
    axes.tick_params(length=0, which="both")
