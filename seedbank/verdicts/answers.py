"""Answers about what to do with lots, what to test, and what a test changes while and after it
is counted.
"""

from datetime import date
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import (
    REASON_EXAMPLE,
    AnswerModel,
    CautionAnswer,
    FindingAnswer,
    PercentAnswer,
    Source,
    VarietyBrief,
    ViabilityPoint,
)
from seedbank.emergence.tables import Protection, SowingMethod
from seedbank.germination.answers import EvaluationAnswer, InterimAnswer, ReplicateAnswer
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.tables.lots import Purity
from seedbank.science.season.window_state import State
from seedbank.science.verdicts.verdict import Verdict
from seedbank.viability.answers import RecalledShare, RetestAnswer

_SOURCE = {"text": "least expected loss over 14 seasons: our choice", "confidence": "computed"}
_ADVICE = {
    "code": "advice-grow-for-seed",
    "numbers": {"sow_seeds": 40, "hold_seeds": 80, "parents": 12},
    "names": {"when": "now"},
    "text": "Grow it for seed: sow 40 by 3 June, and hold 80.",
}


class When(StrEnum):
    """When a kind can next be sown in this garden."""

    NOW = "now"
    NEXT_MONTH = "next-month"
    LATER = "later-this-year"
    NEXT_YEAR = "next-year"
    NEVER = "never"
    NOT_KNOWN = "not-known"


class ParentsAnswer(AnswerModel):
    """Plants to take seed from: a home saver's number, and a genebank's beside it."""

    plants: int = Field(description="that a home saver wants", examples=[12])
    source: Source | None = Field(description="null: nobody gives one, ten are taken")
    genebank_plants: int | None = Field(
        description="that a genebank asks; more plants keep more of its variety. Null: not known",
        examples=[20],
    )
    genebank_source: Source | None


class WorthAnswer(AnswerModel):
    """What a line is expected to lose, as shares of what it is worth to its keeper."""

    loss: float = Field(description="if the advice is followed", examples=[0.18])
    loss_if_left: float = Field(description="if nothing is done this season", examples=[0.24])
    loss_if_all_sown: float = Field(description="if nothing is held back", examples=[0.27])
    rest_next_season: float = Field(
        description="what a seed crop of the seed held back would keep of it next season",
        examples=[0.91],
    )


class RowsAnswer(AnswerModel):
    """What a lot gives in rows of 3 m, sown at the usual rate of its method."""

    rows: float | None = Field(description="it does; null: not counted", examples=[2.5])
    seeds_a_row: int = Field(examples=[300])
    times_usual: float = Field(description="how thickly beside the usual rate", examples=[1.3])
    crop_pct: float = Field(description="of a full crop, by what is believed", examples=[94.0])
    thicker_below_pct: float = Field(
        description="alive: a lot known so exactly is sown thicker under it", examples=[70.4]
    )
    fresh_below_pct: float = Field(
        description="alive: a fresh packet costs less than its gaps under it", examples=[31.0]
    )


