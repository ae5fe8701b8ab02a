"""Archives for tests: one of a collection, one with a file changed, and rows to compare."""

import hashlib
import io
import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from sqlalchemy import select
from sqlmodel import Session

from seedbank.interchange.folder.export_archive import MANIFEST, export_collection
from seedbank.interchange.folder.whole_collection import collection_tables

WHEN = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)


def archive_of(session: Session) -> bytes:
    """The collection as an archive."""
    out = io.BytesIO()
    session.rollback()
    export_collection(session, out, now=WHEN)
    session.rollback()
    return out.getvalue()


def contents(archive: bytes) -> dict[str, bytes]:
    with ZipFile(io.BytesIO(archive)) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def packed(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def changed(archive: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    """The archive with one file changed, and its manifest made to agree."""
    files = contents(archive)
    files[name] = change(files[name])
    manifest = json.loads(files[MANIFEST])
    for entry in manifest["files"]:
        if entry["name"] == name:
            entry["bytes"] = len(files[name])
            entry["sha256"] = hashlib.sha256(files[name]).hexdigest()
            if name.endswith(".csv"):
                entry["rows"] = files[name].count(b"\r\n") - 1
    files[MANIFEST] = json.dumps(manifest).encode()
    return packed(files)


def every_row(session: Session) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table of the collection, in order of its key."""
    session.expire_all()
    return {
        table.name: [
            tuple(row)
            for row in session.execute(select(table).order_by(*table.primary_key.columns))
        ]
        for table in collection_tables()
    }


def without(archive: bytes, name: str) -> bytes:
    """The archive as a program wrote it that had no such table."""
    files = contents(archive)
    del files[name]
    manifest = json.loads(files[MANIFEST])
    manifest["files"] = [entry for entry in manifest["files"] if entry["name"] != name]
    manifest["schema_revision"] = "0005"
    files[MANIFEST] = json.dumps(manifest).encode()
    return packed(files)
