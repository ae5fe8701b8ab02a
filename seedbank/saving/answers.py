"""Answers about saving seed: crossing, flowering, seed crops and parents, lines, sites and gear."""

from datetime import date
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import AnswerModel, FindingAnswer, Source, VarietyBrief
from seedbank.lots.answers import LotAnswer
from seedbank.lots.tables.lots import Isolation, Purity
from seedbank.saving.tables import (
    FloweringFields,
    GearFields,
    GearKind,
    GrownCropFields,
    LimitsFields,
    SiteFields,
    WindowFields,
)
from seedbank.science.crossing.crossing_risk import Likelihood, Purpose, Relation
from seedbank.science.crossing.crossing_stands import StandIs


class SiteBrief(AnswerModel):
    """A site, in short."""

    id: int = Field(examples=[1])
    name: str = Field(examples=["Long garden"])


class SiteDistanceAnswer(AnswerModel):
    """How far another site is."""

    site: SiteBrief
    metres: float = Field(examples=[640.0])


class SiteAnswer(SiteFields, SiteBrief):
    """A site, with the distances known from it."""

    distances: list[SiteDistanceAnswer]
    version: int = Field(examples=[1])


class DistancesAnswer(AnswerModel):
    """The sites whose distance from one site is known, by name."""

    items: list[SiteDistanceAnswer]


class GearBrief(AnswerModel):
    """Isolation gear, in short."""

    id: int = Field(examples=[1])
    name: str = Field(examples=["Gauze cages"])
    gear: GearKind = Field(examples=["cage"])


class GearAnswer(GearFields, GearBrief):
    """Isolation gear: how much there is."""

    version: int = Field(examples=[1])


class LimitsAnswer(LimitsFields, AnswerModel):
    """What a season's work allows."""

    version: int = Field(examples=[1])


_KINDS = ["beet", "chard"]


class CrossingGroupAnswer(AnswerModel):
    """Varieties that cross freely: of them one a year comes true in the open at one site."""

    group: str = Field(examples=["beta-vulgaris"])
    kinds: list[str] = Field(description="slugs of their kinds", examples=[_KINDS])
    varieties: list[VarietyBrief]
    isolation_home_m: float | None = Field(description="null: no figure", examples=[500.0])
    isolation_strict_m: float | None = Field(examples=[1000.0])


class PartlyCrossingAnswer(AnswerModel):
    """A variety of another species whose pollen can take."""

    variety: VarietyBrief
    how: str = Field(description="how readily", examples=["rarely"])


class AlongsideAnswer(AnswerModel):
    """What of the collection crosses with a variety; everything else can be saved beside it."""

    variety: VarietyBrief
    crosses: list[VarietyBrief] = Field(description="of its own crossing group")
    partly: list[PartlyCrossingAnswer]
    others: int = Field(description="varieties with seed that don't cross with it", examples=[47])
    isolation_home_m: float | None = Field(examples=[500.0])
    isolation_strict_m: float | None = Field(examples=[1000.0])
    sources: list[Source]


_SOURCE = {"text": "seed-saving handbooks; not re-read", "confidence": "memory"}
_CAUTION = {
    "code": "cage-lets-wind-through",
    "text": "The wind carries its pollen through a cage's netting: a cage does not isolate it.",
    "numbers": {},
}


class MendAnswer(FindingAnswer):
    """Something that would end one risk."""

    before_day: int | None = Field(
        description="day of the year before which it must be done; null: no cutting, or nobody "
        "knows when either flowers",
        examples=[160],
    )


class ExposureAnswer(AnswerModel):
    """Plants that could cross with the seed crop, and what comes of it."""

    name: str = Field(examples=["Rainrib (chard)"])
    what: StandIs = Field(examples=["left-to-run"])
    kind: str = Field(description="slug of the kind", examples=["chard"])
    relation: Relation = Field(
        description="same: its own species; else how readily they cross", examples=["same"]
    )
    distance_m: float | None = Field(
        description="at least so far; null: not known, taken as side by side", examples=[0.0]
    )
    required_m: float = Field(examples=[1000.0])
    flowers: FindingAnswer | None = Field(description="null: not known")
    overlap: FindingAnswer | None = Field(description="days both flower; null: none, or unknown")
    overlap_days: int = Field(examples=[40])
    isolated_by: list[Isolation] = Field(description="empty: nothing", examples=[[]])
    likelihood: Likelihood = Field(examples=["likely"])
    risk_index: float = Field(
        description="puts risks in order, 0..1; not a share of crossed seed", examples=[0.8]
    )
    mends: list[MendAnswer]


