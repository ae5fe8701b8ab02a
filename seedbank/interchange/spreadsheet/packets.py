"""What a list's columns tell of the packet: germination printed on it, when packed, what form.

Each cell gives a field of the lot, or none, and what it was taken for.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from seedbank.interchange.spreadsheet.answers import Meaning, Sure
from seedbank.interchange.spreadsheet.cells import number_in, plain_form
from seedbank.interchange.spreadsheet.days import DayRead
from seedbank.interchange.spreadsheet.words import choice_of
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.tables.lots import MOST_GRAMS, SeedForm
from seedbank.science.quantities import Finding

_YEAR = re.compile(r"(?:19|20)\d\d")
_GENERATION = re.compile(r"(?:f|g|gen\.? ?)?(\d{1,3})(?:\.|st|nd|rd|th)?(?: gen(?:eration)?s?)?")
_GRAMS = re.compile(r" ?(g|gr|grams?|gramme?s?)\.?$")
_TREATMENTS = ("fungicide", "thiram", "insecticide", "metalaxyl", "captan")
_FEW_KEEPERS: Final = 9  # other keepers that are few; our choice


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
        form = choice_of("seed_form", text)
        return _kept() if form is None else _chosen("sheet-seed-form", SeedForm(form))
    if meaning is Meaning.TREATED:
        treated = choice_of("treated", text)
        if treated is None and plain_form(text).startswith(_TREATMENTS):
            treated = "yes"
        return _kept() if treated is None else _chosen("sheet-treated", treated == "yes")
    if meaning is Meaning.THOUSAND_SEEDS:
        return _thousand_seeds(text)
    if meaning is Meaning.GENERATION:
        return _generation(text)
    return _rough_day(meaning, day(text))


PACKET: Final = (
    Meaning.PRINTED_GERMINATION, Meaning.PRINTED_TEST, Meaning.PACKED_FOR, Meaning.PACKED_ON,
    Meaning.SEED_FORM, Meaning.TREATED, Meaning.THOUSAND_SEEDS, Meaning.GENERATION,
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


def _thousand_seeds(text: str) -> CellRead:
    weight = number_in(_GRAMS.sub("", plain_form(text)))
    if weight is None:
        return _kept()
    if not 0 < weight <= MOST_GRAMS:
        return CellRead(None, Finding("sheet-no-thousand-seed-weight"), Sure.WRONG)
    return CellRead(weight, Finding("sheet-thousand-seeds", {"weight_g": weight}), _SURE)


def _chosen(code: str, value: SeedForm | bool) -> CellRead:
    told = value if isinstance(value, bool) else str(value)
    return CellRead(value, Finding(code, {"choice": told}), _SURE)


def _generation(text: str) -> CellRead:
    found = _GENERATION.fullmatch(plain_form(text))
    if found is None:
        return _kept()
    return CellRead(int(found[1]), Finding("sheet-generation", {"generation": found[1]}), _SURE)


def read_keepers(text: str) -> OtherKeepers | None:
    """How many others keep the variety, by words or their number; None where it isn't known."""
    word = choice_of("other_keepers", text)
    if word is not None:
        return OtherKeepers(word)
    number = number_in(plain_form(text))
    if number is None:
        return None
    return OtherKeepers.FEW if number <= _FEW_KEEPERS else OtherKeepers.MANY


_WRITTEN: Final = {"sheet-day-taken": 4, "sheet-season-day-taken": 4, "sheet-month-day-taken": 7}
"""How much of a day in ISO 8601 stood in the cell, characters, where it wasn't all of it."""


def _rough_day(meaning: Meaning, read: DayRead) -> CellRead:
    """As exactly as it is written: the day, its month, or its year."""
    if read.day is None:
        return CellRead(None, read.said, read.sure, read.choices)
    rough = read.day.isoformat()[: _WRITTEN.get(read.said.code, 10)]
    code = "sheet-printed-test" if meaning is Meaning.PRINTED_TEST else "sheet-packed"
    return CellRead(rough, Finding(code, {"rough_day": rough}), _SURE)
