"""Answers about the last changes of stock, and whether each can still be undone."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, VarietyBrief
from seedbank.lots.answers.lots import MovementAnswer


class ChangeAnswer(AnswerModel):
    """A change of stock in a list over all lots.

    ``why_not`` says why it can't be undone; where it is empty, it can. Undoing the movement of a
    test or a sowing takes back the whole of it, as it stood at ``version``; ``also`` says so.
    """

    movement: MovementAnswer
    variety: VarietyBrief
    kind_name: str = Field(examples=["Carrot"])
    test: int | None = Field(description="number of the test it was for", examples=[None])
    sowing: int | None = Field(description="number of the sowing it was for", examples=[4])
    version: int | None = Field(description="of that test or sowing", examples=[1])
    also: str = Field(examples=["Sowing 4 is taken back with what was counted of it."])
    why_not: str = Field(examples=["It is undone already."])
