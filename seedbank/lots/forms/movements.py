"""Forms for amounts and movements of seed."""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from seedbank.common.forms import MOST, Day, Form, Grams, Real, Remark, Seeds, SomeSeeds


class Amount(Form):
    """An amount of seed: counted (``seeds``) or weighed (``grams``), never both.

    A beet cluster or a coriander fruit counts as one seed: what is sown as one.
    """

    seeds: SomeSeeds | None = Field(default=None, description="Seeds counted.", examples=[250])
    grams: Grams | None = Field(default=None, description="Seeds weighed, g.", examples=[3.2])
    seeds_se: Annotated[Real, Field(ge=0, le=MOST)] | None = Field(
        default=None,
        description="Standard error of the count, where it was estimated by eye.",
        examples=[20.0],
    )

    @model_validator(mode="after")
    def _counted_or_weighed(self) -> Self:
        if (self.seeds is None) == (self.grams is None):
            raise ValueError("give either seeds or grams, and only one of them")
        if self.grams is not None and self.seeds_se is not None:
            raise ValueError("seeds_se goes with counted seeds; weighing has its own error")
        return self


class FirstAmount(Amount):
    """What a lot holds when it is taken in: as any amount, or ``seeds`` of 0 where none is left."""

    seeds: Seeds | None = Field(
        default=None, description="Seeds counted; 0: none is left.", examples=[250]
    )


class MovementKind(StrEnum):
    """Movements a gardener records; tests and sowings book their own seed."""

    ACQUIRED = "acquired"
    HARVESTED = "harvested"
    SOWN = "sown"
    GIVEN = "given"
    DISCARDED = "discarded"


class MovementCreate(Form):
    """Seed that came into a lot or left it."""

    reason: MovementKind = Field(
        description="acquired and harvested bring seed in; the others take it out.",
        examples=["given"],
    )
    amount: Amount = Field(description="How much.", examples=[{"seeds": 30}])
    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-03-14"]
    )
    note: Remark = Field(default="", description="To whom, why.", examples=["spring swap"])


class StockTakeCreate(Form):
    """What the lot really holds now, counted or weighed; the difference becomes a movement."""

    seeds: Seeds | None = Field(default=None, description="Seeds counted.", examples=[180])
    grams: Annotated[Real, Field(ge=0, le=1_000_000)] | None = Field(
        default=None, description="Seeds weighed, g.", examples=[2.1]
    )
    seeds_se: Annotated[Real, Field(ge=0, le=MOST)] | None = Field(
        default=None,
        description="Standard error of the count, where it was estimated by eye.",
        examples=[10.0],
    )
    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-03-14"]
    )
    note: Remark = Field(default="", description="What was found.", examples=["mice got in"])

    @model_validator(mode="after")
    def _counted_or_weighed(self) -> Self:
        if (self.seeds is None) == (self.grams is None):
            raise ValueError("give either seeds or grams, and only one of them")
        if self.grams is not None and self.seeds_se is not None:
            raise ValueError("seeds_se goes with counted seeds; weighing has its own error")
        return self
