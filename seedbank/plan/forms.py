"""What to ask of a saving plan, and choices pinned for it."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import Flag, Form, Notes, RowId, left_alone
from seedbank.lots.tables.lots import Isolation
from seedbank.saving.forms import Season

_YEAR = "Year its seed crop flowers."
_SITE = "Number of the site it is about; any site if left out."
_WANTED = "False: not in that year, or not on that site."
_ISOLATION = "Isolated in this way; any way if left out."


class PlanPinCreate(Form):
    """A seed crop the plan must have, or must not."""

    variety_id: RowId = Field(description="Number of the variety.", examples=[1])
    year: Season = Field(description=_YEAR, examples=[2027])
    site_id: RowId | None = Field(default=None, description=_SITE, examples=[1])
    wanted: Flag = Field(default=True, description=_WANTED, examples=[True])
    isolation: Isolation | None = Field(default=None, description=_ISOLATION, examples=["cage"])
    notes: Notes = Field(default="", description="Why.", examples=["promised to a friend"])


class PlanPinChange(Form):
    """What to change of a pin; unnamed fields stay, null makes a choice free again."""

    year: Season = left_alone(_YEAR, 2028)
    site_id: RowId | None = left_alone(_SITE, 1)
    wanted: Flag = left_alone(_WANTED, False)
    isolation: Isolation | None = left_alone(_ISOLATION, "distance")
    notes: Notes = left_alone("Why.", "the bed is under water every spring")


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
