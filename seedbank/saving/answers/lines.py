"""Answers about seed parents to raise, and what a lot's line has lost."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, ReasonAnswer, Source, VarietyBrief
from seedbank.lots.tables.lots import Purity
from seedbank.science.crossing.crossing_risk import Purpose

_SOURCE = {"text": "seed-saving handbooks; not re-read", "confidence": "memory"}
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
    sources: list[Source] = Field(examples=[[_SOURCE]])


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
    cautions: list[ReasonAnswer] = Field(examples=[[_REASON]])
    sources: list[Source] = Field(examples=[[_SOURCE]])
