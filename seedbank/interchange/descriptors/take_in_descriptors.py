"""Lots made from records of the genebanks' passport descriptors.

Passport descriptors as CSV files: the field names as heading, a record a line.

Cells are guarded against formulas as those of the archive are (see ``archive_cells``).
"""

import csv
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from datetime import date, datetime
from typing import IO, Final

from sqlmodel import Session, select

from seedbank.common.catalogue import text_of
from seedbank.common.dates import happened
from seedbank.common.errors import Conflict, Refused
from seedbank.database.find import row_id
from seedbank.database.transaction import transaction, tried
from seedbank.facts.kinds import KindFacts, UnknownKind
from seedbank.facts.kinds import find_kind as packaged_kind
from seedbank.facts.names import slugify
from seedbank.interchange.descriptors.answers import MOST_RECORDS, RecordsArrival, RecordsTakenIn
from seedbank.interchange.descriptors.rules import SEVERAL, check_value, codes, descriptors
from seedbank.interchange.descriptors.write_descriptors import LANDRACE
from seedbank.interchange.filled_forms import filled, misfit
from seedbank.interchange.folder.cells import guarded, unguarded
from seedbank.interchange.folder.files import Problems
from seedbank.interchange.passport.queries import variety_named
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.edit_varieties import add_variety
from seedbank.kinds.forms import VarietyCreate
from seedbank.kinds.tables import Breeding, Kind
from seedbank.lots.forms import LotCreate
from seedbank.lots.show_lots import answer_lot
from seedbank.lots.tables.brought_in import BroughtBy, lots_of_rows, mark_of
from seedbank.lots.tables.lots import Origin
from seedbank.lots.take_in_lots import Arrival, add_lots
from seedbank.science.quantities import Finding

_LONGEST_DONOR: Final = 200
_LONGEST_NOTES: Final = 4000


def take_in_records(
    session: Session, form: RecordsArrival, *, today: date, now: datetime
) -> RecordsTakenIn:
    """Make a lot of each record, all or none; how much seed came is booked by movements.

    The kind is found by its botanical name, or by CROPNAME where several share one; the variety is
    ACCENAME. What the standard tells besides, and its dates, which are the genebank's, is kept in
    the lot's notes.

    Raises Refused: a value that can't be, or a kind that isn't here, by record and field.
    Conflict: the accession was taken in before.
    """
    received = happened(form.received_on, field="received_on", today=today)
    for number, record in enumerate(form.records):
        check_record(record, at=f"records[{number}]")
    with transaction(session):
        kinds = _Kinds(session)
        arrivals = [
            _arrival(session, kinds, record, at=f"records[{number}]", received=received)
            for number, record in enumerate(form.records)
        ]
        _refuse_known(session, form, arrivals)
        lots = add_lots(session, arrivals, today=today, now=now)
        return RecordsTakenIn(lots=[answer_lot(session, lot, today=today) for lot in lots])


def check_record(record: Mapping[str, str], *, at: str) -> None:
    """Raises Refused: a field that isn't the standard's, or a value it can't hold."""
    for field, value in record.items():
        where = f"{at}.{field}"
        if field not in descriptors():
            raise Refused("no-such-field", where, value)
        if not value:
            continue
        try:
            check_value(field, value)
        except ValueError as wrong:
            raise misfit(where, value, str(wrong)) from wrong
    if not record.get("ACCENAME", "").strip():
        raise Refused("variety-name-missing", f"{at}.ACCENAME", "")


