"""Keep, test, save seed, rescue, replace or discard: one verdict a lot, with its reasons.

The probabilities come from the viability posterior, the published regeneration rule (FAO Genebank
Standards 2014, 4.3.4 and 4.4.1, from memory) and the value of a test; how they weigh against each
other is our choice, and every threshold is named below. All advice: nothing here discards a seed.

What a verdict on a lot rests on.
"""

from dataclasses import dataclass, fields
from enum import IntEnum, StrEnum

import numpy as np

from seedbank.science.quantities import BoolArray, Finding, FloatArray, IntArray
from seedbank.science.verdicts.regeneration import SOWINGS_IN_STOCK
from seedbank.science.verdicts.verdict_reasons import Cause, findings


class Keepers(IntEnum):
    """How many other keepers of the variety are known; three steps, our choice."""

    NONE = 0
    FEW = 1
    MANY = 2


class SavesTrue(IntEnum):
    """Whether saved seed gives the variety again: no for F1, yes for open-pollinated, landrace.

    Common practice, no single source.
    """

    NO = 0
    YES = 1
    UNKNOWN = 2


@dataclass(frozen=True, slots=True)
class VerdictInputs:
    """What a verdict rests on, arrays (L,). Probabilities 0..1, counts in seeds or plants.

    ``p_parents_now/next/after``: chance that the lot can raise its seed parents if sown this
    season, next, or the one after (the caller adds a biennial's lead). ``p_best_other_lot_*``: the
    most of the variety's other lots, 0 without one. ``days_since_test`` is infinite if never.
    ``cost_of_test`` is in the unit of ``value_of_test`` and infinite where seed is short.
    ``p_usable``: chance that viability is over the floor below which a lot isn't worth sowing.
    ``keepers_unknown``: nobody has said how many others keep it, ``other_keepers`` is assumed.
    ``counted`` is false where ``balance_seeds`` only stands in for seed nobody has counted; nothing
    is then said to be too little, and ``sowings_left`` is infinite.
    ``outlived`` marks seed that can't be stored and is older than such seed lasts, whatever the
    probabilities say. ``planting_stock`` isn't seed: it is planted each season, and ``keeps_years``
    is how long it lasts, infinite where that isn't known. A ``mixture`` of seed is no lot of any
    variety, and isn't judged. What to weigh is our choice.
    """

    balance_seeds: FloatArray
    counted: BoolArray
    reserve: FloatArray
    parents_needed: FloatArray
    p_parents_now: FloatArray
    p_parents_next: FloatArray
    p_parents_after: FloatArray
    p_below_regeneration: FloatArray
    sowings_left: FloatArray
    viability_median: FloatArray
    p_usable: FloatArray
    other_keepers: IntArray
    keepers_unknown: BoolArray
    saves_true: IntArray
    p_best_other_lot_now: FloatArray
    p_best_other_lot_next: FloatArray
    is_best_lot: BoolArray
    plants_wanted: FloatArray
    value_of_test: FloatArray
    cost_of_test: FloatArray
    seeds_a_test_would_take: FloatArray
    days_since_test: FloatArray
    open_test: BoolArray
    does_not_store: BoolArray
    outlived: BoolArray
    age_years: FloatArray
    planting_stock: BoolArray
    keeps_years: FloatArray
    mixture: BoolArray

    def check(self) -> None:
        """Raise ValueError, naming the field, for unequal lengths, NaN, or values out of range."""
        _check(self)


def _check(x: VerdictInputs) -> None:
    length = x.balance_seeds.shape
    for field in fields(x):
        values = getattr(x, field.name)
        if values.shape != length or values.ndim != 1:
            raise ValueError(f"{field.name} must have shape {length}, got {values.shape}")
        probability = field.name.startswith("p_") or field.name == "viability_median"
        if probability and np.any(~((values >= 0) & (values <= 1))):
            raise ValueError(f"{field.name} must lie in 0..1")
        if values.dtype.kind == "f" and np.any(np.isnan(values)):
            raise ValueError(f"{field.name} must not be NaN")
    for name in ("other_keepers", "saves_true"):
        codes = getattr(x, name)
        if np.any((codes < 0) | (codes > 2)):
            raise ValueError(f"{name} must be a code 0..2")


class Verdict(StrEnum):
    """What to do with a lot; the eight words are our choice. Discard is advice, never an act."""

    KEEP = "keep"
    TEST = "test"
    SAVE_SEED = "save-seed-this-year"
    RESCUE = "rescue"
    REPLACE = "replace"
    DISCARD = "discard"
    PLANT = "plant"
    NOT_JUDGED = "not-judged"


