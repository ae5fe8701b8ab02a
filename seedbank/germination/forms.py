"""Forms for germination tests: opening one, a day's counts, a whole finished one."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from seedbank.common.errors import Misfit
from seedbank.common.forms import (
    WHOLE,
    ChangeForm,
    Day,
    Flag,
    Form,
    LotCode,
    Reason,
    Remark,
    confirmed,
)
from seedbank.germination.tables import ConditionFields, Counted, DueFields, Judged, SeedCounts
from seedbank.science.germination.germination import SeedClass

SetSeeds = Annotated[int, Field(strict=True, ge=1, le=10_000), WHOLE]
Number = Annotated[int, Field(strict=True, ge=1, le=100), WHOLE]


class _TestForm(ConditionFields, Form):
    lot: LotCode = Field(description="Code of the lot tested.", examples=["4K7PM"])
    confirmed: Flag = confirmed()


class TestStart(DueFields, _TestForm):
    """A test set up today or lately, its counts still to come. Its seed leaves the lot."""

    __test__ = False  # not a pytest class

    started_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-02-01"]
    )
    replicates: list[SetSeeds] = Field(
        min_length=1,
        max_length=100,
        description="Seeds set in each replicate.",
        examples=[[25, 25]],
    )


class ReplicateResult(SeedCounts, Form):
    """One replicate of a finished test, every seed of it judged."""

    seeds_set: SetSeeds = Field(description="Seeds set.", examples=[25])
    normal: Counted = Field(
        description="Normal seedlings: root and shoot whole enough to make a plant.",
        examples=[19],
    )
    dead: Counted | None = Field(  # type: ignore[assignment]  # here the rest may go unsaid
        default=None,
        description="Dead seed: soft, mouldy or rotten. Left out: all the rest.",
        examples=[3],
    )

    @property
    def unsaid(self) -> int:
        """Seeds of which nothing is said: those not dead are all judged."""
        return self.seeds_set - sum(seeds or 0 for seeds in self.by_class().values())

    @property
    def judged(self) -> Judged:
        """What was judged, all the rest as dead where nothing is said of it."""
        dead = self.unsaid if self.dead is None else self.dead
        return Judged(**(self.by_class() | {SeedClass.DEAD: dead}))

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        if self.unsaid < 0 or (self.dead is not None and self.unsaid):
            judged = self.seeds_set - self.unsaid
            raise Misfit("judged-not-as-set", judged=judged, seeds_set=self.seeds_set)
        return self


class TestRecord(_TestForm):
    """A whole finished test in one go. Its seed leaves the lot."""

    __test__ = False  # not a pytest class

    started_on: Day = Field(description="Day the seed was set.", examples=["2026-02-01"])
    finished_on: Day = Field(description="Day of the last count.", examples=["2026-02-15"])
    replicates: list[ReplicateResult] = Field(
        min_length=1,
        max_length=100,
        description="What became of each replicate.",
        examples=[[{"seeds_set": 25, "normal": 19, "abnormal": 1, "fresh": 2, "dead": 3}]],
    )


class CountRow(SeedCounts, Form):
    """Seeds of one replicate judged, and taken out, on the day of the count."""

    replicate: Number = Field(description="Number of the replicate.", examples=[1])


class CountsCreate(Form):
    """A day's count: what was judged and taken out that day, not a running total."""

    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-02-08"]
    )
    counts: list[CountRow] = Field(
        min_length=1,
        max_length=100,
        description="One row a replicate looked at.",
        examples=[[{"replicate": 1, "normal": 12, "dead": 1}]],
    )
    confirmed: Flag = confirmed()


class CountsCorrect(CountsCreate):
    """A day's count put right. The first version is kept, with the reason."""

    on_date: Day = Field(description="Day of the count to correct.", examples=["2026-02-08"])
    why: Reason = Field(description="What was wrong.", examples=["took two stubs for seedlings"])


class TestFinish(Form):
    """The end of an open test: every seed is judged, or the rest is said to be dead."""

    __test__ = False  # not a pytest class

    finished_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-02-15"]
    )
    rest_dead: Flag = Field(
        default=False,
        description="Take seeds that no count has judged as dead.",
        examples=[True],
    )


class TestChange(DueFields, ChangeForm):
    """What to change of a test's description; its counts are corrected, not changed."""

    __test__ = False  # not a pytest class


class DayCounts(CountsCreate):
    """What a day's counts come to. One saved before is put right if it differs, with the reason."""

    why: Remark = Field(
        default="",
        description="What was wrong with that day's count as it was saved before.",
        examples=["took two stubs for seedlings"],
    )
    finish: Flag = Field(default=False, description="End the test with it.", examples=[False])
    rest_dead: Flag = Field(
        default=False,
        description="Ending it, take the seeds no count has judged as dead.",
        examples=[False],
    )