class _Kinds:
    """The kinds in the stock, to be found by what a record says of the plant."""

    def __init__(self, session: Session) -> None:
        self.kinds = {row_id(kind.id): kind for kind in session.exec(select(Kind))}
        self.facts = facts_for_kinds(session, self.kinds.values())

    def of(self, record: Mapping[str, str], at: str) -> Kind:
        """The one kind a record is of. Raises Refused."""
        wanted = [record.get(field, "").strip() for field in ("GENUS", "SPECIES", "SUBTAXA")]
        named = self._named(record.get("CROPNAME", ""))
        if not wanted[0]:
            if named is not None:
                return named
            raise Refused("genus-missing", f"{at}.GENUS", "")
        near = {number: _nearness(self.facts[number], wanted) for number in self.kinds}
        best = max(1, *near.values())
        fits = [self.kinds[number] for number, one in near.items() if one == best]
        if named in fits:
            return next(kind for kind in fits if kind is named)
        if len(fits) == 1:
            return fits[0]
        if not fits:
            raise Refused("species-not-known", f"{at}.SPECIES", " ".join(wanted).strip())
        names = ", ".join(sorted(kind.name for kind in fits))
        raise Refused("species-of-kinds", f"{at}.CROPNAME", record.get("CROPNAME", ""), names=names)

    def _named(self, name: str) -> Kind | None:
        slugs = {slugify(name)}
        with suppress(UnknownKind):
            slugs.add(packaged_kind(name).slug)
        return next((kind for kind in self.kinds.values() if kind.slug in slugs), None)


def _nearness(facts: KindFacts, wanted: Sequence[str]) -> int:
    """How near a kind's botanical name comes: 2 to the last word, 1 the same species, 0 not."""
    if facts.botanical is None:
        return 0
    genus, species, below = (one.casefold() for one in wanted)
    first, *rest = facts.botanical.value.casefold().split()
    if genus != first:
        return 0
    if species in ("", "sp."):
        return 2 if rest in ([], ["spp."], ["sp."]) else 0
    if " ".join(rest) == f"{species} {below}".strip():
        return 2
    return 1 if " ".join(rest) == species else 0


def _arrival(
    session: Session, kinds: _Kinds, record: Mapping[str, str], *, at: str, received: date
) -> Arrival:
    """The lot a record tells of; its variety is added where it is new. Raises Refused."""
    kind = kinds.of(record, at)
    name = record["ACCENAME"].split(SEVERAL)[0].strip()
    variety = variety_named(session, row_id(kind.id), name)
    if variety is None:
        landrace = record.get("SAMPSTAT") == LANDRACE
        breeding = Breeding.LANDRACE if landrace else Breeding.UNKNOWN
        given = {"kind": kind.slug, "name": name, "breeding": breeding}
        form = filled(VarietyCreate, given, {"name": f"{at}.ACCENAME"})
        variety_id = add_variety(session, form).id
    else:
        variety_id = row_id(variety.id)
    keeper = record.get("INSTCODE") or record.get("DONORNAME") or ""
    lot = {
        "variety_id": variety_id,
        "origin": Origin.GIFT,
        "donor": keeper,  # and its number there in the notes: all their lots are of one hand
        "acquired_on": received,
        "generation": 0,
        "notes": _notes(record),
    }  # no amount, for the standard has none
    names = {"donor": f"{at}.DONORNAME", "notes": f"{at}.REMARKS"}
    mark = mark_of(kind.slug, name, _accession(record)) if record.get("ACCENUMB") else ""
    row = (BroughtBy.DESCRIPTORS, mark, "") if mark else None
    return Arrival(filled(LotCreate, lot, names), row)


def _refuse_known(session: Session, form: RecordsArrival, arrivals: Sequence[Arrival]) -> None:
    """Raises Conflict: a record was taken in before, or stands here twice."""
    marks = [one.row[1] if one.row else "" for one in arrivals]
    before = lots_of_rows(session, BroughtBy.DESCRIPTORS, marks)
    for number, mark in enumerate(marks):
        if not mark or (mark not in before and mark not in marks[:number]):
            continue
        field, value = f"records[{number}].ACCENUMB", form.records[number]["ACCENUMB"]
        if mark in before:
            raise Conflict("accession-taken-in", field, value, lot=before[mark].code)
        raise Conflict("accession-told-twice", field, value)


