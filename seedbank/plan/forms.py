"""What to ask of a saving plan, and choices pinned for it."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import ChangeForm, Form, RowId
from seedbank.plan.tables import PlanPinFields

_SITE = "Number of the site it is about; any site if left out."


class PlanPinCreate(PlanPinFields, Form):
    """A seed crop the plan must have, or must not."""

    variety_id: RowId = Field(description="Number of the variety.", examples=[1])
    site_id: RowId | None = Field(default=None, description=_SITE, examples=[1])


class PlanPinChange(PlanPinFields, ChangeForm):
    """What to change of a pin; unnamed fields stay, null makes a choice free again."""

    site_id: RowId | None = Field(description=_SITE, examples=[1])


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
