"""Answers about how thickly to sow."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import AnswerModel, CautionAnswer, PercentAnswer, Source, VarietyBrief
from seedbank.science.sowing.count_law import CountSummary
from seedbank.sowing.tables.sowings import Protection, SowingMethod

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


class BedAnswer(AnswerModel):
    """A bed sown broadcast."""

    area_m2: float = Field(examples=[0.8])
    seeds_per_m2: float = Field(examples=[150.0])
    final_spacing_cm: float = Field(examples=[10.0])


class SoilAnswer(AnswerModel):
    """Whether the soil is warm enough; cold and hot mean do not sow."""

    soil_temp_c: float | None = Field(description="°C as asked", examples=[11.0])
    verdict: str = Field(description="good, slow, cold, hot or unknown", examples=["good"])
    days_to_emergence: float | None = Field(examples=[15.0])
    text: str = Field(examples=[""])


class ByFeelAnswer(AnswerModel):
    """Against sowing by feel."""

    seeds_per_plant: float = Field(examples=[5.0])
    seeds: int = Field(description="sown by feel", examples=[200])
    seeds_saved: int = Field(description="below 0: by feel is too thin", examples=[80])
    seedlings_not_thinned: float = Field(examples=[46.0])
    seedlings_not_thinned_low: float = Field(description="90 % interval", examples=[30.0])
    seedlings_not_thinned_high: float = Field(examples=[58.0])
    basis: str = Field(examples=["median of 4 of your sowings"])


class AlternativeAnswer(AnswerModel):
    """Something else to do."""

    code: str = Field(
        description="test-first, pre-germinate, other-lot, buy or wait-for-warmth",
        examples=["test-first"],
    )
    text: str = Field(examples=["Test first: if the lot proves as alive as it looks, …"])
    seeds: int | None = Field(description="seeds that then do", examples=[70])


class SowingPlanAnswer(AnswerModel):
    """What the advice for one lot and for a whole variety share."""

    variety: VarietyBrief
    sow_on: date = Field(examples=["2027-04-10"])
    method: SowingMethod = Field(examples=["row"])
    protection: Protection = Field(examples=["open"])
    plants_wanted: int = Field(examples=[40])
    confidence_pct: float = Field(examples=[90.0])
    enough: bool = Field(description="the seed gives the plants that surely", examples=[True])
    seeds: int = Field(description="seeds to sow; 0: not yet, see soil", examples=[120])
    chance_of_enough: PercentAnswer = Field(
        description="all that isn't known is in it; the interval shows how bad or good it "
        "turns out with the seed and the seedbed",
        examples=[_CHANCE],
    )
    sure_plants: int = Field(description="plants it gives that surely", examples=[40])
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
    reasons: list[str] = Field(examples=[["About 84 % of this lot is alive (71 to 92 %)."]])
    warnings: list[str] = Field(examples=[[]])
    cautions: list[CautionAnswer]
    sources: list[Source]


class SowingAdviceAnswer(SowingPlanAnswer):
    """How thickly to sow one lot. Seeds are what is sown; a beet cluster is one seed."""

    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    grams: GramsAnswer | None
    stations: StationsAnswer | None
    cells: CellsAnswer | None
    seeds_available: int | None = Field(
        description="what may be sown of the lot; null: some, not counted", examples=[250]
    )
    kept_back: int = Field(description="reserve of a rare variety", examples=[0])
    viability: PercentAnswer = Field(description="alive on that day", examples=[_SHARE])
    reckoned: bool = Field(
        description="false for seed that can't be stored: the share alive is then a guess",
        examples=[True],
    )
    ready: PercentAnswer = Field(
        description="of the living, sprouting without treatment", examples=[_SHARE]
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
    reason: str = Field(examples=["oldest usable seed first (2021)"])


class VarietySowingAdviceAnswer(SowingPlanAnswer):
    """Which lots of a variety to sow, and how much of each: oldest usable first."""

    lots: list[LotShareAnswer]
    kept_back: int = Field(description="reserve of a rare variety left alone", examples=[0])
    lot_advice: SowingAdviceAnswer | None = Field(
        description="the whole advice where one lot does it", examples=[None]
    )
