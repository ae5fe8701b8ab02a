"""Answers about what to do with lots, what to save and what to test."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import AnswerModel, Source
from seedbank.kinds.tables.varieties import OtherKeepers
from seedbank.lots.answers.lots import CautionAnswer, VarietyBrief
from seedbank.lots.tables.lots import Purity
from seedbank.science.verdicts.verdict import Verdict
from seedbank.viability.answers import ViabilityPoint

_SOURCE = {"text": "FAO Genebank Standards 2014, 4.3.4 and 4.4.1", "confidence": "memory"}
_REASON = {
    "code": "cannot-wait",
    "text": "Don't wait a season: the chance of raising its 10 seed parents is 88 % now and 59 % "
    "next season.",
    "numbers": {"p_parents_now": 0.88, "p_parents_next": 0.59, "parents_needed": 10.0},
}


class ReasonAnswer(AnswerModel):
    """One reason in plain words, with the numbers behind it; chances run 0..1."""

    code: str = Field(examples=["cannot-wait"])
    text: str = Field(examples=[_REASON["text"]])
    numbers: dict[str, float] = Field(examples=[_REASON["numbers"]])


class VerdictAnswer(AnswerModel):
    """What to do with a lot, and why. Advice only: nothing is ever discarded by itself."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(description="rarity", examples=["none"])
    verdict: Verdict | None = Field(description="null: none left", examples=["rescue"])
    urgency: float = Field(
        description="chance that the variety can't be raised next season, weighted by rarity",
        examples=[0.41],
    )
    balance_seeds: int | None = Field(description="null: some, not counted", examples=[24])
    purity: Purity = Field(description="whether it can have crossed", examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])
    viability: ViabilityPoint
    viability_needed_pct: float | None = Field(
        description="viability that still raises the seed parents from what is left, with 90 % "
        "certainty; null if even all of it is too little seed",
        examples=[61.5],
    )
    seed_parents: int = Field(description="plants wanted to save seed from", examples=[10])
    probability_parents_now: float = Field(examples=[0.88])
    probability_parents_next_season: float = Field(examples=[0.59])
    reasons: list[ReasonAnswer] = Field(examples=[[_REASON]])
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])


class SeedToSaveItem(AnswerModel):
    """One variety whose seed should be saved this year, and from which lot."""

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["none"])
    verdict: Verdict = Field(examples=["rescue"])
    sow_lot: str = Field(description="lot to raise the seed parents from", examples=["4K7PM"])
    seeds_held: int | None = Field(description="null: some, not counted", examples=[24])
    seeds_to_sow: int | None = Field(
        description="so that the seed parents are raised with 90 % certainty; null: sow all",
        examples=[22],
    )
    seed_parents: int = Field(examples=[10])
    flowers_in: int = Field(description="year the seed crop flowers if sown now", examples=[2027])
    flowers_at_earliest: bool = Field(
        description="that year is only the earliest: a perennial may take longer", examples=[False]
    )
    viability: ViabilityPoint
    probability_now: float = Field(
        description="of raising the seed parents, sown this season", examples=[0.88]
    )
    probability_next_season: float = Field(examples=[0.59])
    reasons: list[ReasonAnswer] = Field(examples=[[_REASON]])


class SeedToSaveAnswer(AnswerModel):
    """Varieties that need seed saved this year, the rarest and most urgent first."""

    on: date = Field(examples=["2027-02-20"])
    items: list[SeedToSaveItem]
    remarks: list[str] = Field(examples=[["Parsnip seed stalks: cover arms."]])
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])


class TestSizeAnswer(AnswerModel):
    """One size of test weighed; losses in units of a variety nobody else keeps."""

    __test__ = False

    seeds: int = Field(examples=[20])
    value: float = Field(description="loss it is expected to save", examples=[0.021])
    cost: float | None = Field(description="null: more seed than can be spared", examples=[0.004])
    probability_changes: float = Field(examples=[0.31])
    probability_right: float = Field(examples=[0.93])


class TestStageAnswer(AnswerModel):
    """Where to stop early: after so many seeds, act if this few or this many have come up."""

    __test__ = False

    tested: int = Field(examples=[10])
    save_seed_if_at_most: int | None = Field(examples=[5])
    keep_if_at_least: int | None = Field(examples=[10])
    probability_ends_here: float = Field(examples=[0.42])


class TestAdviceAnswer(AnswerModel):
    """How many seeds to test, 0 meaning: don't spend seed on it; and how to stop early."""

    __test__ = False

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    seeds: int = Field(examples=[20])
    seeds_spare: int | None = Field(
        description="above the variety's reserve; null: some, not counted", examples=[104]
    )
    decision: str = Field(examples=["whether this lot can be relied on for another season"])
    viability_needed_pct: float | None = Field(examples=[61.5])
    viability: ViabilityPoint
    reasons: list[ReasonAnswer]
    sizes: list[TestSizeAnswer]
    stages: list[TestStageAnswer] = Field(description="in groups, stopping once sure enough")
    mean_seeds_with_stages: float | None = Field(examples=[13.7])
    probability_right_with_stages: float | None = Field(examples=[0.92])
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])
