"""What was read from somebody's own spreadsheet, and what was made of it."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.interchange.spreadsheet.forms import Meaning, Sure
from seedbank.lots.tables.lots import Origin

_SURE = (
    "written: as it stands there; estimated: with an error, or by an assumption that is said; "
    "kept: only in the lot's notes; asked: say which; wrong: it can't be"
)


class ColumnAnswer(AnswerModel):
    """A column, and what it is taken for."""

    heading: str = Field(examples=["How many"])
    meaning: Meaning = Field(examples=["amount"])
    said: str = Field(description="why", examples=["by its heading"])


class CellAnswer(AnswerModel):
    """A cell, what it was taken for, and how sure that is."""

    heading: str = Field(examples=["How many"])
    text: str = Field(description="as it stands in the sheet", examples=["approx 50"])
    said: str = Field(examples=["counted, by estimate: 50 seeds, give or take 10"])
    sure: Sure = Field(description=_SURE, examples=["estimated"])


class SheetRowAnswer(AnswerModel):
    """A row, and the lot that is made of it."""

    line: int = Field(description="of the file, counted from 1", examples=[2])
    kind: str | None = Field(description="slug of its kind", examples=["carrot"])
    variety: str = Field(examples=["Purple Lantern"])
    seeds: int | None = Field(
        description="null, and no grams: some, not counted; 0: none is left", examples=[50]
    )
    seeds_se: float = Field(description="standard error of that number", examples=[10.0])
    grams: float | None = Field(description="where it was weighed", examples=[None])
    harvest_year: int | None = Field(examples=[2019])
    harvest_date: date | None = Field(examples=[None])
    harvest_estimated: bool = Field(examples=[True])
    acquired_on: date | None = Field(description="null: not known", examples=[None])
    origin: Origin = Field(examples=["bought"])
    donor: str = Field(examples=[""])
    place: str = Field(examples=[""])
    cells: list[CellAnswer]
    warnings: list[str] = Field(examples=[["Lot 4K7PM of this variety and year is here already."]])
    takes_in: bool = Field(description="a lot is made of it", examples=[True])
    in_the_way: bool = Field(
        description="nothing is taken in until it is answered, mended or left out", examples=[False]
    )
    taken_in_as: str | None = Field(
        description="lot that was made of this row before", examples=[None]
    )


class QuestionAnswer(AnswerModel):
    """What only the sheet's owner can say."""

    field: str = Field(description="field of the form that answers it", examples=["day_order"])
    about: str = Field(description="column or words it is about", examples=["Bought"])
    said: str = Field(examples=["“12/3/2019” may be either; say which comes first"])
    choices: list[str] = Field(examples=[["day-first", "month-first"]])


class SpreadsheetPreview(AnswerModel):
    """What would be taken in, from what, how sure, and what is left out. Nothing is kept."""

    name: str = Field(examples=["my seeds.csv"])
    said: list[str] = Field(description="what was assumed", examples=[["Read as UTF-8."]])
    columns: list[ColumnAnswer]
    questions: list[QuestionAnswer] = Field(examples=[[]])
    rows: list[SheetRowAnswer]
    lots: int = Field(description="lots that would be made", examples=[1])
    in_the_way: int = Field(description="rows to answer, mend or leave out first", examples=[0])
    sources: list[str] = Field(
        description="what the estimates rest on",
        examples=[["an amount said to be about right …: Common practice, no single source"]],
    )
    digest: str = Field(description="to be sent when confirming", examples=["0" * 64])


class TakenRow(AnswerModel):
    """A row and its lot."""

    line: int = Field(examples=[2])
    code: str = Field(examples=["4K7PM"])


class SpreadsheetTakenIn(AnswerModel):
    """The lots made, and those made of the same rows before."""

    lots: list[TakenRow]
    before: list[TakenRow] = Field(description="taken in before, so not again", examples=[[]])
    left_out: list[int] = Field(description="lines left out as asked", examples=[[]])


class SheetLot(AnswerModel):
    """A lot that was made of a row of somebody's sheet."""

    code: str
    variety: str
    kind: str
    seeds: int | None
