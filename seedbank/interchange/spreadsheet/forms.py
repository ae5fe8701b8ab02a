"""Somebody's own spreadsheet, and what its owner says of it."""

from base64 import b64decode
from typing import Annotated, Self

from pydantic import AfterValidator, Field, model_validator

from seedbank.common.forms import WHOLE, Form, Line, Name, SomeSeeds
from seedbank.interchange.spreadsheet.columns import Meaning
from seedbank.interchange.spreadsheet.days import DayOrder
from seedbank.interchange.spreadsheet.text import LARGEST
from seedbank.lots.tables.lots import Origin

_BASE64 = r"^([A-Za-z0-9+/]{4})*([A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?$"
_LONGEST = 2_700_000  # characters, in which base64 holds a little over LARGEST bytes
_TEXT = "Crop,Variety,How many,Year\ncarrot,Purple Lantern,approx 50,2019?\n"


def _not_too_long(text: str) -> str:
    """Raises ValueError. Not in the document: its readers would try a text of just that length."""
    if len(text) > _LONGEST:
        raise ValueError(f"bring a file of at most {LARGEST} bytes")
    return text


Heading = Annotated[str, Field(min_length=1, max_length=200)]
LineNumber = Annotated[int, Field(strict=True, ge=1, le=10_000_000), WHOLE]


class Spreadsheet(Form):
    """A sheet of seed lots as its owner keeps it, a lot a row, saved as CSV.

    Give it as ``text``, or the file itself as ``base64`` where its encoding has to be found out.
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
    columns: dict[Heading, Meaning] = Field(
        default_factory=dict,
        max_length=60,
        description="What columns are, by heading, where the guess is wrong.",
        examples=[{"How many": "amount"}],
    )
    kinds: dict[Heading, Name] = Field(
        default_factory=dict,
        max_length=100,
        description="Which kinds are meant, by the words in the sheet.",
        examples=[{"neep": "turnip"}],
    )
    day_order: DayOrder | None = Field(
        default=None,
        description="Whether 12/3/2019 is in March or in December, where its column doesn't tell.",
        examples=["day-first"],
    )
    dates: dict[Heading, Line] = Field(
        default_factory=dict,
        max_length=100,
        description="Which month, years or day are meant, or unknown, by the text in the sheet.",
        examples=[{"2009-10": "October 2009"}],
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
            raise ValueError("give the sheet as text or as base64, one of the two")
        return self

    @property
    def content(self) -> bytes:
        """The bytes of the file."""
        if self.base64 is not None:
            return b64decode(self.base64)
        return (self.text or "").encode("utf-8", "surrogatepass")


class SpreadsheetConfirmed(Spreadsheet):
    """A sheet looked through and found right: what the preview showed is what is taken in."""

    digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] = Field(
        description="The preview's digest.", examples=["0" * 64]
    )
