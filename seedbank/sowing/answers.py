"""Answers about sowings: how thickly to sow, what to expect, what came up, how forecasts did."""

from datetime import date, datetime

from pydantic import Field

from seedbank.common.answers import (
    AnswerModel,
    CautionAnswer,
    FindingAnswer,
    PercentAnswer,
    Source,
    VarietyBrief,
)
from seedbank.emergence.tables import (
    EmergenceFields,
    LossFields,
    Protection,
    SowingFields,
    SowingMethod,
)
from seedbank.science.sowing.plant_counts import CountSummary
from seedbank.viability.answers import (
    RecalledShare,
)


class UsualSowingAnswer(AnswerModel):
    """How seed of a variety is usually sown, and how much of it is wanted."""

    variety: VarietyBrief
    lot: str = Field(description="code; empty for a variety as a whole", examples=["4K7PM"])
    plants_wanted: int = Field(
        description="at the last sowing, else each year; 0: not said", examples=[40]
    )
    method: SowingMethod = Field(description="of the last sowing, else usual", examples=["row"])
    protection: Protection = Field(examples=["open"])
    spacing_cm: float | None = Field(description="in the row, as published", examples=[5.0])
    has_reserve: bool = Field(description="kept back, as of a rare variety", examples=[False])
    treated: bool = Field(description="the seed is, with a chemical", examples=[False])
    row_m: float | None = Field(
        description="of the last sowing, where it named no plants", examples=[None]
    )


_SHARE = {"pct": 84.0, "low_pct": 71.0, "high_pct": 92.0, "level_pct": 90.0}
_CHANCE = {"pct": 90.4, "low_pct": 41.0, "high_pct": 100.0, "level_pct": 90.0}
_COUNT = {"mean": 58.0, "median": 59.0, "low": 35.0, "high": 79.0, "level_pct": 90.0}


class CountAnswer(AnswerModel):
    """A number to expect, with the interval that holds it at ``level_pct``."""

    mean: float = Field(examples=[58.0])
    median: float = Field(examples=[59.0])
    low: float = Field(examples=[35.0])
    high: float = Field(examples=[79.0])
    level_pct: float = Field(examples=[90.0])

    @classmethod
    def of(cls, counts: CountSummary) -> "CountAnswer":
        """From the science of counts."""
        return cls(
            mean=round(counts.mean, 1),
            median=counts.median,
            low=counts.range.low,
            high=counts.range.high,
            level_pct=100.0 * counts.range.level,
        )


class GramsAnswer(AnswerModel):
    """Weight of the seed to sow, and the interval its thousand-seed weight leaves."""

    grams: float = Field(description="g", examples=[0.2])
    low_g: float = Field(examples=[0.15])
    high_g: float = Field(examples=[0.25])
    level_pct: float = Field(examples=[90.0])
    measured: bool = Field(description="by this lot's own weight", examples=[False])


class RowAnswer(AnswerModel):
    """A row sown thickly and thinned to the final spacing."""

    row_m: float = Field(description="length of row, m", examples=[2.0])
    seeds_per_m: float = Field(examples=[60.0])
    cm_between_seeds: float = Field(description="one seed every so many cm", examples=[1.7])
    final_spacing_cm: float = Field(examples=[5.0])


class StationsAnswer(AnswerModel):
    """Stations thinned to one plant each."""

    stations: int = Field(examples=[20])
    seeds_per_station: int = Field(examples=[3])
    filled_wanted_pct: float = Field(description="share of stations aimed at", examples=[95.0])
    station_filled: PercentAnswer = Field(
        description="chance that a station has a plant, and what it may be", examples=[_SHARE]
    )
    filled_low: int = Field(description="stations filled, 90 % interval", examples=[18])
    filled_high: int = Field(examples=[20])
    spacing_cm: float = Field(examples=[30.0])
    row_m: float = Field(examples=[6.0])


class CellsAnswer(AnswerModel):
    """Module cells thinned to one plant each."""

    cells: int = Field(examples=[48])
    seeds_per_cell: int = Field(examples=[1])
    cell_filled: PercentAnswer = Field(
        description="chance that a cell has a plant, and what it may be", examples=[_SHARE]
    )
    final_spacing_cm: float = Field(description="when planted out", examples=[30.0])


