"""The state of a lot: last chance, grow for seed, towel first, get fresh, sow thicker, can go, or
sow as usual.

Only what the gardener saves is judged as a seed parent (``line_decision``): a variety of which a
lot was saved here, or that nobody else keeps, and never an F1. Everything else asks whether it is
enough for rows (``row_decision``). The decision is the act of least expected loss; where two states
fit a lot, the first of the list below wins. Advice only: nothing here throws seed away.
"""

from dataclasses import dataclass, fields
from enum import IntEnum, StrEnum

import numpy as np

from seedbank.science.quantities import BoolArray, Finding, FloatArray, IntArray
from seedbank.science.verdicts.line_decision import Act, LineDecision
from seedbank.science.verdicts.row_decision import RowDecision
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


class Verdict(StrEnum):
    """What to do with a lot, the most pressing first; our choice. Advice, never an act."""

    LAST_CHANCE = "last-chance"
    GROW_FOR_SEED = "grow-for-seed"
    TOWEL_FIRST = "towel-first"
    GET_FRESH = "get-fresh"
    SOW_THICKER = "sow-thicker"
    CAN_GO = "can-go"
    SOW_AS_USUAL = "sow-as-usual"
    NOT_JUDGED = "not-judged"


VERDICTS = tuple(Verdict)
FOR_SEED = (Verdict.LAST_CHANCE, Verdict.GROW_FOR_SEED)
NO_VERDICT = -1
"""Code of a lot with nothing left to judge."""

# Our choices.
LAST_CHANCE_COST = 0.10  # of the line: lost by waiting a season, it is a last chance
LIVING_SEEDS = 1.0  # likely alive in it: of a line nobody else keeps such a lot is never let go
HOPELESS = 0.2  # P(usable) under this: seed that can't be stored, tested, is given up
REGENERATE_AT = 0.5  # P(viability under 85 % of initial) that is told beside the verdict
RECENT_TEST_DAYS = 180.0  # no second test so soon after a finished one
_NEARLY_SURE = 0.9999  # no crop is told as a certainty
TEST_SHARE = 1.0 / 3.0  # of the stock, at most, goes into a test


@dataclass(frozen=True, slots=True)
class VerdictInputs:
    """What a verdict rests on, arrays (L,). Probabilities 0..1, counts in seeds or plants.

    ``line`` and ``row`` are the two decisions on each lot. ``saved``: the gardener saves the
    variety; ``leads``: it is the variety's lot to grow for seed, ``covered``: it isn't, and the one
    that is would give a good crop (of what isn't saved: it is too weak for a row, another isn't).
    ``p_parents_now/next``: chance to raise ``parents_needed`` plants sown at its next sowing time,
    or a season later; ``p_usable``: that viability is over the floor below which a lot isn't worth
    sowing. ``keepers_unknown``: nobody has said how many others keep it.
    ``counted`` is false where ``balance_seeds`` stands in for seed nobody has counted.
    ``worth_of_test`` and ``cost_of_test`` are in lines nobody else keeps. ``outlived`` marks seed
    that can't be stored and is older than such seed lasts. ``planting_stock`` isn't seed: it is
    planted each season, and ``keeps_years`` is how long it lasts, infinite where that isn't known.
    A ``mixture`` is no lot of any variety. What to weigh is our choice.
    """

    line: LineDecision
    row: RowDecision
    balance_seeds: FloatArray
    counted: BoolArray
    saved: BoolArray
    leads: BoolArray
    covered: BoolArray
    rivalled: BoolArray
    parents_needed: FloatArray
    parents_genebank: FloatArray
    p_parents_now: FloatArray
    p_parents_next: FloatArray
    p_below_regeneration: FloatArray
    viability_median: FloatArray
    p_usable: FloatArray
    other_keepers: IntArray
    keepers_unknown: BoolArray
    saves_true: IntArray
    plants_wanted: FloatArray
    worth_of_test: FloatArray
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

    def columns(self) -> dict[str, FloatArray | BoolArray | IntArray]:
        """Every array but the two decisions, by name."""
        names = (field.name for field in fields(self))
        return {name: getattr(self, name) for name in names if name not in ("line", "row")}

    def check(self) -> None:
        """Raise ValueError, naming the field, for unequal lengths, NaN, or values out of range."""
        length = self.balance_seeds.shape
        for name, values in self.columns().items():
            if values.shape != length or values.ndim != 1:
                raise ValueError(f"{name} must have shape {length}, got {values.shape}")
            probability = name.startswith("p_") or name == "viability_median"
            if probability and np.any(~((values >= 0) & (values <= 1))):
                raise ValueError(f"{name} must lie in 0..1")
            if values.dtype.kind == "f" and np.any(np.isnan(values)):
                raise ValueError(f"{name} must not be NaN")
        for name in ("other_keepers", "saves_true"):
            codes = getattr(self, name)
            if np.any((codes < 0) | (codes > 2)):
                raise ValueError(f"{name} must be a code 0..2")


