"""Answers about what may cross with a seed crop."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, ReasonAnswer, Source, VarietyBrief
from seedbank.lots.tables.lots import Isolation, Purity
from seedbank.saving.answers.sites import SiteBrief
from seedbank.science.crossing.crossing_risk import Likelihood, Purpose, Relation
from seedbank.science.crossing.crossing_stands import StandIs

_SOURCE = {"text": "seed-saving handbooks; not re-read", "confidence": "memory"}
_CAUTION = {
    "code": "cage-lets-wind-through",
    "text": "The wind carries its pollen through a cage's netting: a cage does not isolate it.",
    "numbers": {},
}


class MendAnswer(AnswerModel):
    """Something that would end one risk."""

    code: str = Field(examples=["stop-flowering"])
    text: str = Field(examples=["Cut or pull Rainrib (chard) before 9 Jun."])
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
    flowers: str = Field(description="empty: not known", examples=["9 Jun to 24 Jul"])
    overlap: str = Field(description="days both flower", examples=["15 Jun to 24 Jul"])
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
    flowers: str = Field(examples=["15 Jun to 15 Sep"])
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
        description="the kind has no figure; usual for its mating", examples=[False]
    )
    flowers: str = Field(description="empty: not known", examples=["10 Jun to 20 Jul"])
    purity: Purity = Field(description="standing of the seed it would give", examples=["risk"])
    purity_note: str = Field(examples=["Risk of crossing with Rainrib (chard) (likely; 0 m, …)."])
    likelihood: Likelihood = Field(description="of the worst", examples=["likely"])
    isolated_by: list[Isolation] = Field(examples=[[]])
    may_cross: list[ExposureAnswer] = Field(description="the worst first")
    look_for: list[RelativeAnswer] = Field(
        description="relatives that nobody has noted for that year"
    )
    cautions: list[ReasonAnswer] = Field(examples=[[_CAUTION]])
    sources: list[Source] = Field(examples=[[_SOURCE]])
