"""Answers about who is let in, and who changed what."""

from datetime import datetime
from typing import Any

from pydantic import Field

from seedbank.access.tables import Rights
from seedbank.common.answers import AnswerModel


class TokenAnswer(AnswerModel):
    """A token, without its secret, which nobody keeps."""

    id: int = Field(examples=[1])
    name: str = Field(description="who holds it", examples=["bench phone"])
    rights: Rights = Field(
        description="reader: sees everything; keeper: changes the collection too; owner: sees "
        "and revokes tokens, and reads who changed what",
        examples=["keeper"],
    )
    made_at: datetime = Field(examples=["2027-03-01T09:30:00Z"])
    revoked_at: datetime | None = Field(description="null: in force", examples=[None])


class TokensAnswer(AnswerModel):
    """Every token ever made, oldest first."""

    items: list[TokenAnswer]


class TouchedAnswer(AnswerModel):
    """One row that a commit touched."""

    table: str = Field(examples=["lot"])
    key: list[Any] = Field(description="its primary key", examples=[[12]])
    change: str = Field(description="new, changed or gone", examples=["changed"])
    values: dict[str, list[Any]] = Field(
        default_factory=dict,
        description="of a changed row: column, what it was and what it is",
        examples=[{"notes": ["", "small heads"]}],
    )


class AuditAnswer(AnswerModel):
    """One commit: who, when, what was asked, what it touched."""

    id: int = Field(examples=[7])
    at: datetime = Field(examples=["2027-03-01T09:30:00Z"])
    who: str = Field(examples=["bench phone"])
    asked: str = Field(examples=["PATCH /lots/4K7PM"])
    row_count: int = Field(description="rows touched", examples=[1])
    touched: list[TouchedAnswer] = Field(description="the first 200 of them")
