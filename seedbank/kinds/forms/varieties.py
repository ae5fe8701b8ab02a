"""Forms for varieties."""

from pydantic import Field

from seedbank.common.forms import Form, Name, Notes, Seeds, left_alone
from seedbank.kinds.forms.kinds import Slug
from seedbank.kinds.tables.varieties import Breeding, OtherKeepers

_BREEDING = "How it was bred; F1 seed doesn't come true."
_KEEPERS = "How many other keepers of it are known: none and few make it rare."
_WANTED = "Plants wanted each year."
_RESERVE = "Seeds that advice keeps back; sowing or giving below them is warned of."


class VarietyCreate(Form):
    """A variety the gardener keeps."""

    kind: Slug = Field(description="Slug of its kind.", examples=["carrot"])
    name: Name = Field(description="Its name.", examples=["Purple Lantern"])
    breeding: Breeding = Field(
        default=Breeding.UNKNOWN, description=_BREEDING, examples=["open-pollinated"]
    )
    other_keepers: OtherKeepers = Field(
        default=OtherKeepers.MANY, description=_KEEPERS, examples=["few"]
    )
    plants_wanted: Seeds = Field(default=0, description=_WANTED, examples=[60])
    reserve_seeds: Seeds = Field(default=0, description=_RESERVE, examples=[200])
    notes: Notes = Field(default="", description="Anything else.", examples=["late, sweet"])


class VarietyChange(Form):
    """What to change of a variety; unnamed fields stay."""

    name: Name = left_alone("Its name.", "Purple Lantern")
    breeding: Breeding = left_alone(_BREEDING, "landrace")
    other_keepers: OtherKeepers = left_alone(_KEEPERS, "none")
    plants_wanted: Seeds = left_alone(_WANTED, 80)
    reserve_seeds: Seeds = left_alone(_RESERVE, 250)
    notes: Notes = left_alone("Anything else.", "the last keeper gave up in 2025")
