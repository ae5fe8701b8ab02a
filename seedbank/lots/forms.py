"""Forms for lots, packets at the bench, amounts and movements of seed, places, and doubts
settled.
"""

from enum import StrEnum
from typing import Annotated, Any, Final, Self

from pydantic import Field, model_validator

from seedbank.common.errors import Misfit
from seedbank.common.forms import (
    MOST,
    ChangeForm,
    Day,
    Flag,
    Form,
    Grams,
    Line,
    LotCode,
    Name,
    Notes,
    Real,
    Remark,
    RowId,
    Seeds,
    SomeSeeds,
)
from seedbank.lots.tables.lots import LotFields
from seedbank.lots.tables.places import PlaceFields


class PlaceCreate(PlaceFields, Form):
    """A place seed is kept. What isn't known is left out, and widens every answer."""


class PlaceChange(PlaceFields, ChangeForm):
    """What to change of a place; unnamed fields stay, null makes a value unknown again."""


class Amount(Form):
    """An amount of seed: counted (``seeds``) or weighed (``grams``), never both.

    A beet cluster or a coriander fruit counts as one seed: what is sown as one.
    """

    seeds: SomeSeeds | None = Field(default=None, description="Seeds counted.", examples=[250])
    grams: Grams | None = Field(default=None, description="Seeds weighed, g.", examples=[3.2])
    seeds_se: Annotated[Real, Field(ge=0, le=MOST)] | None = Field(
        default=None,
        description="Standard error of the count, where it was estimated by eye.",
        examples=[20.0],
    )

    @model_validator(mode="after")
    def _counted_or_weighed(self) -> Self:
        if (self.seeds is None) == (self.grams is None):
            raise Misfit("seeds-or-grams")
        if self.grams is not None and self.seeds_se is not None:
            raise Misfit("error-of-counted-seeds")
        return self


class FirstAmount(Amount):
    """What a lot holds when it is taken in: as any amount, or ``seeds`` of 0 where none is left."""

    seeds: Seeds | None = Field(
        default=None, description="Seeds counted; 0: none is left.", examples=[250]
    )


class MovementKind(StrEnum):
    """Movements a gardener records; tests and sowings book their own seed."""

    ACQUIRED = "acquired"
    HARVESTED = "harvested"
    SOWN = "sown"
    GIVEN = "given"
    DISCARDED = "discarded"


class MovementCreate(Form):
    """Seed that came into a lot or left it."""

    reason: MovementKind = Field(
        description="acquired and harvested bring seed in; the others take it out.",
        examples=["given"],
    )
    amount: Amount = Field(description="How much.", examples=[{"seeds": 30}])
    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-03-14"]
    )
    note: Remark = Field(default="", description="To whom, why.", examples=["spring swap"])


class StockTakeCreate(Form):
    """What the lot really holds now, counted or weighed; the difference becomes a movement."""

    seeds: Seeds | None = Field(default=None, description="Seeds counted.", examples=[180])
    grams: Annotated[Real, Field(ge=0, le=1_000_000)] | None = Field(
        default=None, description="Seeds weighed, g.", examples=[2.1]
    )
    seeds_se: Annotated[Real, Field(ge=0, le=MOST)] | None = Field(
        default=None,
        description="Standard error of the count, where it was estimated by eye.",
        examples=[10.0],
    )
    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-03-14"]
    )
    note: Remark = Field(default="", description="What was found.", examples=["mice got in"])

    @model_validator(mode="after")
    def _counted_or_weighed(self) -> Self:
        if (self.seeds is None) == (self.grams is None):
            raise Misfit("seeds-or-grams")
        if self.grams is not None and self.seeds_se is not None:
            raise Misfit("error-of-counted-seeds")
        return self


