"""Answers about a test as it is being counted: where it stands, what it can still come to."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, Source
from seedbank.germination.answers.tests import EvaluationAnswer, InterimAnswer, ReplicateAnswer
from seedbank.science.verdicts.verdict import Verdict


class OutlookAnswer(AnswerModel):
    """Whether counting on can still change what to do with the lot."""

    settled: bool = Field(description="the same however the rest turn out", examples=[False])
    if_none: Verdict = Field(description="if none of the rest sprout", examples=["rescue"])
    if_all: Verdict = Field(description="if all of the rest do", examples=["keep"])
    why_if_none: str = Field(
        description="the weightiest reason for the verdict",
        examples=["Another lot is the better hope (88 % against 12 %)."],
    )
    why_if_all: str = Field(examples=["It can wait."])
    fleeting: bool = Field(
        description="whether its seed can't be stored, so that it is sown or handed on",
        examples=[False],
    )


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
