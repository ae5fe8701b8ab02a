"""Which column of somebody's own spreadsheet is what: by its heading, else by what stands in it."""

import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Refused
from seedbank.interchange.folder.files import ImportProblem
from seedbank.interchange.spreadsheet.amounts import read_amount
from seedbank.interchange.spreadsheet.answers import DayOrder, Meaning, Sure
from seedbank.interchange.spreadsheet.cells import plain_form, quoted
from seedbank.interchange.spreadsheet.days import read_day, read_harvest
from seedbank.interchange.spreadsheet.text import Sheet, SheetRefused, SheetRow
from seedbank.interchange.spreadsheet.words import heading_meaning, language_of
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
    Meaning.THOUSAND_SEEDS: r"(tsw|tgw|(1[,. ]?000|thousand)[- ]?(seed|grain|kernel)s?( weight)?)"
    r"[ ,]*(\(?(g|grams?)\)?)?",
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
_UNIT = re.compile(
    r"\b(gramm?[eois]*|gr?|oz|ounces?|kg|packets?|packs?|pkts?|portionen|sachets|sobres|bustine"
    r"|zakjes)\b",
    re.IGNORECASE,
)
_UNITS = {"g": "g", "o": "oz", "k": "kg"}
_MOST_LOOKED_AT = 200
# Shares of cells that tell what a column is; names of crops alone stand nowhere else. Our choice.
_MOST, _KINDS = 0.6, 0.4
_HEADINGS_WITHIN = 20  # rows from the top
_NAMES = frozenset({Meaning.KIND, Meaning.VARIETY})


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, what it is taken for, why, and the unit its heading names."""

    heading: str
    meaning: Meaning
    said: Finding
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Columns:
    """All columns, and the rows below them; where the first line is no heading it is a row.

    ``left`` are headings that aren't known, with what the cells below look like.
    """

    columns: tuple[Column, ...]
    rows: tuple[SheetRow, ...]
    said: tuple[Finding, ...]
    left: tuple[tuple[str, Meaning], ...] = ()

    def cells(self, place: int) -> Iterator[tuple[int, str]]:
        """The cells of the column at a place, each with its row's line."""
        return ((row.line, row.cells[place]) for row in self.rows if len(row.cells) > place)


def columns_of(
    sheet: Sheet,
    wanted: Mapping[str, Meaning],
    *,
    today: date,
    is_kind: Callable[[str], bool],
) -> Columns | None:
    """What each column is: as ``wanted`` by heading, else as its heading or its cells say.

    Headings may stand below rows of a title. None: no sheet of seed, so far as can be told.
    Raises SheetRefused: a heading stands twice. Refused: two are ``wanted`` for one meaning.
    """
    looks = _Looks(today, is_kind)
    at = _heading_row(sheet, looks)
    rows = sheet.rows if at is None else sheet.rows[at + 1 :]
    width = max((len(row.cells) for row in sheet.rows), default=0)
    headings = _headings(() if at is None else sheet.rows[at].cells, width)
    chosen = _chosen(headings, wanted)
    found: dict[int, Column] = {}
    for place, meaning in chosen.items():
        heading = headings[place]
        said_so = Finding("sheet-as-you-say")
        found[place] = Column(heading, meaning, said_so, _unit_of(heading, meaning))
    _by_heading(headings, found)
    by_heading = {one.meaning for one in found.values()}
    open_columns = _by_content(headings, rows, found, looks, headed=at is not None)
    if sheet.title and not by_heading & _NAMES and Meaning.KIND not in _taken(found):
        return None
    if Meaning.VARIETY not in _taken(found):
        _take_as_variety(headings, found, {place for place, _ in open_columns})
    if repeated := _repeated(headings):
        twice = Finding("sheet-heading-twice", {"heading": repeated[0]})
        raise SheetRefused([ImportProblem(sheet.name, sheet.rows[at or 0].line, "", "", twice)])
    columns = (found.get(place) or _unread(heading) for place, heading in enumerate(headings))
    return Columns(
        tuple(columns), rows, _said(sheet, at), tuple((headings[n], of) for n, of in open_columns)
    )


def _said(sheet: Sheet, at: int | None) -> tuple[Finding, ...]:
    if at is None:
        return (Finding("sheet-no-headings"),)
    if at == 0:
        return ()
    above, line = sheet.rows[at - 1].line, sheet.rows[at].line - sheet.begins
    text = quoted(" ".join(cell for cell in sheet.rows[0].cells if cell))
    return (Finding("sheet-title-above", {"text": text, "line": line, "rows": above}),)


