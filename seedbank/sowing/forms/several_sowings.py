"""Form for one sowing made from the seed of several lots."""

from pydantic import Field

from seedbank.common.forms import Form
from seedbank.sowing.forms.sowings import SowingCreate


class SeveralSowings(Form):
    """What was sown of each lot; recorded together or not at all."""

    sowings: list[SowingCreate] = Field(
        min_length=1,
        max_length=20,
        description="One entry a lot.",
        examples=[[{"lot": "4K7PM", "seeds_sown": 120, "method": "row"}]],
    )
