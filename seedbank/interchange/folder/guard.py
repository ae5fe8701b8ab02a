"""Opening an archive somebody brings: nothing in it is trusted before it is looked at.

Refused are archives that could fill the memory or the disk (by the sizes they declare, by their
ratio, by how many entries they list), names that aren't an export's own (so none with a path),
and what no export of this or an earlier program writes. While a file is read its real size and
digest are held against what was declared.
"""

import json
import re
import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields
from typing import IO, Any, Final
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from seedbank.common.catalogue import codes
from seedbank.interchange.folder.cells import is_file_of
from seedbank.interchange.folder.export_archive import (
    DICTIONARY,
    FORMAT,
    FORMAT_VERSION,
    MANIFEST,
    FileEntry,
    Manifest,
)
from seedbank.interchange.folder.files import ImportProblem, ImportRefused, Why
from seedbank.interchange.folder.whole_collection import collection_tables, schema_history
from seedbank.lots.tables.photos import MOST_BYTES, LotPhoto
from seedbank.science.quantities import Finding, Value

MOST_ENTRIES: Final = 10_200  # most are photographs: ten thousand of 200 kB make 2 GB
LARGEST_ARCHIVE: Final = 2 * 1024**3 - 1  # bytes; an archive under it needs no 64-bit directory
LARGEST_FILE: Final = 8 * 1024**3
LARGEST_TOTAL: Final = 16 * 1024**3
LARGEST_RATIO: Final = 250  # deflate itself ends near 1032; records of a garden stay under 30
RATIO_FROM: Final = 8 * 1024**2  # a small file may be as repetitive as it likes
LARGEST_MANIFEST: Final = 1024**2
_BROKEN = (BadZipFile, zlib.error, struct.error, EOFError, UnicodeDecodeError)
_END = struct.Struct("<4s4H2LH")
_LOCKED_OR_PATCHED = 0x61  # bits 0, 5 and 6 of an entry's flags (APPNOTE.TXT 4.4.4)
_DIRECTORY_ROOM = 512  # bytes an entry may take in the directory
_DIGEST = re.compile(r"[0-9a-f]{64}")


class ArchiveRefused(ImportRefused):
    """The archive can't be taken in; nothing was changed."""

    named = "archive-refused"


def refuse(file: str, why: Why, /, line: int = 0, **values: Value) -> ArchiveRefused:
    """One thing wrong with a file of the archive, or with the whole of it, by its code."""
    finding = Finding(why, values) if isinstance(why, str) and why in codes() else why
    return ArchiveRefused([ImportProblem(file, line, "", "", finding)])


@contextmanager
def opened_archive(brought: IO[bytes], name: str) -> Iterator[tuple[ZipFile, Manifest]]:
    """The archive and its manifest, once both have been looked over. Raises ArchiveRefused."""
    with opened_zip(brought, name) as archive:
        _check_names(archive.namelist(), name)
        yield archive, _manifest(archive)


@contextmanager
def opened_zip(brought: IO[bytes], name: str) -> Iterator[ZipFile]:
    """A zip archive that can fill neither memory nor disk, whatever its files are called.

    Raises ArchiveRefused.
    """
    _check_end(brought, name)
    try:
        with _opened(brought, name) as archive:
            _check_entries(archive.infolist(), name)
            yield archive
    except _BROKEN as broken:
        raise refuse(name, "archive-damaged", fault=str(broken)) from broken


def _opened(brought: IO[bytes], name: str) -> ZipFile:
    try:
        return ZipFile(brought)
    except RuntimeError as odd:  # of a version of the format that the library doesn't know
        raise refuse(name, "archive-packed-oddly", fault=str(odd)) from odd


def _check_end(brought: IO[bytes], name: str) -> None:
    """The directory is small, before anything reads it."""
    size = brought.seek(0, 2)
    if size > LARGEST_ARCHIVE:
        raise refuse(name, "archive-too-large", most=LARGEST_ARCHIVE)
    brought.seek(max(0, size - _END.size))
    end = brought.read(_END.size)
    brought.seek(0)
    if len(end) < _END.size or not end.startswith(b"PK\x05\x06"):
        raise refuse(name, "archive-no-zip")
    _, _, _, _, entries, directory, _, _ = _END.unpack(end)
    if entries > MOST_ENTRIES or directory > MOST_ENTRIES * _DIRECTORY_ROOM:
        raise refuse(name, "archive-too-many-files", files=entries, most=MOST_ENTRIES)


