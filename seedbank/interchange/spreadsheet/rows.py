"""Rows of somebody's own spreadsheet read into what a lot is made of, cell by cell."""

import hashlib
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Final

from seedbank.common.catalogue import text_of
from seedbank.interchange.spreadsheet.amounts import AmountRead, Settled, read_amount, settle
from seedbank.interchange.spreadsheet.answers import (
    BlankKinds,
    DayOrder,
    Meaning,
    Spreadsheet,
    Sure,
    YearPairs,
)
from seedbank.interchange.spreadsheet.cells import (
    KindFound,
    KnownNames,
    Reading,
    is_formula,
    number_in,
    plain_form,
    quoted,
)
from seedbank.interchange.spreadsheet.columns import Column
from seedbank.interchange.spreadsheet.days import (
    DayRead,
    is_year_pair,
    of_year_pair,
    read_day,
    read_harvest,
    read_last_day,
)
from seedbank.interchange.spreadsheet.packets import PACKET, read_keepers, read_packet_cell
from seedbank.interchange.spreadsheet.sections import UnderSection, under_sections
from seedbank.interchange.spreadsheet.text import Sheet, SheetRow
from seedbank.interchange.spreadsheet.words import choice_of
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.tables.lots import Origin, SeedForm
from seedbank.lots.weighing import MEASURED
from seedbank.science.quantities import Finding, Value

_LONGEST_NOTES: Final = 4000
_LONGEST: Final = {
    Meaning.KIND: 120, Meaning.VARIETY: 120, Meaning.PLACE: 120,
    Meaning.DONOR: 200, Meaning.ORIGIN: 200,
}  # fmt: skip
_ORIGINS: Mapping[Origin, str] = {
    Origin.SELF_SAVED: r"(my |our )?own( seeds?)?|(self|home)?[ -]?saved( seeds?| here| by me)?"
    r"|home[ -]?(grown|saved)|mine|from (my|our) (own )?garden|me|us|saved .*",
    Origin.SWAPPED: r"(seed )?swap(ped|s)?\b.*|exchanged?\b.*|traded?\b.*",
    Origin.GIFT: r"(a )?gift\b.*|given\b.*|free(bie)?\b.*|present\b.*",
    Origin.COLLECTED: r"collected\b.*|wild\b.*|foraged\b.*|gathered\b.*",
    Origin.BOUGHT: r"bought\b.*|purchased?\b.*|shop( bought)?|store( bought)?|ordered\b.*",
}  # fmt: skip
Weights = Callable[[str], tuple[float | None, float]]


@dataclass(frozen=True, slots=True)
class RowRead:
    """A row as it is to be taken in. ``mark`` tells it from all other rows, wherever it stands."""

    line: int
    readings: tuple[Reading, ...]
    kind: str | None
    variety: str
    amount: Settled
    harvest: DayRead
    acquired_on: date | None
    sow_by: date | None
    packet: Mapping[str, object]
    other_keepers: OtherKeepers | None
    origin: Origin
    donor: str
    place: str
    notes: str
    mark: str
    sheet: str = ""

    @property
    def in_the_way(self) -> tuple[Reading, ...]:
        """What has to be answered or mended before it can be taken in."""
        return tuple(one for one in self.readings if one.sure in _OPEN)


@dataclass(frozen=True, slots=True)
class Setting:
    """All that rows are read by: the columns, what is known here, and what the owner said.

    ``orders`` and ``year_pairs`` are of columns with dates, by heading.
    """

    sheet: Sheet
    form: Spreadsheet
    columns: tuple[Column, ...]
    known: KnownNames
    weights: Weights
    orders: Mapping[str, DayOrder | None]
    year_pairs: Mapping[str, YearPairs | None]
    today: date


def read_rows(
    rows: tuple[SheetRow, ...], setting: Setting, times: Counter[str]
) -> Iterator[RowRead]:
    """Every row that isn't the heading of a section, read; ``times`` counts rows that are alike."""
    for under in under_sections(rows, setting.columns, setting.known):
        text = "\x1f".join(under.row.cells)
        times[text] += 1
        known = f"{text}\x1e{times[text]}".encode("utf-8", "surrogatepass")
        mark = hashlib.sha256(known).hexdigest()[:16]
        yield _RowReader(under, setting).read(mark)


