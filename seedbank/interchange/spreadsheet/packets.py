"""What a list's columns tell of the packet: germination printed on it, when packed, what form.

Each cell gives a field of the lot, or none, and what it was taken for.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from seedbank.interchange.spreadsheet.answers import Meaning, Sure
from seedbank.interchange.spreadsheet.cells import number_in, plain_form
from seedbank.interchange.spreadsheet.days import DayRead
from seedbank.lots.tables.lots import SeedForm
from seedbank.science.quantities import Finding

_YEAR = re.compile(r"(?:19|20)\d\d")
_FORMS: Final = {
    SeedForm.RAW: r"raw|bare|natural|naked|plain",
    SeedForm.PELLETED: r"pellet(s|ed|ised|ized)?( seeds?)?|yes|y|x",
    SeedForm.PRIMED: r"primed( seeds?)?",
}
_TREATED: Final = {
    True: r"(chemically )?treated|dressed|yes|y|x|true|fungicide.*|thiram.*|insecticide.*",
    False: r"un-?treated|not treated|undressed|organic|no(ne)?|n|false|-",
}


@dataclass(frozen=True, slots=True)
class CellRead:
    """What a cell gives its field, None if nothing, and what it was taken for."""

    value: object
    said: Finding
    sure: Sure
    choices: tuple[str, ...] = ()


def read_packet_cell(
    meaning: Meaning, text: str, day: Callable[[str], DayRead], *, printed: bool
) -> CellRead:
    """A cell of one of ``PACKET``; ``day`` reads a day, ``printed``: its heading says it is."""
    if meaning is Meaning.PRINTED_GERMINATION:
        return _germination(text, printed)
    if meaning is Meaning.PACKED_FOR:
        found = _YEAR.findall(text)
        if len(set(found)) != 1:
            return _kept()
        return CellRead(int(found[0]), Finding("sheet-packed-for", {"year": found[0]}), _SURE)
    if meaning is Meaning.SEED_FORM:
        return _word(text, _FORMS, "sheet-seed-form")
    if meaning is Meaning.TREATED:
        return _word(text, _TREATED, "sheet-treated")
    return _rough_day(meaning, day(text))


PACKET: Final = (
    Meaning.PRINTED_GERMINATION, Meaning.PRINTED_TEST, Meaning.PACKED_FOR, Meaning.PACKED_ON,
    Meaning.SEED_FORM, Meaning.TREATED,
)  # fmt: skip
_SURE: Final = Sure.WRITTEN


def _kept() -> CellRead:
    return CellRead(None, Finding("sheet-kept-in-notes"), Sure.KEPT)


def _germination(text: str, printed: bool) -> CellRead:
    bare = plain_form(text)
    share = number_in(bare.removesuffix("%").removesuffix("percent").strip())
    if share is None:
        return _kept()
    if 0 < share <= 1 and "%" not in bare and "." in bare:
        share *= 100.0  # as a spreadsheet keeps 88 %
    if not 0 <= share <= 100:
        return CellRead(None, Finding("sheet-no-percentage"), Sure.WRONG)
    said = Finding("sheet-printed-germination", {"printed_pct": round(share, 6)})
    return CellRead(round(share, 6), said, _SURE if printed else Sure.ESTIMATED)


def _word(text: str, words: Mapping[SeedForm, str] | Mapping[bool, str], code: str) -> CellRead:
    bare = plain_form(text)
    for choice, pattern in words.items():
        if re.fullmatch(pattern, bare):
            told = choice if isinstance(choice, bool) else str(choice)
            return CellRead(choice, Finding(code, {"choice": told}), _SURE)
    return _kept()


def _rough_day(meaning: Meaning, read: DayRead) -> CellRead:
    """As exactly as it is written: the day, its month, or its year."""
    if read.day is None:
        return CellRead(None, read.said, read.sure, read.choices)
    length = {"sheet-day-taken": 4, "sheet-month-day-taken": 7}.get(read.said.code, 10)
    if read.said.code == "sheet-season-day-taken":
        length = 4
    rough = read.day.isoformat()[:length]
    code = "sheet-printed-test" if meaning is Meaning.PRINTED_TEST else "sheet-packed"
    return CellRead(rough, Finding(code, {"rough_day": rough}), _SURE)
