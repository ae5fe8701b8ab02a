"""Forms for what flowers, and for when a kind flowers."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from seedbank.common.forms import WHOLE, Day, Form, Notes, Reason, RowId, left_alone
from seedbank.kinds.forms.kinds import Slug
from seedbank.saving.forms.sites import Distance
from seedbank.science.crossing.crossing_stands import StandIs

Season = Annotated[int, Field(strict=True, ge=1900, le=2199), WHOLE]
DayOfYear = Annotated[int, Field(strict=True, ge=1, le=366), WHOLE]

_YEAR = "Year it flowers."
_SITE = "Number of the site it stands on, or is measured from."
_KIND = "Slug of its kind; taken from the variety where that is given."
_VARIETY = "Number of its variety, if it is one of yours."
_WHAT = "A seed crop, left to run to seed, self-sown, a neighbour's, or wild."
_DISTANCE = "Metres from the site to a neighbour's or wild plants; unknown if left out."
_FROM = "First open flower; the kind's usual day if left out."
_TO = "Last open flower; the kind's usual day if left out."
_STOPPED = "Day it was cut down or pulled; before the first flower it can cross with nothing."


class FloweringCreate(Form):
    """Plants that flower in a year, wanted or not."""

    year: Season = Field(description=_YEAR, examples=[2027])
    site_id: RowId = Field(description=_SITE, examples=[1])
    kind: Slug | None = Field(default=None, description=_KIND, examples=["chard"])
    variety_id: RowId | None = Field(default=None, description=_VARIETY, examples=[1])
    what: StandIs = Field(description=_WHAT, examples=["left-to-run"])
    distance_m: Distance | None = Field(default=None, description=_DISTANCE, examples=[300.0])
    from_date: Day | None = Field(default=None, description=_FROM, examples=["2027-06-10"])
    to_date: Day | None = Field(default=None, description=_TO, examples=["2027-07-20"])
    stopped_on: Day | None = Field(default=None, description=_STOPPED, examples=["2027-02-28"])
    notes: Notes = Field(default="", description="Anything else.", examples=["two plants"])

    @model_validator(mode="after")
    def _names_something(self) -> Self:
        if self.kind is None and self.variety_id is None:
            raise ValueError("name a kind, or a variety_id")
        return self


class FloweringChange(Form):
    """What to change of it; unnamed fields stay, null makes a value unknown again."""

    year: Season = left_alone(_YEAR, 2027)
    site_id: RowId = left_alone(_SITE, 1)
    what: StandIs = left_alone(_WHAT, "self-sown")
    distance_m: Distance | None = left_alone(_DISTANCE, 250.0)
    from_date: Day | None = left_alone(_FROM, "2027-06-14")
    to_date: Day | None = left_alone(_TO, "2027-07-16")
    stopped_on: Day | None = left_alone(_STOPPED, "2027-02-28")
    notes: Notes = left_alone("Anything else.", "pulled up")


class WindowStated(Form):
    """When a kind flowers with you, which goes before the packaged window.

    Days of the year, 1 January being 1; from_day over to_day spans New Year.
    """

    from_day: DayOfYear = Field(description="First day in flower.", examples=[160])
    to_day: DayOfYear = Field(description="Last day in flower.", examples=[205])
    source: Reason = Field(
        description="Where the days come from.", examples=["my notebook, four summers"]
    )
