"""Keep, sow for seed, sow all, replace: the least expected loss of a variety's line, over seasons.

The line is worth V to the gardener (1: nobody else keeps the variety). A seed crop of n parents
keeps q(n) = 1 - exp(-3 n / wanted) of it, 0.95 at the number wanted: smooth, so that more seed
never looks worse. Season by season, backward over 14 seasons and over the stock, its half, its
quarter and so on (five states), the least of

    keep        W(t + 1, stock)
    sow some    work + (1 - f) V (1 - q(n)) + f W(t + 1, stock - n)
    sow all     work + V (1 - (1 - f) q(stock))
    replace     what fresh seed costs, if anybody else keeps the variety

with n = min(half the stock, 1.6 wanted / mean emergence) and f the share of seed crops that fail.
Half is held back, so that a crop that fails is not the end. A seed crop every so many years is
enough: one sown sooner after the last costs the more work the sooner, where there was a healthy lot
to wait with (renewal reward, memory), so a healthy lot is put off and a dying one is not. Where
waiting costs hardly anything it is put off too: much seed in a good store is left alone until it
ages. Dynamic programming as in Bellman 1957 (memory); every constant is our choice, set so that
fresh harvests come due within a year of common practice (a test prints them; no independent
check).

Outside check: every plan of a short problem enumerated by hand (``test_line_decision``).
"""

from dataclasses import dataclass, fields, replace
from enum import IntEnum

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray, IntArray

SEASONS = 14
STOCK_STATES = 5
FULL_CROP = 3.0  # exp(-3): a crop of the parents wanted keeps 0.95 of the line
SOWN_PER_PARENT = 1.6  # plants raised for each parent wanted
WORK = 0.14
LEAST_WORK_SHARE = 0.2
NEXT_TO_NOTHING = 0.005  # of the line
FEW_KEEP_IT = 1  # what many keep is always cheaper bought than grown: that alone is no reason
LINE_VALUE = np.array([1.0, 0.5, 0.15])  # by Keepers: nobody else, few, many
REPLACEMENT = np.array([np.inf, 0.25, 0.03])  # of nobody; asking another keeper; a packet
NEEDLESS_PACKET = 0.03
CROP_FAILURE = np.array([0.15, 0.25])  # of one season, of one that stands a winter
ALL_BUT_LOST = 0.95  # of the line: nothing that is done makes much of a difference
HARDLY_A_CROP = 0.6  # below it what would be replaced later is replaced now (0.5 leaves gaps)
REST_FADES = 0.5  # of the crop the rest gives now: below it nothing is held back
SHORT_STOCK = 2.0  # times the parents wanted: with fewer plants in it all may be sown
CLOSED_YEARS = 1.0  # from the first spring after a harvest: nothing is due of it
GOOD_CROP = 0.8  # of the line, from the seed that is left
HARDLY_ANYTHING = 1e-4  # of the line: an act that gains no more over waiting isn't done yet


class Act(IntEnum):
    """What can be done with a line's seed in a season; our choice."""

    KEEP = 0
    SOW_SOME = 1
    SOW_ALL = 2
    REPLACE = 3


