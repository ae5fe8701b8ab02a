"""What became of a passport that was taken in."""

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.lots.answers.lots import LotAnswer


class PassportTakenIn(AnswerModel):
    """The lot made from a passport."""

    lot: LotAnswer
    already: bool = Field(
        description="this very passport was taken in before, and nothing was booked again",
        examples=[False],
    )
    tests: int = Field(description="tests that came with it", examples=[2])
    stays: int = Field(description="stays that came with it", examples=[3])
    said: list[str] = Field(
        description="what to know about it",
        examples=[["Put it away: until a place is given, its store counts as not known."]],
    )
