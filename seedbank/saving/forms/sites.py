"""Forms for the sites seed crops are grown on."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import Form, Name, Notes, Real, left_alone

SquareMetres = Annotated[Real, Field(ge=0, le=1_000_000)]
Distance = Annotated[Real, Field(ge=0, le=100_000)]

_BED = "Bed that may be given to seed crops there, m²; unknown if left out."


class SiteCreate(Form):
    """Ground plants flower on: a garden, an allotment, a borrowed corner."""

    name: Name = Field(description="Its name.", examples=["Long garden"])
    seed_bed_m2: SquareMetres | None = Field(default=None, description=_BED, examples=[12.0])
    notes: Notes = Field(default="", description="Anything else.", examples=["hedged all round"])


class SiteChange(Form):
    """What to change of a site; unnamed fields stay, null makes a value unknown again."""

    name: Name = left_alone("Its name.", "Long garden")
    seed_bed_m2: SquareMetres | None = left_alone(_BED, 9.0)
    notes: Notes = left_alone("Anything else.", "hedge cut down in 2026")


class DistanceStated(Form):
    """How far another site is, as pollen goes."""

    metres: Distance = Field(description="Metres.", examples=[640.0])
