"""A lot's life: how alive it was and will be, its tests, the limits it must keep, its moves."""

from collections.abc import Sequence
from datetime import date

from seedbank.common.catalogue import choice_words, text_of
from seedbank.common.local_format import Local
from seedbank.common.safe_text import plain_text
from seedbank.lots.answers import StayAnswer
from seedbank.science.quantities import Finding
from seedbank.viability.answers import TestSeen, ThresholdAnswer, ViabilityAnswer
from seedbank.web.figures import (
    INK,
    INNER,
    LINE,
    MARK,
    OUTER,
    PAPER,
    SOFT,
    TEXT,
    WARN,
    WIDTH,
    Canvas,
    Figure,
)

_HEIGHT = 280
_DASHES = ("--", ":", "-.")
_CORNER = 0.27  # share of the width that the corner's words take
_APART_PCT = 9.0  # lines nearer than this are lettered on either side
_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_HEADER = ("when", "what", "alive", "likely-between")


def draw_lot_life(
    answer: ViabilityAnswer, stays: Sequence[StayAnswer], today: date, local: Local
) -> Figure:
    """The picture of one lot from harvest to ten years ahead."""
    moves = [stay for stay in stays if stay.from_date > answer.curve[0].on][: len(_LETTERS)]
    title = text_of(
        Finding("life", {"lot": answer.lot, "variety": plain_text(answer.variety.name)}), local
    )
    alt = _alt(answer, local)

    def draw() -> bytes:
        with Canvas(_HEIGHT, left=34, bottom=40, top=24) as canvas:
            _band(canvas, answer)
            _thresholds(canvas, answer.thresholds, local)
            _tests(canvas, answer.tests)
            _today(canvas, answer, today, local)
            _moves(canvas, moves)
            _frame(canvas, answer, local)
            return canvas.svg(title, alt)

    return Figure(
        width=WIDTH,
        height=_HEIGHT,
        title=title,
        alt=alt,
        header=tuple(choice_words("life-column", _HEADER).values()),
        rows=_rows(answer, moves, today, local),
        sources=tuple(answer.sources),
        drawn_from=f"{answer.model_dump_json()}{moves}{today}",
        draw=draw,
    )


def _alt(answer: ViabilityAnswer, local: Local) -> str:
    last = answer.curve[-1]
    now = next((one for one in answer.curve if one.on == answer.now.on), last)
    return text_of(
        Finding(
            "life-told",
            {
                "now_alive": now.median_pct / 100.0,
                "now": now.on,
                "now_low_pct": now.low_90_pct,
                "now_high_pct": now.high_90_pct,
                "tests": len(answer.tests),
                "last_alive": last.median_pct / 100.0,
                "last": last.on,
                "last_low_pct": last.low_90_pct,
                "last_high_pct": last.high_90_pct,
            },
        ),
        local,
    )


def _year(day: date) -> float:
    return day.year + (day.timetuple().tm_yday - 0.5) / 366


def _band(canvas: Canvas, answer: ViabilityAnswer) -> None:
    years = [_year(point.on) for point in answer.curve]
    axes, curve = canvas.axes, answer.curve
    axes.fill_between(
        years,
        [point.low_90_pct for point in curve],
        [point.high_90_pct for point in curve],
        facecolor=OUTER,
        edgecolor=LINE,
        linewidth=0.8,
    )
    low, high = [point.low_50_pct for point in curve], [point.high_50_pct for point in curve]
    axes.fill_between(years, low, high, facecolor=INNER, linewidth=0)
    axes.plot(years, [point.median_pct for point in curve], color=LINE, linewidth=2.2)


def _thresholds(canvas: Canvas, thresholds: Sequence[ThresholdAnswer], local: Local) -> None:
    """Each as a line of its own dashes, lettered at the right end where the band is low."""
    below = min((one.threshold_pct for one in thresholds), default=0.0)
    for dash, one in zip(_DASHES * 9, thresholds, strict=False):
        canvas.axes.axhline(one.threshold_pct, color=WARN, linewidth=1.4, linestyle=dash)
        crowded = any(
            0 < abs(other.threshold_pct - one.threshold_pct) < _APART_PCT for other in thresholds
        )
        under = crowded and one.threshold_pct == below
        canvas.axes.annotate(
            text_of(_limit("life-limit-line", one), local),
            (1.0, one.threshold_pct),
            (0, -3 if under else 3),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            ha="right",
            va="top" if under else "bottom",
            color=WARN,
            fontsize=TEXT,
        )


def _tests(canvas: Canvas, tests: Sequence[TestSeen]) -> None:
    if not tests:
        return
    at = [_year(one.started_on) for one in tests]
    pct = [one.viability.pct for one in tests]
    reach = [
        [max(one.viability.pct - one.viability.low_pct, 0.0) for one in tests],
        [max(one.viability.high_pct - one.viability.pct, 0.0) for one in tests],
    ]
    canvas.axes.errorbar(
        at, pct, yerr=reach, fmt="s", color=MARK, markersize=6.5, markeredgecolor=PAPER,
        markeredgewidth=0.8, elinewidth=1.6, capsize=4, zorder=4, clip_on=False,
    )  # fmt: skip


