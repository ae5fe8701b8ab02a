"""Forms for lots and the places they are moved to."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from seedbank.common.forms import (
    WHOLE,
    Day,
    Flag,
    Form,
    Line,
    LotCode,
    Notes,
    Real,
    Remark,
    RowId,
    SomeSeeds,
    left_alone,
)
from seedbank.lots.forms.movements import FirstAmount
from seedbank.lots.tables.lots import Isolation, Origin, Purity

Year = Annotated[int, Field(strict=True, ge=1800, le=2200), WHOLE]
Generation = Annotated[int, Field(strict=True, ge=0, le=1000), WHOLE]
Weight = Annotated[Real, Field(gt=0, le=100_000)]
WeightError = Annotated[Real, Field(ge=0, le=100_000)]

_ORIGIN = "How the seed came here."
_DONOR = "Supplier, swapper or giver."
_YEAR = "Year of harvest; filled from harvest_date where that is given."
_DATE = "Day of harvest, if known."
_ESTIMATED = "The harvest year or date is a guess."
_ACQUIRED = "Day it came here."
_GENERATION = "Generations saved here; 0 is seed as it came."
_PARENTS = "Number of plants the seed was taken from."
_ISOLATION = "What kept the seed parents from crossing."
_PURITY = "Whether it can have crossed with something else."
_PURITY_NOTE = "What isolated it, or what it may have crossed with."
_TREATED = "The seed carries a chemical treatment: never to be eaten, sprouted or composted."
_TSW = "Thousand-seed weight as measured, g."
_TSW_SE = "Standard error of that measurement, g."


class LotCreate(Form):
    """A harvest of one variety from one source, taken into the collection."""

    variety_id: RowId = Field(description="Number of its variety.", examples=[1])
    amount: FirstAmount | None = Field(
        default=None,
        description="How much came. Null, or left out: some, not counted; the lot can be used, and "
        "a stock-take tells later how much it is.",
        examples=[{"seeds": 250}],
    )
    origin: Origin = Field(description=_ORIGIN, examples=["self-saved"])
    donor: Line = Field(default="", description=_DONOR, examples=["neighbour at number 9"])
    harvest_year: Year | None = Field(default=None, description=_YEAR, examples=[2023])
    harvest_date: Day | None = Field(default=None, description=_DATE, examples=["2023-09-10"])
    harvest_estimated: Flag = Field(default=False, description=_ESTIMATED, examples=[False])
    acquired_on: Day | None = Field(
        default=None,
        description=_ACQUIRED + " Today if left out; null: not known.",
        examples=["2023-10-01"],
    )
    generation: Generation | None = Field(default=None, description=_GENERATION, examples=[3])
    seed_parents: SomeSeeds | None = Field(default=None, description=_PARENTS, examples=[24])
    isolation: Isolation = Field(
        default=Isolation.UNKNOWN, description=_ISOLATION, examples=["cage"]
    )
    purity: Purity = Field(default=Purity.UNKNOWN, description=_PURITY, examples=["isolated"])
    purity_note: Remark = Field(
        default="", description=_PURITY_NOTE, examples=["Isolated by a cage."]
    )
    treated: Flag = Field(default=False, description=_TREATED, examples=[False])
    thousand_seed_weight_g: Weight | None = Field(default=None, description=_TSW, examples=[1.35])
    thousand_seed_weight_se_g: WeightError | None = Field(
        default=None, description=_TSW_SE, examples=[0.05]
    )
    parents: list[LotCode] = Field(
        default_factory=list, max_length=50, description="Codes of parent lots.", examples=[[]]
    )
    place_id: RowId | None = Field(
        default=None, description="Number of the place it is put in.", examples=[1]
    )
    notes: Notes = Field(default="", description="Anything else.", examples=["small heads"])

    @model_validator(mode="after")
    def _harvest_agrees(self) -> Self:
        if self.harvest_date and self.harvest_year not in (None, self.harvest_date.year):
            raise ValueError("harvest_year and harvest_date name different years; drop one")
        if self.thousand_seed_weight_se_g is not None and self.thousand_seed_weight_g is None:
            raise ValueError("thousand_seed_weight_se_g needs thousand_seed_weight_g")
        return self


class LotChange(Form):
    """What to change of a lot; unnamed fields stay, null makes a value unknown again."""

    variety_id: RowId = left_alone("Number of its variety, where it was filed wrongly.", 1)
    origin: Origin = left_alone(_ORIGIN, "swapped")
    donor: Line = left_alone(_DONOR, "neighbour at number 9")
    harvest_year: Year | None = left_alone(_YEAR, 2022)
    harvest_date: Day | None = left_alone(_DATE, "2022-09-10")
    harvest_estimated: Flag = left_alone(_ESTIMATED, True)
    acquired_on: Day | None = left_alone(_ACQUIRED, "2022-10-01")
    generation: Generation | None = left_alone(_GENERATION, 3)
    seed_parents: SomeSeeds | None = left_alone(_PARENTS, 24)
    isolation: Isolation = left_alone(_ISOLATION, "bag")
    purity: Purity = left_alone(_PURITY, "risk")
    purity_note: Remark = left_alone(_PURITY_NOTE, "The cage had a hole.")
    treated: Flag = left_alone(_TREATED, True)
    thousand_seed_weight_g: Weight | None = left_alone(_TSW, 1.35)
    thousand_seed_weight_se_g: WeightError | None = left_alone(_TSW_SE, 0.05)
    parents: list[LotCode] = left_alone("Codes of parent lots, in place of those before.", [])
    notes: Notes = left_alone("Anything else.", "small heads, shaken twice")


class StayCreate(Form):
    """A lot put in a place; it stays there until its next stay begins."""

    place_id: RowId = Field(description="Number of the place.", examples=[1])
    from_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2025-11-02"]
    )
