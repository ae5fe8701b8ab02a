"""Which column of somebody's own spreadsheet is what: by its heading, else by what stands in it."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Refused
from seedbank.interchange.spreadsheet.amounts import read_amount
from seedbank.interchange.spreadsheet.answers import DayOrder, Meaning, Sure
from seedbank.interchange.spreadsheet.cells import plain_form, quoted
from seedbank.interchange.spreadsheet.days import read_day, read_harvest
from seedbank.interchange.spreadsheet.text import Sheet, SheetRow
from seedbank.science.quantities import Finding

_HEADINGS: Mapping[Meaning, str] = {
    Meaning.PACKET_SEEDS: r"seeds? (per|in a|each) (packet|pack|pkt)|(packet|pack) size|per packet",
    Meaning.HARVESTED: r"harvest\w*|crop year|years?|saved( in| on)?|year saved|seed year|vintage"
    r"|(year|date) (of )?harvest\w*|date saved|year grown|grown( in)?",
    Meaning.ACQUIRED_ON: r"bought( on| in)?|acquired( on)?|acquired_on|purchased?( on| date)?"
    r"|date|(date|year) (bought|acquired|received|purchased|got)|received( on)?|got( in| on)?",
    Meaning.SOW_BY: r"(to be )?(sown?|used?|best)( it)? (by|before)( date)?|expir(y|es)( date)?"
    r"|sow_by",
    Meaning.PRINTED_GERMINATION: r"(printed )?germ(ination)?( printed| on (the )?packet)?"
    r"( rate)?( ?%| pct| percent(age)?)?( printed)?|% germ(ination)?",
    Meaning.PRINTED_TEST: r"(germ(ination)? )?test(ed)?( on| date| day)?|date (of test|tested)"
    r"|printed test( on)?",
    Meaning.PACKED_FOR: r"packed for( (the )?season| year)?|for (the )?season|season",
    Meaning.PACKED_ON: r"pack(ed|ing|aged)?( on| in| date| year| day)?|(date|year) packed",
    Meaning.SEED_FORM: r"(seed )?form|pellet(ed|s)?( or primed)?|seed type",
    Meaning.TREATED: r"(chemically )?treat(ed|ment)|(seed )?dress(ed|ing)",
    Meaning.AMOUNT: r"amounts?|quantity|qty|how (many|much)( left| seeds)?|seeds|count|number"
    r"|no\.?( of seeds)?|number of seeds|left|remaining|stock|in stock|weight|grams?|g|oz|ounces"
    r"|packets?|packs?|pkts?|seeds left|amount left",
    Meaning.VARIETY: r"variet(y|ies)|cultivar|cv\.?|var\.?|name|sort|variety name|seed name|strain",
    Meaning.KIND: r"kind|crop|species|plant|vegetable|veg|what|type( of plant| of seed)?|category"
    r"|plant type",
    Meaning.ORIGIN: r"origin|how (it )?(came|got)|how|provenance",
    Meaning.DONOR: r"from|source|supplier|from whom|who from|donor|company|seller|bought from|shop"
    r"|where from|giver",
    Meaning.PLACE: r"place|where|location|stored( in| at)?|kept( in| at)?|storage|box|where kept"
    r"|shelf|drawer",
    Meaning.NOTES: r"notes?|remarks?|comments?|description|other|misc",
}  # fmt: skip
_UNIT = re.compile(r"\b(grams?|gr?|oz|ounces?|kg|packets?|packs?|pkts?)\b", re.IGNORECASE)
_UNITS = {"g": "g", "o": "oz", "k": "kg", "p": "packets"}
_MOST_LOOKED_AT = 200


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, what it is taken for, why, and the unit its heading names."""

    heading: str
    meaning: Meaning
    said: Finding
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Columns:
    """All columns, and the rows below them; where the first line is no heading it is a row."""

    columns: tuple[Column, ...]
    rows: tuple[SheetRow, ...]
    said: tuple[Finding, ...]


def columns_of(
    sheet: Sheet,
    wanted: Mapping[str, Meaning],
    *,
    today: date,
    is_kind: Callable[[str], bool],
) -> Columns:
    """What each column is: as ``wanted`` by heading, else as its heading or its cells say.

    Raises Refused: ``wanted`` names a heading that isn't there, or there are two of it.
    """
    looks = _Looks(today, is_kind)
    headed = _is_heading(sheet, looks)
    rows = sheet.rows if headed else (sheet.first, *sheet.rows)
    width = max(len(row.cells) for row in (sheet.first, *rows))
    headings = _headings(sheet.first.cells if headed else (), width)
    chosen = _chosen(headings, wanted)
    said = () if headed else (Finding("sheet-no-headings"),)
    found: dict[int, Column] = {}
    for place, meaning in chosen.items():
        heading = headings[place]
        said_so = Finding("sheet-as-you-say")
        found[place] = Column(heading, meaning, said_so, _unit_of(heading, meaning))
    _by_heading(headings, found)
    _by_content(headings, rows, found, looks)
    columns = (found.get(place) or _unread(heading) for place, heading in enumerate(headings))
    return Columns(tuple(columns), rows, said)


