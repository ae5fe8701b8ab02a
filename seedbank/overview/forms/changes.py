"""Forms for undoing changes of stock."""

from pydantic import Field

from seedbank.common.forms import Form, RowId


class Undoing(Form):
    """A change of stock to undo, as it was shown."""

    serial: RowId = Field(description="Number of the movement in its lot.", examples=[3])
    version: RowId | None = Field(
        default=None, description="Of the test or sowing whose seed it is.", examples=[1]
    )