def _today(canvas: Canvas, answer: ViabilityAnswer, today: date, local: Local) -> None:
    canvas.axes.axvline(_year(today), color=INK, linewidth=1.2)
    first, last = _span(answer)
    # The corner says what the axis is; a young lot's word stands beside it.
    canvas.say(
        max(_year(today), first + _CORNER * (last - first)), 1.015, _word("today", local),
        ha="center", va="bottom", transform=canvas.axes.get_xaxis_transform(),
    )  # fmt: skip


def _moves(canvas: Canvas, moves: Sequence[StayAnswer]) -> None:
    """A wedge on the axis for each move, lettered as in the table."""
    for letter, stay in zip(_LETTERS, moves, strict=False):
        canvas.axes.plot([_year(stay.from_date)], [1.5], marker="^", color=INK, markersize=7)
        canvas.say(_year(stay.from_date), 5.0, letter, ha="center", va="bottom")


def _span(answer: ViabilityAnswer) -> tuple[float, float]:
    """First and last year shown, with some room at the ends."""
    return _year(answer.curve[0].on) - 0.2, _year(answer.curve[-1].on) + 0.1


def _frame(canvas: Canvas, answer: ViabilityAnswer, local: Local) -> None:
    axes = canvas.axes
    first, last = _span(answer)
    axes.set_xlim(first, last)
    axes.set_ylim(0, 100)
    axes.set_yticks(range(0, 101, 25), [f"{pct}" for pct in range(0, 101, 25)])
    step = max(1, -(-int(last - first) // 5))
    years = range(int(first + 0.2) + 1, int(last - 0.1) + 1, step)
    axes.set_xticks(list(years), [str(year) for year in years])
    axes.set_xlabel(_word("start-of-year", local), color=SOFT, fontsize=TEXT)
    canvas.say(
        0, 1.015, _word("percent-alive", local), va="bottom", transform=axes.transAxes, color=SOFT
    )


def _rows(
    answer: ViabilityAnswer, moves: Sequence[StayAnswer], today: date, local: Local
) -> tuple[tuple[str, ...], ...]:
    """Everything drawn, by day: the curve once a year, tests, moves; limits last."""
    dated: list[tuple[date, tuple[str, ...]]] = []
    start = answer.curve[0].on
    for at, point in enumerate(answer.curve):
        if point.on == today or at in (0, len(answer.curve) - 1) or _yearly(point.on, today):
            what = "harvest" if point.on == start else _when(point.on, today)
            between = _between(point.low_90_pct, point.high_90_pct, local)
            dated.append((point.on, (_word(what, local), _pct(point.median_pct, local), between)))
    for one in answer.tests:
        dated.append(
            (
                one.started_on,
                (
                    text_of(
                        Finding(
                            "life-test",
                            {"alive_seeds": one.viable_seeds, "judged_seeds": one.judged_seeds},
                        ),
                        local,
                    ),
                    _pct(one.viability.pct, local),
                    _between(one.viability.low_pct, one.viability.high_pct, local),
                ),
            )
        )
    for letter, stay in zip(_LETTERS, moves, strict=False):
        moved = Finding("life-moved", {"letter": letter, "place": plain_text(stay.place.name)})
        dated.append((stay.from_date, (text_of(moved, local), "", "")))
    dated.sort(key=lambda row: row[0])
    limits = [
        (
            _or_never(one.crossed_by_median, local),
            _fall(one, today, local),
            _pct(one.threshold_pct, local),
            text_of(
                Finding(
                    "life-span",
                    {
                        "first": _or_never(one.crossed_by_5_in_100, local),
                        "last": _or_never(one.crossed_by_95_in_100, local),
                    },
                ),
                local,
            ),
        )
        for one in answer.thresholds
    ]
    return (*((local.day(day), *rest) for day, rest in dated), *limits)


def _when(day: date, today: date) -> str:
    return "today" if day == today else "reckoned" if day < today else "expected"


def _word(word: str, local: Local) -> str:
    return text_of(Finding("life-word", {"word": word}), local)


def _pct(pct: float, local: Local) -> str:
    return text_of(Finding("life-pct", {"pct": pct}), local)


def _between(low_pct: float, high_pct: float, local: Local) -> str:
    return text_of(Finding("life-between", {"low_pct": low_pct, "high_pct": high_pct}), local)


def _fall(one: ThresholdAnswer, today: date, local: Local) -> str:
    past = one.crossed_by_median is not None and one.crossed_by_median <= today
    return text_of(Finding("life-falls", {"past": past, "limit": _limit("life-limit", one)}), local)


def _limit(code: str, one: ThresholdAnswer) -> Finding:
    values = {"limit": one.code, "name": plain_text(one.name)}
    return Finding(code, {**values, "pct": one.threshold_pct})


def _yearly(day: date, today: date) -> bool:
    """Half years are counted from today; the whole ones lie near its own day of the year."""
    off = abs(day.timetuple().tm_yday - today.timetuple().tm_yday)
    return min(off, 366 - off) < 60


def _or_never(day: date | None, local: Local) -> str:
    return local.day(day) if day else _word("never", local)
