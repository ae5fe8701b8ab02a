"""Everything in the collection as CSV files in one zip archive, with what is needed to read them.

A file a table in order of its key, RFC 4180 in UTF-8, and one for each photograph;
``data_dictionary.csv`` says what every column means; ``manifest.json`` how many rows each file has
and its SHA-256, and which schema and program wrote it. The same collection gives the same bytes,
but for the moment in the manifest.
"""

import csv
import hashlib
import io
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import IO, Any, Final
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from sqlalchemy import Table
from sqlmodel import Session

from seedbank import __version__
from seedbank.interchange.folder.cells import cell_writer, file_of, guarded
from seedbank.interchange.folder.columns import CellType, dictionary_rows, specs_of
from seedbank.interchange.folder.whole_collection import (
    LEFT_OUT,
    collection_tables,
    hold_still,
    read_rows,
    schema_history,
)

FORMAT: Final = "seedbank-collection"
FORMAT_VERSION: Final = 1
MANIFEST: Final = "manifest.json"
DICTIONARY: Final = "data_dictionary.csv"
_NO_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest a zip archive can tell: the bytes stay the same


@dataclass(frozen=True, slots=True)
class FileEntry:
    """A file of the archive as the manifest lists it. ``table`` is empty for what is none."""

    name: str
    table: str
    rows: int
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What the archive is, and what is in it."""

    format: str
    format_version: int
    schema_revision: str
    program_version: str
    made_at: str
    files: tuple[FileEntry, ...]
    left_out: dict[str, str]


def export_collection(session: Session, out: IO[bytes], *, now: datetime) -> Manifest:
    """Write the whole collection to ``out``, as it is at one moment; memory stays bounded.

    ``session`` must not have read anything yet in its transaction.
    """
    hold_still(session)
    entries = []
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        for table in collection_tables():
            rows = _table_rows(session, table)
            entries.append(_write(archive, f"{table.name}.csv", table.name, rows))
            entries += _write_files(session, archive, table)
        dictionary = ([guarded(cell) for cell in row] for row in dictionary_rows())
        entries.append(_write(archive, DICTIONARY, "", dictionary))
        manifest = Manifest(
            format=FORMAT,
            format_version=FORMAT_VERSION,
            schema_revision=schema_history()[0],
            program_version=__version__,
            made_at=now.isoformat(),
            files=tuple(entries),
            left_out=dict(LEFT_OUT),
        )
        text = json.dumps(asdict(manifest), indent=2) + "\n"
        archive.writestr(_info(MANIFEST), text)
    return manifest


def _table_rows(session: Session, table: Table) -> Iterable[Sequence[str]]:
    specs = specs_of(table)
    yield [spec.name for spec in specs]
    writers = [cell_writer(spec) for spec in specs]
    (key, *_) = table.primary_key.columns
    columns = [  # the key in place of a file, which isn't read for its name alone
        key.label(spec.name) if spec.holds is CellType.FILE else column
        for spec, column in zip(specs, table.columns, strict=True)
    ]
    for row in read_rows(session, table, columns):
        yield ["" if one is None else write(one) for one, write in zip(row, writers, strict=True)]


def _write_files(session: Session, archive: ZipFile, table: Table) -> Iterator[FileEntry]:
    """Write what rows hold that is too large for a cell, a file each, as it is."""
    for place, spec in enumerate(specs_of(table)):
        if spec.holds is not CellType.FILE:
            continue
        for row in read_rows(session, table):
            name, data = file_of(table.name, row[0]), row[place]
            archive.writestr(_info(name), data, ZIP_STORED)  # it is packed already
            yield FileEntry(name, "", 0, len(data), hashlib.sha256(data).hexdigest())


def _write(archive: ZipFile, name: str, table: str, rows: Iterable[Sequence[str]]) -> FileEntry:
    """Write one CSV file, heading first."""
    with archive.open(_info(name), "w", force_zip64=True) as raw:
        digested = _Digested(raw)
        text = io.TextIOWrapper(io.BufferedWriter(digested), encoding="utf-8", newline="")
        writer, number = csv.writer(text, lineterminator="\r\n"), -1
        for row in rows:
            writer.writerow(row)
            number += 1
        text.close()
    return FileEntry(name, table, number, digested.size, digested.digest.hexdigest())


def _info(name: str) -> ZipInfo:
    info = ZipInfo(name, _NO_DATE)
    info.compress_type = ZIP_DEFLATED
    info.external_attr = 0o644 << 16
    return info


class _Digested(io.RawIOBase):
    """Passes bytes on, and keeps their number and digest."""

    def __init__(self, onto: IO[bytes]) -> None:
        self.onto = onto
        self.size = 0
        self.digest = hashlib.sha256()

    def writable(self) -> bool:
        return True

    def write(self, data: Any, /) -> int:
        self.size += len(data)
        self.digest.update(data)
        return self.onto.write(data)
