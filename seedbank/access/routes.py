"""Tokens in force, and who changed what: for an owner's eyes."""

from fastapi import Response

from seedbank.access import tokens_and_trail as access
from seedbank.access.answers import AuditAnswer, TokenAnswer, TokensAnswer
from seedbank.web.api.deps import IdPath, NowDep, OnceDep, SessionDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.responses import done, sent, tells, tells_page

router = api_router(tags=["access"])


@router.get("/access-tokens", responses=tells(TokensAnswer))
def tokens(session: SessionDep) -> Response:
    """List the tokens ever made. They are made on the machine itself: `seedbank token`."""
    return sent(access.list_tokens(session))


@router.post("/access-tokens/{id}/revoke", responses=tells(TokenAnswer, problems=(400, 404, 422)))
def revoke(id: IdPath, once: OnceDep, session: SessionDep, now: NowDep) -> Response:
    """Let the holder of a token in no longer."""
    return once(lambda: done(access.revoke_token(session, id, now=now)))


@router.get("/audit-trail", responses=tells_page(AuditAnswer))
def trail(session: SessionDep, paged: PagedDep) -> Response:
    """Who changed what, latest first."""
    return paged(
        lambda page: access.show_trail(session, page),
    )
