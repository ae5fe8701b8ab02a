"""Who changed what: one entry a commit, gathered from what the session writes.

Beside it the requests already answered, so that a repeated one books nothing twice.
"""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import event, inspect
from sqlalchemy.orm import Session as AnySession
from sqlmodel import Field, Session, SQLModel, select

from seedbank.database.base import UtcDateTime
from seedbank.database.queries import Order, Page, Paging, page_of


class AnsweredRequest(SQLModel, table=True):
    """The answer given to a keyed request, written in the same commit as what it did."""

    __tablename__ = "answered_request"

    key: str = Field(primary_key=True, max_length=255)
    fingerprint: str = Field(max_length=64, description="SHA-256 of method, path and body")
    status: int
    location: str = Field(default="", max_length=400)
    etag: str = Field(default="", max_length=80)
    body: str
    answered_at: datetime = Field(sa_type=UtcDateTime, index=True)


_SIGNATURE, _TOUCHED = "seedbank.audit.signature", "seedbank.audit.touched"
_MOST_TOUCHED = 200  # told one by one; an import's thousands are told by number
_LONGEST_VALUE = 200


class AuditEntry(SQLModel, table=True):
    """One commit: by whom, what was asked, and which rows it touched."""

    __tablename__ = "audit_entry"

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = Field(sa_type=UtcDateTime, index=True)
    who: str = Field(max_length=120)
    asked: str = Field(max_length=400)
    row_count: int
    touched: str = Field(description="JSON: table, key, and what changed from what to what")


@dataclass(frozen=True, slots=True)
class _Signature:
    by: str
    asked: str
    at: datetime


def sign(session: Session, *, by: str, asked: str, at: datetime) -> None:
    """Enter what this session changes from now on as done ``by`` them when they ``asked``."""
    session.info[_SIGNATURE] = _Signature(by, asked, at)


def enter(session: Session) -> None:
    """Write the entry of what this session is about to commit, if it is signed and wrote at all."""
    signed: _Signature | None = session.info.get(_SIGNATURE)
    session.flush()
    rows, touched = session.info.pop(_TOUCHED, (0, []))
    if signed is None or rows == 0:
        return
    session.add(
        AuditEntry(
            at=signed.at,
            who=signed.by[:120],
            asked=signed.asked[:400],
            row_count=rows,
            touched=json.dumps(touched, ensure_ascii=False),
        )
    )
    session.flush()
    session.info.pop(_TOUCHED, None)


def forget(session: Session) -> None:
    """What was written is rolled back: there is nothing to enter."""
    session.info.pop(_TOUCHED, None)


def find_entries(session: Session, paging: Paging) -> Page[AuditEntry]:
    """Entries, latest first. Raises BadValue: the cursor."""
    latest_first = Order(AuditEntry.id, AuditEntry.id, descending=True)
    return page_of(session, select(AuditEntry), latest_first, paging)


@event.listens_for(AnySession, "after_flush")
def _note(session: AnySession, _context: Any) -> None:
    if _SIGNATURE not in session.info:
        return
    rows, touched = session.info.get(_TOUCHED, (0, []))
    for change, objects in (
        ("new", session.new), ("changed", session.dirty), ("gone", session.deleted)
    ):  # fmt: skip
        for one in objects:
            if isinstance(one, AuditEntry | AnsweredRequest):
                continue
            entry = _entry_of(one, change)
            if entry is None:
                continue
            rows += 1
            if len(touched) < _MOST_TOUCHED:
                touched.append(entry)
    session.info[_TOUCHED] = (rows, touched)


def _entry_of(row: object, change: str) -> dict[str, Any] | None:
    state = inspect(row)
    assert state is not None
    entry: dict[str, Any] = {
        "table": state.mapper.local_table.name,
        "key": state.mapper.primary_key_from_instance(row),
        "change": change,
    }
    if change == "changed":
        was_and_is = {
            column.key: [_short(history.deleted[0] if history.deleted else None),
                         _short(history.added[0])]
            for column in state.mapper.column_attrs
            if (history := state.attrs[column.key].history).added
        }  # fmt: skip
        if not was_and_is:
            return None
        entry["values"] = was_and_is
    return entry


def _short(value: object) -> object:
    if value is None or isinstance(value, bool | int | float):
        return value
    text = str(value)
    return text if len(text) <= _LONGEST_VALUE else text[: _LONGEST_VALUE - 1] + "…"