VERDICTS = tuple(Verdict)
NO_VERDICT = -1
"""Code of a lot with nothing left to judge."""


# Our choices, all of them.
CONFIDENCE_WANTED = np.array([0.99, 0.95, 0.80])  # by Keepers
RARITY_WEIGHT = np.array([1.0, 0.5, 0.05])  # by Keepers, in the urgency
CLEAR_LOSS = 0.10  # chance lost by waiting a season that is too much
RESCUE_BELOW = 0.90  # a chance of raising the parents already low
FALLING = 0.95  # next season's chance under this share of this season's is falling
LIKELY, HOPELESS = 0.5, 0.2  # P(usable) under these: failing, and failing for certain enough
REGENERATE_AT = 0.5  # P(viability under 85 % of initial) that asks for new seed
OPEN_QUESTION = (0.05, 0.95)  # probabilities within can still turn either way
RECENT_TEST_DAYS = 180.0  # no second test so soon after a finished one


_SAID_OF_PLANTING_STOCK = Cause.NONE_LEFT | Cause.PLANT_AGAIN | Cause.PAST_KEEPING
_SAID_OF_THE_DEAD = Cause.OUTLIVED | Cause.NOT_WANTED | Cause.OPEN_TEST | Cause.F1
_SAID_OF_THE_FLEETING = (
    Cause.DOES_NOT_STORE | Cause.F1 | Cause.BREEDING_UNKNOWN | Cause.NOT_WANTED | Cause.TEST_FAILED
)


@dataclass(frozen=True, slots=True)
class Verdicts:
    """Verdicts of L lots: ``code`` indexes ``VERDICTS`` (-1: none left), ``causes`` are bits.

    ``urgency`` (0..1) is the chance that the variety can't be raised next season, weighted by
    rarity (our choice), 0 where none is left; sort by it, falling.
    """

    code: IntArray
    causes: IntArray
    urgency: FloatArray
    inputs: VerdictInputs

    def verdict(self, lot: int) -> Verdict | None:
        """The verdict on one lot, or None where none is left. Our vocabulary."""
        code = int(self.code[lot])
        return None if code == NO_VERDICT else VERDICTS[code]

    def where(self, verdict: Verdict) -> BoolArray:
        """Which lots have this verdict, (L,). Our vocabulary."""
        return np.asarray(self.code == VERDICTS.index(verdict), dtype=np.bool_)

    def reasons(self, lot: int) -> tuple[Finding, ...]:
        """Why, in plain words with the numbers behind them; built only when asked (our wording)."""
        facts = {
            field.name: float(getattr(self.inputs, field.name)[lot])
            for field in fields(self.inputs)
        }
        facts["reckoned_seeds"] = facts["balance_seeds"]
        if not self.inputs.counted[lot]:
            facts["balance_seeds"] = float("inf")  # no number to tell
        facts["wanted"] = float(CONFIDENCE_WANTED[self.inputs.other_keepers[lot]])
        return findings(int(self.causes[lot]), facts)


def judge(inputs: VerdictInputs) -> Verdicts:
    """Judge every lot. First of these that holds: none left, test, rescue, save, discard, replace.

    Rescue and save need seed that comes true (or may), a lot that is the variety's best, a variety
    that is rare or wanted, and no other lot that covers it. A test comes first only where it pays
    and the chance is truly open. Discard needs a lot surely failing, no open test, and a better lot
    (for a rare variety one that also lasts) or a common variety. Seed that can't be stored is sown
    this season (rescue) where its variety is rare or wanted: no equation gives its chances, so only
    its age or a test that came up dead speaks against it. Planting stock is to be planted. Our
    choice throughout; checked by a table of cases, by properties (a rare variety's last lot is
    never discarded) and not against any published rule, as none covers a gardener. Raises
    ValueError for probabilities outside 0..1, unknown codes or arrays of different length.
    """
    inputs.check()
    judged = _Sight.of(inputs)
    masks = _rules(inputs, judged)
    code = np.select(
        [judged.empty, *masks.values()],
        [NO_VERDICT, *(VERDICTS.index(verdict) for verdict in masks)],
        VERDICTS.index(Verdict.KEEP),
    ).astype(np.int64)
    causes = _causes(inputs, judged, code, masks[Verdict.RESCUE])
    return Verdicts(code, causes, _urgency(inputs, judged), inputs)


