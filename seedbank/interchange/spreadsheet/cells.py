"""What reading a cell of somebody's own spreadsheet gives: a value, how sure, and in words why."""

import re
from dataclasses import dataclass
from typing import Final

from seedbank.interchange.spreadsheet.forms import Sure

_FRACTIONS: Final = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8"}
_WHOLE_AND_PART = re.compile(r"(?:(\d{1,6}) )?(\d{1,4})/(\d{1,4})")
_THOUSANDS = re.compile(r"\d{1,3}([, ’']\d{3})+")
_PLAIN = re.compile(r"\d{1,12}([.,]\d{1,6})?|[.,]\d{1,6}")
NUMBER: Final = r"(?:\d{1,6} )?\d{1,4}/\d{1,4}|\d{1,3}(?:[, ’']\d{3})+|\d{0,12}[.,]?\d{1,12}"
_IMPOSSIBLE = re.compile(
    r"[-−]\s*[\d.,]+.*|[-+−]?(nan|inf(inity)?)|[-+−]?\d+([.,]\d+)?e[-+]?\d+|#\w+[/!?]?\w*[!?]?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Reading:
    """One cell: its text, what it was taken for, and how sure that is.

    ``choices`` are the answers there are, where its writer is asked of this text alone.
    """

    heading: str
    text: str
    said: str
    sure: Sure
    choices: tuple[str, ...] = ()


def plain_form(text: str) -> str:
    """The text in lower case, fractions of one sign written out, quotes and dashes made alike."""
    for sign, written in _FRACTIONS.items():
        text = re.sub(rf"(\d){sign}", rf"\1 {written}", text).replace(sign, written)
    text = text.replace("–", "-").replace("—", "-").replace("‘", "'").replace("’", "'")
    return " ".join(text.casefold().split())


def number_in(text: str) -> float | None:
    """A number as people write them: ``1,200``, ``0,5``, ``1 1/2``; None if it is none, or two."""
    text = text.strip()
    parted = _WHOLE_AND_PART.fullmatch(text)
    if parted is not None:
        below = int(parted[3])
        return None if below == 0 else int(parted[1] or 0) + int(parted[2]) / below
    if _THOUSANDS.fullmatch(text):
        return float(re.sub(r"[, ’']", "", text))
    return float(text.replace(",", ".")) if _PLAIN.fullmatch(text) else None


def cannot_be(text: str) -> bool:
    """Is it a number that no amount can be: below nothing, endless, not a number, an error?"""
    return _IMPOSSIBLE.fullmatch(text.strip()) is not None


def is_formula(text: str) -> bool:
    """Would a spreadsheet run it?"""
    return text.lstrip().startswith(("=", "@", "＝", "＠"))


def quoted(text: str) -> str:
    """The text between quotation marks, shortened where it is long."""
    return f"“{text if len(text) <= 60 else text[:59] + '…'}”"
