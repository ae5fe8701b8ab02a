"""How well emergence was judged: what was foretold against what came up, and seed saved by it."""

from collections.abc import Sequence

from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.science.quantities import Finding, Value
from seedbank.sowing.forecast_answers import (
    CalibrationBinAnswer,
    ForecastRecordAnswer,
    ForetoldAnswer,
    SavedAnswer,
)
from seedbank.web.figures import (
    INK,
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

_CALIBRATION_HEIGHT, _SAVED_HEIGHT = 340, 120
MOST_DRAWN = 80
"""Sowings drawn, the latest; the rows give them all."""
_COLUMNS = ("sown", "lot", "seeds", "foretold", "came-up")


def _words(local: Local, code: str, **values: Value) -> str:
    return text_of(Finding(code, values), local)


def draw_calibration(answer: ForecastRecordAnswer, local: Local) -> Figure:
    """Each sowing as a point: foretold share across, with its 90 % interval, came up upwards."""
    items = sorted(answer.items, key=lambda one: (one.sown_on, one.sowing))
    drawn = [one for one in items if one.seeds > 0][-MOST_DRAWN:]
    title = _words(local, "record-title")
    alt = _calibration_alt(answer, len(drawn), local)
    bins = answer.bins
    means = [
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
    sowings = [
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
    return Figure(
        width=WIDTH,
        height=_CALIBRATION_HEIGHT,
        title=title,
        alt=alt,
        header=tuple(_words(local, "record-column", value=name) for name in _COLUMNS),
        rows=(*means, *sowings),
        sources=tuple(answer.sources),
        drawn_from=f"{drawn}{bins}",
        draw=lambda: _calibration(drawn, bins, title, alt, local),
    )


def _calibration(
    drawn: Sequence[ForetoldAnswer],
    bins: Sequence[CalibrationBinAnswer],
    title: str,
    alt: str,
    local: Local,
) -> bytes:
    with Canvas(_CALIBRATION_HEIGHT, left=38, right=16, bottom=62, top=24) as canvas:
        axes = canvas.axes
        axes.plot([0, 100], [0, 100], color=SOFT, linewidth=1.2, linestyle="--")
        held = [one for one in drawn if one.low <= one.emerged <= one.high]
        missed = [one for one in drawn if not one.low <= one.emerged <= one.high]
        _points(canvas, held, "o", MARK)
        _points(canvas, missed, "D", WARN)
        _means(canvas, bins)
        axes.set_xlim(0, 100)
        axes.set_ylim(0, 104)
        axes.set_xticks(range(0, 101, 25))
        axes.set_yticks(range(0, 101, 25))
        across = _words(local, "record-across"), _words(local, "record-squares")
        axes.set_xlabel("\n".join(across), color=SOFT, fontsize=TEXT)
        up, key = _words(local, "record-upwards"), _words(local, "record-key")
        canvas.say(0, 1.02, up, va="bottom", transform=axes.transAxes, color=SOFT)
        canvas.say(1, 1.02, key, ha="right", va="bottom", transform=axes.transAxes)
        return canvas.svg(title, alt)


def _means(canvas: Canvas, bins: Sequence[CalibrationBinAnswer]) -> None:
    """Sowings foretold alike, together: what came up on the mean, and how sure that is."""
    if not bins:
        return
    up = [one.emerged_pct for one in bins]
    low = [one.emerged_pct if one.emerged_low_pct is None else one.emerged_low_pct for one in bins]
    high = [
        one.emerged_pct if one.emerged_high_pct is None else one.emerged_high_pct for one in bins
    ]
    reach = [
        [max(mean - end, 0.0) for mean, end in zip(up, low, strict=True)],
        [max(end - mean, 0.0) for mean, end in zip(up, high, strict=True)],
    ]
    canvas.axes.errorbar(
        [one.foretold_pct for one in bins], up, yerr=reach, fmt="s-", color=INK, markersize=10,
        markerfacecolor=PAPER, markeredgewidth=2, linewidth=1.4, elinewidth=2.4, capsize=5,
        zorder=6, clip_on=False,
    )  # fmt: skip


def _points(canvas: Canvas, sowings: Sequence[ForetoldAnswer], shape: str, colour: str) -> None:
    if not sowings:
        return
    seeds = [one.seeds for one in sowings]
    foretold = [100 * one.expected / n for one, n in zip(sowings, seeds, strict=True)]
    reach = [
        [100 * (one.expected - one.low) / n for one, n in zip(sowings, seeds, strict=True)],
        [100 * (one.high - one.expected) / n for one, n in zip(sowings, seeds, strict=True)],
    ]
    reach = [[max(one, 0.0) for one in side] for side in reach]
    up = [100 * one.emerged / n for one, n in zip(sowings, seeds, strict=True)]
    canvas.axes.errorbar(
        foretold, up, xerr=reach, fmt=shape, color=colour, markersize=5, markeredgecolor=PAPER,
        markeredgewidth=0.6, elinewidth=0.7, zorder=4, clip_on=False,
    )  # fmt: skip


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


def draw_seed_saved(saved: SavedAnswer, local: Local) -> Figure:
    """Two bars: seed as it was sown, and as much as would have been advised."""
    title = _words(local, "record-saved-title")
    numbers = saved.model_dump(exclude={"good_as_sown", "good_as_advised"})
    alt = _words(local, "record-saved-alt", **numbers)
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
    bars = tuple(
        (_words(local, "record-saved-bar", value=name), amounts[name])
        for name in ("sown", "advised")
    )
    return Figure(
        width=WIDTH,
        height=_SAVED_HEIGHT,
        title=title,
        alt=alt,
        header=(_words(local, "record-saved-over"), _words(local, "record-column", value="seeds")),
        rows=rows,
        sources=(),
        drawn_from=repr(bars),
        draw=lambda: _saved(bars, title, alt, local),
    )


def _saved(bars: Sequence[tuple[str, int]], title: str, alt: str, local: Local) -> bytes:
    with Canvas(_SAVED_HEIGHT, left=62, bottom=10, top=10, right=64) as canvas:
        axes = canvas.axes
        for at, (_, seeds) in enumerate(bars):
            hatch = None if at else "///"
            axes.barh(-at, seeds, 0.62, facecolor=OUTER, edgecolor=LINE, hatch=hatch, linewidth=1.4)
            axes.annotate(
                local.number(seeds), (seeds, -at), (5, 0), textcoords="offset points",
                va="center", color=INK, fontsize=TEXT, annotation_clip=False,
            )  # fmt: skip
        axes.set_yticks([0, -1], [name for name, _ in bars])
        axes.set_xticks([])
        axes.set_xlim(0, 1.01 * max(1, *(seeds for _, seeds in bars)))
        axes.spines["bottom"].set_visible(False)
        axes.grid(visible=False)
        return canvas.svg(title, alt)
