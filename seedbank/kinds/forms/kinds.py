"""Forms for crop kinds and the gardener's own facts about them."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import Form, Line, Name, Reason, left_alone

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
