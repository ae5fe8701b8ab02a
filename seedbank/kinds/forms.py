"""Forms for crop kinds, the gardener's own facts about them, and varieties."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import Form, Line, Name, Notes, Reason, Seeds, left_alone
from seedbank.kinds.tables import Breeding, OtherKeepers

Slug = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", min_length=2, max_length=80)]


class KindCreate(Form):
    """A crop kind of the gardener's own; its facts are stated one by one afterwards."""

    slug: Slug = Field(description="Short name in the address.", examples=["sea-beet"])
    name: Name = Field(description="Name as shown.", examples=["Sea beet"])


class KindChange(Form):
    """A new name for a kind of the gardener's own."""

    name: Name = left_alone("Name as shown.", "Sea beet, wild")


class FactStated(Form):
    """A fact about a kind as the gardener knows it, which overrides the packaged one."""

    value: Annotated[Line, Field(min_length=1)] = Field(
        description="The value as text, in the unit the fact's name carries.", examples=["5.5"]
    )
    source: Reason = Field(
        description="Where the value comes from.",
        examples=["half-life of four of my own lots, kept in the shed"],
    )


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