class RelativeAnswer(AnswerModel):
    """A wild plant or field crop of the same species: look whether it grows within reach."""

    name: str = Field(examples=["sea beet"])
    botanical: str = Field(examples=["Beta vulgaris subsp. maritima"])
    grows: str = Field(description="wild, field or garden", examples=["wild"])
    flowers: FindingAnswer
    note: str = Field(examples=["coasts"])
    source: Source = Field(examples=[_SOURCE])


class CrossingAnswer(AnswerModel):
    """Who may cross with a seed crop at a site in a year, and what keeps it true."""

    variety: VarietyBrief
    site: SiteBrief
    year: int = Field(examples=[2027])
    purpose: Purpose = Field(examples=["keep"])
    isolation: Isolation = Field(description="as asked about", examples=["unknown"])
    required_m: float = Field(description="distance the purpose asks", examples=[1000.0])
    required_is_assumed: bool = Field(
        description="the kind has no figure; the most that is usual for its mating",
        examples=[False],
    )
    flowers: FindingAnswer | None = Field(description="null: not known")
    purity: Purity = Field(description="standing of the seed it would give", examples=["risk"])
    purity_note: FindingAnswer
    likelihood: Likelihood = Field(description="of the worst", examples=["likely"])
    isolated_by: list[Isolation] = Field(examples=[[]])
    may_cross: list[ExposureAnswer] = Field(description="the worst first")
    look_for: list[RelativeAnswer] = Field(
        description="relatives that nobody has noted for that year"
    )
    cautions: list[FindingAnswer] = Field(examples=[[_CAUTION]])
    sources: list[Source] = Field(examples=[[_SOURCE]])


_WINDOW_SOURCE = {"text": "my notebook, four summers", "confidence": "own"}


class WindowAnswer(WindowFields, FindingAnswer):
    """When a kind flowers, in days of the year; from_day over to_day spans New Year."""

    kind: str = Field(description="slug of the kind", examples=["chard"])
    site: SiteBrief | None = Field(description="null: everywhere", examples=[None])
    stated_by_you: bool = Field(examples=[True])
    note: str = Field(description="what to know before using it", examples=[""])
    source: Source = Field(examples=[_WINDOW_SOURCE])
    version: int = Field(description="of the kind", examples=[1])


class FloweringAnswer(FloweringFields, AnswerModel):
    """Plants that flower in a year, wanted or not."""

    id: int = Field(examples=[1])
    site: SiteBrief
    kind: str = Field(description="slug of the kind", examples=["chard"])
    variety: VarietyBrief | None
    version: int = Field(examples=[1])


_DRIFT_SOURCE = {"text": "seed-saving handbooks; not re-read", "confidence": "memory"}
_REASON = {
    "code": "too-few-parents",
    "text": "It was saved from 12 plants; 60 are asked to maintain the kind.",
    "numbers": {"parents": 12.0, "parents_to_maintain": 60.0},
}


class LossShareAnswer(AnswerModel):
    """A share of plants reckoned as lost."""

    what: str = Field(examples=["over winter"])
    share: float = Field(description="mean, 0..1", examples=[0.15])


class ParentsYearAnswer(AnswerModel):
    """What the lot can do if it is sown in one year, and left till then where it is."""

    sow_year: int = Field(examples=[2027])
    flower_year: int = Field(examples=[2028])
    chance: float = Field(description="of the parents, sowing all the lot holds", examples=[0.94])
    seeds: int | None = Field(
        description="fewest that give them with the confidence asked; null: not even all do",
        examples=[118],
    )
    enough: bool = Field(examples=[True])