class LotCreate(LotFields, Form):
    """A harvest of one variety from one source, taken into the collection."""

    variety_id: RowId = Field(description="Number of its variety.", examples=[1])
    amount: FirstAmount | None = Field(
        default=None,
        description="How much came. Null, or left out: some, not counted; the lot can be used, and "
        "a stock-take tells later how much it is.",
        examples=[{"seeds": 250}],
    )
    amount_note: Remark = Field(
        default="",
        description="How much came, in words; it stands beside the movement that books it.",
        examples=["about half a packet"],
    )
    parents: list[LotCode] = Field(
        default_factory=list, max_length=50, description="Codes of parent lots.", examples=[[]]
    )
    place_id: RowId | None = Field(
        default=None, description="Number of the place it is put in.", examples=[1]
    )

    @model_validator(mode="after")
    def _harvest_agrees(self) -> Self:
        if self.harvest_date and self.harvest_year not in (None, self.harvest_date.year):
            raise Misfit("harvest-years-differ")
        if self.thousand_seed_weight_se_g is not None and self.thousand_seed_weight_g is None:
            raise Misfit("weight-error-without-weight")
        return self


_SHARES_OFF = 0.005  # thirds come to 99 %


class MixturePartGiven(Form):
    """What a lot here gives to a mixture."""

    lot: LotCode = Field(description="Code of the lot.", examples=["4K7PM"])
    amount: Amount | None = Field(
        default=None, description="How much of it.", examples=[{"seeds": 40}]
    )
    share: Annotated[Real, Field(gt=0, le=1)] | None = Field(
        default=None, description="Or its share of all the seeds, 0..1.", examples=[None]
    )

    @model_validator(mode="after")
    def _amount_or_share(self) -> Self:
        if (self.amount is None) == (self.share is None):
            raise Misfit("mixture-amount-or-share")
        return self


class MixtureCreate(Form):
    """A mixture made of seed of lots here: a lot of its own, which remembers its parts.

    Each part is told by its amount, or each by its share of ``seeds`` in all.
    """

    variety_id: RowId | None = Field(
        default=None,
        description="Number of the variety it is filed under, such as a mix.",
        examples=[1],
    )
    variety: Name | None = Field(
        default=None,
        description="Or its name; a new one is of the kind of the first part.",
        examples=[None],
    )
    seeds: SomeSeeds | None = Field(
        default=None, description="Seeds in all, where parts are told by shares.", examples=[None]
    )
    parts: list[MixturePartGiven] = Field(
        min_length=2,
        max_length=50,
        description="What goes into it.",
        examples=[
            [
                {"lot": "4K7PM", "amount": {"seeds": 40}},
                {"lot": "7HR4M", "amount": {"seeds": 60}},
            ]
        ],
    )
    place_id: RowId | None = Field(
        default=None, description="Number of the place it is put in.", examples=[1]
    )
    notes: Notes = Field(default="", description="Anything else.", examples=["for cutting"])

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        if (self.variety_id is None) == (self.variety is None):
            raise Misfit("mixture-variety-or-name")
        shares = [one.share for one in self.parts if one.share is not None]
        if shares and (len(shares) < len(self.parts) or self.seeds is None):
            raise Misfit("mixture-shares-of-what")
        if shares and abs(sum(shares) - 1.0) > _SHARES_OFF:
            raise Misfit("mixture-shares-add-up", pct=round(100.0 * sum(shares), 1))
        if self.seeds is not None and not shares:
            raise Misfit("mixture-shares-of-what")
        return self


class MixturePartTold(Form):
    """What one part of a mixture is."""

    lot: LotCode | None = Field(
        default=None, description="Code of a lot here that it is seed of.", examples=["4K7PM"]
    )
    name: Annotated[Line, Field(max_length=120)] = Field(
        default="", description="Or what it is.", examples=["red mustard"]
    )
    share: Annotated[Real, Field(gt=0, le=1)] | None = Field(
        default=None,
        description="Share of the seeds, 0..1; null: not known.",
        examples=[0.4],
    )

    @model_validator(mode="after")
    def _is_something(self) -> Self:
        if self.lot is None and not self.name:
            raise Misfit("mixture-part-of-nothing")
        return self


