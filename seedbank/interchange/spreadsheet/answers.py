"""Somebody's own spreadsheet: what its owner says of it, what was read, what was made of it."""

from base64 import b64decode
from datetime import date
from enum import StrEnum
from typing import Annotated, Any, Final, Self

from pydantic import AfterValidator, Field, JsonValue, model_validator

from seedbank.common.answers import AnswerModel, Sentence
from seedbank.common.errors import Misfit
from seedbank.common.forms import WHOLE, Form, Line, Name, SomeSeeds
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.tables.lots import Origin, SeedForm

LARGEST: Final = 4_000_000  # bytes
MOST_COLUMNS: Final = 60
MOST_ANSWERS: Final = 100  # about kinds, and as many about dates and about amounts


class DayOrder(StrEnum):
    """What comes first in a date written in numbers."""

    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"


class YearPairs(StrEnum):
    """What 2009-10 is: October 2009, or the years 2009 to 2010."""

    MONTH = "month"
    YEARS = "years"


class BlankKinds(StrEnum):
    """What a row without a kind is, below rows that have one."""

    AS_ABOVE = "as-above"
    UNKNOWN = "unknown"


class Meaning(StrEnum):
    """What a column tells of a lot; ``notes`` is whatever else, kept in the lot's notes."""

    KIND = "kind"
    VARIETY = "variety"
    AMOUNT = "amount"
    PACKET_SEEDS = "packet_seeds"
    HARVESTED = "harvested"
    ACQUIRED_ON = "acquired_on"
    SOW_BY = "sow_by"
    PRINTED_GERMINATION = "printed_germination_pct"
    PRINTED_TEST = "printed_test_on"
    PACKED_FOR = "packed_for"
    PACKED_ON = "packed_on"
    SEED_FORM = "seed_form"
    TREATED = "treated"
    THOUSAND_SEEDS = "thousand_seed_weight_g"
    GENERATION = "generation"
    KEEPERS = "other_keepers"
    ORIGIN = "origin"
    DONOR = "donor"
    PLACE = "place"
    NOTES = "notes"


class Sure(StrEnum):
    """How sure a reading is.

    ``written`` as it stands there; ``estimated`` with an error or by an assumption that is said;
    ``kept`` not understood, or of no use here, and kept in the lot's notes; ``asked`` its writer
    has to say which; ``wrong`` it can't be.
    """

    WRITTEN = "written"
    ESTIMATED = "estimated"
    KEPT = "kept"
    ASKED = "asked"
    WRONG = "wrong"


_BASE64 = r"^([A-Za-z0-9+/]{4})*([A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?$"
_LONGEST = 5_400_000  # characters, in which base64 holds a little over LARGEST bytes
_TEXT = "Crop,Variety,How many,Year\ncarrot,Purple Lantern,approx 50,2019?\n"


def _not_too_long(text: str) -> str:
    """Raises ValueError. Not in the document: its readers would try a text of just that length."""
    if len(text) > _LONGEST:
        raise Misfit("file-too-large", most=LARGEST)
    return text


Heading = Annotated[str, Field(min_length=1, max_length=200)]
# A pattern of the key itself would be told as "patternProperties", and bind no other key's value.
_NOT_BLANK: dict[str, JsonValue] = {
    "propertyNames": {"minLength": 1, "maxLength": 200, "pattern": r"\S"}
}
LineNumber = Annotated[int, Field(strict=True, ge=1, le=10_000_000), WHOLE]


def _answers(most: int, description: str, example: dict[str, JsonValue]) -> Any:
    """A field of at most so many answers, each by the words of the sheet that it is about."""
    return Field(
        default_factory=dict,
        max_length=most,
        description=description,
        examples=[example],
        json_schema_extra=_NOT_BLANK,
    )


class Spreadsheet(Form):
    """A sheet of seed lots as its owner keeps it, a lot a row: CSV, or a workbook (.xlsx, .ods).

    Give it as ``text``, or the file itself as ``base64``: a workbook, or where the encoding of its
    text has to be found out.
    """

    name: Line = Field(
        default="pasted text", description="What the file is called.", examples=["my seeds.csv"]
    )
    text: Annotated[str, AfterValidator(_not_too_long)] | None = Field(
        default=None, description=f"The sheet as text, {LARGEST} bytes.", examples=[_TEXT]
    )
    base64: Annotated[str, Field(pattern=_BASE64), AfterValidator(_not_too_long)] | None = Field(
        default=None, description="The file's bytes in base64 (RFC 4648 section 4)."
    )
    columns: dict[Heading, Meaning] = _answers(
        MOST_COLUMNS,
        "What columns are, by heading, where the guess is wrong.",
        {"How many": "amount"},
    )
    kinds: dict[Heading, Name] = _answers(
        MOST_ANSWERS, "Which kinds are meant, by the words in the sheet.", {"neep": "turnip"}
    )
    day_order: DayOrder | None = Field(
        default=None,
        description="Whether 12/3/2019 is in March or in December, where its column doesn't tell.",
        examples=["day-first"],
    )
    dates: dict[Heading, Line] = _answers(
        MOST_ANSWERS,
        "Which month, years or day are meant, or unknown, by the text in the sheet.",
        {"2009-10": "October 2009"},
    )
    short_dates: YearPairs | None = Field(
        default=None,
        description="Whether 2009-10 is a month or two years, where its column doesn't tell.",
        examples=["month"],
    )
    blank_kinds: BlankKinds | None = Field(
        default=None,
        description="Whether a row without a kind is of the kind above it.",
        examples=["as-above"],
    )
    amounts: dict[Heading, Line] = _answers(
        MOST_ANSWERS, "Which amounts are meant, by the text in the sheet.", {"2,500 g": "2.5 g"}
    )
    packet_seeds: SomeSeeds | None = Field(
        default=None,
        description="Seeds in a packet, where the sheet counts packets and doesn't say.",
        examples=[200],
    )
    origin: Origin = Field(
        default=Origin.BOUGHT,
        description="How the seed came here, where the sheet doesn't say.",
        examples=["bought"],
    )
    leave_out: list[LineNumber] = Field(
        default_factory=list,
        max_length=500,
        description="Lines of the file not to take in.",
        examples=[[]],
    )

    @model_validator(mode="after")
    def _one_sheet(self) -> Self:
        if (self.text is None) == (self.base64 is None):
            raise Misfit("sheet-as-text-or-base64")
        return self

    @property
    def content(self) -> bytes:
        """The bytes of the file."""
        if self.base64 is not None:
            return b64decode(self.base64)
        return (self.text or "").encode("utf-8", "surrogatepass")