_SAID_OF_PLANTING_STOCK = Cause.NONE_LEFT | Cause.PLANT_AGAIN | Cause.PAST_KEEPING
_SAID_OF_THE_DEAD = Cause.OUTLIVED | Cause.NOT_WANTED | Cause.OPEN_TEST | Cause.F1
_SAID_OF_THE_FLEETING = (
    Cause.DOES_NOT_STORE | Cause.F1 | Cause.BREEDING_UNKNOWN | Cause.NOT_WANTED | Cause.TEST_FAILED
)


@dataclass(frozen=True, slots=True)
class Verdicts:
    """Verdicts of L lots: ``code`` indexes ``VERDICTS`` (-1: none left), ``causes`` are bits.

    ``urgency`` is what a season's waiting would cost, in lines nobody else keeps, 0 where none is
    left or nothing is to be done; sort by it, falling. ``parent``: judged as a seed parent.
    """

    code: IntArray
    causes: IntArray
    urgency: FloatArray
    parent: BoolArray
    inputs: VerdictInputs

    def verdict(self, lot: int) -> Verdict | None:
        """The verdict on one lot, or None where none is left. Our vocabulary."""
        code = int(self.code[lot])
        return None if code == NO_VERDICT else VERDICTS[code]

    def where(self, *verdicts: Verdict) -> BoolArray:
        """Which lots have one of these verdicts, (L,). Our vocabulary."""
        codes = [VERDICTS.index(one) for one in verdicts]
        return np.asarray(np.isin(self.code, codes), dtype=np.bool_)

    def reasons(self, lot: int) -> tuple[Finding, ...]:
        """Why, in plain words with the numbers behind them; built only when asked (our wording)."""
        line, row = self.inputs.line, self.inputs.row
        facts = {name: float(values[lot]) for name, values in self.inputs.columns().items()}
        facts |= {
            "reckoned_seeds": facts["balance_seeds"],
            "crop_now": min(float(line.crop_all[lot]), _NEARLY_SURE),
            "crop_half": min(float(line.crop_some[lot]), _NEARLY_SURE),
            "crop_rest": min(float(line.crop_rest[lot]), _NEARLY_SURE),
            "waiting": float(line.waiting[lot] / line.value[lot]),
            "crop": float(row.crop[lot]),
            "rows": float(row.rows[lot]),
        }
        if not self.inputs.counted[lot]:
            facts["balance_seeds"] = float("inf")  # no number to tell
        return findings(int(self.causes[lot]), facts)


def counted(code: IntArray) -> dict[Verdict, int]:
    """Lots with each verdict, of codes (L,), the most urgent first; none that no lot has."""
    lots = np.bincount(code[code != NO_VERDICT], minlength=len(VERDICTS)).tolist()
    return {verdict: number for verdict, number in zip(VERDICTS, lots, strict=True) if number}


