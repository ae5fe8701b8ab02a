"""Forms for choices pinned for the plan."""

from pydantic import Field

from seedbank.common.forms import Flag, Form, Notes, RowId, left_alone
from seedbank.lots.tables.lots import Isolation
from seedbank.saving.forms.flowerings import Season

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
