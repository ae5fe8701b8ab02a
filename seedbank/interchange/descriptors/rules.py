"""How a value of each passport descriptor is written: the formats and codes of the standard.

FAO/Bioversity Multi-Crop Passport Descriptors V.2.1 (2015); fields and codes are packaged tables.
"""

import re
from collections.abc import Callable, Mapping
from datetime import date
from functools import cache
from typing import Final

from seedbank.common.errors import Misfit
from seedbank.facts import loaders
from seedbank.facts.descriptor_rows import DescriptorRow

STANDARD: Final = "FAO/Bioversity Multi-Crop Passport Descriptors V.2.1 (2015)"
SEVERAL: Final = ";"
_INSTITUTE = re.compile(r"[A-Z]{3}[0-9]{1,5}")
_DATE = re.compile(r"([0-9]{4})([0-9]{2}|--)([0-9]{2}|--)")
_DECIMAL = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
_MISSING = ("--", "00")


@cache
def descriptors() -> Mapping[str, DescriptorRow]:
    """The fields of the standard by name, in their published order."""
    return {row.field: row for row in loaders.passport_descriptors()}


@cache
def codes(field: str) -> Mapping[str, str]:
    """Meaning by code, of a coded field."""
    return {row.code: row.meaning for row in loaders.passport_codes() if row.field == field}


def check_value(field: str, value: str) -> None:
    """Raises ValueError: the field can't hold it; the message says how it is written."""
    row = descriptors()[field]
    if any(ord(one) < 32 or ord(one) == 127 for one in value):
        raise Misfit("one-line")
    pieces = value.split(SEVERAL) if row.several and row.format != "text" else [value]
    for piece in pieces:
        if row.format == "code":
            if piece not in codes(field):
                raise Misfit("descriptor-codes", codes=", ".join(codes(field)))
        else:
            _FORMATS[row.format](piece)


def date_text(day: date) -> str:
    """A day as the standard writes it."""
    return f"{day.year:04}{day.month:02}{day.day:02}"


def one_piece(text: str) -> str:
    """Text that can stand in one field of several values: on one line, without a semicolon."""
    return " ".join(text.replace(SEVERAL, ",").split())


def _matching(pattern: str, code: str) -> Callable[[str], None]:
    compiled = re.compile(pattern)

    def check(piece: str) -> None:
        if not compiled.fullmatch(piece):
            raise Misfit(code)

    return check


def _any_text(_piece: str) -> None:
    pass


def _date(piece: str) -> None:
    found = _DATE.fullmatch(piece)
    if found is None:
        raise Misfit("descriptor-date-misread")
    year, month, day = found.groups()
    if month in _MISSING and day not in _MISSING:
        raise Misfit("descriptor-day-without-month")
    try:
        date(
            int(year),
            1 if month in _MISSING else int(month),
            1 if day in _MISSING else int(day),
        )
    except ValueError:
        raise Misfit("descriptor-no-such-day") from None


def _decimal(most: float) -> Callable[[str], None]:
    def check(piece: str) -> None:
        if not _DECIMAL.fullmatch(piece) or abs(float(piece)) > most:
            raise Misfit("descriptor-number", least=-most, most=most)

    return check


def _degrees(digits: int, most: int, ends: str) -> Callable[[str], None]:
    pattern = re.compile(rf"([0-9]{{{digits}}})([0-5][0-9]|--)([0-5][0-9]|--)[{ends}]")

    def check(piece: str) -> None:
        found = pattern.fullmatch(piece)
        if found is None or int(found[1]) > most or (found[2] == "--" and found[3] != "--"):
            raise Misfit("descriptor-degrees", digits=digits, ends=tuple(ends))

    return check


def _other_number(piece: str) -> None:
    institute, colon, identifier = piece.partition(":")
    if not colon or not identifier or (institute and not _INSTITUTE.fullmatch(institute)):
        raise Misfit("descriptor-other-number")


_FORMATS: Final[Mapping[str, Callable[[str], None]]] = {
    "text": _any_text,
    "remark": _any_text,
    "institute": _matching(_INSTITUTE.pattern, "descriptor-institute"),
    "genus": _matching(r"(× ?|x )?[A-Z][a-z-]+", "descriptor-genus"),
    "species": _matching(r"sp\.|(× ?|x )?[a-z][a-z-]*", "descriptor-epithet"),
    "country": _matching(r"[A-Z]{3}", "descriptor-country"),
    "date": _date,
    "latitude": _decimal(90),
    "longitude": _decimal(180),
    "latitude-dms": _degrees(2, 90, "NS"),
    "longitude-dms": _degrees(3, 180, "EW"),
    "number": _decimal(1e6),
    "other-number": _other_number,
}