def judge(inputs: VerdictInputs) -> Verdicts:
    """Judge every lot: the first state of ``Verdict`` that fits it.

    A last chance is a lot whose line a season's waiting would cost a tenth of its worth, or that is
    best sown all. Checked by properties (a line nobody else keeps is never let go, a bought packet
    is never judged as a parent, one seed is never grown for seed as if that would do) and by the
    years to the next seed crop; no published rule covers a gardener. Raises ValueError for
    probabilities outside 0..1, unknown codes or arrays of different length.
    """
    inputs.check()
    x, line, row = inputs, inputs.line, inputs.row
    empty = x.counted & (x.balance_seeds <= 0)
    unjudged = x.mixture | x.planting_stock
    failed = x.does_not_store & np.isfinite(x.days_since_test) & (x.p_usable < HOPELESS)
    fleeting = x.does_not_store & ~x.outlived & ~failed
    # Beside a lot that leads, another counts only where that one alone would give a poor crop.
    parent = x.saved & (x.leads | (row.weak & ~x.covered)) & (x.saves_true != SavesTrue.NO)
    parent &= ~unjudged & ~x.outlived & ~failed & ~empty
    dying = (line.act == Act.SOW_ALL) | (line.waiting >= LAST_CHANCE_COST * line.value) | fleeting
    sown = parent & (np.isin(line.act, (Act.SOW_SOME, Act.SOW_ALL)) | fleeting)
    wanted = (x.plants_wanted > 0) | (x.other_keepers < Keepers.MANY)
    weak = np.where(parent, line.act == Act.REPLACE, row.weak | x.outlived | failed)
    weak &= ~fleeting
    fresh = weak & ~sown & ~x.covered & (wanted | parent)
    living = ~x.counted | (x.balance_seeds * x.viability_median >= LIVING_SEEDS)
    nowhere_else = (x.other_keepers == Keepers.NONE) & living
    go = weak & ~sown & (x.covered | ~wanted) & ~nowhere_else
    towel = _test_pays(x) & ~sown & ~fleeting & ~x.outlived
    rules = {
        Verdict.NOT_JUDGED: unjudged,
        Verdict.LAST_CHANCE: sown & dying,
        Verdict.GROW_FOR_SEED: sown,
        Verdict.TOWEL_FIRST: towel,
        Verdict.GET_FRESH: fresh,
        Verdict.CAN_GO: go & ~x.open_test,
        Verdict.SOW_THICKER: row.thicker & ~fleeting,
    }
    code = np.select(
        [empty, *rules.values()],
        [NO_VERDICT, *(VERDICTS.index(one) for one in rules)],
        VERDICTS.index(Verdict.SOW_AS_USUAL),
    ).astype(np.int64)
    causes = _causes(x, code, parent, fleeting, failed)
    return Verdicts(code, causes, _urgency(x, code, parent), parent, x)


def _test_pays(x: VerdictInputs) -> BoolArray:
    """Whether a test is worth its seed, can be spared, and none was finished lately."""
    spare = ~x.counted | (x.seeds_a_test_would_take <= TEST_SHARE * x.balance_seeds)
    pays = (x.worth_of_test > x.cost_of_test) & (x.seeds_a_test_would_take > 0)
    stale = x.days_since_test > RECENT_TEST_DAYS
    return np.asarray(spare & pays & stale & ~x.mixture & ~x.planting_stock, dtype=np.bool_)


def _urgency(x: VerdictInputs, code: IntArray, parent: BoolArray) -> FloatArray:
    """What doing nothing this season would cost."""
    idle = ~np.isin(code, [VERDICTS.index(one) for one in (*FOR_SEED, Verdict.GET_FRESH)])
    sown, packet = x.row.losses.mean(axis=2).T
    cost = np.where(parent, x.line.waiting, np.maximum(sown - packet, 0.0))
    towel = code == VERDICTS.index(Verdict.TOWEL_FIRST)
    return np.where(towel, x.worth_of_test, np.where(idle, 0.0, cost))


