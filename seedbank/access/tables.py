"""Tokens that let others in: kept as digests, so that a copy of the database opens nothing."""

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlmodel import Field, Session, SQLModel, col, select

from seedbank.database.base import UtcDateTime, word

_SECRET_BYTES = 32
_LONGEST_ID = 9


class Rights(StrEnum):
    """What a token's holder may do; each may do what the one before may."""

    READER = "reader"
    KEEPER = "keeper"
    OWNER = "owner"


class AccessToken(SQLModel, table=True):
    """A token given to one person or device. The secret itself is shown once and never kept."""

    __tablename__ = "access_token"

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(max_length=120, description="who holds it")
    rights: Rights = Field(sa_type=word(Rights))
    digest: str = Field(max_length=64, description="SHA-256 of the secret")
    made_at: datetime = Field(sa_type=UtcDateTime)
    revoked_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


@dataclass(frozen=True, slots=True)
class Holder:
    """Who showed a token that is good."""

    token_id: int
    name: str
    rights: Rights


def add_token(
    session: Session, name: str, rights: Rights, now: datetime
) -> tuple[AccessToken, str]:
    """A new token and the text its holder shows, ``<number>-<secret>``: this once only.

    The secret has 256 random bits, so that one plain SHA-256 of it can't be guessed backwards.
    """
    secret = secrets.token_urlsafe(_SECRET_BYTES)
    token = AccessToken(name=name, rights=rights, digest=_digest(secret), made_at=now)
    session.add(token)
    session.flush()
    return token, f"{token.id}-{secret}"


def holder_of(session: Session, shown: str) -> Holder | None:
    """Who holds the token ``shown``; None: it isn't one, or is revoked.

    Digests are compared in constant time, against a stand-in where there is no such number, so
    that the time taken tells nothing.
    """
    number, _, secret = shown.partition("-")
    known = number.isascii() and number.isdigit() and len(number) <= _LONGEST_ID
    token = session.get(AccessToken, int(number)) if known else None
    expected = token.digest if token else "0" * 64
    alike = hmac.compare_digest(_digest(secret), expected)
    if token is None or token.id is None or not alike or token.revoked_at is not None:
        return None
    return Holder(token.id, token.name, token.rights)


def list_tokens(session: Session) -> list[AccessToken]:
    """Every token ever made, oldest first."""
    return list(session.exec(select(AccessToken).order_by(col(AccessToken.id))))


def any_owner(session: Session) -> bool:
    """Is there an owner's token in force?"""
    good = select(AccessToken.id).where(
        col(AccessToken.revoked_at).is_(None), AccessToken.rights == Rights.OWNER
    )
    return session.exec(good.limit(1)).first() is not None


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