@dataclass(frozen=True, slots=True)
class _Sight:
    """What the inputs mean, as yes or no for each lot."""

    asked: FloatArray
    next_season: FloatArray
    other_next: FloatArray
    empty: BoolArray
    rare: BoolArray
    f1: BoolArray
    wanted: BoolArray
    failing: BoolArray
    weak_next: BoolArray
    weak_after: BoolArray
    covered: BoolArray
    better: BoolArray
    beaten: BoolArray
    test_pays: BoolArray
    rivalled: BoolArray
    fleeting: BoolArray
    test_failed: BoolArray

    @classmethod
    def of(cls, x: VerdictInputs) -> "_Sight":
        asked = CONFIDENCE_WANTED[x.other_keepers]
        # Seed that can't be stored is worth nothing next season, whatever the decline model says.
        later, after, other = (
            np.where(x.does_not_store, 0.0, p)
            for p in (x.p_parents_next, x.p_parents_after, x.p_best_other_lot_next)
        )
        rare = x.other_keepers < Keepers.MANY
        return cls(
            asked=asked,
            next_season=later,
            other_next=other,
            empty=x.counted & (x.balance_seeds <= 0),
            rare=rare,
            f1=x.saves_true == SavesTrue.NO,
            wanted=rare | (x.plants_wanted > 0),
            failing=x.p_usable < LIKELY,
            weak_next=later < asked,
            weak_after=after < asked,
            covered=other >= asked,
            better=~x.is_best_lot & (x.p_best_other_lot_now >= asked),
            beaten=~x.is_best_lot & (x.p_best_other_lot_now > 0),
            test_pays=_test_pays(x),
            rivalled=x.p_best_other_lot_now > 0,
            fleeting=x.does_not_store & ~x.outlived,
            test_failed=x.does_not_store & np.isfinite(x.days_since_test) & (x.p_usable < HOPELESS),
        )


def _rules(x: VerdictInputs, judged: _Sight) -> dict[Verdict, BoolArray]:
    """Where each verdict's rule holds, in the order they are asked."""
    now, later = x.p_parents_now, judged.next_season
    leader = judged.wanted & x.is_best_lot & ~judged.covered
    # A common variety is fetched again sooner than nursed back from a hopeless lot.
    hopeful = judged.rare | (now >= judged.asked) | (~judged.failing & (now >= LIKELY))
    grow = leader & hopeful & ~judged.f1 & ~x.outlived
    falling = (later < FALLING * now) | judged.failing
    rescue = (now - later >= CLEAR_LOSS) & judged.weak_next
    rescue = grow & (rescue | ((now < np.minimum(RESCUE_BELOW, judged.asked)) & falling))
    rescue = np.where(judged.fleeting, judged.wanted & ~judged.f1 & ~judged.test_failed, rescue)
    due = judged.weak_next | judged.weak_after | (x.p_below_regeneration >= REGENERATE_AT)
    save = grow & ~judged.fleeting & (due | (x.sowings_left < SOWINGS_IN_STOCK))
    gone = (x.p_usable < HOPELESS) & ~x.open_test & (~judged.fleeting | judged.test_failed)
    bettered = (judged.better & judged.covered) | (x.outlived & judged.beaten)
    discard = gone & np.where(judged.rare, bettered, ~x.is_best_lot | ~judged.wanted)
    replace = leader & (~judged.rare | judged.f1) & (judged.failing | (x.sowings_left < 1))
    replace |= (x.outlived & judged.rare) | (judged.test_failed & judged.wanted)
    # A gardener isn't told to sow everything on a guess that two weeks can settle; but where the
    # chance is plainly low, or seed too short to share, sowing comes first.
    open_chance = (now > OPEN_QUESTION[0]) & (now < OPEN_QUESTION[1])
    shared = x.balance_seeds - x.seeds_a_test_would_take >= x.parents_needed
    test = judged.test_pays & ~judged.fleeting & np.where(rescue, open_chance & shared, ~save)
    return {
        Verdict.NOT_JUDGED: x.mixture,
        Verdict.PLANT: x.planting_stock,
        Verdict.TEST: test,
        Verdict.RESCUE: rescue,
        Verdict.SAVE_SEED: save,
        Verdict.DISCARD: discard,
        Verdict.REPLACE: replace,
    }


def _test_pays(x: VerdictInputs) -> BoolArray:
    """Whether a test is worth its seed, can be spared, isn't running, and could turn something."""
    low, high = OPEN_QUESTION
    decisive = (x.p_parents_now, x.p_parents_next, x.p_below_regeneration, x.p_usable)
    turns = np.any([(p > low) & (p < high) for p in decisive], axis=0)
    spare = ~x.counted | (x.balance_seeds - x.reserve >= x.seeds_a_test_would_take)
    pays = (x.value_of_test > x.cost_of_test) & (x.seeds_a_test_would_take > 0)
    stale = x.days_since_test > RECENT_TEST_DAYS
    return np.asarray(turns & spare & pays & stale & ~x.open_test & ~x.outlived, dtype=np.bool_)


