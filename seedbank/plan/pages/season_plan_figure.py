"""The plan of seed crops: varieties down, years across, how each is kept apart as a letter."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan
from typing import Any

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
from seedbank.web.figures import LINE, OUTER, PAPER, SOFT, WIDTH, Canvas, Figure

MOST_DRAWN = 40
"""Varieties drawn, the first; the rows give them all."""
# CSS pixels.
_TOP, _LEFT, _ROW, _LINE = 24, 146, 24, 17
# Characters.
_NAME, _KEY_WIDTH, _MOST_WHOLE_YEARS = 18, 44, 4
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


def crops_of(answer: SavingPlanAnswer | LastPlanAnswer) -> list[PlannedCrop]:
    """The seed crops of a plan, worked out or kept, in the plan's own order."""
    if isinstance(answer, LastPlanAnswer):
        return [_crop(one) for one in answer.crops]
    later = (one for year in answer.later for one in year.sow)
    return [*map(_crop, answer.this_year), *map(_crop, later)]


def _crop(one: PlannedCropAnswer | LastPlanCropAnswer) -> PlannedCrop:
    name, kind = plain_text(one.variety.name), one.variety.kind
    return PlannedCrop(name, kind, one.sow_in, one.flowers_in, one.site, one.isolation.value)


def draw_season_plan(crops: Sequence[PlannedCrop], first_year: int, years: int) -> Figure:
    """The plan from ``first_year`` over so many ``years``, the last crops' flowering included."""
    names = list(dict.fromkeys((one.variety, one.kind) for one in crops))
    place = {name: at for at, name in enumerate(names[:MOST_DRAWN])}
    last = max([first_year + years - 1, *(one.flowers_in for one in crops)])
    ways = sorted({one.isolation for one in crops}, key=[one.value for one in Isolation].index)
    title = text_of(Finding("plan-picture", {"first_year": first_year, "last_year": last}))
    alt = _alt(crops, len(names), first_year, last)
    foot = _LINE * len(_key(ways)) + 8
    height = _TOP + _ROW * max(len(place), 1) + foot

    def draw() -> bytes:
        with Canvas(height, left=_LEFT, right=6, top=_TOP, bottom=foot) as canvas:
            shown = [one for one in crops if (one.variety, one.kind) in place]
            _draw(canvas, shown, [place[one.variety, one.kind] for one in shown])
            _frame(canvas, list(place), first_year, last)
            for at, line in enumerate(_key(ways)):
                x, y = 4 / WIDTH, (foot - 6 - _LINE * at) / height
                canvas.drawing.text(x, y, line, va="top", color=SOFT)
            return canvas.svg(title, alt)

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
    return Figure(
        width=WIDTH,
        height=height,
        title=title,
        alt=alt,
        header=tuple(choice_words("plan-picture-column", _HEADER).values()),
        rows=rows,
        sources=(),
        drawn_from=f"{list(crops)}{first_year}{last}",
        draw=draw,
    )


def _alt(crops: Sequence[PlannedCrop], varieties: int, first: int, last: int) -> str:
    if not crops:
        return text_of(Finding("plan-picture-empty", {"first_year": first, "last_year": last}))
    by_year = tuple(
        Finding("plan-picture-year", {"crops": number, "year": year})
        for year in range(first, last + 1)
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


def _draw(canvas: Canvas, crops: Sequence[PlannedCrop], rows: Sequence[int]) -> None:
    """A lettered box in the year it flowers; an open ring and a line where it is sown before."""
    axes = canvas.axes
    early = [
        (one, row) for one, row in zip(crops, rows, strict=True) if one.sow_in < one.flowers_in
    ]
    # One path with a gap between each two years.
    along = [at for one, _ in early for at in (one.sow_in, one.flowers_in, nan)]
    axes.plot(along, [row for _, row in early for _ in range(3)], color=LINE, linewidth=1.6)
    signs: dict[str, Any] = {
        "linestyle": "none",
        "markeredgecolor": LINE,
        "markeredgewidth": 1.5,
        "clip_on": False,
    }
    sown, sown_rows = [one.sow_in for one, _ in early], [row for _, row in early]
    axes.plot(sown, sown_rows, marker="o", markersize=9, color=PAPER, **signs)
    flowers = [one.flowers_in for one in crops]
    axes.plot(flowers, list(rows), marker="s", markersize=17, color=OUTER, **signs)
    for one, row in zip(crops, rows, strict=True):
        letter = _way("plan-picture-letter", one.isolation)
        canvas.say(one.flowers_in, row, letter, ha="center", va="center_baseline")


def _frame(canvas: Canvas, names: Sequence[tuple[str, str]], first: int, last: int) -> None:
    axes = canvas.axes
    axes.set_xlim(first - 0.6, last + 0.6)
    axes.set_ylim(max(len(names), 1) - 0.5, -0.5)
    axes.xaxis.tick_top()
    years = range(first, last + 1)
    short = len(years) > _MOST_WHOLE_YEARS
    axes.set_xticks(list(years), [f"’{year % 100:02d}" if short else str(year) for year in years])
    axes.set_yticks(range(len(names)), [shortened(name, _NAME) for name, _ in names])
    axes.spines["bottom"].set_visible(False)
    axes.spines["left"].set_visible(False)
    axes.tick_params(length=0)


def _key(ways: Sequence[str]) -> list[str]:
    """What the signs mean, at most so many characters a line."""
    entries = [
        text_of(Finding("plan-picture-flowers")),
        text_of(Finding("plan-picture-sown-before")),
    ]
    entries += [_way("plan-picture-key", way) for way in ways]
    lines = [""]
    for one in entries:
        if lines[-1] and len(lines[-1]) + len(one) + 3 > _KEY_WIDTH:
            lines.append("")
        lines[-1] += (" · " if lines[-1] else "") + one
    return lines
