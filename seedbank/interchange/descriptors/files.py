"""Passport descriptors as CSV files: the field names as heading, a record a line.

Cells are guarded against formulas as those of the archive are (see ``archive_cells``).
"""

import csv
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import IO

from sqlmodel import Session

from seedbank.common.errors import Conflict, Refused
from seedbank.database.dry_run import tried
from seedbank.interchange.archive.cells import guarded, unguarded
from seedbank.interchange.descriptors.answers import RecordsTakenIn
from seedbank.interchange.descriptors.forms import MOST_RECORDS, RecordsArrival
from seedbank.interchange.descriptors.rules import check_value, descriptors
from seedbank.interchange.descriptors.take_in_descriptors import check_record, take_in_records
from seedbank.interchange.folder.problems import Problems

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
        problems.add(name, 0, "", "", f"bring a file of at most {_LARGEST} bytes")
    problems.refuse()
    try:
        rows = list(csv.reader(text.decode("utf-8-sig").splitlines(keepends=True), strict=True))
    except (UnicodeDecodeError, csv.Error) as wrong:
        problems.add(name, 0, "", "", f"save the file as CSV in UTF-8 ({wrong})")
        problems.refuse()
    heading = [cell.strip() for cell in rows[0]] if rows else []
    for field in heading or [""]:
        if field not in descriptors() or heading.count(field) > 1:
            mend = "head each column with one of the standard's field names"
            problems.add(name, 1, "", "", f"{mend}, not {field[:40]!r}")
    if not 1 <= len(rows) - 1 <= MOST_RECORDS:
        problems.add(name, 0, "", "", f"bring 1 to {MOST_RECORDS} records at a time")
    problems.refuse()
    records, lines = [], []
    for line, cells in enumerate(rows[1:], start=2):
        if len(cells) != len(heading):
            problems.add(name, line, "", "", f"the heading has {len(heading)} columns")
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
        said = f"{fault} {fault.mend}" if isinstance(fault, Conflict) else fault.mend
        problems.add(name, lines[int(number)], field, fault.value, said)
        problems.refuse()
        raise


def _cell(field: str, value: str) -> str:
    if value and descriptors()[field].format in _NUMBERS:
        check_value(field, value)
        return value
    return guarded(value)
