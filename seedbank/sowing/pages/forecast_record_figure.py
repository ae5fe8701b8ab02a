"""How well emergence was judged: what was foretold against what came up, and seed saved by it."""

from collections.abc import Sequence

from seedbank.common.local_format import Local
from seedbank.sowing.answers import (
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
CALIBRATION_HEADER = ("Sown", "Lot", "Seeds", "Foretold", "Came up")
SAVED_HEADER = ("Over these sowings", "Seeds")


def draw_calibration(answer: ForecastRecordAnswer, local: Local) -> Figure:
    """Each sowing as a point: foretold share across, with its 90 % interval, came up upwards."""
    items = sorted(answer.items, key=lambda one: (one.sown_on, one.sowing))
    drawn = [one for one in items if one.seeds > 0][-MOST_DRAWN:]
    title = "How well do I judge? Foretold against what came up"
    alt = _calibration_alt(answer, len(drawn))
    bins = answer.bins
    means = [
        (
            f"Foretold {one.from_pct:.0f} to {one.to_pct:.0f} %",
            f"{one.sowings} sowing{'s' if one.sowings > 1 else ''}",
            "",
            f"{one.foretold_pct:.0f} % on the mean",
            f"{one.emerged_pct:.0f} % on the mean{_between(one)}",
        )
        for one in bins
    ]
    sowings = [
        (
            local.day(one.sown_on),
            one.lot,
            local.number(one.seeds),
            f"{one.expected:.0f} ({one.low:.0f} to {one.high:.0f})",
            f"{one.emerged}{'' if one.low <= one.emerged <= one.high else ', outside'}",
        )
        for one in reversed(items)
    ]
    return Figure(
        width=WIDTH,
        height=_CALIBRATION_HEIGHT,
        title=title,
        alt=alt,
        header=CALIBRATION_HEADER,
        rows=(*means, *sowings),
        sources=tuple(answer.sources),
        drawn_from=f"{drawn}{bins}",
        draw=lambda: _calibration(drawn, bins, title, alt),
    )


def _between(one: CalibrationBinAnswer) -> str:
    if one.emerged_low_pct is None or one.emerged_high_pct is None:
        return ""
    return f" ({one.emerged_low_pct:.0f} to {one.emerged_high_pct:.0f} %)"


def _calibration(
    drawn: Sequence[ForetoldAnswer], bins: Sequence[CalibrationBinAnswer], title: str, alt: str
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
        told = "% foretold to come up (lines: 90 % intervals)\n□ mean of sowings foretold alike"
        axes.set_xlabel(told, color=SOFT, fontsize=TEXT)
        canvas.say(
            0, 1.02, "% came up", va="bottom", transform=axes.transAxes, color=SOFT
        )  # fmt: skip
        canvas.say(
            1, 1.02, "● as foretold  ◆ outside", ha="right", va="bottom", transform=axes.transAxes
        )
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


def _calibration_alt(answer: ForecastRecordAnswer, drawn: int) -> str:
    if not answer.sowings or answer.inside_90 is None:
        return "No sowing is finished and counted yet, so there is nothing to judge by."
    inside = answer.inside_90
    told = (
        f"Of {answer.sowings} sowings {inside.pct:.0f} % came up within their 90 % interval "
        f"(likely {inside.low_pct:.0f} to {inside.high_pct:.0f} % in the long run)"
    )
    if answer.mean_error_points is not None:
        way = "more" if answer.mean_error_points >= 0 else "fewer"
        told += f"; on average {abs(answer.mean_error_points):.1f} in 100 seeds {way} than foretold"
    left = "" if drawn >= answer.sowings else f" The latest {drawn} are drawn."
    return f"{told}.{left}"


def draw_seed_saved(saved: SavedAnswer, local: Local) -> Figure:
    """Two bars: seed as it was sown, and as much as would have been advised."""
    title = "Seed sown against seed advised"
    alt = (
        f"Over {saved.sowings} sowings {local.number(saved.seeds_sown)} seeds were sown where "
        f"{local.number(saved.seeds_advised)} were advised: {local.number(saved.seeds_saved)} "
        f"could have been saved on {saved.oversown} sown too thickly, and "
        f"{local.number(saved.seeds_short)} were lacking on {saved.undersown} sown too thinly."
    )
    bars = (("sown", saved.seeds_sown), ("advised", saved.seeds_advised))
    rows = (
        ("sown", local.number(saved.seeds_sown)),
        ("advised for the plants wanted", local.number(saved.seeds_advised)),
        (f"sown beyond advice, {saved.oversown} sowings", local.number(saved.seeds_saved)),
        (f"short of advice, {saved.undersown} sowings", local.number(saved.seeds_short)),
    )
    return Figure(
        width=WIDTH,
        height=_SAVED_HEIGHT,
        title=title,
        alt=alt,
        header=SAVED_HEADER,
        rows=rows,
        sources=(),
        drawn_from=repr(bars),
        draw=lambda: _saved(bars, title, alt, local),
    )


def _saved(bars: Sequence[tuple[str, int]], title: str, alt: str, local: Local) -> bytes:
    with Canvas(_SAVED_HEIGHT, left=62, bottom=10, top=10, right=64) as canvas:
        axes = canvas.axes
        for at, (name, seeds) in enumerate(bars):
            hatch = "///" if name == "sown" else None
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