def _accession(record: Mapping[str, str]) -> str:
    """Who keeps the accession, and its number there: what it is known by if it comes again."""
    keeper = record.get("INSTCODE") or record.get("DONORNAME")
    keeper = keeper or text_of(Finding("another-keeper"))
    return f"{keeper}, {record['ACCENUMB']}"[:_LONGEST_DONOR]


def _notes(record: Mapping[str, str]) -> str:
    lines = [text_of(Finding("descriptors-noted"))]
    for field in descriptors():
        value = record.get(field, "")
        if value:
            meaning = codes(field).get(value, "")
            lines.append(f"{field}: {value}" + (f" ({meaning})" if meaning else ""))
    return "\n".join(lines)[:_LONGEST_NOTES]


_NUMBERS = frozenset({"latitude", "longitude", "number"})
_LARGEST = 4_000_000  # characters


def write_records(out: IO[str], records: Iterable[Mapping[str, str]]) -> None:
    """Write records under the standard's 41 field names, in its order."""
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(descriptors())
    for record in records:
        writer.writerow([_cell(field, record.get(field, "")) for field in descriptors()])


def read_records(brought: IO[bytes], name: str) -> tuple[list[dict[str, str]], list[int]]:
    """Records of a file, and the line each stands on. Raises ImportRefused: what is wrong where."""
    problems = Problems()
    text = brought.read(_LARGEST + 1)
    if len(text) > _LARGEST:
        problems.add(name, 0, "", "", Finding("file-too-large", {"most": _LARGEST}))
    problems.refuse()
    try:
        rows = list(csv.reader(text.decode("utf-8-sig").splitlines(keepends=True), strict=True))
    except (UnicodeDecodeError, csv.Error) as wrong:
        why = Finding("descriptors-no-csv", {"fault": str(wrong)})
        problems.add(name, 0, "", "", why)
        problems.refuse()
    heading = [cell.strip() for cell in rows[0]] if rows else []
    for field in heading or [""]:
        if field not in descriptors() or heading.count(field) > 1:
            why = Finding("descriptors-heading", {"field": field[:40]})
            problems.add(name, 1, "", "", why)
    if not 1 <= len(rows) - 1 <= MOST_RECORDS:
        problems.add(name, 0, "", "", Finding("descriptors-too-many", {"most": MOST_RECORDS}))
    problems.refuse()
    records, lines = [], []
    for line, cells in enumerate(rows[1:], start=2):
        if len(cells) != len(heading):
            numbers = {"columns": len(heading), "cells": len(cells)}
            problems.add(name, line, "", "", Finding("archive-line-unlike", numbers))
            continue
        record = {f: unguarded(c).strip() for f, c in zip(heading, cells, strict=True) if c.strip()}
        try:
            check_record(record, at="")
        except Refused as fault:
            problems.add(name, line, fault.field.removeprefix("."), fault.value, fault.mend)
        records.append(record)
        lines.append(line)
    problems.refuse()
    return records, lines


def import_records(
    session: Session,
    brought: IO[bytes],
    *,
    name: str,
    dry_run: bool = False,
    today: date,
    now: datetime,
) -> RecordsTakenIn:
    """Take in a file of records, all or none; with ``dry_run`` only see if it could be.

    Raises ImportRefused, by line.
    """
    records, lines = read_records(brought, name)
    try:
        with tried(session, dry_run=dry_run):
            form = RecordsArrival(records=records)
            return take_in_records(session, form, today=today, now=now)
    except (Refused, Conflict) as fault:
        number, _, field = fault.field.removeprefix("records[").partition("].")
        problems = Problems()
        mend = f"{fault} {fault.mend}" if isinstance(fault, Conflict) else fault.mend
        problems.add(name, lines[int(number)], field, fault.value, mend)
        problems.refuse()
        raise


def _cell(field: str, value: str) -> str:
    if value and descriptors()[field].format in _NUMBERS:
        check_value(field, value)
        return value
    return guarded(value)