class VerdictAnswer(AnswerModel):
    """What to do with a lot, and why. Advice only: nothing is ever discarded by itself."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(description="rarity", examples=["none"])
    verdict: Verdict | None = Field(description="null: none left", examples=["grow-for-seed"])
    begun: bool = Field(
        description="on a towel, or a seed crop of the variety is under way", examples=[False]
    )
    advice: FindingAnswer | None = Field(
        description="what to do and when; null: none left", examples=[_ADVICE]
    )
    when: When = Field(description="when it can be sown here", examples=["now"])
    sow_until: date | None = Field(description="last day, if it can be sown now", examples=[None])
    opens_on: date | None = Field(description="first day, if it can't be sown now", examples=[None])
    next_on: date | None = Field(
        description="day on which the advice may change by itself: a seed crop is due, or fresh "
        "seed is to be got",
        examples=["2029-04-12"],
    )
    sow_seeds: int | None = Field(description="for seed; null: none, or not counted", examples=[40])
    hold_seeds: int | None = Field(description="then held back", examples=[80])
    urgency: float = Field(
        description="what doing nothing this season would cost, in lines nobody else keeps",
        examples=[0.41],
    )
    balance_seeds: int | None = Field(description="null: some, not counted", examples=[24])
    purity: Purity = Field(description="whether it can have crossed", examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])
    viability: ViabilityPoint
    recalled_share: RecalledShare
    viability_needed_pct: float | None = Field(
        description="viability that still raises the seed parents from what is left, with 90 % "
        "certainty; null if even all of it is too little seed",
        examples=[61.5],
    )
    seed_parents: ParentsAnswer | None = Field(description="null: not judged as a seed parent")
    worth: WorthAnswer | None = Field(description="null: not judged as a seed parent")
    in_rows: RowsAnswer | None = Field(description="null: none left, or not seed")
    probability_parents_now: float = Field(
        description="of raising those plants, sown at its next sowing time", examples=[0.88]
    )
    probability_parents_next_season: float = Field(examples=[0.59])
    reasons: list[FindingAnswer] = Field(examples=[[REASON_EXAMPLE]])
    to_narrow: list[FindingAnswer] = Field(description="what to record, since it decides")
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])


class SpareLotAnswer(AnswerModel):
    """Seeds of a lot that may go, and what to say with them."""

    lot: str = Field(examples=["4K7PM"])
    seeds: int = Field(examples=[120])
    alive_pct: float = Field(description="median viability today, %", examples=[91.0])
    treated: bool = Field(description="dressed seed: say so, never to eat", examples=[False])
    purity: Purity = Field(examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])


class SeedToKeepAnswer(FindingAnswer):
    """How much seed of a variety to keep, for how long, and what is spare to give."""

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["few"])
    held: int = Field(description="counted, in lots at least half alive", examples=[1600])
    keep: int = Field(examples=[420])
    spare: int = Field(examples=[1180])
    seasons: int = Field(description="of rows it is to do for", examples=[3])
    until: date | None = Field(
        description="day from which its next seed crop is due; null: none is foreseen, or it isn't "
        "saved",
        examples=["2029-04-12"],
    )
    for_rows: int = Field(examples=[300])
    reserve: int = Field(examples=[24])
    for_seed_crop: int = Field(
        description="over the reserve, for the next seed crop and another should it fail",
        examples=[96],
    )
    lots: list[SpareLotAnswer] = Field(description="of which to give")


class SeedToSaveItem(AnswerModel):
    """One variety to grow for seed, and from which lot."""

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["none"])
    verdict: Verdict = Field(examples=["grow-for-seed"])
    begun: bool = Field(description="a seed crop of it is under way", examples=[False])
    advice: FindingAnswer = Field(description="what to do and when", examples=[_ADVICE])
    when: When = Field(examples=["now"])
    opens_on: date | None = Field(description="first day, if it can't be sown now", examples=[None])
    sow_lot: str = Field(description="lot to raise the seed parents from", examples=["4K7PM"])
    seeds_held: int | None = Field(description="null: some, not counted", examples=[24])
    seeds_to_sow: int | None = Field(
        description="half of it at most, unless it is dying; null: not counted",
        examples=[22],
    )
    seeds_to_hold: int | None = Field(description="null: not counted", examples=[98])
    seed_parents: ParentsAnswer
    flowers_in: int = Field(description="year the seed crop flowers if sown now", examples=[2027])
    flowers_at_earliest: bool = Field(
        description="that year is only the earliest: a perennial may take longer", examples=[False]
    )
    viability: ViabilityPoint
    recalled_share: RecalledShare
    probability_now: float = Field(
        description="of raising the seed parents, sown this season", examples=[0.88]
    )
    probability_next_season: float = Field(examples=[0.59])
    reasons: list[FindingAnswer] = Field(examples=[[REASON_EXAMPLE]])


class SeedToSaveAnswer(AnswerModel):
    """Varieties to grow for seed next, the rarest and most urgent first."""

    on: date = Field(examples=["2027-02-20"])
    items: list[SeedToSaveItem]
    remarks: list[FindingAnswer]
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])


class OutlookAnswer(AnswerModel):
    """Whether counting on can still change what to do with the lot."""

    settled: bool = Field(description="the same however the rest turn out", examples=[False])
    if_none: Verdict = Field(description="if none of the rest sprout", examples=["last-chance"])
    if_all: Verdict = Field(description="if all of the rest do", examples=["sow-as-usual"])
    why_if_none: FindingAnswer = Field(
        description="the weightiest reason for the verdict", examples=[REASON_EXAMPLE]
    )
    why_if_all: FindingAnswer = Field(examples=[REASON_EXAMPLE])


class TestOutlookAnswer(AnswerModel):
    """A test with counts added that need not be on record."""

    __test__ = False  # not a pytest class

    seeds: int = Field(examples=[25])
    judged: int = Field(examples=[18])
    replicates: list[ReplicateAnswer]
    interim: InterimAnswer
    evaluation: EvaluationAnswer | None = Field(description="once every seed is judged")
    outlook: OutlookAnswer | None = Field(description="null for a lot that nothing is left of")
    sources: list[Source]


_SHARE = {"pct": 62.0, "low_pct": 41.0, "high_pct": 78.0, "level_pct": 90.0}


class TestReadingAnswer(AnswerModel):
    """What is to be made of a finished test, beside all else that is known of its lot."""

    __test__ = False  # not a pytest class

    verdict: VerdictAnswer
    alive_without: PercentAnswer = Field(
        description="of the lot today, were this test left out", examples=[_SHARE]
    )
    alive_with: PercentAnswer = Field(examples=[_SHARE])
    comes_up_without: PercentAnswer = Field(
        description="of the seeds sown, as is usual for the kind, were this test left out",
        examples=[_SHARE],
    )
    comes_up_with: PercentAnswer = Field(examples=[_SHARE])
    density_text: FindingAnswer = Field(description="how thickly to sow it now")
    retest: RetestAnswer


class WorthOfSizeAnswer(AnswerModel):
    """What a test of one size would save, and cost in work and seed."""

    seeds: int = Field(examples=[10])
    worth_rows: float = Field(examples=[0.045])
    cost_rows: float = Field(examples=[0.022])


class BedTestAnswer(FindingAnswer):
    """The same seed in a short row or a tray: a test that gives plants too."""

    method: SowingMethod = Field(examples=["row"])
    protection: Protection = Field(examples=["open"])
    seeds: int = Field(examples=[10])
    plants: float = Field(description="expected to come up", examples=[4.1])
    told_share: float = Field(
        description="of what the towel is worth; a bed's own luck hides the rest", examples=[0.6]
    )
    state: State | None = Field(
        description="how its window stands here today; null: no climate is known",
        examples=["opens"],
    )
    opens_on: date | None = Field(description="null: open now, or not known", examples=[None])


class TestSuggestionAnswer(AnswerModel):
    """One lot to test, how many seeds, and what the answer would change."""

    __test__ = False  # not a pytest class

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    place: str = Field(description="where it lies; empty: not known", examples=["Shed shelf"])
    balance_seeds: int | None = Field(description="null: some, not counted", examples=[240])
    viability: ViabilityPoint
    seeds: int = Field(description="to test; under a third of the stock", examples=[10])
    fewest_alive_for_usual: int = Field(
        description="with so many alive it is sown at the usual rate; one more than the seeds: "
        "however many live",
        examples=[7],
    )
    probability_changes: float = Field(
        description="that the count turns how it is sown", examples=[0.41]
    )
    worth_rows: float = Field(
        description="loss saved over all lots, in usual rows of the crop, after the tests before "
        "it in the list",
        examples=[0.045],
    )
    worth_of_own_rows: float = Field(description="of that by the lot itself", examples=[0.038])
    row_plants: int = Field(description="plants of a usual row of it", examples=[40])
    teaches_lots: int = Field(
        description="other lots of whose doubt (variance) it takes a fiftieth or more",
        examples=[6],
    )
    teaches: list[str] = Field(description="codes, the most taught first", examples=[["92H6X"]])
    sizes: list[WorthOfSizeAnswer] = Field(description="sizes that the stock allows")
    bed: BedTestAnswer
    what: FindingAnswer
    reasons: list[FindingAnswer]


class TowelLeftOutAnswer(FindingAnswer):
    """A lot whose state is towel-first that isn't among those chosen, and why."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief


class TestBatchAnswer(AnswerModel):
    """Which lots to test together, the best first; each counts after those before it."""

    __test__ = False  # not a pytest class

    on: date = Field(examples=["2027-02-20"])
    evenings: int = Field(description="of ten towels each", examples=[1])
    towels: int | None = Field(description="sheets of paper; null: enough", examples=[None])
    items: list[TestSuggestionAnswer]
    worth_rows: float = Field(description="of all of them together", examples=[0.31])
    worth_of_knowing_rows: float = Field(
        description="if every lot's viability were known for sure: no tests save more",
        examples=[1.2],
    )
    lots_considered: int = Field(description="with seed enough, and no test open", examples=[48])
    left_out: list[TowelLeftOutAnswer] = Field(
        description="lots whose state is towel-first, not among those chosen"
    )
    remarks: list[FindingAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])