class SeveralAnswer(FindingAnswer):
    """Cells of several plants each, never thinned and planted out whole."""

    cells: int = Field(examples=[15])
    seeds_per_cell: int = Field(examples=[5])
    seeds: int = Field(description="in all", examples=[75])
    plants_a_cell: int = Field(description="meant to stand together", examples=[4])
    likely_plants: float = Field(description="in a cell, on the mean", examples=[4.1])
    empty_pct: float = Field(description="chance that a cell stays empty", examples=[0.2])
    asked: bool = Field(description="asked for; else the kind may be sown so", examples=[False])


class BedAnswer(AnswerModel):
    """A bed sown broadcast."""

    area_m2: float = Field(examples=[0.8])
    seeds_per_m2: float = Field(examples=[150.0])
    final_spacing_cm: float = Field(examples=[10.0])


class SoilAnswer(FindingAnswer):
    """Whether the soil is warm enough; cold and hot mean do not sow."""

    soil_temp_c: float | None = Field(description="°C as asked", examples=[11.0])
    verdict: str = Field(description="good, slow, cold, hot or unknown", examples=["good"])
    days_to_emergence: float | None = Field(examples=[15.0])


class ByFeelAnswer(AnswerModel):
    """Against sowing by feel."""

    seeds_per_plant: float = Field(examples=[5.0])
    seeds: int = Field(description="sown by feel", examples=[200])
    seeds_saved: int = Field(description="below 0: by feel is too thin", examples=[80])
    seedlings_not_thinned: float = Field(examples=[46.0])
    seedlings_not_thinned_low: float = Field(description="90 % interval", examples=[30.0])
    seedlings_not_thinned_high: float = Field(examples=[58.0])
    basis: FindingAnswer = Field(description="what the thickness by feel is taken from")


class AlternativeAnswer(FindingAnswer):
    """Something else to do: test-first, two-halves, pre-germinate, other-lot, buy or
    wait-for-warmth."""

    seeds: int | None = Field(description="seeds to test", examples=[10])


class PlanBAnswer(FindingAnswer):
    """When to sow the gaps again, and how thickly."""

    below_plants: int = Field(
        description="fewer than so many: plants a spacing apart, stations or cells filled",
        examples=[34],
    )
    count_on: date | None = Field(
        description="day to count; null: days to emergence aren't known", examples=["2027-05-03"]
    )
    last_on: date | None = Field(
        description="last sensible day to sow again; null: not known", examples=["2027-07-15"]
    )
    rate: float = Field(description="as thickly as, in the unit of the rate", examples=[105.0])
    chance_pct: float = Field(description="chance that it comes to that", examples=[20.0])


class HandAnswer(AnswerModel):
    """A row's rate in a person's measures."""

    span_cm: float = Field(description="a spread hand", examples=[20.0])
    usual_a_span: float = Field(description="seeds of a good lot", examples=[21.0])
    seeds_a_span: float = Field(description="seeds of this lot", examples=[35.0])
    pinch_seeds: int | None = Field(
        description="fine seed goes by pinches of so many; null: set one by one", examples=[8]
    )
    pinch_every_cm: int | None = Field(examples=[5])
    spots: int = Field(description="of a span each, where the row is counted", examples=[5])
    spots_below: int | None = Field(
        description="fewer plants than so many at all spots: sow the gaps again; null: count the "
        "whole row, or no plan b",
        examples=[17],
    )