class _RowReader:
    """One row being read: ``told`` is what was said of each column so far."""

    def __init__(self, under: UnderSection, setting: Setting) -> None:
        row = under.row
        self.setting = setting
        self.under = under
        self.line = row.line
        self.row_cells = row.cells
        self.told: dict[str, Reading] = {}
        self.columns: dict[Meaning, Column] = {}
        self.cells: dict[Meaning, str] = {}
        self.written: list[tuple[str, str]] = []
        for column, cell in zip(setting.columns, row.cells, strict=False):
            if not cell:
                continue
            self.written.append((column.heading, cell))
            self.told[column.heading] = Reading(column.heading, cell, None, Sure.KEPT)
            if column.meaning is not Meaning.NOTES:
                self.columns[column.meaning] = column
                self.cells[column.meaning] = cell
            if is_formula(cell):
                self._tell(column.heading, Finding("sheet-formula"), Sure.WRONG)

    def read(self, mark: str) -> RowRead:
        kind, variety = self._names()
        packet = self._packet()
        amount = self._amount(kind, packet)
        harvest = self._harvest()
        acquired = self._acquired(harvest)
        sow_by = self._sow_by()
        keepers = self._keepers()
        origin, donor = self._origin()
        place = self._place()
        notes = self._notes()
        order = {heading: place for place, (heading, _) in enumerate(self.written)}
        readings = sorted(self.told.values(), key=lambda one: order.get(one.heading, len(order)))
        return RowRead(
            self.line, tuple(readings), kind, variety, amount, harvest, acquired, sow_by,
            packet, keepers, origin, donor, place, notes, mark, self.setting.sheet.title,
        )  # fmt: skip

    def _tell(
        self,
        heading: str,
        said: Finding | None,
        sure: Sure,
        choices: tuple[str, ...] = (),
        answers: str = "",
    ) -> None:
        """Say what a cell was taken for; what is wrong already stays so.

        ``answers`` is the form's field that one of ``choices`` goes to.
        """
        before = self.told.get(heading)
        if before is None or before.sure is not Sure.WRONG:
            text = before.text if before is not None else ""
            asked = answers if sure is Sure.ASKED else ""
            self.told[heading] = Reading(heading, text, said, sure, choices, asked)

    def _tell_of(self, meaning: Meaning, said: Finding | str, sure: Sure, **values: Value) -> None:
        """Say what the cell of this meaning was taken for, as a finding or its code."""
        finding = Finding(said, values) if isinstance(said, str) else said
        self._tell(self._heading(meaning), finding, sure)

    def _heading(self, meaning: Meaning) -> str:
        column = self.columns.get(meaning)
        return column.heading if column else text_of(Finding("sheet-meaning", {"choice": meaning}))

    def _names(self) -> tuple[str | None, str]:
        kind_text = self.cells.get(Meaning.KIND, "")
        variety = self.cells.get(Meaning.VARIETY, "")
        known = self.setting.known
        if kind_text:
            found = known.kind(kind_text)
            if found.slug is None and not variety:
                parted = known.parted(kind_text)
                found, variety = parted.kind, parted.variety if parted.kind.slug else ""
        elif variety and self.under.section:
            found = KindFound(
                known.kind(self.under.section).slug,
                Finding("sheet-kind-of-section", {"text": quoted(self.under.section)}),
            )
        else:
            parted = known.parted(variety)
            found, variety = parted.kind, parted.variety
        found = known.narrowed(found, kind_text, variety, self._noted())
        if found.slug is None and not kind_text and self.under.above:
            found = self._as_above(self.under.above)
        where = Meaning.KIND if kind_text or self._is_blank(found) else Meaning.VARIETY
        if found.slug is None:
            named = found.said if kind_text or variety else None
            said = named or Finding("sheet-say-what-seed")
            answers = "blank_kinds" if self._is_blank(found) else "kinds"
            self._tell(self._heading(where), said, Sure.ASKED, found.choices, answers)
        elif kind_text:
            self._tell_of(where, found.said or "sheet-the-kind", Sure.WRITTEN)
        self._tell_variety(found.slug, variety, guessed=bool(found.said and not kind_text))
        return found.slug, variety or text_of(Finding("sheet-variety-not-named"))

    def _as_above(self, above: str) -> KindFound:
        """The kind of the last row above that has one, where the owner says so; else a question."""
        asked = Finding("sheet-kind-above", {"text": quoted(above)})
        match self.setting.form.blank_kinds:
            case BlankKinds.AS_ABOVE:
                return KindFound(self.setting.known.kind(above).slug, asked)
            case BlankKinds.UNKNOWN:
                return KindFound(None)
            case None:
                return KindFound(None, asked, tuple(BlankKinds))

    @staticmethod
    def _is_blank(found: KindFound) -> bool:
        return found.slug is None and found.choices == tuple(BlankKinds)

    def _noted(self) -> str:
        columns = zip(self.setting.columns, self.row_cells, strict=False)
        return "\n".join(cell for column, cell in columns if column.meaning is Meaning.NOTES)

    def _tell_variety(self, slug: str | None, variety: str, *, guessed: bool) -> None:
        if slug is None and self.told.get(self._heading(Meaning.VARIETY), _NOTHING).sure in _OPEN:
            return
        if not variety:
            self._tell_of(Meaning.VARIETY, "sheet-no-variety", Sure.ESTIMATED)
            return
        kind = self.setting.known.kinds[slug] if slug and guessed else None
        if self.cells.get(Meaning.VARIETY):
            sure = Sure.ESTIMATED if kind else Sure.WRITTEN
            variety = quoted(variety)
            self._tell_of(Meaning.VARIETY, "sheet-the-variety", sure, kind=kind, variety=variety)
        self._check_length(Meaning.VARIETY)

    def _amount(self, slug: str | None, packet: Mapping[str, object]) -> Settled:
        text = self.cells.get(Meaning.AMOUNT, "")
        size, sized = self._packet_seeds()
        if not text:
            return Settled(Finding("sheet-no-amount"), Sure.KEPT)
        tsw_g, tsw_se_g = (None, 0.0)
        own, form = (packet.get(one.value) for one in (Meaning.THOUSAND_SEEDS, Meaning.SEED_FORM))
        if isinstance(own, float):
            tsw_g, tsw_se_g = own, MEASURED * own
        elif slug and form is not SeedForm.PELLETED:  # a kind's weight is of bare seed
            tsw_g, tsw_se_g = self.setting.weights(slug)
        meant = self.setting.form.amounts.get(text, text)
        read = _amount_read(meant, self.columns[Meaning.AMOUNT].unit)
        settled = settle(read, tsw_g=tsw_g, tsw_se_g=tsw_se_g, packet_size=size)
        heading = self._heading(Meaning.AMOUNT)
        self._tell(heading, settled.said, settled.sure, settled.choices, "amounts")
        if sized and read.packets is None:
            self._tell_of(Meaning.PACKET_SEEDS, "sheet-packet-not-needed", Sure.KEPT)
        return settled

    def _packet_seeds(self) -> tuple[float | None, bool]:
        text = self.cells.get(Meaning.PACKET_SEEDS, "")
        if not text:
            return self.setting.form.packet_seeds, False
        size = number_in(plain_form(text).removesuffix(" seeds").lstrip("~c. "))
        if size is None or not 1 <= size <= 1_000_000:
            self._tell_of(Meaning.PACKET_SEEDS, "sheet-no-number", Sure.KEPT)
            return self.setting.form.packet_seeds, False
        self._tell_of(
            Meaning.PACKET_SEEDS, "sheet-seeds-in-packet", Sure.WRITTEN, packet_seeds=size
        )
        return size, True

    def _harvest(self) -> DayRead:
        text = self.cells.get(Meaning.HARVESTED, "")
        if not text:
            return DayRead(Finding("sheet-day-not-known"), Sure.KEPT)
        heading = self.columns[Meaning.HARVESTED].heading
        order, written = self.setting.orders.get(heading), self._meant(heading, text)
        came = self._came()
        read = read_harvest(written, order, self.setting.today, came.day if came else None)
        finding = Finding("sheet-harvested", {"when": read.said}) if read.year else read.said
        self._tell_day(heading, finding, read)
        return read

    def _meant(self, heading: str, text: str) -> str:
        """A date as its owner means it, so far as they said."""
        written = self.setting.form.dates.get(text)
        if written is not None:
            return written
        pairs = self.setting.year_pairs.get(heading)
        return text if pairs is None else of_year_pair(text, pairs, self.setting.today)

    def _tell_day(self, heading: str, finding: Finding, read: DayRead) -> None:
        text = self.told[heading].text if heading in self.told else ""
        pair = bool(read.choices) and is_year_pair(text)
        choices = tuple(YearPairs) if pair else read.choices
        if read.sure is Sure.ASKED and not choices:  # which comes first, of a whole column
            self._tell(heading, finding, read.sure, tuple(DayOrder), "day_order")
            return
        self._tell(heading, finding, read.sure, choices, "short_dates" if pair else "dates")

    def _came(self) -> DayRead | None:
        """What the cell says of the day it came here, where there is one."""
        text = self.cells.get(Meaning.ACQUIRED_ON, "")
        if not text:
            return None
        heading = self.columns[Meaning.ACQUIRED_ON].heading
        return read_day(
            self._meant(heading, text), self.setting.orders.get(heading), self.setting.today
        )

    def _acquired(self, harvest: DayRead) -> date | None:
        read = self._came()
        if read is None:
            return None
        finding = Finding("sheet-came", {"when": read.said}) if read.day else read.said
        self._tell_day(self._heading(Meaning.ACQUIRED_ON), finding, read)
        if read.day is None:
            return None
        first = harvest.day or (harvest.year and date(harvest.year, 1, 1)) or None
        if first is not None and read.day < first and harvest.sure is not Sure.ESTIMATED:
            self._tell_of(Meaning.ACQUIRED_ON, "sheet-came-before-harvest", Sure.WRONG)
        return read.day

    def _sow_by(self) -> date | None:
        """The day the packet says to sow it by; of a month or a year alone its last."""
        text = self.cells.get(Meaning.SOW_BY, "")
        if not text:
            return None
        heading = self.columns[Meaning.SOW_BY].heading
        read = read_last_day(
            self._meant(heading, text), self.setting.orders.get(heading), self.setting.today
        )
        finding = Finding("sheet-to-sow-by", {"day": read.day}) if read.day else read.said
        self._tell_day(heading, finding, read)
        return read.day

    def _packet(self) -> dict[str, object]:
        """What the packet says, by the lot's fields; nothing of what isn't told."""
        found: dict[str, object] = {}
        for meaning in PACKET:
            text = self.cells.get(meaning, "")
            if text:
                heading = self.columns[meaning].heading
                printed = re.search("print|packet", heading.casefold()) is not None
                read = read_packet_cell(meaning, text, self._day_under(heading), printed=printed)
                self._tell(heading, read.said, read.sure, read.choices, "dates")
                if read.value is not None:
                    found[meaning.value] = read.value
        return found

    def _day_under(self, heading: str) -> Callable[[str], DayRead]:
        order, today = self.setting.orders.get(heading), self.setting.today
        return lambda text: read_day(self._meant(heading, text), order, today)

    def _keepers(self) -> OtherKeepers | None:
        """How many others keep the variety, where the row says so."""
        text = self.cells.get(Meaning.KEEPERS, "")
        read = read_keepers(text) if text else None
        if read is not None:
            self._tell_of(Meaning.KEEPERS, "sheet-keepers", Sure.WRITTEN, choice=read.value)
        return read

    def _origin(self) -> tuple[Origin, str]:
        text, donor = self.cells.get(Meaning.ORIGIN, ""), self.cells.get(Meaning.DONOR, "")
        found = _origin_in(text) or _origin_in(donor)
        origin = found or self.setting.form.origin
        sure = Sure.WRITTEN if found else Sure.ESTIMATED
        came: dict[str, Value] = {"origin": origin.value, "assumed": found is None}
        for meaning, cell in ((Meaning.ORIGIN, text), (Meaning.DONOR, donor)):
            if cell:
                code = "sheet-origin" if _origin_in(cell) else "sheet-donor"
                self._tell_of(meaning, code, sure, donor=quoted(cell), **came)
                self._check_length(meaning)
        if not text and not donor:
            self._tell_of(Meaning.ORIGIN, "sheet-origin-not-written", sure, **came)
        donor = donor or text
        return origin, "" if _is_origin_alone(donor) else donor

    def _place(self) -> str:
        text = self.cells.get(Meaning.PLACE, "")
        if text:
            self._tell_of(Meaning.PLACE, "sheet-the-place", Sure.WRITTEN)
            self._check_length(Meaning.PLACE)
        return text

    def _check_length(self, meaning: Meaning) -> None:
        most = _LONGEST[meaning]
        if len(self.cells.get(meaning, "")) > most:
            self._tell_of(meaning, "limit-string-too-long", Sure.WRONG, max_length=most)

    def _notes(self) -> str:
        for reading in self.told.values():
            if reading.sure is Sure.KEPT and not reading.said:
                self._tell(reading.heading, Finding("sheet-kept-in-notes"), Sure.KEPT)
        sheet = self.setting.sheet
        name = f"{sheet.name}, {sheet.title}" if sheet.title else sheet.name
        line = self.line - sheet.begins
        source = Finding("sheet-row-noted", {"file": name, "line": line})
        lines = [f"{heading}: {cell}" for heading, cell in self.written]
        text = "\n".join([text_of(source), *lines])
        if len(text) > _LONGEST_NOTES:
            said = Finding("sheet-row-over-notes", {"most": _LONGEST_NOTES})
            self._tell(self.written[-1][0], said, Sure.WRONG)
        return text


@lru_cache(maxsize=4096)  # sheets say the same many times
def _amount_read(text: str, unit: str) -> AmountRead:
    return read_amount(text, unit)


@lru_cache(maxsize=4096)
def _origin_in(text: str) -> Origin | None:
    bare = plain_form(text)
    word = choice_of("origin", text)
    if word is not None:
        return Origin(word)
    return next((one for one, words in _ORIGINS.items() if re.fullmatch(words, bare)), None)


def _is_origin_alone(text: str) -> bool:
    """Does it tell how the seed came and no more?"""
    return choice_of("origin", text) is not None or (
        len(text.split()) <= 1 and _origin_in(text) is not None
    )


_OPEN: Final = (Sure.ASKED, Sure.WRONG)
_NOTHING: Final = Reading("", "", None, Sure.KEPT)
