"""What lots are looked for by, and which changes of stock to undo."""

from pydantic import Field

from seedbank.common.forms import Form, Line, RowId
from seedbank.science.verdicts.verdict import Verdict


class Undoing(Form):
    """A change of stock to undo, as it was shown."""

    serial: RowId = Field(description="Number of the movement in its lot.", examples=[3])
    version: RowId | None = Field(
        default=None, description="Of the test or sowing whose seed it is.", examples=[1]
    )


class LotQuestion(Form):
    """What the lots must all be; what is left out asks nothing."""

    words: Line = Field(
        default="",
        description="Words in the variety, kind, code, donor, place or notes, or near a name.",
        examples=["purple carrot"],
    )
    place: RowId | None = Field(
        default=None, description="Number of the place it is kept in.", examples=[1]
    )
    verdict: Verdict | None = Field(
        default=None, description="What to do with it.", examples=["rescue"]
    )
