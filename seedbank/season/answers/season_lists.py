"""Answers that are printed: the season's lists, one thing to do a line."""

from datetime import date
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import AnswerModel


class Listed(StrEnum):
    """What a list is of."""

    TEST = "test"
    SAVE = "save"
    RESCUE = "rescue"
    SOW = "sow"
    BUY = "buy"


class ListedItem(AnswerModel):
    """One line: what, from which packet and where that is, how much, and why."""

    name: str = Field(examples=["Purple Lantern (carrot)"])
    lots: list[str] = Field(description="codes", examples=[["4K7PM"]])
    place: str = Field(description="empty: not known, or several", examples=["Shed shelf"])
    what: str = Field(examples=["Sow 96 of 250 seeds"])
    reasons: list[str] = Field(examples=[["Don't wait a season."]])


class SeasonListAnswer(AnswerModel):
    """A list of the season, the most pressing first."""

    listed: Listed = Field(examples=["test"])
    on: date = Field(examples=["2027-02-20"])
    items: list[ListedItem]
    remarks: list[str] = Field(examples=[["Sowings are reckoned as made today."]])
    cautions: list[str] = Field(examples=[["Do not eat treated seed."]])
