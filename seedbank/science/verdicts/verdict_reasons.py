"""The causes behind a verdict, as bits to compute with and sentences to read."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntFlag, auto
from math import isfinite
from string import Formatter

from seedbank.science.quantities import Reason, percent


class Cause(IntFlag):
    """What can speak for or against a lot; one bit each, so that a lot's causes are one number.

    The list is our choice.
    """

    NONE_LEFT = auto()
    CANNOT_WAIT = auto()
    WEAK_NEXT = auto()
    WEAK_AFTER = auto()
    TOO_FEW_SEEDS = auto()
    REGENERATION_DUE = auto()
    HAS_FALLEN = auto()
    FEW_SOWINGS = auto()
    NO_SOWING = auto()
    RARE = auto()
    COMMON = auto()
    BEST_HOPE = auto()
    ONLY_HOPE = auto()
    OTHER_COVERS = auto()
    BETTER_LOT = auto()
    NOT_BEST = auto()
    FAILING = auto()
    F1 = auto()
    BREEDING_UNKNOWN = auto()
    NOT_WANTED = auto()
    TEST_PAYS = auto()
    TEST_BEFORE_RESCUE = auto()
    TEST_ALONGSIDE = auto()
    OPEN_TEST = auto()
    DOES_NOT_STORE = auto()
    TEST_FAILED = auto()
    OUTLIVED = auto()
    ALL_WELL = auto()
    NOT_COUNTED = auto()


# How many seeds are best is for the lot's test advice alone to say.
_WORTH_IT = (
    "of {seeds_a_test_would_take:.0f} seeds would be expected to save more than its seed is worth; "
    "the lot's test advice says how many seeds are best."
)
# Fields are names of ``VerdictInputs``; ``wanted``: the confidence asked for this rarity; or
# ``reckoned_seeds``: the balance, counted or not.
_SENTENCES = {
    Cause.NONE_LEFT: "None left: {balance_seeds:.0f} seeds in the ledger.",
    Cause.DOES_NOT_STORE: "This kind's seed doesn't keep: sow {balance_seeds:left} this "
    "season, or find somebody who will.",
    Cause.TEST_FAILED: "What was tested hardly lived; {balance_seeds:left-are} of the same "
    "harvest.",
    Cause.OUTLIVED: "This kind's seed doesn't keep: {age_years:.1f} years after its harvest it is "
    "taken for dead. Get fresh seed.",
    Cause.NOT_BEST: "Another lot is the better hope ({p_best_other_lot_now:%} against "
    "{p_parents_now:%}); this one stays as a second string.",
    Cause.CANNOT_WAIT: "Don't wait a season: the chance of raising its "
    "{parents_needed:.0f} seed parents is {p_parents_now:%} now and {p_parents_next:%} next "
    "season.",
    Cause.WEAK_NEXT: "Next season the chance of raising its {parents_needed:.0f} seed parents is "
    "{p_parents_next:%}; {wanted:%} is asked, given how many others keep the variety.",
    Cause.WEAK_AFTER: "It can wait one season but not two: the chance of raising its "
    "{parents_needed:.0f} seed parents the season after next is {p_parents_after:%}; {wanted:%}"
    " is asked, given how many others keep the variety.",
    Cause.TOO_FEW_SEEDS: "{balance_seeds:.0f} seeds can't give {parents_needed:.0f} seed parents "
    "even if all grow; raise as many as you can.",
    Cause.REGENERATION_DUE: "The chance that its viability is under 85 % of what it started with "
    "is {p_below_regeneration:%} (genebank rule: grow it again).",
    Cause.HAS_FALLEN: "The chance that its viability is under 85 % of what it started with is "
    "{p_below_regeneration:%}.",
    Cause.FEW_SOWINGS: "The {balance_seeds:.0f} seeds left are fewer than three sowings for "
    "{parents_needed:.0f} seed parents; the genebank rule asks for three.",
    Cause.NO_SOWING: "The {balance_seeds:.0f} seeds left are too few to raise "
    "{parents_needed:.0f} plants from.",
    Cause.RARE: "Few or no other keepers are known, so {wanted:%} certainty is asked.",
    Cause.COMMON: "Many others keep the variety: fresh seed can be had, and {wanted:%} "
    "certainty is enough.",
    Cause.BEST_HOPE: "It is your best hope for the variety: no other lot reaches {wanted:%} (the "
    "next best has {p_best_other_lot_now:%}).",
    Cause.ONLY_HOPE: "{balance_seeds:these-are} the only hope for the variety here.",
    Cause.OTHER_COVERS: "Another lot of the variety can still raise the seed parents next season: "
    "the chance is {p_best_other_lot_next:%}.",
    Cause.BETTER_LOT: "A surer lot of the variety can raise the seed parents this season: the "
    "chance is {p_best_other_lot_now:%}.",
    Cause.FAILING: "The chance that it is worth sowing is only {p_usable:%}; likely "
    "{viability_median:%} of it is alive.",
    Cause.F1: "It is an F1, so its seed would not come true; {balance_seeds:are-left}, "
    "likely {viability_median:%} alive.",
    Cause.BREEDING_UNKNOWN: "Whether it comes true from seed is unknown; grow the {parents_needed"
    ":.0f} parents and look.",
    Cause.NOT_WANTED: "{plants_wanted:.0f} plants a year are wanted, and others keep it.",
    Cause.TEST_PAYS: f"A test could change this: one {_WORTH_IT}",
    Cause.TEST_BEFORE_RESCUE: "Test first, this season: if it comes up poor, sow everything now "
    "(chance of raising its seed parents: {p_parents_now:%} now, {p_parents_next:%} next "
    "season).",
    Cause.TEST_ALONGSIDE: f"A test beforehand pays too: one {_WORTH_IT}",
    Cause.OPEN_TEST: "A test is still open: its last count may change this, and nothing is thrown "
    "out before it (chance that the lot is worth sowing, by what is known: {p_usable:%}).",
    Cause.ALL_WELL: "It can wait: the chance of raising its seed parents is {p_parents_next:%} "
    "next season, and likely {viability_median:%} of it is alive.",
    Cause.NOT_COUNTED: "How much there is was never counted: it is judged as a packet of "
    "{reckoned_seeds:.0f} seeds. Count or weigh it, and this may change.",
}
# What is said of an amount: where it is counted, and where it isn't (infinite).
_AMOUNTS = {
    "left": ("the {:.0f} left", "what is left"),
    "left-are": ("the {:.0f} left are", "what is left is"),
    "these-are": ("These {:.0f} seeds are", "This seed is"),
    "are-left": ("{:.0f} seeds are left", "some seed is left, not counted"),
}


@dataclass(frozen=True, slots=True)
class _Sentence:
    """A cause's bit and its sentence taken apart once: words, then a number's name and format."""

    bit: int
    code: str
    parts: tuple[tuple[str, str, str], ...]
    fields: tuple[str, ...]

    @classmethod
    def of(cls, cause: Cause, template: str) -> "_Sentence":
        parsed = Formatter().parse(template)
        parts = tuple((words, field or "", form or "") for words, field, form, _ in parsed)
        name = (cause.name or "").lower().replace("_", "-")
        fields = tuple(dict.fromkeys(field for _, field, _ in parts if field))
        return cls(int(cause), name, parts, fields)

    def filled(self, facts: Mapping[str, float]) -> Reason:
        numbers = {field: float(facts[field]) for field in self.fields}
        text = "".join(
            words + _shown(numbers[field], form) if field else words
            for words, field, form in self.parts
        )
        told = {name: number for name, number in numbers.items() if isfinite(number)}
        return Reason(self.code, text, told)


_TAKEN_APART = tuple(_Sentence.of(cause, template) for cause, template in _SENTENCES.items())


def sentences(causes: int, facts: Mapping[str, float]) -> tuple[Reason, ...]:
    """Reasons for a lot's cause bits, each filled from ``facts`` and carrying what it used.

    Numbers are those of ``VerdictInputs`` in their units; the wording is our choice. Outside
    check: none possible; every number shown is tested to be an input of the verdict.
    """
    told = int(causes)
    return tuple(one.filled(facts) for one in _TAKEN_APART if told & one.bit)


def _shown(value: float, form: str) -> str:
    if form in _AMOUNTS:
        counted, not_counted = _AMOUNTS[form]
        return counted.format(value) if isfinite(value) else not_counted
    return percent(value) if form == "%" else format(value, form)
