"""How well emergence was judged: what was expected against what came up, and seed saved by it.

Coordinates are px of pictures 328 wide; their templates are in ``_record.html``.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.science.quantities import Finding, Value
from seedbank.sowing.forecast_answers import (
    CalibrationBinAnswer,
    ForecastRecordAnswer,
    ForetoldAnswer,
    SavedAnswer,
)

MOST_DRAWN = 80
"""Sowings drawn, the latest; the rows give them all."""
LEFT, RIGHT, TOP, BOTTOM = 34.0, 316.0, 30.0, 290.0
"""The plot of what was expected (across) against what came up (upwards), 0 to 100 each."""
_BAR_WIDTH = 230.0
_COLUMNS = ("sown", "lot", "seeds", "foretold", "came-up")
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class BinMark:
    """Sowings expected alike: the mean of what came up, and both ends of its interval."""

    x: float
    y: float
    high: float
    low: float


@dataclass(frozen=True, slots=True)
class RecordFigure:
    """Sowings as points, those outside their interval apart; ``bins`` with theirs; ``rows`` under
    ``header`` tell all of it. ``ticks`` are shares in per cent with their x and y."""

    title: str
    alt: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    held: tuple[Point, ...]
    missed: tuple[Point, ...]
    bins: tuple[BinMark, ...]
    ticks: tuple[tuple[int, float, float], ...]


@dataclass(frozen=True, slots=True)
class SavedFigure:
    """A bar for seed sown, and one for as much as would have been advised: words, seeds, width."""

    title: str
    alt: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    bars: tuple[tuple[str, str, float], ...]


def _words(local: Local, code: str, **values: Value) -> str:
    return text_of(Finding(code, values), local)


def draw_calibration(answer: ForecastRecordAnswer, local: Local) -> RecordFigure:
    """Each sowing as a point: its expected share across, what came up upwards."""
    items = sorted(answer.items, key=lambda one: (one.sown_on, one.sowing))
    drawn = [one for one in items if one.seeds > 0][-MOST_DRAWN:]
    inside = [one for one in drawn if one.low <= one.emerged <= one.high]
    outside = [one for one in drawn if not one.low <= one.emerged <= one.high]
    return RecordFigure(
        title=_words(local, "record-title"),
        alt=_calibration_alt(answer, len(drawn), local),
        header=tuple(_words(local, "record-column", value=name) for name in _COLUMNS),
        rows=(*_mean_rows(answer.bins, local), *_sowing_rows(items, local)),
        held=tuple(map(_point, inside)),
        missed=tuple(map(_point, outside)),
        bins=tuple(map(_bin, answer.bins)),
        ticks=tuple((pct, across(pct), up(pct)) for pct in range(0, 101, 25)),
    )


def across(pct: float) -> float:
    """Where a share stands across."""
    return round(LEFT + min(max(pct, 0.0), 100.0) / 100.0 * (RIGHT - LEFT), 1)


def up(pct: float) -> float:
    """Where a share stands upwards."""
    return round(BOTTOM - min(max(pct, 0.0), 100.0) / 100.0 * (BOTTOM - TOP), 1)


def _point(one: ForetoldAnswer) -> Point:
    return across(100.0 * one.expected / one.seeds), up(100.0 * one.emerged / one.seeds)


def _bin(one: CalibrationBinAnswer) -> BinMark:
    mean = one.emerged_pct
    high = mean if one.emerged_high_pct is None else one.emerged_high_pct
    low = mean if one.emerged_low_pct is None else one.emerged_low_pct
    return BinMark(across(one.foretold_pct), up(mean), up(high), up(low))


def _mean_rows(
    bins: Sequence[CalibrationBinAnswer], local: Local
) -> list[tuple[str, str, str, str, str]]:
    return [
        (
            _words(local, "record-bin", low_pct=one.from_pct, high_pct=one.to_pct),
            _words(local, "record-bin-sowings", sowings=one.sowings),
            "",
            _words(local, "record-bin-foretold", pct=one.foretold_pct),
            _words(
                local,
                "record-bin-came-up",
                pct=one.emerged_pct,
                low_pct=one.emerged_low_pct,
                high_pct=one.emerged_high_pct,
            ),
        )
        for one in bins
    ]


def _sowing_rows(
    items: Sequence[ForetoldAnswer], local: Local
) -> list[tuple[str, str, str, str, str]]:
    return [
        (
            local.day(one.sown_on),
            one.lot,
            local.number(one.seeds),
            _words(local, "record-expected", seeds=one.expected, low=one.low, high=one.high),
            _words(
                local,
                "record-came-up",
                seeds=one.emerged,
                outside=not one.low <= one.emerged <= one.high,
            ),
        )
        for one in reversed(items)
    ]


def _calibration_alt(answer: ForecastRecordAnswer, drawn: int, local: Local) -> str:
    if not answer.sowings or answer.inside_90 is None:
        return _words(local, "record-alt-none")
    error = answer.mean_error_points
    return _words(
        local,
        "record-alt",
        sowings=answer.sowings,
        inside_pct=answer.inside_90.pct,
        low_pct=answer.inside_90.low_pct,
        high_pct=answer.inside_90.high_pct,
        error_points=None if error is None else abs(error),
        more=error is not None and error >= 0,
        drawn=drawn,
        all_drawn=drawn >= answer.sowings,
    )


def draw_seed_saved(saved: SavedAnswer, local: Local) -> SavedFigure:
    """Two bars: seed as it was sown, and as much as would have been advised."""
    numbers = saved.model_dump(exclude={"good_as_sown", "good_as_advised"})
    amounts = {
        "sown": saved.seeds_sown,
        "advised": saved.seeds_advised,
        "beyond": saved.seeds_saved,
        "short": saved.seeds_short,
    }
    rows = tuple(
        (_words(local, "record-saved-row", value=name, **numbers), local.number(seeds))
        for name, seeds in amounts.items()
    )
    most = max(1, saved.seeds_sown, saved.seeds_advised)
    bars = tuple(
        (
            _words(local, "record-saved-bar", value=name),
            local.number(amounts[name]),
            round(_BAR_WIDTH * amounts[name] / most, 1),
        )
        for name in ("sown", "advised")
    )
    return SavedFigure(
        title=_words(local, "record-saved-title"),
        alt=_words(local, "record-saved-alt", **numbers),
        header=(_words(local, "record-saved-over"), _words(local, "record-column", value="seeds")),
        rows=rows,
        bars=bars,
    )
