"""What is told of a climate."""

from typing import Annotated

from pydantic import Field

from seedbank.climate.tables import ClimateFields, Hemisphere
from seedbank.common.forms import Day, Form, Line


class ClimateStated(ClimateFields, Form):
    """A climate in place of what was told before; what is left out is not known."""


class ReadingsSent(Form):
    """Daily readings as CSV with a heading."""

    csv: Annotated[str, Field(max_length=2_000_000)] = Field(
        description="Columns date and mean_c, or min_c and max_c; min_c tells of frost; soil_c "
        "with soil_depth_cm (5 if left out) tells how warm your soil is.",
        examples=["date,min_c,max_c\n2026-04-01,2.0,11.5\n2026-04-02,-0.5,12.0\n"],
    )
    source: Line = Field(default="", description="Whose readings.", examples=["shed thermometer"])


class ClimateTyped(Form):
    """A climate as one types it: twelve numbers in a line, frosts as days of any year."""

    months: Line = ""
    last_frost: Day | None = None
    first_frost: Day | None = None
    hemisphere: Hemisphere | None = None
    source: Line = ""