@dataclass(frozen=True, slots=True)
class Lines:
    """Stock and prospects of L lines.

    ``seeds`` and ``parents_wanted`` (L,) in seeds and plants; ``emergence`` (S, L, N): chance 0..1
    that a seed comes up, at N equally likely values of what isn't known, at the sowing time of this
    season and each of the following. ``keepers`` 0 nobody else, 1 few, 2 many; ``biennial``: seed
    comes a year after sowing; ``every_years``: years between two seed crops, as is usual;
    ``since_crop_years``: years from the first spring after the seed's harvest to this season's
    sowing.
    """

    seeds: FloatArray
    parents_wanted: FloatArray
    emergence: FloatArray
    keepers: IntArray
    biennial: BoolArray
    every_years: FloatArray
    since_crop_years: FloatArray

    def check(self) -> None:
        """Raise ValueError, naming the field, for shapes that differ or numbers out of range."""
        size = self.seeds.shape[0]
        for field in fields(self):
            values = getattr(self, field.name)
            lots = values.shape[1] if field.name == "emergence" else values.shape[0]
            if lots != size:
                raise ValueError(f"{field.name} must be of {size} lots, got {lots}")
        if self.emergence.ndim != 3 or self.emergence.shape[0] != SEASONS + 1:
            raise ValueError(f"emergence must have {SEASONS + 1} seasons")
        if np.any(~((self.emergence >= 0) & (self.emergence <= 1))):
            raise ValueError("emergence must lie in 0..1")
        if np.any(~(self.seeds >= 0)) or np.any(~(self.parents_wanted >= 1)):
            raise ValueError("seeds must be 0 or more, parents_wanted 1 or more")
        if np.any(~(self.since_crop_years >= 0)):
            raise ValueError("since_crop_years must be 0 or more")
        if np.any(~(self.every_years > 0)) or np.any((self.keepers < 0) | (self.keepers > 2)):
            raise ValueError("every_years must be positive and keepers a code 0..2")


@dataclass(frozen=True, slots=True)
class LineDecision:
    """The least expected loss, columns (L,), losses in lines nobody else keeps.

    ``losses`` (L, 4) of each act this season, by ``Act``; infinite: it can't be done.
    ``act`` is what to do this season, ``acts_in`` after how many seasons the plan does anything
    (0: now; ``SEASONS``: not within sight) and ``next_act`` what. ``sow_seeds`` are the seeds of
    that crop if it is sown this season, ``next_crop_seeds`` those of a full crop when the plan's
    next is due, were there enough; ``crop_some`` the share of the line such a
    crop keeps, ``crops_all`` (L, S) what one of all the seed would in this season and each of the
    following, ``crop_rest`` what the seed held back would give next season, ``rest_fades``: that is
    under half of what it would give now.
    """

    losses: FloatArray
    act: IntArray
    acts_in: IntArray
    next_act: IntArray
    sow_seeds: FloatArray
    next_crop_seeds: FloatArray
    crop_some: FloatArray
    crops_all: FloatArray
    crop_rest: FloatArray
    rest_fades: BoolArray
    value: FloatArray

    @property
    def crop_all(self) -> FloatArray:
        """Share of the line that a crop of all the seed keeps, sown this season, (L,)."""
        return self.crops_all[:, 0]

    @property
    def loss(self) -> FloatArray:
        """The least expected loss, (L,); never more than the line is worth."""
        return np.asarray(np.minimum(self.losses.min(axis=1), self.value), dtype=np.float64)

    @property
    def waiting(self) -> FloatArray:
        """What a season's waiting would cost, (L,): the loss of keeping beyond the least."""
        return np.maximum(self.losses[:, Act.KEEP] - self.loss, 0.0)


def crop_value(seeds: FloatArray, emergence: FloatArray, parents_wanted: FloatArray) -> FloatArray:
    """Share of a line that a seed crop of so many seeds keeps, the doubt about emergence in.

    ``seeds`` (..., L), ``emergence`` (L, N); the mean over N of
    1 - exp(-3 seeds emergence / wanted). Our choice; outside check: 0.95 at the number wanted.
    """
    plants = seeds[..., None] * emergence
    return np.asarray(
        -np.expm1(-FULL_CROP * plants / parents_wanted[:, None]).mean(axis=-1), dtype=np.float64
    )


