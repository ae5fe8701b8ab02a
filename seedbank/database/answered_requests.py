"""Requests already answered, so that a repeated one books nothing twice."""

from datetime import datetime

from sqlmodel import Field, SQLModel

from seedbank.database.base import UtcDateTime


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
