"""Form for one day's counts of an open test, whether it is the day's first saving or not."""

from pydantic import Field

from seedbank.common.forms import Flag, Remark
from seedbank.germination.forms.tests import CountsCreate


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
