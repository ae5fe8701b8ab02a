"""What lots are looked for by."""

from pydantic import Field

from seedbank.common.forms import Form, Line, RowId
from seedbank.science.verdicts.verdict import Verdict


class LotQuestion(Form):
    """What the lots must all be; what is left out asks nothing."""

    words: Line = Field(
        default="",
        description="Words, each in the variety, kind, code, donor or notes.",
        examples=["purple carrot"],
    )
    place: RowId | None = Field(
        default=None, description="Number of the place it is kept in.", examples=[1]
    )
    verdict: Verdict | None = Field(
        default=None, description="What to do with it.", examples=["rescue"]
    )