class SpreadsheetShown(Spreadsheet):
    """A sheet, and which of its rows to show; all of them count."""

    unclear_first: bool = Field(
        default=False,
        description="Rows that stand in the way come first, then the others, each in their order.",
        examples=[True],
    )
    most_rows: Annotated[int, Field(strict=True, ge=0, le=1_000_000), WHOLE] | None = Field(
        default=None, description="Show no more rows than that; null: all.", examples=[50]
    )


class SpreadsheetConfirmed(Spreadsheet):
    """A sheet looked through and found right: what the preview showed is what is taken in."""

    digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] = Field(
        description="The preview's digest.", examples=["0" * 64]
    )


_SURE = (
    "written: as it stands there; estimated: with an error, or by an assumption that is said; "
    "kept: only in the lot's notes; asked: say which; wrong: it can't be"
)


class ColumnAnswer(AnswerModel):
    """A column, and what it is taken for."""

    sheet: str = Field(description="its title, in a workbook", examples=[""])
    heading: str = Field(examples=["How many"])
    meaning: Meaning = Field(examples=["amount"])
    said: Sentence = Field(description="why", examples=["by its heading"])


class CellAnswer(AnswerModel):
    """A cell, what it was taken for, and how sure that is."""

    heading: str = Field(examples=["How many"])
    text: str = Field(description="as it stands in the sheet", examples=["approx 50"])
    said: Sentence = Field(examples=["counted, by estimate: 50 seeds, give or take 10"])
    sure: Sure = Field(description=_SURE, examples=["estimated"])


class SheetRowAnswer(AnswerModel):
    """A row, and the lot that is made of it."""

    line: int = Field(
        description="of the file, counted from 1, in a workbook on from sheet to sheet",
        examples=[2],
    )
    sheet: str = Field(description="its title, in a workbook", examples=[""])
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
    sow_by: date | None = Field(description="null: not known", examples=[None])
    printed_germination_pct: float | None = Field(
        description="on the packet, %; null: not known", examples=[None]
    )
    printed_test_on: str | None = Field(
        description="day, month or year of that test; null: not known", examples=[None]
    )
    packed_for: int | None = Field(description="a season's year", examples=[None])
    packed_on: str | None = Field(description="day, month or year", examples=[None])
    seed_form: SeedForm | None = Field(description="null: not known", examples=[None])
    generation: int | None = Field(description="saved so often", examples=[None])
    other_keepers: OtherKeepers | None = Field(
        description="of the variety, told only of one that is new here", examples=[None]
    )
    treated: bool = Field(description="it carries a chemical treatment", examples=[False])
    thousand_seed_weight_g: float | None = Field(
        description="as they are in the packet; null: not known", examples=[None]
    )
    origin: Origin = Field(examples=["bought"])
    donor: str = Field(examples=[""])
    place: str = Field(examples=[""])
    cells: list[CellAnswer]
    warnings: list[Sentence] = Field(
        examples=[["Lot 4K7PM of this variety and year is here already."]]
    )
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
    said: Sentence = Field(examples=["“12/3/2019” may be either; say which comes first"])
    choices: list[str] = Field(
        description="what may be answered, the likeliest first; of kinds their slugs; other kinds, "
        "dates and amounts may be answered too",
        examples=[["day-first", "month-first"]],
    )
    rows: int = Field(description="rows that wait for it", examples=[3])


class SpreadsheetPreview(AnswerModel):
    """What would be taken in, from what, how sure, and what is left out. Nothing is kept."""

    name: str = Field(examples=["my seeds.csv"])
    said: list[Sentence] = Field(description="what was assumed", examples=[["Read as UTF-8."]])
    columns: list[ColumnAnswer]
    questions: list[QuestionAnswer] = Field(examples=[[]])
    rows: list[SheetRowAnswer] = Field(description="those asked for")
    summary: Sentence = Field(
        description="all rows in a line", examples=["2 rows: 1 lot would be made; 1 to answer."]
    )
    rows_in_all: int = Field(description="rows of the sheet", examples=[1])
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
