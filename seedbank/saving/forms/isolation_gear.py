"""Forms for isolation gear, and for what a season's work allows."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import WHOLE, Form, Name, Notes, Real, left_alone
from seedbank.saving.tables.isolation_gear import GearKind

Pieces = Annotated[int, Field(strict=True, ge=1, le=10_000), WHOLE]
Cover = Annotated[Real, Field(gt=0, le=10_000)]
Crops = Annotated[int, Field(strict=True, ge=0, le=10_000), WHOLE]

_GEAR = "A cage over whole plants, bags over single trusses or heads, or a net."
_PIECES = "How many there are, all alike."
_COVER = "What one of them covers, m²; unknown if left out."
_CROPS = "Seed crops a season's work allows; null: no limit."


class GearCreate(Form):
    """Equipment that keeps pollen out."""

    name: Name = Field(description="Its name.", examples=["Gauze cages"])
    gear: GearKind = Field(description=_GEAR, examples=["cage"])
    pieces: Pieces = Field(default=1, description=_PIECES, examples=[3])
    covers_m2: Cover | None = Field(default=None, description=_COVER, examples=[1.8])
    notes: Notes = Field(default="", description="Anything else.", examples=["one is torn"])


class GearChange(Form):
    """What to change of the gear; unnamed fields stay, null makes a value unknown again."""

    name: Name = left_alone("Its name.", "Gauze cages")
    gear: GearKind = left_alone(_GEAR, "net")
    pieces: Pieces = left_alone(_PIECES, 2)
    covers_m2: Cover | None = left_alone(_COVER, 2.0)
    notes: Notes = left_alone("Anything else.", "mended")


class LimitsChange(Form):
    """What a season's work allows; unnamed fields stay."""

    seed_crops_a_year: Crops | None = left_alone(_CROPS, 8)