def repeated(headings: Sequence[str]) -> list[str]:
    """Headings that stand more than once, whatever their case."""
    seen: dict[str, int] = {}
    for heading in headings:
        seen[plain_form(heading)] = seen.get(plain_form(heading), 0) + 1
    return [heading for heading, times in seen.items() if heading and times > 1]


def _is_heading(sheet: Sheet, looks: "_Looks") -> bool:
    cells = [cell for cell in sheet.first.cells if cell]
    if any(_named(cell) is not None for cell in cells):
        return True
    return not any(looks.like_data(cell) for cell in cells)


def _headings(cells: Sequence[str], width: int) -> list[str]:
    named = list(cells) + [""] * (width - len(cells))
    return [
        cell or text_of(Finding("sheet-column-unnamed", {"place": place}))
        for place, cell in enumerate(named, 1)
    ]


def _chosen(headings: Sequence[str], wanted: Mapping[str, Meaning]) -> dict[int, Meaning]:
    found: dict[int, Meaning] = {}
    for heading, meaning in wanted.items():
        places = [n for n, one in enumerate(headings) if plain_form(one) == plain_form(heading)]
        if not places:
            there = ", ".join(quoted(one) for one in headings)
            raise Refused("no-such-column", "columns", heading, headings=there)
        if meaning is not Meaning.NOTES and meaning in found.values():
            raise Refused("column-meaning-taken", "columns", heading, choice=meaning.value)
        found[places[0]] = meaning
    return found


def _by_heading(headings: Sequence[str], found: dict[int, Column]) -> None:
    for place, heading in enumerate(headings):
        meaning = _named(heading)
        if place in found or meaning is None:
            continue
        if meaning is not Meaning.NOTES and meaning in _taken(found):
            continue
        why = Finding("sheet-by-heading")
        found[place] = Column(heading, meaning, why, _unit_of(heading, meaning))


def _by_content(
    headings: Sequence[str], rows: Sequence[SheetRow], found: dict[int, Column], looks: "_Looks"
) -> None:
    for place, heading in enumerate(headings):
        if place in found:
            continue
        cells = [row.cells[place] for row in rows[:_MOST_LOOKED_AT] if len(row.cells) > place]
        meaning = looks.meaning([cell for cell in cells if cell])
        if meaning is not None and meaning not in _taken(found):
            found[place] = Column(heading, meaning, Finding("sheet-by-content"))
    if Meaning.VARIETY not in _taken(found):
        _take_as_variety(headings, found)


def _take_as_variety(headings: Sequence[str], found: dict[int, Column]) -> None:
    """Without a column of varieties the first that is nothing else is one, or that of the kinds."""
    free = [place for place in range(len(headings)) if place not in found]
    if free:
        why = Finding("sheet-only-column-left")
        found[free[0]] = Column(headings[free[0]], Meaning.VARIETY, why)
        return
    for place, column in found.items():
        if column.meaning is Meaning.KIND and column.said.code != "sheet-as-you-say":
            why = Finding("sheet-no-other-varieties")
            found[place] = Column(column.heading, Meaning.VARIETY, why)
            return


def _taken(found: Mapping[int, Column]) -> set[Meaning]:
    return {column.meaning for column in found.values()}


def _unread(heading: str) -> Column:
    return Column(heading, Meaning.NOTES, Finding("sheet-column-kept"))


def _named(heading: str) -> Meaning | None:
    bare = re.sub(r"\([^()]*\)", "", plain_form(heading)).strip(" :*?_").replace("_", " ")
    for meaning, words in _HEADINGS.items():
        if bare == meaning.value.replace("_", " ") or re.fullmatch(words, bare):
            return meaning
    return None


def _unit_of(heading: str, meaning: Meaning) -> str:
    found = _UNIT.search(heading) if meaning is Meaning.AMOUNT else None
    return "" if found is None else _UNITS[found[1][0].lower()]


@dataclass(frozen=True, slots=True)
class _Looks:
    """What a cell looks like."""

    today: date
    is_kind: Callable[[str], bool]

    def meaning(self, cells: Sequence[str]) -> Meaning | None:
        """What most of the cells look like; None if nothing in particular."""
        if not cells:
            return None
        for meaning, looks in (
            (Meaning.KIND, self.is_kind),
            (Meaning.HARVESTED, self._year),
            (Meaning.ACQUIRED_ON, self._day),
            (Meaning.AMOUNT, self._amount),
        ):
            if sum(map(looks, cells)) > 0.6 * len(cells):
                return meaning
        return None

    def like_data(self, cell: str) -> bool:
        return self.is_kind(cell) or self._year(cell) or self._day(cell) or self._amount(cell)

    def _year(self, cell: str) -> bool:
        read = read_harvest(cell, DayOrder.DAY_FIRST, self.today)
        may_be_year = bool(read.choices) and cell[:4].isdecimal()
        return (read.year is not None and read.day is None) or may_be_year

    def _day(self, cell: str) -> bool:
        orders = (DayOrder.DAY_FIRST, DayOrder.MONTH_FIRST)
        return any(read_day(cell, order, self.today).day is not None for order in orders)

    def _amount(self, cell: str) -> bool:
        return any(c.isdigit() for c in cell) and read_amount(cell).sure in (
            Sure.WRITTEN,
            Sure.ESTIMATED,
        )
