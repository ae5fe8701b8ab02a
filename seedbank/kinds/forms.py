"""Forms for crop kinds, the gardener's own facts about them, and varieties."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import ChangeForm, Flag, Form, Name, Real, Reason, RowId
from seedbank.facts.kinds import KeptAs
from seedbank.kinds.tables import (
    FactFields,
    FactName,
    KindFields,
    OtherKeepers,
    Slug,
    VarietyFields,
)


class FactStated(FactFields, Form):
    """A fact about a kind as the gardener knows it, which overrides the packaged one."""


class FactOfNewKind(FactStated):
    """One more fact about a kind as it is added."""

    name: FactName = Field(description="Which fact.", examples=["botanical"])


class KindCreate(KindFields, Form):
    """A crop kind of the gardener's own: a name and three questions, and whatever else is known.

    What is left out is unknown, and widens the answers.
    """

    slug: Slug | None = Field(
        default=None,
        description="Short name in the address; made of the name if left out.",
        examples=["sea-beet"],
    )
    kept_as: KeptAs | None = Field(
        default=None, description="What is kept of it: seed, or planting stock.", examples=["seed"]
    )
    keeps_years: Annotated[Real, Field(ge=0.01, le=2000)] | None = Field(
        default=None, description="How long it keeps, years; null: not known.", examples=[4.0]
    )
    poisonous: Flag | None = Field(
        default=None, description="Whether it is poisonous; null: not known.", examples=[False]
    )
    source: Reason | None = Field(
        default=None,
        description="Where these answers come from; the gardener, if left out.",
        examples=["a neighbour who grows it"],
    )
    facts: list[FactOfNewKind] = Field(
        default_factory=list,
        max_length=len(FactName),
        description="Other facts known of it; none has to be given.",
        examples=[[{"name": "botanical", "value": "Beta maritima", "source": "a flora"}]],
    )


class KindChange(KindFields, ChangeForm):
    """A new name for a kind of the gardener's own."""


class VarietyCreate(VarietyFields, Form):
    """A variety the gardener keeps."""

    kind: Name = Field(
        description="Its kind, by slug or by any name.", examples=["carrot", "spring onion"]
    )


class VarietyChange(VarietyFields, ChangeForm):
    """What to change of a variety; unnamed fields stay."""


class KeepersOfVariety(Form):
    """How many others keep one variety."""

    variety_id: RowId = Field(description="Number of the variety.", examples=[1])
    other_keepers: OtherKeepers = Field(description="How many keep it.", examples=["few"])


class KeepersTold(Form):
    """How many others keep each of several varieties."""

    items: list[KeepersOfVariety] = Field(
        min_length=1, max_length=500, description="A variety each."
    )
