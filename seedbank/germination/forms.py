"""Forms for germination tests: opening one, a day's counts, a whole finished one."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from seedbank.common.errors import Misfit
from seedbank.common.forms import (
    WHOLE,
    Celsius,
    Day,
    Flag,
    Form,
    LotCode,
    Notes,
    Reason,
    Remark,
    confirmed,
    left_alone,
)
from seedbank.germination.tables import Pretreatment, Substratum

SetSeeds = Annotated[int, Field(strict=True, ge=1, le=10_000), WHOLE]
Counted = Annotated[int, Field(strict=True, ge=0, le=10_000), WHOLE]
Number = Annotated[int, Field(strict=True, ge=1, le=100), WHOLE]

_SUBSTRATUM = "What the seed lies on or in."
_PRETREATMENT = "What was done to break dormancy beforehand."
_TEMP = "Temperature of the test, °C."
_LIGHT = "In light, or in the dark; left out if not known."
_NORMAL = "Normal seedlings: root and shoot whole enough to make a plant."
_ABNORMAL = "Seedlings too damaged, weak or rotten to make a plant."
_HARD = "Hard seed: alive or not, it hasn't taken up water."
_FRESH = "Fresh seed: has taken up water, firm and clean, but hasn't germinated."
_DEAD = "Dead seed: soft, mouldy or rotten."


class _Conditions(Form):
    lot: LotCode = Field(description="Code of the lot tested.", examples=["4K7PM"])
    substratum: Substratum = Field(
        default=Substratum.PAPER_TOWEL, description=_SUBSTRATUM, examples=["paper-towel"]
    )
    pretreatment: Pretreatment = Field(
        default=Pretreatment.NONE, description=_PRETREATMENT, examples=["none"]
    )
    temp_c: Celsius | None = Field(default=None, description=_TEMP, examples=[21.0])
    in_light: Flag | None = Field(default=None, description=_LIGHT, examples=[False])
    notes: Notes = Field(default="", description="Anything else.", examples=["airing cupboard"])
    confirmed: Flag = confirmed()


class TestStart(_Conditions):
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
    first_count_due: Day | None = Field(
        default=None, description="Left out: proposed from the kind's method."
    )
    final_count_due: Day | None = Field(
        default=None, description="Left out: proposed from the kind's method."
    )


class ReplicateResult(Form):
    """One replicate of a finished test, every seed of it judged."""

    seeds_set: SetSeeds = Field(description="Seeds set.", examples=[25])
    normal: Counted = Field(description=_NORMAL, examples=[19])
    abnormal: Counted = Field(default=0, description=_ABNORMAL, examples=[1])
    hard: Counted = Field(default=0, description=_HARD, examples=[0])
    fresh: Counted = Field(default=0, description=_FRESH, examples=[2])
    dead: Counted | None = Field(
        default=None, description=_DEAD + " Left out: all the rest.", examples=[3]
    )

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        judged = self.normal + self.abnormal + self.hard + self.fresh + (self.dead or 0)
        if judged > self.seeds_set or (self.dead is not None and judged != self.seeds_set):
            raise Misfit("judged-not-as-set", judged=judged, seeds_set=self.seeds_set)
        return self


class TestRecord(_Conditions):
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


class CountRow(Form):
    """Seeds of one replicate judged, and taken out, on the day of the count."""

    replicate: Number = Field(description="Number of the replicate.", examples=[1])
    normal: Counted = Field(default=0, description=_NORMAL, examples=[12])
    abnormal: Counted = Field(default=0, description=_ABNORMAL, examples=[0])
    hard: Counted = Field(default=0, description=_HARD, examples=[0])
    fresh: Counted = Field(default=0, description=_FRESH, examples=[0])
    dead: Counted = Field(default=0, description=_DEAD, examples=[1])


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


class TestChange(Form):
    """What to change of a test's description; its counts are corrected, not changed."""

    __test__ = False  # not a pytest class

    substratum: Substratum = left_alone(_SUBSTRATUM, "sand")
    pretreatment: Pretreatment = left_alone(_PRETREATMENT, "prechill")
    temp_c: Celsius | None = left_alone(_TEMP, 20.0)
    in_light: Flag | None = left_alone(_LIGHT, True)
    first_count_due: Day | None = left_alone("Day of the first count.", "2026-02-08")
    final_count_due: Day | None = left_alone("Day of the final count.", "2026-02-15")
    notes: Notes = left_alone("Anything else.", "airing cupboard, then windowsill")


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