def decide(lines: Lines) -> LineDecision:
    """What to do with each line this season, and when next. Raises ValueError (``check``)."""
    lines.check()
    value = LINE_VALUE[lines.keepers]
    fails = CROP_FAILURE[lines.biennial.astype(np.int64)]
    halves = 0.5 ** np.arange(STOCK_STATES)[:, None]
    stock = halves * lines.seeds
    mean = np.maximum(lines.emergence.mean(axis=-1), 1e-12)
    enough = SOWN_PER_PARENT * lines.parents_wanted / mean
    sown = np.minimum(0.5 * stock, enough[:, None, :])
    wanted = lines.parents_wanted
    seasons = list(zip(sown, lines.emergence, strict=True))
    some = np.stack([crop_value(seeds, emergence, wanted) for seeds, emergence in seasons])
    every = np.stack([crop_value(stock, emergence, wanted) for _, emergence in seasons])
    since = np.arange(SEASONS + 1)[:, None] + lines.since_crop_years
    put_off = np.maximum(0.0, 1.0 - since / lines.every_years)[:, None]
    packet = REPLACEMENT[lines.keepers] + NEEDLESS_PACKET * every * put_off
    all_sown = _work(every, put_off) + value * (1.0 - (1.0 - fails) * every)
    ended = np.minimum(value, REPLACEMENT[lines.keepers])
    later = np.minimum(np.minimum(all_sown[-1], packet[-1]), value)
    acts = np.empty((SEASONS, lines.seeds.size), dtype=np.int64)
    losses = np.empty((0, 0))
    for season in range(SEASONS - 1, -1, -1):
        rest = _after(later, ended, sown[season], stock)
        crop = some[season]
        sow_some = _work(crop, put_off[season]) + (1.0 - fails) * value * (1.0 - crop)
        sow_some = sow_some + fails * rest
        sow_some[0, lines.seeds < 2.0] = np.inf  # one seed can't be halved
        table = np.stack([later, sow_some, all_sown[season], packet[season]])
        losses = table[:, 0].T
        acts[season] = _first_least(losses, value)
        later = np.minimum(table.min(axis=0), value)
    busy = acts != Act.KEEP
    acts_in = np.where(np.any(busy, axis=0), np.argmax(busy, axis=0), SEASONS)
    next_act = acts[np.minimum(acts_in, SEASONS - 1), np.arange(lines.seeds.size)]
    crop_rest = crop_value(lines.seeds - sown[0, 0], lines.emergence[1], lines.parents_wanted)
    rest_now = crop_value(lines.seeds - sown[0, 0], lines.emergence[0], lines.parents_wanted)
    found = LineDecision(
        losses=losses,
        act=acts[0],
        acts_in=acts_in,
        next_act=next_act,
        sow_seeds=sown[0, 0],
        next_crop_seeds=enough[acts_in, np.arange(lines.seeds.size)],
        crop_some=some[0, 0],
        crops_all=every[:, 0].T.copy(),
        crop_rest=crop_rest,
        rest_fades=crop_rest < REST_FADES * rest_now,
        value=value,
    )
    return _as_done(lines, found)


def _work(crop: FloatArray, put_off: FloatArray) -> FloatArray:
    return WORK * (LEAST_WORK_SHARE + (1.0 - LEAST_WORK_SHARE) * crop * put_off)


def _after(later: FloatArray, ended: FloatArray, sown: FloatArray, stock: FloatArray) -> FloatArray:
    """Loss (K, L) next season from what is left of each state, on a line between two states."""
    lower = np.vstack([later[1:], ended[None]])
    share = np.clip(2.0 * (1.0 - sown / np.maximum(stock, 1e-12)) - 1.0, 0.0, 1.0)
    return lower + share * (later - lower)


def _first_least(losses: FloatArray, value: FloatArray) -> IntArray:
    """The calmest act that none beats by more than hardly anything."""
    least = losses.min(axis=1) + HARDLY_ANYTHING * value
    return np.asarray(np.argmax(losses <= least[:, None], axis=1), dtype=np.int64)


