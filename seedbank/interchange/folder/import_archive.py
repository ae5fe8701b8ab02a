"""Taking an exported collection in again, into an empty one: all of it or nothing, as it was."""

import hashlib
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import IO, Any
from zipfile import ZipFile

from sqlalchemy import Table
from sqlmodel import Session

from seedbank.common.errors import Conflict, Refused
from seedbank.database.migrations.doubted_entries import doubt_entries
from seedbank.database.migrations.marks_in_notes import move_marks
from seedbank.database.transaction import tried
from seedbank.interchange.bounds import check_bounds, check_lot
from seedbank.interchange.folder.cells import value_of
from seedbank.interchange.folder.columns import CellType, ColumnSpec, specs_of
from seedbank.interchange.folder.csv_lines import CsvLines, LineRefused
from seedbank.interchange.folder.export_archive import DICTIONARY, FileEntry, Manifest
from seedbank.interchange.folder.files import ImportProblem
from seedbank.interchange.folder.guard import ArchiveRefused, opened_archive, refuse
from seedbank.interchange.folder.whole_collection import (
    RowRefused,
    batch_of,
    clear_packaged_kinds,
    collection_tables,
    continue_numbering,
    put_rows,
    table_in_use,
    unbalanced_lots,
)
from seedbank.kinds.edit_kinds import add_packaged_kinds
from seedbank.lots import photographs
from seedbank.lots.tables.brought_in import BroughtIn
from seedbank.lots.tables.entry_doubts import EntryDoubt
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.photos import MOST_BYTES
from seedbank.science.quantities import Finding

_MOST_PROBLEMS = 100
LONGEST_ROW = 8_000_000  # bytes; the choices of a plan are the longest there are
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class ArchiveReport:
    """How many rows of each table were taken in, or would be."""

    rows: dict[str, int]
    schema_revision: str
    program_version: str
    made_at: str
    dry_run: bool


def import_archive(
    session: Session,
    brought: IO[bytes],
    *,
    name: str,
    dry_run: bool = False,
    on_progress: Progress | None = None,
) -> ArchiveReport:
    """Take in the archive ``brought``, called ``name``; with ``dry_run`` only see if it could be.

    Raises Conflict: the collection isn't empty. ArchiveRefused: what is wrong, by file and line;
    nothing is changed.
    """
    with opened_archive(brought, name) as (archive, manifest), tried(session, dry_run=dry_run):
        _take_in(session, archive, manifest, on_progress or (lambda *_: None))
    return ArchiveReport(
        rows={entry.table: entry.rows for entry in manifest.files if entry.table},
        schema_revision=manifest.schema_revision,
        program_version=manifest.program_version,
        made_at=manifest.made_at,
        dry_run=dry_run,
    )


def _take_in(session: Session, archive: ZipFile, manifest: Manifest, tell: Progress) -> None:
    used = table_in_use(session)
    if used is not None:
        raise Conflict("collection-not-empty", "database", used, used=used)
    clear_packaged_kinds(session)
    entries = {entry.table: entry for entry in manifest.files if entry.table}
    beside = {entry.name: entry for entry in manifest.files if not entry.table}
    done, rows = 0, sum(entry.rows for entry in manifest.files)
    for table in collection_tables():
        entry = entries.get(table.name)
        if entry is not None:  # an older program had no such table
            for number in _fill(session, table, archive, entry, beside):
                done += number
                tell(done, rows)
    continue_numbering(session)
    if EntryDoubt.__tablename__ not in entries:  # written before there were any such doubts
        doubt_entries(session.connection())
    if BroughtIn.__tablename__ not in entries:  # written when the notes still said it
        move_marks(session.connection())
    wrong = unbalanced_lots(session)
    if wrong:
        raise refuse("movement.csv", "archive-unbalanced", lot=wrong[0])
    add_packaged_kinds(session)
    _check_dictionary(archive, beside.pop(DICTIONARY, None))
    for name in beside:  # what a row named is gone from it
        raise refuse(name, "archive-stray-file")


def _fill(
    session: Session,
    table: Table,
    archive: ZipFile,
    entry: FileEntry,
    beside: dict[str, FileEntry],
) -> Iterator[int]:
    """Put a file's rows in its table, telling how many after each batch.

    Files that rows name are taken from those ``beside``.
    """
    with archive.open(entry.name) as raw:
        checked, number = _Checked(raw), 0
        lines = CsvLines(io.BufferedReader(checked), LONGEST_ROW)
        try:
            reader = _RowReader(table, entry, next(lines, (1, []))[1])
            for batch in _batches(lines, batch_of(table)):
                rows = [reader.row(line, cells) for line, cells in batch]
                _take_files(archive, beside, reader, rows, batch)
                reader.refuse_if_many()
                if not reader.problems:
                    _put(session, table, entry, rows, [line for line, _ in batch])
                number += len(batch)
                yield len(batch)
        except LineRefused as wrong:
            raise refuse(entry.name, wrong.mend, line=wrong.line) from wrong
    reader.refuse()
    if number != entry.rows:
        raise refuse(entry.name, "archive-rows-differ", rows=number, listed=entry.rows)
    checked.check(entry)


