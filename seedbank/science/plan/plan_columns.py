"""The columns a plan chooses from: one per variety and set of seed crops, with its loss.

A column is a variety with up to three crops (season, site, way) far enough apart; its chance of
loss is computed beforehand (``saving_survival``), so the choice is linear. One whose first crop
comes after the season it is due in is reckoned no safer than the best that keeps to it, and each
season of waiting is added. Left out: limits that can't bind, and crops another crop of the same
season replaces at no more use and no more risk (a column's loss rises with each of its crops'
risks, so every column they stand in is dominated).

Outside check: plans from these columns equal the best of all plans enumerated without pruning.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from seedbank.science.plan.plan_options import CropOptions, crop_options, matches, standing_options
from seedbank.science.plan.plan_problem import MOST_CROPS, Crop, PlanProblem, PlanVariety
from seedbank.science.plan.plan_rows import LimitRows, limit_rows
from seedbank.science.plan.plan_sets import crop_sets, crops_each
from seedbank.science.quantities import BoolArray, FloatArray, IntArray, taken
from seedbank.science.saving.saving_survival import NO_CROP, SeedLives, loss_by_end, with_standing

Choices = Mapping[str, tuple[Crop, ...]]
"""Crops by variety, as a plan chose them."""


@dataclass(frozen=True, slots=True)
class Column:
    """One way to save one variety: its crops in order of season, and its chance of loss."""

    variety: str
    crops: tuple[Crop, ...]
    loss: float


@dataclass(frozen=True, slots=True)
class Columns:
    """All columns (N,), sorted by variety; the first of each variety holds no crop.

    ``crops`` (N, 3) number into ``options``, whose count A stands for "no crop". ``start`` (V,)
    is each variety's first column. ``unmet`` counts wanted pins a column breaks, ``changed`` the
    crops by which it differs from the plan before. ``crops_may`` (V,): crops a variety's columns
    hold at most, fewer than it may have where there were too many sets to weigh.
    """

    problem: PlanProblem
    options: CropOptions
    rows: LimitRows
    variety: IntArray
    crops: IntArray
    start: IntArray
    loss: FloatArray
    unmet: IntArray
    changed: IntArray
    crops_may: IntArray

    def column(self, number: int) -> Column:
        """One column in names."""
        nothing = self.options.variety.size
        crops = tuple(
            self.options.crop(self.problem, int(o)) for o in self.crops[number] if o < nothing
        )
        name = self.problem.varieties[int(self.variety[number])].name
        return Column(name, crops, float(self.loss[number]))


def build_columns(problem: PlanProblem, before: Choices | None = None) -> Columns:
    """Every column worth considering. ``problem`` must be in order.

    Crops of the plan ``before`` and varieties with wanted pins are never pruned.
    """
    options = crop_options(problem)
    kept = _held(problem, options, before or {})
    options, rows = _without_dominated(options, limit_rows(problem, options), kept)
    spans = _spans(problem, options)
    crops_may = crops_each(problem, [options.season[first:after] for _, first, after in spans])
    pieces = [
        crop_sets(
            problem,
            variety,
            options.season[first:after],
            most_crops=most,
            first=first,
            nothing=options.variety.size,
        )
        for (variety, first, after), most in zip(spans, crops_may.tolist(), strict=True)
    ]
    crops = np.concatenate(pieces) if pieces else np.empty((0, MOST_CROPS), dtype=np.int64)
    variety = np.repeat(np.arange(len(pieces)), [piece.shape[0] for piece in pieces])
    loss = _losses(problem, options, variety, crops)
    start = np.searchsorted(variety, np.arange(len(pieces)))
    unmet = _unmet(problem, options, variety, crops)
    changed = _changed(problem, options, variety, crops, before)
    return Columns(problem, options, rows, variety, crops, start, loss, unmet, changed, crops_may)


def _spans(problem: PlanProblem, options: CropOptions) -> list[tuple[PlanVariety, int, int]]:
    edges = np.searchsorted(options.variety, np.arange(len(problem.varieties) + 1))
    return [(v, int(edges[i]), int(edges[i + 1])) for i, v in enumerate(problem.varieties)]


def _held(problem: PlanProblem, options: CropOptions, before: Choices) -> BoolArray:
    """Options (A,) that must stay: of the plan before, or of a variety with a wanted pin."""
    pinned = {pin.variety for pin in problem.pins if pin.wanted}
    names = [variety.name for variety in problem.varieties]
    held = np.zeros(options.variety.size, dtype=np.bool_)
    for option, v in enumerate(options.variety):
        name = names[int(v)]
        held[option] = name in pinned or (
            name in before and options.crop(problem, option) in before[name]
        )
    return held


def _without_dominated(
    options: CropOptions, rows: LimitRows, held: BoolArray
) -> tuple[CropOptions, LimitRows]:
    """Drop crops that can't fit alone, limits that can't bind and crops another one replaces."""
    each = rows.use.tocoo()
    over = each.row[each.data > rows.capacity[each.col] + 1e-9]
    fits = np.bincount(over, minlength=options.variety.size) == 0
    for _ in range(3):
        keep = np.flatnonzero(fits)
        options, held = taken(options, keep), held[keep]
        rows = rows.take(keep, np.arange(rows.capacity.size))
        rows = rows.take(np.arange(keep.size), np.flatnonzero(_may_bind(options, rows)))
        fits = ~_dominated(options, rows) | held
        if fits.all():
            break
    return options, rows


def _may_bind(options: CropOptions, rows: LimitRows) -> BoolArray:
    """Rows (R,) that all varieties together could overfill; each draws on a row once."""
    use = rows.use.tocoo()
    key = options.variety[use.row] * rows.capacity.size + use.col
    order = np.lexsort((use.data, key))
    most = np.append(np.diff(key[order]) != 0, True) if key.size else np.zeros(0, dtype=np.bool_)
    total = np.bincount(use.col[order][most], use.data[order][most], rows.capacity.size)
    return np.asarray(total > rows.capacity + 1e-9)


def _dominated(options: CropOptions, rows: LimitRows) -> BoolArray:
    """Options that another of the same variety and season beats in every respect."""
    gone = [False] * options.variety.size
    failure = options.failure.tolist()
    takes = [
        dict(zip(rows.use.indices[a:b].tolist(), rows.use.data[a:b].tolist(), strict=True))
        for a, b in zip(rows.use.indptr[:-1], rows.use.indptr[1:], strict=True)
    ]
    same = options.variety * (options.season.max(initial=0) + 1) + options.season
    edges = np.append(np.flatnonzero(np.diff(same, prepend=-1)), same.size)
    for first, after in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True):
        for a in range(first, after):
            if gone[a]:
                continue
            mine = takes[a]
            for b in range(first, after):
                if a == b or gone[b] or failure[a] > failure[b]:
                    continue
                theirs = takes[b]
                gone[b] = mine.keys() <= theirs.keys() and all(
                    used <= theirs[row] for row, used in mine.items()
                )
    return np.array(gone, dtype=np.bool_)


def _losses(
    problem: PlanProblem, options: CropOptions, variety: IntArray, crops: IntArray
) -> FloatArray:
    curves = [v.existing for v in problem.varieties]
    standing = standing_options(problem)
    for crop, v in enumerate(standing.variety.tolist()):
        kind = problem.varieties[v]
        ripe = int(standing.season[crop]) + kind.lead
        curves[v] = with_standing(curves[v], kind.fresh, ripe, float(standing.failure[crop]))
    existing = np.array(curves).reshape(len(curves), problem.last + 1)
    fresh = np.array([v.fresh for v in problem.varieties]).reshape(existing.shape)
    lead = np.array([v.lead for v in problem.varieties], dtype=np.int64)
    sown = np.append(options.season, NO_CROP)[crops]
    failure = np.append(options.failure, 1.0)[crops]
    lost = loss_by_end(SeedLives(existing, fresh, lead), variety, sown, failure)
    return _with_waiting(problem, variety, sown[:, 0], lost)


def _with_waiting(
    problem: PlanProblem, variety: IntArray, first: IntArray, lost: FloatArray
) -> FloatArray:
    """Losses (N,) with what comes of a first crop sown later than it is due, or not at all."""
    due = np.array([np.inf if v.due is None else v.due for v in problem.varieties])[variety]
    waiting = np.array([v.waiting for v in problem.varieties])[variety]
    sown = np.where(first == NO_CROP, problem.horizon, first)
    late = np.maximum(sown - due, 0.0)  # 0 of those never due
    in_time = np.full(len(problem.varieties), np.inf)
    np.minimum.at(in_time, variety[late == 0.0], lost[late == 0.0])
    in_time[np.isinf(in_time)] = 0.0  # in time it can't be sown at all
    held = np.where(late > 0.0, np.maximum(lost, in_time[variety]), lost)
    return np.asarray(np.minimum(held + waiting * late, 1.0), dtype=np.float64)


def _unmet(
    problem: PlanProblem, options: CropOptions, variety: IntArray, crops: IntArray
) -> IntArray:
    unmet = np.zeros(variety.size, dtype=np.int64)
    index = {v.name: i for i, v in enumerate(problem.varieties)}
    for pin in problem.pins:
        if pin.wanted:
            v = index[pin.variety]
            of = np.flatnonzero(options.variety == v)
            good = [int(o) for o in of if matches(pin, options.crop(problem, int(o)))]
            unmet += (variety == v) & ~np.isin(crops, good).any(axis=1)
    return unmet


def _changed(
    problem: PlanProblem,
    options: CropOptions,
    variety: IntArray,
    crops: IntArray,
    before: Choices | None,
) -> IntArray:
    """Crops added or dropped (N,) against the plan before; varieties new to it count nothing."""
    if before is None:
        return np.zeros(variety.size, dtype=np.int64)
    old = np.zeros(options.variety.size + 1, dtype=np.bool_)
    names = [v.name for v in problem.varieties]
    known = np.array([name in before for name in names], dtype=np.bool_)
    for option, v in enumerate(options.variety):
        old[option] = options.crop(problem, option) in before.get(names[int(v)], ())
    had = np.bincount(options.variety[old[:-1]], minlength=len(names))
    kept = old[crops].sum(axis=1)
    size = (crops < options.variety.size).sum(axis=1)
    return np.where(known[variety], had[variety] + size - 2 * kept, 0)