def _repeated(headings: Sequence[str]) -> list[str]:
    """Headings that stand more than once, whatever their case."""
    seen: dict[str, int] = {}
    for heading in headings:
        seen[plain_form(heading)] = seen.get(plain_form(heading), 0) + 1
    return [heading for heading, times in seen.items() if heading and times > 1]


def _heading_row(sheet: Sheet, looks: "_Looks") -> int | None:
    """Which row holds the headings: that of the first rows in which most cells are known ones.

    Else the first, where none of its cells looks like data; None if there are none.
    """
    best, most = None, 0
    for at, row in enumerate(sheet.rows[:_HEADINGS_WITHIN]):
        cells = [cell for cell in row.cells if cell]
        language = language_of(cells)
        known = sum(_named(cell, language) is not None for cell in cells)
        if known > most and (known >= 2 or at == 0) and 2 * known >= len(cells):
            best, most = at, known
    if best is not None:
        return best
    first = [cell for cell in sheet.rows[0].cells if cell]
    if any(_named(cell, "") is not None for cell in first):
        return 0
    return None if any(looks.like_data(cell) for cell in first) else 0


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
            continue  # it is of another sheet
        if meaning is not Meaning.NOTES and meaning in found.values():
            raise Refused("column-meaning-taken", "columns", heading, choice=meaning.value)
        found[places[0]] = meaning
    return found


def _by_heading(headings: Sequence[str], found: dict[int, Column]) -> None:
    language = language_of(headings)
    for place, heading in enumerate(headings):
        meaning = _named(heading, language)
        if place in found or meaning is None:
            continue
        if meaning is not Meaning.NOTES and meaning in _taken(found):
            continue
        why = Finding("sheet-by-heading")
        found[place] = Column(heading, meaning, why, _unit_of(heading, meaning))


def _by_content(
    headings: Sequence[str],
    rows: Sequence[SheetRow],
    found: dict[int, Column],
    looks: "_Looks",
    *,
    headed: bool,
) -> list[tuple[int, Meaning]]:
    """Columns by what stands in them. Those whose heading isn't known are left open, and told with
    what they may be, unless they hold kinds: a column of days may be of any.
    """
    left: list[tuple[int, Meaning]] = []
    for place, heading in enumerate(headings):
        if place in found:
            continue
        cells = [row.cells[place] for row in rows[:_MOST_LOOKED_AT] if len(row.cells) > place]
        meaning = looks.meaning([cell for cell in cells if cell])
        if meaning is None or meaning in _taken(found):
            continue
        with_unit = meaning is Meaning.AMOUNT and _mostly(cells, str.isalpha)
        if headed and meaning is not Meaning.KIND and not with_unit:
            left.append((place, meaning))
        else:
            found[place] = Column(heading, meaning, Finding("sheet-by-content"))
    return left


def _mostly(cells: Sequence[str], has: Callable[[str], bool]) -> bool:
    """Has most of the cells a sign such as ``has`` says?"""
    written = [cell for cell in cells if cell]
    return sum(any(map(has, cell)) for cell in written) > _MOST * len(written)


def _take_as_variety(
    headings: Sequence[str], found: dict[int, Column], left: Collection[int]
) -> None:
    """Without a column of varieties the first that is nothing else is one, or that of the kinds."""
    free = [place for place in range(len(headings)) if place not in found and place not in left]
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


def _named(heading: str, language: str) -> Meaning | None:
    bare = re.sub(r"\([^()]*\)", "", plain_form(heading)).strip(" :*?_").replace("_", " ")
    for meaning, words in _HEADINGS.items():
        if bare == meaning.value.replace("_", " ") or re.fullmatch(words, bare):
            return meaning
    word = heading_meaning(bare, language)
    return None if word is None else Meaning(word)


def _unit_of(heading: str, meaning: Meaning) -> str:
    found = _UNIT.search(heading) if meaning is Meaning.AMOUNT else None
    return "" if found is None else _UNITS.get(found[1][0].lower(), "packets")


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
            if sum(map(looks, cells)) > (_KINDS if meaning is Meaning.KIND else _MOST) * len(cells):
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
