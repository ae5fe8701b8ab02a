"""A lot's life drawn: how alive it was and will be, its counts, and what to do at which share.

Coordinates are px of a picture 328 wide, as wide as a phone of 360 shows it; its template
(``_life.html``) draws them with the colours of the sheet.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np

from seedbank.common.catalogue import choice_words, text_of
from seedbank.common.local_format import Local
from seedbank.common.safe_text import plain_text
from seedbank.lots.answers import StayAnswer
from seedbank.science.quantities import Finding, Value
from seedbank.verdicts.answers import VerdictAnswer
from seedbank.viability.answers import TestSeen, ThresholdAnswer, ViabilityAnswer
from seedbank.web.lettering import Box, Lettering, Word, along

WIDTH, HEIGHT = 328, 262
_LEFT, _RIGHT, _TOP, _BOTTOM = 4.0, 324.0, 40.0, 228.0  # of the plot
_TODAY_Y = 20.0
_HEADING_PX = 16.0
_MOST_YEARS = 5  # on the axis
_MOST_COUNTS, _MOST_LETTERED = 10, 3
_MARK = 9.0  # px around the middle of a circle
_LETTERS = "abcdefghijklmnopqrstuvwxyz"
_HEADER = ("when", "what", "alive", "likely-between")
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class LifeFigure:
    """The picture, what it says in words, and all that it draws as rows under ``header``.

    ``band`` and ``median`` are points as SVG takes them; ``limits`` the heights of dashed lines;
    ``today`` is the x of today, and the heights of the median and both ends of its range; ``half``
    where half of it will be dead, with the end of the line to its word.
    """

    title: str
    alt: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    band: str
    median: str
    limits: tuple[float, ...]
    counts: tuple[Point, ...]
    today: tuple[float, float, float, float]
    half: tuple[Point, Point | None] | None
    years: tuple[tuple[float, str], ...]
    words: tuple[Word, ...]
    heading: Word


def draw_lot_life(
    answer: ViabilityAnswer,
    stays: Sequence[StayAnswer],
    today: date,
    local: Local,
    verdict: VerdictAnswer | None = None,
) -> LifeFigure:
    """The picture of one lot from harvest to ten years ahead; ``verdict`` has the shares at which
    something else is to be done."""
    curve = answer.curve
    moves = [stay for stay in stays if stay.from_date > curve[0].on][: len(_LETTERS)]
    plot = _Plot(_year(curve[0].on), _year(curve[-1].on))
    median = [(plot.x(one.on), plot.y(one.median_pct)) for one in curve]
    low = [(plot.x(one.on), plot.y(one.low_90_pct)) for one in curve]
    high = [(plot.x(one.on), plot.y(one.high_90_pct)) for one in curve]
    tests = answer.tests[-_MOST_COUNTS:]
    counts = [(plot.x(one.started_on), plot.y(one.viability.pct)) for one in tests]
    limits = _limits(verdict)
    now = next((one for one in curve if one.on == answer.now.on), curve[-1])
    at = plot.x(now.on)
    half = _half(median, plot.y(50.0), at)

    lines = along(median) + along([(at, _TOP - 14.0), (at, _BOTTOM)])
    for pct, _ in limits:
        lines += along([(_LEFT, plot.y(pct)), (_RIGHT, plot.y(pct))])
    frame = Box(0.0, _TOP - 14.0, float(WIDTH), _BOTTOM - 1.0)
    lettering = Lettering(frame, np.array(lines), np.array([*high, *low]))
    marks = [*counts, (at, plot.y(now.median_pct)), *([half] if half else [])]
    lettering.shapes = [Box(x - _MARK, y - _MARK, x + _MARK, y + _MARK) for x, y in marks]
    ends = (plot.y(now.high_90_pct), plot.y(now.low_90_pct))
    lettering.shapes.append(Box(at - 3.0, ends[0], at + 3.0, ends[1]))
    _name_counts(lettering, tests, counts, local)
    led = _name_half(lettering, half, plot, local)
    _name_limits(lettering, limits, plot)
    title = Finding("life", {"lot": answer.lot, "variety": plain_text(answer.variety.name)})
    return LifeFigure(
        title=text_of(title, local),
        alt=_alt(answer, now.on, None if half is None else plot.year_at(half[0]), local),
        header=tuple(choice_words("life-column", _HEADER).values()),
        rows=_rows(answer, moves, today, local),
        band=_points([*high, *reversed(low)]),
        median=_points(median),
        limits=tuple(plot.y(pct) for pct, _ in limits),
        counts=tuple(counts),
        today=(at, plot.y(now.median_pct), *ends),
        half=None if half is None else (half, led),
        years=plot.years(),
        words=tuple(lettering.words),
        heading=_heading(at, now.median_pct, local),
    )


@dataclass(frozen=True, slots=True)
class _Plot:
    """Years and shares as places of the picture."""

    first: float
    last: float

    def x(self, day: date) -> float:
        return self._x(min(max(_year(day), self.first), self.last))

    def _x(self, year: float) -> float:
        share = (year - self.first) / max(self.last - self.first, 1e-9)
        return round(_LEFT + share * (_RIGHT - _LEFT), 1)

    def y(self, pct: float) -> float:
        return round(_BOTTOM - pct / 100.0 * (_BOTTOM - _TOP), 1)

    def year_at(self, x: float) -> int:
        return int(self.first + (x - _LEFT) / (_RIGHT - _LEFT) * (self.last - self.first))

    def years(self) -> tuple[tuple[float, str], ...]:
        """Starts of years, five at most, clear of the picture's ends."""
        step = max(1, -(-int(self.last - self.first) // _MOST_YEARS))
        starts = range(int(self.first) + 1, int(self.last) + 1, step)
        places = [(self._x(float(year)), str(year)) for year in starts]
        return tuple((x, year) for x, year in places if 18.0 <= x <= WIDTH - 18.0)


def _year(day: date) -> float:
    return day.year + (day.timetuple().tm_yday - 0.5) / 366


def _points(points: Sequence[Point]) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in points)


def _limits(verdict: VerdictAnswer | None) -> list[tuple[float, tuple[str, str]]]:
    """Shares at which something else is to be done, each with what to do over and under it.

    Of seed for rows those at which a lot known so exactly is sown thicker, or replaced; of a
    variety saved, what still raises its mother plants.
    """
    if verdict is None:
        return []
    if verdict.worth is not None:
        needed = verdict.viability_needed_pct
        return [] if needed is None else [(needed, ("enough-to-save", "too-few-to-save"))]
    rows = verdict.in_rows
    if rows is None:
        return []
    found = [(rows.thicker_below_pct, ("sow-as-usual", "sow-thicker"))]
    if rows.fresh_below_pct > 0.0:
        found.append((rows.fresh_below_pct, ("sow-thicker", "get-fresh")))
    return found


def _half(median: Sequence[Point], height: float, after: float) -> Point | None:
    """Where the middle line will fall through a half; None: not within the picture, or past."""
    for (x0, y0), (x1, y1) in pairwise(median):
        if x1 > after and y0 < height <= y1:
            return (round(x0 + (x1 - x0) * (height - y0) / (y1 - y0), 1), height)
    return None


def _name_counts(
    lettering: Lettering, tests: Sequence[TestSeen], counts: Sequence[Point], local: Local
) -> None:
    for one, (x, y) in list(zip(tests, counts, strict=True))[-_MOST_LETTERED:]:
        values = {"alive_seeds": one.viable_seeds, "judged_seeds": one.judged_seeds}
        text = text_of(Finding("life-count", values), local)
        lettering.place_if_clear(
            [
                Word(text, x + dx, y + dy, anchor)
                for dx, dy, anchor in (
                    (0.0, -14.0, "middle"),
                    (0.0, 25.0, "middle"),
                    (0.0, 25.0, "end"),
                    (0.0, -14.0, "start"),
                    (0.0, 25.0, "start"),
                    (0.0, -14.0, "end"),
                    (13.0, 5.0, "start"),
                    (-13.0, 5.0, "end"),
                )
            ]
        )


def _name_half(lettering: Lettering, half: Point | None, plot: _Plot, local: Local) -> Point | None:
    """Letter where half will be dead; the end of the line that leads there, if one is needed."""
    if half is None:
        return None
    x, y = half
    text = text_of(Finding("life-half", {"year": float(plot.year_at(x))}), local)
    places = [
        Word(text, x + dx, y + dy, anchor)
        for dy in (26.0, -16.0, 44.0, -32.0, 62.0, -50.0)
        for dx, anchor in ((0.0, "middle"), (8.0, "start"), (-8.0, "end"))
    ]
    word = lettering.place_if_clear(places)
    if word is None or abs(word.y - y) <= 26.0:
        return None
    return (x, word.y - 14.0 if word.y > y else word.y + 5.0)


def _name_limits(
    lettering: Lettering, limits: Sequence[tuple[float, tuple[str, str]]], plot: _Plot
) -> None:
    """Each stretch between limits by what to do there, nearest its lower end; where it is free."""
    stretches = [(100.0, limits[0][0], limits[0][1][0])] if limits else []
    for number, (pct, (_, under)) in enumerate(limits):
        lower = limits[number + 1][0] if number + 1 < len(limits) else 0.0
        stretches.append((pct, lower, under))
    for upper, lower, what in stretches:
        floor, ceiling = plot.y(lower) - 6.0, plot.y(upper) + 16.0
        if floor < ceiling - 10.0:
            continue
        text = text_of(Finding("life-do", {"what": what}))
        lettering.place_if_clear(
            [
                Word(text, x, y, anchor)
                for y in (floor, ceiling, (floor + ceiling) / 2.0)
                for x, anchor in ((_RIGHT, "end"), (_LEFT, "start"), (WIDTH / 2.0, "middle"))
            ]
        )


def _heading(at: float, pct: float, local: Local) -> Word:
    text = text_of(Finding("life-today", {"p": pct / 100.0}), local)
    half = Word(text, 0.0, _TODAY_Y, "middle", _HEADING_PX).box.right
    return Word(text, min(max(at, half), WIDTH - half), _TODAY_Y, "middle", _HEADING_PX)


def _alt(answer: ViabilityAnswer, now_on: date, half_year: int | None, local: Local) -> str:
    last = answer.curve[-1]
    now = next(one for one in answer.curve if one.on == now_on)
    values: dict[str, Value] = {
        "now_alive": now.median_pct / 100.0,
        "now": now.on,
        "now_low_pct": now.low_90_pct,
        "now_high_pct": now.high_90_pct,
        "tests": len(answer.tests),
        "half_year": half_year,
        "last_alive": last.median_pct / 100.0,
        "last": last.on,
        "last_low_pct": last.low_90_pct,
        "last_high_pct": last.high_90_pct,
    }
    return text_of(Finding("life-told", values), local)


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