class SeedParentsAnswer(AnswerModel):
    """How many to sow and raise so that enough seed parents are left."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    purpose: Purpose = Field(examples=["keep"])
    purity: Purity = Field(description="of this lot", examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])
    seeds_held: int | None = Field(description="null: some, not counted", examples=[250])
    parents: int = Field(description="plants to take seed from", examples=[60])
    parents_are_assumed: bool = Field(description="the kind has no figure", examples=[False])
    confidence: float = Field(examples=[0.9])
    seeds: int = Field(description="to sow this year; all there is if not enough", examples=[118])
    enough: bool = Field(description="whether the lot holds enough", examples=[True])
    plants: int = Field(description="young plants to have standing", examples=[83])
    chance: float = Field(description="of the parents from those seeds", examples=[0.901])
    sure_parents: int = Field(description="that those seeds give surely enough", examples=[60])
    likely_parents: list[float] = Field(
        description="lowest and highest of the middle half", examples=[[63.0, 76.0]]
    )
    losses: list[LossShareAnswer] = Field(examples=[[{"what": "over winter", "share": 0.15}]])
    years: list[ParentsYearAnswer] = Field(description="sown this year, and next")
    sources: list[Source] = Field(examples=[[_DRIFT_SOURCE]])


class PedigreeStep(AnswerModel):
    """One lot of the line."""

    lot: str = Field(examples=["4K7PM"])
    parents: list[str] = Field(description="lots it was grown from; none: a founder", examples=[[]])
    seed_parents: int | None = Field(description="plants; null: not counted", examples=[24])
    effective_parents: float | None = Field(
        description="plants that would drift as much, mating evenly", examples=[24.0]
    )
    kept: float = Field(description="share of the founders' diversity, 0..1", examples=[0.979])


class DriftAnswer(AnswerModel):
    """How much of its founders' diversity a lot's line has kept."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    purity: Purity = Field(examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])
    generations: float = Field(description="since the founders, on average", examples=[3.0])
    effective_number: float | None = Field(
        description="plants a generation that would have lost as much; null: nothing was lost",
        examples=[21.4],
    )
    kept: float = Field(description="share of diversity still there, 0..1", examples=[0.93])
    inbreeding: float = Field(description="what is gone, 0..1", examples=[0.07])
    uncounted_generations: float = Field(
        description="generations whose parents weren't counted: kept is then a ceiling",
        examples=[0.0],
    )
    parents_asked: int | None = Field(description="to maintain the kind", examples=[60])
    line: list[PedigreeStep] = Field(description="founders first")
    cautions: list[FindingAnswer] = Field(examples=[[_REASON]])
    sources: list[Source] = Field(examples=[[_DRIFT_SOURCE]])


class StepAnswer(FindingAnswer):
    """What comes next of a seed crop."""

    due: date | None = Field(description="null: no set day", examples=["2027-04-06"])
    pressing: bool = Field(description="late, or something only this year allows", examples=[True])


class Stage(StrEnum):
    """How far a seed crop has come."""

    PLANNED = "planned"
    SOWN = "sown"
    HARVESTED = "harvested"
    FAILED = "failed"


class SeedCropAnswer(GrownCropFields, AnswerModel):
    """A variety grown for seed, from seed parents to the new lot."""

    id: int = Field(examples=[1])
    variety: VarietyBrief
    lot: str | None = Field(description="code of the lot sown", examples=["4K7PM"])
    site: SiteBrief
    stage: Stage = Field(examples=["sown"])
    flower_year: int = Field(examples=[2027])
    gear: GearBrief | None
    planned_on: date = Field(examples=["2026-02-10"])
    sown_on: date | None = Field(examples=["2026-06-20"])
    sowing_id: int | None = Field(description="the sowing that took its seed", examples=[1])
    harvested_on: date | None = Field(examples=[None])
    failed_on: date | None = Field(examples=[None])
    why_failed: str = Field(examples=[""])
    result_lot: str | None = Field(description="code of the lot harvested", examples=[None])
    warnings: list[FindingAnswer] = Field(examples=[[]])
    version: int = Field(examples=[1])


class HarvestAnswer(AnswerModel):
    """A seed crop harvested, and the lot that came of it."""

    seed_crop: SeedCropAnswer
    lot: LotAnswer
