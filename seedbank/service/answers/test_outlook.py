"""Answers about a test as it is being counted: where it stands, what it can still come to."""

from pydantic import Field

from seedbank.service.answers.base import AnswerModel, Source
from seedbank.service.answers.tests import EvaluationAnswer, InterimAnswer, ReplicateAnswer


class OutlookAnswer(AnswerModel):
    """Whether counting on can still change what to do with the lot."""

    settled: bool = Field(
        description="the same is best however the rest turn out", examples=[False]
    )
    keep_from: int | None = Field(
        description="living seeds of those set from which keeping the lot is best; null: none",
        examples=[18],
    )
    living: int = Field(description="normal, hard or fresh so far", examples=[12])
    text: str = Field(examples=["From 18 living seeds on the lot can be kept another season: …"])


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
