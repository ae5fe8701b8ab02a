"""What to ask of a saving plan."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import Form

LONGEST_HORIZON = 12


class PlanAsk(Form):
    """How far a plan looks ahead, and how long its search may take."""

    horizon_years: Annotated[int, Field(ge=1, le=LONGEST_HORIZON)] = Field(
        default=6, description="Years planned, this one first.", examples=[6]
    )
    time_limit_s: Annotated[float, Field(ge=0.5, le=60)] = Field(
        default=10.0,
        description="Seconds the search may take; out of time it gives the best plan found and "
        "how much better another could be. Where a plan was kept before it may take as long "
        "again, and as long again to see what would help.",
        examples=[10.0],
    )
