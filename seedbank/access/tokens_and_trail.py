"""Who is let in, with which rights, and under whose name changes are entered."""

import json
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from seedbank.access import tables as tokens
from seedbank.access.answers import AuditAnswer, TokenAnswer, TokensAnswer, TouchedAnswer
from seedbank.access.tables import AccessToken, Holder, Rights
from seedbank.common.errors import NotThere, Refused
from seedbank.database import audit
from seedbank.database.queries import Page, Paging
from seedbank.database.transaction import transaction

_LONGEST_NAME = 120


@dataclass(frozen=True, slots=True)
class MadeToken:
    """A new token, and the text its holder shows: seen this once and kept nowhere."""

    token: TokenAnswer
    shown: str


def make_token(session: Session, name: str, rights: Rights, *, now: datetime) -> MadeToken:
    """Make a token for one person or device. Raises Refused: no name, or too long a one."""
    name = name.strip()
    if not (0 < len(name) <= _LONGEST_NAME and name.isprintable()):
        raise Refused("token-holder-misread", "name", name, most=_LONGEST_NAME)
    with transaction(session):
        token, shown = tokens.add_token(session, name, rights, now)
        return MadeToken(_answer(token), shown)


def revoke_token(session: Session, number: int, *, now: datetime) -> TokenAnswer:
    """Let its holder in no longer; done twice it stays as it was. Raises NotThere."""
    with transaction(session):
        token = session.get(AccessToken, number)
        if token is None:
            raise NotThere("token", number)
        if token.revoked_at is None:
            token.revoked_at = now
        return _answer(token)


def list_tokens(session: Session) -> TokensAnswer:
    """Every token ever made, oldest first."""
    return TokensAnswer(items=[_answer(token) for token in tokens.list_tokens(session)])


def holder_of(session: Session, shown: str) -> Holder | None:
    """Who holds the token shown; None: nobody does, or no longer."""
    return tokens.holder_of(session, shown)


def any_owner(session: Session) -> bool:
    """Is there an owner's token in force?"""
    return tokens.any_owner(session)


def show_trail(session: Session, paging: Paging) -> Page[AuditAnswer]:
    """Who changed what, latest first."""
    found = audit.find_entries(session, paging)
    return Page([_entry(entry) for entry in found.items], found.next)


def _entry(entry: audit.AuditEntry) -> AuditAnswer:
    return AuditAnswer(
        id=entry.id or 0,
        at=entry.at,
        who=entry.who,
        asked=entry.asked,
        row_count=entry.row_count,
        touched=[TouchedAnswer.model_validate(one) for one in json.loads(entry.touched)],
    )


def _answer(token: AccessToken) -> TokenAnswer:
    return TokenAnswer.model_validate(token)