def _as_done(lines: Lines, found: LineDecision) -> LineDecision:
    """The acts as they are advised: half is held back unless the rest fades or is too little, and
    what would be replaced in the end is replaced once it hardly gives a crop, or of a line few keep
    once that costs less than growing it."""
    plants = lines.seeds * lines.emergence[0].mean(axis=-1)
    may_all = found.rest_fades | (plants < SHORT_STOCK * lines.parents_wanted)
    act = np.where((found.act == Act.SOW_ALL) & ~may_all, Act.SOW_SOME, found.act)
    # Waiting to sow all, which isn't advised, is no reason to wait where it gains next to nothing.
    for_all = (act == Act.KEEP) & (found.next_act == Act.SOW_ALL) & ~may_all
    gained = found.losses[:, Act.SOW_SOME] - found.losses[:, Act.KEEP]
    act = np.where(for_all & (gained < NEXT_TO_NOTHING * found.value), Act.SOW_SOME, act)
    # A line nobody else keeps is sown to the end, however little it gives.
    lost = (found.loss >= ALL_BUT_LOST * found.value) & ~np.isfinite(found.losses[:, Act.REPLACE])
    act = np.where(lost & (act == Act.KEEP), Act.SOW_ALL, act)
    dearer = found.losses[:, Act.SOW_SOME] >= REPLACEMENT[lines.keepers]
    spent = (found.crop_some < HARDLY_A_CROP) | (dearer & (lines.keepers == FEW_KEEP_IT))
    spent &= (found.act == Act.KEEP) & np.isfinite(found.losses[:, Act.REPLACE])
    spent &= (found.next_act == Act.REPLACE) | (found.acts_in == SEASONS)
    act = np.where(spent, Act.REPLACE, act)
    # A harvest clears its variety for a season at least, unless the seed would not last so long.
    closed = (lines.since_crop_years < CLOSED_YEARS) & (found.crop_rest >= GOOD_CROP)
    closed &= np.isin(act, (Act.SOW_SOME, Act.SOW_ALL))
    next_act = np.where(act == Act.KEEP, found.next_act, act)
    act = np.where(closed, Act.KEEP, act)
    return replace(
        found,
        act=act.astype(np.int64),
        acts_in=np.where(act == Act.KEEP, np.where(closed, 1, found.acts_in), 0),
        next_act=next_act.astype(np.int64),
        sow_seeds=np.where(act == Act.SOW_ALL, lines.seeds, found.sow_seeds),
    )


def losses_by_chance(lines: Lines, found: LineDecision) -> FloatArray:
    """Losses (L, 2, N) of waiting as planned, and of the best act now, at each of the N values of
    what isn't known; their means are the losses decided by. Waiting that costs hardly anything is
    no dearer than the best.

    What a test of the seed is worth is worked out from them: it says which of the N holds.
    """
    lots = np.arange(lines.seeds.size)
    fails = CROP_FAILURE[lines.biennial.astype(np.int64)]
    at = np.minimum(found.acts_in, SEASONS - 1)
    now = 1 + np.argmin(found.losses[:, 1:], axis=1)
    loss = np.minimum(found.losses, found.value[:, None])
    waits = found.waiting <= HARDLY_ANYTHING * found.value
    waiting = np.where(waits, found.loss, loss[:, Act.KEEP])
    plans = ((waiting, at, found.next_act), (loss[lots, now], np.zeros_like(at), now))
    sides = []
    for expected, season, what in plans:
        emergence = lines.emergence[season, lots]
        mean = np.maximum(emergence.mean(axis=1), 1e-12)
        half = np.minimum(0.5 * lines.seeds, SOWN_PER_PARENT * lines.parents_wanted / mean)
        sown = np.where(what == Act.SOW_ALL, lines.seeds, half)
        sown = np.where((what == Act.SOW_SOME) | (what == Act.SOW_ALL), sown, 0.0)
        crop = -np.expm1(-FULL_CROP * sown[:, None] * emergence / lines.parents_wanted[:, None])
        better = (1.0 - fails) * found.value
        gained = better[:, None] * (crop - crop.mean(axis=1, keepdims=True))
        sides.append(expected[:, None] - gained)
    return np.stack(sides, axis=1)