class MixtureTold(Form):
    """What a lot is a mixture of."""

    parts: list[MixturePartTold] = Field(
        max_length=50, description="Its parts; none: it is no mixture."
    )

    @model_validator(mode="after")
    def _no_more_than_all(self) -> Self:
        if sum(one.share or 0.0 for one in self.parts) > 1.0 + 1e-6:
            raise Misfit("mixture-over-whole")
        return self


class LotChange(LotFields, ChangeForm):
    """What to change of a lot; unnamed fields stay, null makes a value unknown again."""

    variety_id: RowId = Field(
        description="Number of its variety, where it was filed wrongly.", examples=[1]
    )
    parents: list[LotCode] = Field(
        max_length=50,
        description="Codes of parent lots, in place of those before.",
        examples=[[]],
    )


def _sealed_anew() -> Any:
    return Field(
        default=False,
        description="The place, a sealed one, was sealed anew that day, or its seed dried again, "
        "with all that lies in it.",
        examples=[False],
    )


class StayCreate(Form):
    """A lot put in a place; it stays there until its next stay begins."""

    place_id: RowId = Field(description="Number of the place.", examples=[1])
    from_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2025-11-02"]
    )
    sealed_anew: Flag = _sealed_anew()


class PlaceMerge(Form):
    """The place another is merged into."""

    into: RowId = Field(description="Number of the place that stays.", examples=[1])


class PacketCreate(LotCreate):
    """A packet that came in: as a lot, but its kind, variety and place may go by name.

    A variety of that name is used if the kind has one, and added if not.
    """

    variety_id: None = None  # type: ignore[assignment]  # the variety goes by name
    kind: Name | None = Field(
        default=None, description="Name of its kind; may be left out if the variety is known."
    )
    variety: Name = Field(description="Name of its variety.", examples=["Purple Lantern"])
    kind_as_named: Flag = Field(
        default=False,
        description="It is of the kind named, whatever the variety's name says of it.",
        examples=[False],
    )
    new_place: PlaceCreate | None = Field(
        default=None, description="A place to put it in that isn't listed yet."
    )

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.place_id is not None and self.new_place is not None:
            raise Misfit("place-twice")
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
    sealed_anew: Flag = _sealed_anew()

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if self.place_id is not None and self.new_place is not None:
            raise Misfit("place-twice")
        if self.place_id is None and self.new_place is None:
            raise Misfit("no-place-named")
        return self


LONGEST_PICTURE: Final = 20_000_000  # characters: 15 MB in Base64
PICTURE_EXAMPLE: Final = (
    "iVBORw0KGgoAAAANSUhEUgAAAAgAAAAICAAAAADhZOFXAAAAEElEQVR4nGNs"
    "YIAAJgaKGAAmCACQXTClHgAAAABJRU5ErkJggg=="
)  # a grey square


class PhotoForm(Form):
    """A photograph of a lot's packet, as JPEG, PNG or WebP.

    It is made small, at most 200 kB and 1,600 pixels a side, and where and when it was taken is
    left out.
    """

    picture: Annotated[str, Field(min_length=1, max_length=LONGEST_PICTURE)] = Field(
        description="The file in Base64 (RFC 4648 section 4).", examples=[PICTURE_EXAMPLE]
    )


class AmountIs(StrEnum):
    """What a lot holds that was booked as none."""

    SOME = "some"
    NONE = "none"


class DayIs(StrEnum):
    """Whether a lot really came on the day it was entered."""

    RIGHT = "right"
    UNKNOWN = "unknown"


class EntryDoubtsAnswered(Form):
    """One answer for some lots, or for all that are still asked about."""

    lots: list[LotCode] | None = Field(
        default=None,
        min_length=1,
        max_length=500,
        description="Codes of the lots it holds for; left out: every lot still asked about.",
        examples=[["4K7PM"]],
    )
    amount: AmountIs | None = Field(
        default=None,
        description="some: it holds some, not counted; none: it is really empty.",
        examples=["some"],
    )
    acquired_day: DayIs | None = Field(
        default=None,
        description="right: it came on that day; unknown: nobody knows when it came.",
        examples=["unknown"],
    )

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self.amount is None and self.acquired_day is None:
            raise Misfit("doubt-not-answered")
        return self