def _urgency(x: VerdictInputs, judged: _Sight) -> FloatArray:
    best_next = np.maximum(judged.next_season, judged.other_next)
    weight = np.where(judged.f1, RARITY_WEIGHT[Keepers.MANY], RARITY_WEIGHT[x.other_keepers])
    return np.where(judged.empty | x.mixture, 0.0, weight * (1.0 - best_next))


def _causes(x: VerdictInputs, judged: _Sight, code: IntArray, rescuable: BoolArray) -> IntArray:
    """The bits that speak for each verdict; a cause is named only where it bears on the outcome."""
    keep, test, save, rescue, replace, discard, *_ = (code == i for i in range(len(VERDICTS)))
    grow, drop = save | rescue, replace | discard
    f1, asked = judged.f1, judged.asked
    idle = keep & ~judged.failing & (~judged.weak_next | f1)
    fallen = x.p_below_regeneration >= REGENERATE_AT
    named = {
        Cause.NONE_LEFT: judged.empty,
        Cause.CANNOT_WAIT: rescue,
        Cause.WEAK_NEXT: (save | keep | test) & judged.weak_next & ~f1,
        Cause.WEAK_AFTER: save & judged.weak_after & ~judged.weak_next,
        Cause.TOO_FEW_SEEDS: (grow | keep) & x.counted & (x.balance_seeds < x.parents_needed) & ~f1,
        # Of a lot that may wait it is told as it is, without the call to grow it.
        Cause.REGENERATION_DUE: fallen & ~drop & ~f1 & ~idle,
        Cause.HAS_FALLEN: fallen & idle & ~f1,
        Cause.FEW_SOWINGS: x.counted & (x.sowings_left < SOWINGS_IN_STOCK) & (grow | keep),
        Cause.NO_SOWING: replace & x.counted & (x.sowings_left < 1),
        Cause.RARE: judged.rare & ~idle & ~f1 & ~discard,
        Cause.COMMON: ~judged.rare & ~idle & ~(f1 & keep),
        Cause.BEST_HOPE: x.is_best_lot & (x.p_best_other_lot_now < asked) & grow & judged.rivalled,
        Cause.ONLY_HOPE: x.is_best_lot & grow & ~judged.rivalled,
        Cause.OTHER_COVERS: judged.covered & (keep | discard),
        Cause.BETTER_LOT: judged.better & (keep | discard),
        Cause.NOT_BEST: ~x.is_best_lot & ~judged.better & keep & ~x.does_not_store,
        Cause.FAILING: judged.failing,
        Cause.F1: f1 & ~discard,
        Cause.BREEDING_UNKNOWN: (x.saves_true == SavesTrue.UNKNOWN) & grow,
        Cause.NOT_WANTED: ~judged.wanted & (keep | discard),
        Cause.TEST_PAYS: test,
        Cause.TEST_BEFORE_RESCUE: test & rescuable,
        Cause.TEST_ALONGSIDE: judged.test_pays & grow,
        Cause.OPEN_TEST: x.open_test,
        Cause.DOES_NOT_STORE: judged.fleeting & ~judged.test_failed,
        Cause.TEST_FAILED: judged.test_failed & ~x.outlived,
        Cause.OUTLIVED: x.outlived,
        Cause.ALL_WELL: idle & ~f1 & ~x.does_not_store,
        Cause.NOT_COUNTED: ~x.counted,
        Cause.PLANT_AGAIN: x.planting_stock & (x.age_years <= x.keeps_years),
        Cause.PAST_KEEPING: x.planting_stock & (x.age_years > x.keeps_years),
    }
    bits = np.zeros(code.shape, dtype=np.int64)
    for cause, mask in named.items():
        bits |= np.where(mask, np.int64(cause), 0)
    planted = bits & np.int64(_SAID_OF_PLANTING_STOCK)
    bits = np.where(judged.fleeting, bits & np.int64(_SAID_OF_THE_FLEETING), bits)
    bits = np.where(x.outlived, bits & np.int64(_SAID_OF_THE_DEAD), bits)
    bits = np.where(x.planting_stock, planted, bits)
    bits = np.where(x.mixture, np.int64(Cause.MIXTURE), bits)
    # Of an empty lot there is nothing else to say.
    return np.where(judged.empty, np.int64(Cause.NONE_LEFT), bits)
