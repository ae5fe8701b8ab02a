"""What lots are looked for by, what is done to many at once, and which changes to undo."""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from seedbank.common.errors import Misfit
from seedbank.common.forms import (
    WHOLE,
    Day,
    Flag,
    Form,
    Line,
    LotCode,
    Name,
    Real,
    Remark,
    RowId,
    Seeds,
)
from seedbank.germination.forms import SetSeeds
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.forms import Amount, PlaceCreate
from seedbank.lots.tables.lots import Origin, Year
from seedbank.overview.tables import BatchWork
from seedbank.science.verdicts.verdict import Verdict

MOST_AT_ONCE = 2_000
"""Lots worked on at once."""


class Undoing(Form):
    """A change of stock to undo, as it was shown."""

    serial: RowId = Field(description="Number of the movement in its lot.", examples=[3])
    version: RowId | None = Field(
        default=None, description="Of the test or sowing whose seed it is.", examples=[1]
    )


class LotsCalled(Form):
    """Lots by what they are called and where they lie; what is left out asks nothing."""

    words: Line = Field(
        default="",
        description="Words in the variety, kind, code, donor, place or notes, or near a name.",
        examples=["purple carrot"],
    )
    place: RowId | None = Field(
        default=None, description="Number of the place it is kept in.", examples=[1]
    )


class LotQuestion(LotsCalled):
    """What the lots must all be; what is left out asks nothing."""

    verdict: Verdict | None = Field(
        default=None, description="What to do with it.", examples=["last-chance"]
    )


class ShelfQuestion(LotsCalled):
    """Which lots of the shelf are meant: all that is asked holds; what is left out asks nothing."""

    state: Verdict | None = Field(
        default=None, description="What to do with its seed.", examples=["sow-as-usual"]
    )
    kind: Annotated[Name | None, Field(max_length=80)] = Field(
        default=None, description="Kind, by slug or any name.", examples=["carrot"]
    )
    variety: RowId | None = Field(default=None, description="Number of its variety.", examples=[1])
    origin: Origin | None = Field(
        default=None, description="How the seed came here.", examples=["self-saved"]
    )
    other_keepers: OtherKeepers | None = Field(
        default=None, description="How many others keep its variety.", examples=["few"]
    )
    year_from: Year | None = Field(
        default=None, description="Harvested in that year or later.", examples=[2015]
    )
    year_to: Year | None = Field(
        default=None, description="Harvested in that year or earlier.", examples=[2026]
    )
    seeds_to: Seeds | None = Field(
        default=None, description="Holding so many seeds or fewer, counted.", examples=[500]
    )
    begun: Flag = Field(
        default=False,
        description="On a towel, or a seed crop of its variety is under way.",
        examples=[False],
    )


class ShelfOrder(StrEnum):
    """What the shelf is sorted by; weakest, oldest, most urgent, rarest and least first."""

    NAME = "name"
    KIND = "kind"
    HARVEST = "harvest"
    AMOUNT = "amount"
    ALIVE = "alive"
    STATE = "state"
    PLACE = "place"
    RARITY = "rarity"


class ShelfView(Form):
    """In which order the shelf is shown, and which page of it."""

    sort: ShelfOrder = Field(
        default=ShelfOrder.ALIVE,
        description="The weakest, oldest, most urgent, rarest, least first; else by the alphabet.",
        examples=["alive"],
    )
    falling: Flag = Field(default=False, description="The other way about.", examples=[False])
    page: Annotated[int, Field(ge=1, le=10_000), WHOLE] = Field(
        default=1, description="Number of the page.", examples=[1]
    )
    limit: Annotated[int, Field(ge=1, le=200), WHOLE] = Field(
        default=50, description="Packets on a page.", examples=[50]
    )


class ShelfAsked(ShelfQuestion, ShelfView):
    """Which packets of the shelf, in which order, and which page of them."""

    @property
    def question(self) -> ShelfQuestion:
        """Which packets."""
        return ShelfQuestion.model_validate(
            self.model_dump(include=set(ShelfQuestion.model_fields), exclude_none=True)
        )

    @property
    def view(self) -> ShelfView:
        """In which order, and which page."""
        return ShelfView.model_validate(self.model_dump(include=set(ShelfView.model_fields)))


class BatchCreate(Form):
    """One piece of work on many lots: it is done to all of them, or to none."""

    work: BatchWork = Field(
        description="move: to a place; give: to somebody; throw-out; keepers: say how many others "
        "keep their varieties; test: begin a germination test of each.",
        examples=["move"],
    )
    lots: list[LotCode] | None = Field(
        default=None,
        min_length=1,
        max_length=MOST_AT_ONCE,
        description="Codes of the lots.",
        examples=[["4K7PM"]],
    )
    among: ShelfQuestion | None = Field(
        default=None, description="Or all lots with seed that this asks for.", examples=[None]
    )
    place_id: RowId | None = Field(
        default=None, description="Number of the place they are moved to.", examples=[1]
    )
    new_place: PlaceCreate | None = Field(
        default=None, description="Or a place that isn't listed yet.", examples=[None]
    )
    amount: Amount | None = Field(
        default=None, description="How much of each is given or thrown out.", examples=[None]
    )
    share: Annotated[Real, Field(gt=0, le=1)] | None = Field(
        default=None,
        description="Or what share of each, 0..1; left out too: all of it.",
        examples=[None],
    )
    other_keepers: OtherKeepers | None = Field(
        default=None, description="How many others keep their varieties.", examples=[None]
    )
    replicates: list[SetSeeds] | None = Field(
        default=None,
        min_length=1,
        max_length=8,
        description="Seeds of each lot set in each replicate; left out: ten in one.",
        examples=[None],
    )
    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-10-10"]
    )
    note: Remark = Field(default="", description="To whom, or why.", examples=["swap at the hall"])

    @model_validator(mode="after")
    def _fits_its_work(self) -> Self:
        if (self.lots is None) == (self.among is None):
            raise Misfit("batch-lots-or-among")
        if self.place_id is not None and self.new_place is not None:
            raise Misfit("place-twice")
        if self.work is BatchWork.MOVE and self.place_id is None and self.new_place is None:
            raise Misfit("no-place-named")
        if self.work is BatchWork.KEEPERS and self.other_keepers is None:
            raise Misfit("batch-keepers-unsaid")
        if self.amount is not None and self.share is not None:
            raise Misfit("batch-amount-or-share")
        return self
