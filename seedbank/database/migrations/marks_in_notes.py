"""Which row of which list a lot came from, as programs before migration 0007 marked it in texts.

They are read by that migration, and of archives older than it: out of the notes of a lot
(``[row …]``, ``Label: …``), its donor (an accession) and its first movement (a passport).
"""

import hashlib
import re
from typing import Any

from sqlalchemy import Connection, Integer, String, bindparam, column, insert, select, table

_LOT = table(
    "lot",
    column("id", Integer),
    column("variety_id", Integer),
    column("donor", String),
    column("notes", String),
)
_VARIETY = table(
    "variety", column("id", Integer), column("kind_id", Integer), column("name", String)
)
_KIND = table("kind", column("id", Integer), column("slug", String))
_MOVEMENT = table(
    "movement", column("lot_id", Integer), column("serial", Integer), column("note", String)
)
_BROUGHT_IN = table(
    "brought_in",
    column("lot_id", Integer),
    column("source", String),
    column("mark", String),
    column("label", String),
)
_ROW = re.compile(r"\n?\[row ([0-9a-f]{16})\]")
_LABEL, _RECORD, _PASSPORT = "Label: ", "As its passport descriptors say:", "passport "


def mark_of(*names: str) -> str:
    """What a row of a list is known by: its names, whatever their case and spacing."""
    plain = (" ".join(name.casefold().split()) for name in names)
    return hashlib.sha256("\x1f".join(plain).encode("utf-8", "surrogatepass")).hexdigest()[:32]


def move_marks(connection: Connection) -> None:
    """Enter every lot that bears a mark, and take the marks out of the notes."""
    lot = _LOT.c
    described = (
        select(lot.id, lot.notes, lot.donor, _KIND.c.slug, _VARIETY.c.name)
        .join(_VARIETY, _VARIETY.c.id == lot.variety_id)
        .join(_KIND, _KIND.c.id == _VARIETY.c.kind_id)
        .order_by(lot.id)
    )
    rows: list[dict[str, Any]] = []
    notes: list[dict[str, Any]] = []
    for number, text, donor, kind, variety in connection.execute(described):
        marks, left = _marks(text, donor, kind, variety)
        rows += [{"lot_id": number, **mark} for mark in marks]
        if left != text:
            notes.append({"number": number, "left": left})
    came = select(_MOVEMENT.c.lot_id, _MOVEMENT.c.note).where(
        _MOVEMENT.c.serial == 1, _MOVEMENT.c.note.like(f"{_PASSPORT}{'_' * 64}")
    )
    for number, note in connection.execute(came.order_by(_MOVEMENT.c.lot_id)):
        mark = note.removeprefix(_PASSPORT)
        rows.append({"lot_id": number, "source": "passport", "mark": mark, "label": ""})
    if rows:
        connection.execute(insert(_BROUGHT_IN), rows)
    if notes:
        change = _LOT.update().where(lot.id == bindparam("number")).values(notes=bindparam("left"))
        connection.execute(change, notes)


def _marks(notes: str, donor: str, kind: str, variety: str) -> tuple[list[dict[str, str]], str]:
    """Source, mark and label of each mark, and the notes without them."""
    found = []
    if notes.startswith(_RECORD):
        mark = mark_of(kind, variety, donor)
        found.append({"source": "descriptors", "mark": mark, "label": ""})
    elif notes.startswith(_LABEL):
        label, _, notes = notes.removeprefix(_LABEL).partition("\n")
        mark = mark_of(kind, variety, label)
        found.append({"source": "folder", "mark": mark, "label": label[:120]})
    row = _ROW.search(notes)
    if row is not None:
        found.append({"source": "spreadsheet", "mark": row[1], "label": ""})
        notes = _ROW.sub("", notes)
    return found, notes