def _put(
    session: Session,
    table: Table,
    entry: FileEntry,
    rows: Sequence[Mapping[str, Any]],
    lines: Sequence[int],
) -> None:
    try:
        put_rows(session, table, rows)
    except RowRefused as fault:
        line = lines[fault.position]
        raise refuse(entry.name, "archive-row-refused", line, why=str(fault.why)) from fault


def _take_files(
    archive: ZipFile,
    beside: dict[str, FileEntry],
    reader: "_RowReader",
    rows: list[dict[str, Any]],
    batch: Sequence[tuple[int, list[str]]],
) -> None:
    """Put in the rows what the files hold that they name. Raises ArchiveRefused: no such file, or
    no photograph as this program keeps them."""
    names = [spec.name for spec in reader.specs if spec.holds is CellType.FILE]
    for row, (line, _) in zip(rows, batch, strict=True):
        for name in names:
            if name not in row:
                continue
            entry = beside.pop(row[name], None)
            if entry is None:
                raise refuse(reader.file, "archive-no-such-file", line, named=row[name])
            with archive.open(entry.name) as raw:
                checked = _Checked(raw)
                row[name] = checked.read(MOST_BYTES + 1)
                checked.check(entry)
            if photographs.is_kept_so(row[name]) != (row.get("width_px"), row.get("height_px")):
                raise refuse(entry.name, "archive-no-photo")


def _batches(lines: CsvLines, most: int) -> Iterator[list[tuple[int, list[str]]]]:
    """So many rows at a time, or fewer where they are long."""
    batch: list[tuple[int, list[str]]] = []
    room = LONGEST_ROW
    for line, cells in lines:
        batch.append((line, cells))
        room -= lines.taken
        if len(batch) == most or room < 0:
            yield batch
            batch, room = [], LONGEST_ROW
    if batch:
        yield batch


class _RowReader:
    """Turns lines of one file into rows, and keeps what is wrong with them."""

    def __init__(self, table: Table, entry: FileEntry, heading: list[str]) -> None:
        self.file = entry.name
        self.problems: list[ImportProblem] = []
        self.is_lots = table.name == Lot.__tablename__
        specs = {spec.name: spec for spec in specs_of(table)}
        for name in heading:
            if name not in specs or heading.count(name) > 1:
                raise refuse(self.file, "archive-no-such-column", 1, column=name[:80])
        for name, spec in specs.items():
            if name not in heading and not spec.has_default:
                raise refuse(self.file, "column-missing", 1, column=name)
        self.specs: list[ColumnSpec] = [specs[name] for name in heading]

    def row(self, line: int, cells: list[str]) -> dict[str, Any]:
        if len(cells) != len(self.specs):
            numbers = {"columns": len(self.specs), "cells": len(cells)}
            unlike = Finding("archive-line-unlike", numbers)
            self.problems.append(ImportProblem(self.file, line, "", "", unlike))
            return {}
        row = {}
        for cell, spec in zip(cells, self.specs, strict=True):
            try:
                row[spec.name] = value_of(cell, spec)
                if not self.is_lots:
                    check_bounds(spec.table, spec.name, row[spec.name])
            except ValueError as wrong:
                shown = cell[:80]
                self.problems.append(ImportProblem(self.file, line, spec.name, shown, str(wrong)))
        if self.is_lots and len(row) == len(self.specs):
            try:
                check_lot(row)
            except Refused as fault:
                shown = str(fault.value)
                self.problems.append(ImportProblem(self.file, line, fault.field, shown, fault))
        return row

    def refuse_if_many(self) -> None:
        if len(self.problems) >= _MOST_PROBLEMS:
            self.refuse()

    def refuse(self) -> None:
        if self.problems:
            raise ArchiveRefused(self.problems[:_MOST_PROBLEMS])


class _Checked(io.RawIOBase):
    """Passes bytes on, and keeps their number and digest."""

    def __init__(self, source: IO[bytes]) -> None:
        self.source = source
        self.size = 0
        self.digest = hashlib.sha256()

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any, /) -> int:
        data = self.source.read(len(buffer))
        self.size += len(data)
        self.digest.update(data)
        buffer[: len(data)] = data
        return len(data)

    def check(self, entry: FileEntry) -> None:
        """Raises ArchiveRefused: it isn't the file that was exported."""
        if self.size != entry.bytes or self.digest.hexdigest() != entry.sha256:
            raise refuse(entry.name, "archive-changed-since")


def _check_dictionary(archive: ZipFile, entry: FileEntry | None) -> None:
    """The data dictionary isn't read, only held against its digest."""
    if entry is None:
        return
    with archive.open(entry.name) as raw:
        checked = _Checked(raw)
        while checked.read(1 << 16):
            pass
        checked.check(entry)