def _causes(
    x: VerdictInputs, code: IntArray, parent: BoolArray, fleeting: BoolArray, failed: BoolArray
) -> IntArray:
    """The bits that speak for each verdict; a cause is named only where it bears on the outcome."""
    last, grow, towel, fresh, thicker, go, usual, _ = (code == i for i in range(len(VERDICTS)))
    empty = code == NO_VERDICT
    for_seed, at_rest = last | grow, usual | thicker
    f1 = x.saves_true == SavesTrue.NO
    rare = x.other_keepers < Keepers.MANY
    spare = x.saved & ~x.leads & ~parent
    named = {
        Cause.NONE_LEFT: empty,
        Cause.CANNOT_WAIT: last & (x.line.waiting >= LAST_CHANCE_COST * x.line.value),
        Cause.DUE: grow,
        Cause.SHORT_OF_PARENTS: (for_seed | (parent & at_rest))
        & x.counted
        & (x.balance_seeds < x.parents_needed),
        Cause.HALF_HELD_BACK: for_seed & (x.line.act == Act.SOW_SOME),
        Cause.REST_IS_DYING: for_seed & (x.line.act == Act.SOW_ALL) & x.line.rest_fades,
        Cause.TOO_LITTLE_TO_DIVIDE: for_seed & (x.line.act == Act.SOW_ALL) & ~x.line.rest_fades,
        Cause.RARE: for_seed & rare & ~x.keepers_unknown,
        Cause.KEEPERS_DECIDE: (for_seed | fresh) & x.keepers_unknown,
        Cause.ONLY_HOPE: for_seed & ~x.rivalled,
        Cause.SECOND_STRING: spare & ~go,
        Cause.OTHER_COVERS: x.covered & go,
        Cause.CAN_WAIT: parent & at_rest,
        Cause.WEAK_ROW: (fresh | go | towel)
        & x.row.weak
        & ~parent
        & (x.other_keepers > Keepers.NONE),
        Cause.SPENT: fresh & parent,
        Cause.ROWS: (at_rest | towel) & ~parent & x.counted & (x.row.rows >= 1.0),
        Cause.ROW_SHORT: (at_rest | towel) & ~parent & x.counted & (x.row.rows < 1.0),
        Cause.HAS_FALLEN: (x.p_below_regeneration >= REGENERATE_AT) & parent,
        Cause.F1: f1 & ~go,
        Cause.BREEDING_UNKNOWN: (x.saves_true == SavesTrue.UNKNOWN) & for_seed,
        Cause.NOT_WANTED: (x.plants_wanted <= 0) & go,
        Cause.TEST_PAYS: towel & ~x.open_test,
        Cause.TEST_ALONGSIDE: for_seed & _test_pays(x) & ~x.open_test,
        Cause.OPEN_TEST: x.open_test,
        Cause.DOES_NOT_STORE: fleeting,
        Cause.TEST_FAILED: failed & ~x.outlived,
        Cause.OUTLIVED: x.outlived,
        Cause.NOT_COUNTED: ~x.counted,
        # Whoever alone keeps a variety divides it: half elsewhere, some with a second keeper.
        Cause.ALL_IN_ONE_PACKET: parent
        & (grow | at_rest)
        & ~x.rivalled
        & (x.other_keepers == Keepers.NONE)
        & ~x.keepers_unknown
        & (x.balance_seeds >= 2.0),
        Cause.PLANT_AGAIN: x.planting_stock & (x.age_years <= x.keeps_years),
        Cause.PAST_KEEPING: x.planting_stock & (x.age_years > x.keeps_years),
    }
    bits = np.zeros(code.shape, dtype=np.int64)
    for cause, mask in named.items():
        bits |= np.where(mask, np.int64(cause), 0)
    planted = bits & np.int64(_SAID_OF_PLANTING_STOCK)
    bits = np.where((fleeting | failed) & ~x.outlived, bits & np.int64(_SAID_OF_THE_FLEETING), bits)
    bits = np.where(x.outlived, bits & np.int64(_SAID_OF_THE_DEAD), bits)
    bits = np.where(x.planting_stock, planted, bits)
    bits = np.where(x.mixture, np.int64(Cause.MIXTURE), bits)
    # Of an empty lot there is nothing else to say.
    return np.where(empty, np.int64(Cause.NONE_LEFT), bits)