class RateAnswer(AnswerModel):
    """How thickly: what is usual, what this lot changes, how sure, plan B, what to say of it."""

    unit: str = Field(
        description="seeds a metre, station, cell or m2; rows at the final spacing",
        examples=["metre"],
    )
    usual_low: float = Field(description="printed, or see usual", examples=[49.0])
    usual_high: float = Field(examples=[157.0])
    good_lot: float = Field(description="least costly of a lot 80 to 96 % alive", examples=[106.0])
    usual_rate: float = Field(description="of a good lot, held to the usual range", examples=[106])
    usual_most: float = Field(
        description="to which it is sown as usual: at stations and in cells the most printed, else "
        "usual_rate",
        examples=[106],
    )
    thickness: float = Field(description="advised beside usual_most", examples=[1.42])
    step: str = Field(
        description="the same in words: usual, little, half, nearly-twice or twice as thick",
        examples=["half"],
    )
    sign: FindingAnswer = Field(description="the answer in nine words at most")
    times: float = Field(description="this lot beside a good one", examples=[1.8])
    advised: float = Field(examples=[150.0])
    most: float = Field(description="what practice allows", examples=[175.0])
    capped: bool = Field(description="more would be asked than practice allows", examples=[False])
    say: FindingAnswer = Field(
        description="rate- and sow, sow-and-plan-again, test-first-or-fresh or not-worth-the-bed"
    )
    usual: FindingAnswer
    why: FindingAnswer
    sure: FindingAnswer
    good_first_pct: float = Field(
        description="chance of a good crop, 80 % of a full one, from the first sowing; outright "
        "failure is in it",
        examples=[85.0],
    )
    good_end_pct: float = Field(description="the same with plan B", examples=[97.0])
    cost_plants: float = Field(
        description="expected cost in plants: missing, thinned, seed, a second sowing",
        examples=[4.7],
    )
    plan_b: PlanBAnswer | None = Field(description="null: nothing to gain, no seed or too late")
    hand: HandAnswer | None = Field(description="null: not in a row")


class SowingPlanAnswer(AnswerModel):
    """What the advice for one lot and for a whole variety share."""

    variety: VarietyBrief
    sow_on: date = Field(examples=["2027-04-10"])
    method: SowingMethod = Field(examples=["row"])
    protection: Protection = Field(examples=["open"])
    plants_wanted: int = Field(examples=[40])
    out_of_season: FindingAnswer | None = Field(
        description="too early or too late there on that day, and what else; null: in time, or "
        "the garden's monthly temperatures aren't known",
        examples=[None],
    )
    confidence_pct: float | None = Field(
        description="as asked; null: the rate that costs least", examples=[None]
    )
    rate: RateAnswer
    enough: bool = Field(
        description="a good crop in the end is likely (8 in 10); with a confidence asked: the seed "
        "gives the plants that surely from one sowing",
        examples=[True],
    )
    enough_if_there: bool = Field(
        description="it does if as many seeds as are advised are there: otherwise than enough only "
        "where nobody has counted them",
        examples=[True],
    )
    seeds: int = Field(description="seeds to sow; 0: not yet, see soil", examples=[120])
    chance_of_enough: PercentAnswer = Field(
        description="all that isn't known is in it; the interval shows how bad or good it "
        "turns out with the seed and the seedbed",
        examples=[_CHANCE],
    )
    sure_plants: int = Field(
        description="plants one sowing gives that surely, 9 in 10 if not asked", examples=[40]
    )
    plants: CountAnswer = Field(
        description="seeds that come up and are not eaten", examples=[_COUNT]
    )
    seedlings: CountAnswer = Field(
        description="a cluster gives several; otherwise as plants", examples=[_COUNT]
    )
    to_thin: CountAnswer = Field(description="seedlings over the plants wanted", examples=[_COUNT])
    depth_cm: float | None = Field(description="sowing depth", examples=[1.3])
    between_rows_cm: float | None = Field(examples=[30.0])
    row: RowAnswer | None
    bed: BedAnswer | None
    soil: SoilAnswer
    reasons: list[FindingAnswer]
    warnings: list[FindingAnswer]
    cautions: list[CautionAnswer]
    sources: list[Source]


