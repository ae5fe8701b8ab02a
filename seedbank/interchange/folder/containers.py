"""Folder or zip is all one: either holds an export (with its manifest) or files written by hand."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO
from zipfile import ZIP_DEFLATED, ZipFile

from seedbank.interchange.folder.export_archive import DICTIONARY, MANIFEST
from seedbank.interchange.folder.files import LARGEST
from seedbank.interchange.folder.guard import opened_zip, refuse
from seedbank.interchange.folder.rows import FILES
from seedbank.interchange.folder.whole_collection import collection_tables


def holds_export(path: Path) -> bool:
    """Whether a folder or a zip archive is an export. Raises ArchiveRefused: neither can be."""
    tables = {f"{table.name}.csv" for table in collection_tables()}
    exports_only = {MANIFEST, DICTIONARY, *tables} - set(FILES)  # its manifest may have got lost
    if path.is_dir():
        return bool({file.name for file in path.iterdir()} & exports_only)
    with path.open("rb") as brought, opened_zip(brought, path.name) as archive:
        names = set(archive.namelist())
        return bool(names & exports_only) or not names & set(FILES)


@contextmanager
def export_in(path: Path) -> Iterator[IO[bytes]]:
    """An export as the archive it is, or was before it was unpacked into a folder."""
    if path.is_file():
        with path.open("rb") as brought:
            yield brought
        return
    with tempfile.TemporaryFile() as packed:
        with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
            for file in sorted(path.iterdir()):
                if file.is_file():
                    archive.write(file, file.name)
        packed.seek(0)
        yield packed


@contextmanager
def folder_in(path: Path) -> Iterator[Path]:
    """The folder of files written by hand, unpacked for a while if it is a zip archive of them.

    Raises ArchiveRefused: names that no such folder has, or a file larger than may be.
    """
    if path.is_dir():
        yield path
        return
    with (
        tempfile.TemporaryDirectory() as folder,
        path.open("rb") as brought,
        opened_zip(brought, path.name) as archive,
    ):
        for entry in archive.infolist():
            if entry.filename not in FILES:
                known = ", ".join(FILES)
                raise refuse(entry.filename[:80], "folder-stray-file", files=known)
            if entry.file_size > LARGEST:
                raise refuse(entry.filename, "folder-file-too-large", most=LARGEST)
            with archive.open(entry) as source, (Path(folder) / entry.filename).open("wb") as out:
                shutil.copyfileobj(source, out)  # never more than was declared
        yield Path(folder)
