"""What every form shares: strictness, and the bounded value types fields are made of."""

import re
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    Strict,
    WithJsonSchema,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticKnownError

from seedbank.common.dates import rough_span
from seedbank.common.errors import Misfit
from seedbank.common.fields import leave_out_any

_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_ROUGH = r"^(19|20|21)\d\d(-(0[1-9]|1[0-2])(-(0[1-9]|[12]\d|3[01]))?)?$"
_ROUGH_DATE = re.compile(_ROUGH)
# The last two spans turn the direction of what follows: a name could show as another.
_TURNING = "\u202a-\u202e\u2066-\u2069"
_CONTROL = re.compile(rf"[\x00-\x08\x0b-\x1f\x7f{_TURNING}]")
_CONTROL_OR_BREAK = re.compile(rf"[\x00-\x1f\x7f{_TURNING}]")
_LINE = r"\x00-\x1f\x7f\u202a-\u202e\u2066-\u2069"  # as ECMA-262 writes it, for the document
EARLIEST, LATEST = date(1900, 1, 1), date(2199, 12, 31)
MOST = 10_000_000  # seeds in one movement; well inside a 32-bit column


@dataclass(frozen=True, slots=True)
class _ShownPattern:
    """Tells in the document, as a pattern, what the validators beside it refuse."""

    pattern: str

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return handler(core) | {"pattern": self.pattern}


class Form(BaseModel):
    """Input to a use case. Unknown fields are refused, so that a misspelt one is noticed."""

    model_config = ConfigDict(
        extra="forbid",
        allow_inf_nan=False,
        str_strip_whitespace=True,
        frozen=True,
        defer_build=True,
    )


class ChangeForm(Form):
    """What to change of a thing: fields left out stay, null makes a value unknown again."""

    @classmethod
    def __pydantic_init_subclass__(cls, **kwargs: Any) -> None:
        super().__pydantic_init_subclass__(**kwargs)
        leave_out_any(cls)


class Filter(BaseModel):
    """What the things listed must all be, as the query of an address says; None asks nothing."""

    model_config = ConfigDict(frozen=True)


KindAsked = Annotated[str | None, Field(description="kind, by slug or any name", max_length=80)]
LotAsked = Annotated[str | None, Field(description="code of a lot", max_length=40)]
VarietyAsked = Annotated[
    int | None, Field(description="number of a variety", ge=1, le=2_147_483_647)
]
YearAsked = Annotated[int | None, Field(description="flowering in that year", ge=1900, le=2199)]
WordsAsked = Annotated[str | None, Field(description="words to find", max_length=200)]


def _only_iso(value: object) -> object:
    # Left to itself pydantic takes 20240501 for seconds since 1970.
    if isinstance(value, str) and _ISO_DATE.fullmatch(value):
        return date.fromisoformat(value)
    if type(value) is date:
        return value
    raise Misfit("date-misread")


def _rough(text: str) -> str:
    try:
        rough_span(text if _ROUGH_DATE.fullmatch(text) else "")
    except ValueError:
        raise Misfit("rough-date-misread") from None
    return text


def _whole_number(value: object) -> object:
    # JSON knows one kind of number, and to JSON Schema 5.0 is an integer.
    return int(value) if type(value) is float and value.is_integer() else value


def _at_most(characters: int) -> BeforeValidator:
    """Counts what was sent, as the document does, and not what is left of it without margins."""

    def check(value: object) -> object:
        if isinstance(value, str) and len(value) > characters:
            raise PydanticKnownError("string_too_long", {"max_length": characters})
        return value

    return BeforeValidator(check)


def _one_line(text: str) -> str:
    if _CONTROL_OR_BREAK.search(text):
        raise Misfit("one-line")
    return text


def _printable(text: str) -> str:
    text = text.replace("\r\n", "\n")
    if _CONTROL.search(text):
        raise Misfit("no-control-characters")
    return text


def confirmed() -> Any:
    """The field that takes what was doubted, the same on every form that can be."""
    return Field(
        default=False,
        description="Take it as it is, though it was doubted (the problem `doubted`).",
        examples=[False],
    )


Day = Annotated[
    date,
    BeforeValidator(_only_iso),
    Field(ge=EARLIEST, le=LATEST),
    WithJsonSchema({"type": "string", "format": "date", "pattern": "^(19|20|21)"}),
]
Real = Annotated[float, Strict()]
RoughDay = Annotated[str, AfterValidator(_rough), Field(max_length=10), _ShownPattern(_ROUGH)]
"""A day, a month or a year, as exactly as it is known: 2024-03-12, 2024-03, 2024."""
Percent = Annotated[Real, Field(ge=0, le=100)]
Flag = Annotated[bool, Strict()]
WHOLE = BeforeValidator(_whole_number)
RowId = Annotated[int, Strict(), Field(ge=1, le=2_147_483_647), WHOLE]
Seeds = Annotated[int, Strict(), Field(ge=0, le=MOST), WHOLE]
SomeSeeds = Annotated[int, Strict(), Field(ge=1, le=MOST), WHOLE]
Grams = Annotated[Real, Field(gt=0, le=1_000_000)]
Celsius = Annotated[Real, Field(ge=-40, le=60)]
_ONE_LINE = _ShownPattern(f"^[^{_LINE}]*$")
_NOT_BLANK = _ShownPattern(rf"^[^{_LINE}]*[^\s{_LINE}][^{_LINE}]*$")
_THREE = _ShownPattern(rf"^[^{_LINE}]*[^\s{_LINE}][^{_LINE}]+[^\s{_LINE}][^{_LINE}]*$")
_LINES = _ShownPattern(rf"^([^{_LINE}]|\t|\r?\n)*$")
Name = Annotated[
    str, AfterValidator(_one_line), Field(min_length=1, max_length=120), _at_most(120), _NOT_BLANK
]
Line = Annotated[str, AfterValidator(_one_line), Field(max_length=200), _at_most(200), _ONE_LINE]
Remark = Annotated[str, AfterValidator(_one_line), Field(max_length=400), _at_most(400), _ONE_LINE]
Reason = Annotated[
    str, AfterValidator(_one_line), Field(min_length=3, max_length=400), _at_most(400), _THREE
]
Notes = Annotated[str, AfterValidator(_printable), Field(max_length=4000), _at_most(4000), _LINES]
LotCode = Annotated[str, Field(min_length=3, max_length=40), _at_most(40), _THREE]
