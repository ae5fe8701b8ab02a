"""Forms for crop kinds, the gardener's own facts about them, and varieties."""

from pydantic import Field

from seedbank.common.forms import ChangeForm, Form
from seedbank.kinds.tables import FactFields, KindFields, Slug, VarietyFields


class KindCreate(KindFields, Form):
    """A crop kind of the gardener's own; its facts are stated one by one afterwards."""

    slug: Slug = Field(description="Short name in the address.", examples=["sea-beet"])


class KindChange(KindFields, ChangeForm):
    """A new name for a kind of the gardener's own."""


class FactStated(FactFields, Form):
    """A fact about a kind as the gardener knows it, which overrides the packaged one."""


class VarietyCreate(VarietyFields, Form):
    """A variety the gardener keeps."""

    kind: Slug = Field(description="Slug of its kind.", examples=["carrot"])


class VarietyChange(VarietyFields, ChangeForm):
    """What to change of a variety; unnamed fields stay."""