class SowingAdviceAnswer(SowingPlanAnswer):
    """How thickly to sow one lot. Seeds are what is sown; a beet cluster is one seed."""

    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    grams: GramsAnswer | None
    stations: StationsAnswer | None
    cells: CellsAnswer | None
    several: SeveralAnswer | None = Field(
        description="several plants to a cell: in place of cells where it was asked for; null: not "
        "in cells, or the kind isn't sown so"
    )
    successions: FindingAnswer | None = Field(description="null: one sowing was asked for")
    seeds_available: int | None = Field(
        description="what may be sown of the lot; null: some, not counted", examples=[250]
    )
    chance_it_is_there: float = Field(
        description="chance that the lot holds the seeds advised: under 1 where it is not counted, "
        "which is in ``chance_of_enough`` and ``enough``",
        examples=[1.0],
    )
    kept_back: int = Field(description="reserve of a rare variety", examples=[0])
    viability: PercentAnswer = Field(description="alive on that day", examples=[_SHARE])
    reckoned: bool = Field(
        description="false for seed that can't be stored: the share alive is then a guess",
        examples=[True],
    )
    recalled_share: RecalledShare
    ready: PercentAnswer = Field(
        description="of the living, awake when sown and not treated", examples=[_SHARE]
    )
    emergence: PercentAnswer = Field(
        description="chance that a seed comes up and is not eaten, and what it may be",
        examples=[_SHARE],
    )
    seedlings_per_seed: float = Field(description="of a seed that comes up", examples=[1.0])
    by_feel: ByFeelAnswer | None = Field(description="null when the lot can't give enough")
    alternatives: list[AlternativeAnswer]


class LotShareAnswer(AnswerModel):
    """What to sow of one lot."""

    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    seeds: int = Field(description="0: leave it alone", examples=[90])
    held: int | None = Field(
        description="what the lot holds; null: some, not counted", examples=[250]
    )
    viability: PercentAnswer = Field(examples=[_SHARE])
    reckoned: bool = Field(
        description="false for seed that can't be stored: the share alive is then a guess",
        examples=[True],
    )
    reason: FindingAnswer


class VarietySowingAdviceAnswer(SowingPlanAnswer):
    """Which lots of a variety to sow, and how much of each: oldest usable first."""

    lots: list[LotShareAnswer]
    kept_back: int = Field(description="reserve of a rare variety left alone", examples=[0])
    lot_advice: SowingAdviceAnswer | None = Field(
        description="the whole advice where one lot does it", examples=[None]
    )


class SowingForecastAnswer(AnswerModel):
    """Seeds to come up, told without what this very sowing showed."""

    seeds: int = Field(description="sown, less those lost in the soil", examples=[111])
    expected: float = Field(examples=[66.0])
    low: float = Field(description="90 % interval", examples=[38.0])
    high: float = Field(examples=[88.0])
    first_on: date | None = Field(
        description="day the first are expected; null: the soil's warmth isn't known",
        examples=["2027-04-25"],
    )
    basis: FindingAnswer = Field(description="what it is told from")


class EmergenceAnswer(EmergenceFields, AnswerModel):
    """Seeds come up by a day, a running total."""

    on_date: date = Field(examples=["2026-04-16"])
    recorded_at: datetime = Field(examples=["2026-04-16T18:00:00Z"])


class LossAnswer(LossFields, AnswerModel):
    """Seeds or seedlings lost to one cause."""

    on_date: date = Field(examples=["2026-04-20"])
    recorded_at: datetime = Field(examples=["2026-04-20T18:00:00Z"])


class SowingSummary(SowingFields, AnswerModel):
    """A sowing in a list."""

    id: int = Field(examples=[1])
    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    variety: VarietyBrief
    sown_on: date = Field(examples=["2026-04-02"])
    seeds_sown: int = Field(examples=[120])
    finished_on: date | None = Field(description="null while more may come", examples=[None])
    units_emerged: int | None = Field(description="last total; null before any", examples=[71])
    version: int = Field(examples=[1])


class SowingAnswer(SowingSummary):
    """A sowing with its counts and losses."""

    emergence: list[EmergenceAnswer]
    losses: list[LossAnswer]
    emerged: PercentAnswer | None = Field(
        description="of the seeds sown, less those lost in the soil, as if each "
        "came up or not by itself; null before any count"
    )
    warnings: list[FindingAnswer] = Field(examples=[[]])
    cautions: list[CautionAnswer]
    sources: list[Source]
