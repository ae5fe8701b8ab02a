"""The gardener's word on what an earlier program may have made up when lots came in."""

from enum import StrEnum
from typing import Self

from pydantic import Field, model_validator

from seedbank.common.forms import Form, LotCode


class AmountIs(StrEnum):
    """What a lot holds that was booked as none."""

    SOME = "some"
    NONE = "none"


class DayIs(StrEnum):
    """Whether a lot really came on the day it was entered."""

    RIGHT = "right"
    UNKNOWN = "unknown"


class EntryDoubtsAnswered(Form):
    """One answer for some lots, or for all that are still asked about."""

    lots: list[LotCode] | None = Field(
        default=None,
        min_length=1,
        max_length=500,
        description="Codes of the lots it holds for; left out: every lot still asked about.",
        examples=[["4K7PM"]],
    )
    amount: AmountIs | None = Field(
        default=None,
        description="some: it holds some, not counted; none: it is really empty.",
        examples=["some"],
    )
    acquired_day: DayIs | None = Field(
        default=None,
        description="right: it came on that day; unknown: nobody knows when it came.",
        examples=["unknown"],
    )

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self.amount is None and self.acquired_day is None:
            raise ValueError("answer amount, or acquired_day, or both")
        return self