def _is_photo(name: str) -> bool:
    return is_file_of(LotPhoto.__tablename__, name)


def _check_names(names: list[str], name: str) -> None:
    known = {f"{table.name}.csv" for table in collection_tables()} | {DICTIONARY, MANIFEST}
    for one in names:
        if one not in known and not _is_photo(one):
            raise refuse(one[:80], "archive-stray-file")
    if MANIFEST not in names:
        raise refuse(name, "archive-no-manifest", file=MANIFEST)


def _check_entries(entries: list[ZipInfo], name: str) -> None:
    seen: set[str] = set()
    for entry in entries:
        shown = entry.filename[:80]
        if entry.filename in seen:
            raise refuse(shown, "archive-file-twice")
        seen.add(entry.filename)
        _check_entry(entry)
    if sum(entry.file_size for entry in entries) > LARGEST_TOTAL:
        raise refuse(name, "archive-unpacks-too-large", most=LARGEST_TOTAL)


def _check_entry(entry: ZipInfo) -> None:
    if entry.flag_bits & _LOCKED_OR_PATCHED:
        raise refuse(entry.filename, "archive-encrypted")
    if entry.compress_type not in (ZIP_DEFLATED, ZIP_STORED):
        raise refuse(entry.filename, "archive-no-deflate")
    if entry.header_offset < 0:
        raise BadZipFile(f"{entry.filename} begins before the archive does")
    most = LARGEST_MANIFEST if entry.filename == MANIFEST else LARGEST_FILE
    if _is_photo(entry.filename):
        most = MOST_BYTES
    if entry.file_size > most:
        raise refuse(entry.filename, "archive-unpacks-too-large", most=most)
    if entry.file_size > RATIO_FROM and entry.file_size > LARGEST_RATIO * entry.compress_size:
        raise refuse(entry.filename, "archive-unpacks-too-far", ratio=LARGEST_RATIO)


def _manifest(archive: ZipFile) -> Manifest:
    with archive.open(MANIFEST) as file:
        text = file.read(LARGEST_MANIFEST + 1)
    try:
        data = json.loads(text)
        files = tuple(_entry(one) for one in data.pop("files"))
        manifest = Manifest(files=files, **data)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as wrong:
        raise refuse(MANIFEST, "manifest-misread") from wrong
    if manifest.format != FORMAT:
        raise refuse(MANIFEST, "manifest-of-another-format", format=FORMAT)
    newer = manifest.format_version != FORMAT_VERSION
    if newer or manifest.schema_revision not in schema_history():
        raise refuse(MANIFEST, "archive-newer")
    _check_files(archive, manifest)
    return manifest


def _entry(data: Any) -> FileEntry:
    entry = FileEntry(**{field.name: data[field.name] for field in fields(FileEntry)})
    numbers = entry.rows, entry.bytes
    if not all(type(number) is int and number >= 0 for number in numbers):
        raise ValueError("rows and bytes are whole numbers")
    if not isinstance(entry.name, str) or not _DIGEST.fullmatch(entry.sha256):
        raise ValueError("a name and a SHA-256 are needed")
    return entry


def _check_files(archive: ZipFile, manifest: Manifest) -> None:
    listed = [entry.name for entry in manifest.files]
    there = {entry.filename: entry.file_size for entry in archive.infolist()}
    del there[MANIFEST]
    for name in sorted({*listed} ^ {*there}):
        code = "archive-file-missing" if name in listed else "archive-file-not-listed"
        raise refuse(str(name)[:80], code)
    if len(listed) != len({*listed}):
        raise refuse(MANIFEST, "manifest-file-twice")
    for entry in manifest.files:
        if entry.bytes != there[entry.name]:
            raise refuse(entry.name, "archive-size-differs")
        own = f"{entry.table}.csv" if entry.table else DICTIONARY
        if entry.name != own and (entry.table or not _is_photo(entry.name)):
            raise refuse(MANIFEST, "manifest-table-unlike", file=entry.name, table=entry.table)
