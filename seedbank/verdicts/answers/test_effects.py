"""Answers about what a finished test changes: what the lot is worth, and how thickly it is sown."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, PercentAnswer
from seedbank.verdicts.answers.verdicts import VerdictAnswer
from seedbank.viability.answers import RetestAnswer

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
    density_text: str = Field(examples=["Sow it about 20 % thicker than before the test."])
    retest: RetestAnswer
