"""Forms for a packet at the bench, where the variety or the place may be new."""

from typing import Self

from pydantic import Field, model_validator

from seedbank.common.forms import Day, Form, Name, RowId
from seedbank.lots.forms.lots import LotCreate
from seedbank.lots.forms.places import PlaceCreate

_BOTH_PLACES = "choose a place from the list or describe a new one, not both"


class PacketCreate(LotCreate):
    """A packet that came in: as a lot, but its kind, variety and place may go by name.

    A variety of that name is used if the kind has one, and added if not.
    """

    variety_id: None = None  # type: ignore[assignment]  # the variety goes by name
    kind: Name | None = Field(
        default=None, description="Name of its kind; may be left out if the variety is known."
    )
    variety: Name = Field(description="Name of its variety.", examples=["Purple Lantern"])
    new_place: PlaceCreate | None = Field(
        default=None, description="A place to put it in that isn't listed yet."
    )

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.place_id is not None and self.new_place is not None:
            raise ValueError(_BOTH_PLACES)
        return self


class PacketMove(Form):
    """A lot put in a place that is listed, or in a new one."""

    place_id: RowId | None = Field(default=None, description="Number of the place.", examples=[1])
    new_place: PlaceCreate | None = Field(
        default=None, description="A place that isn't listed yet."
    )
    from_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2025-11-02"]
    )

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.place_id is not None and self.new_place is not None:
            raise ValueError(_BOTH_PLACES)
        if self.place_id is None and self.new_place is None:
            raise ValueError("choose the place it goes to, or describe a new one")
        return self
