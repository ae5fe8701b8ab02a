"""Crop kinds: what is known of them, and the gardener's own word."""

from typing import Annotated

from fastapi import Path, Query, Response

from seedbank.kinds import edit_kinds as kinds
from seedbank.kinds.answers import FactsAnswer, KindAnswer, KindSummary
from seedbank.kinds.forms import FactStated, KindChange, KindCreate
from seedbank.kinds.tables import FactName, KindFilter
from seedbank.lots.show_lots import list_kinds
from seedbank.web.api.deps import OnceDep, SessionDep, SlugPath, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = api_router(prefix="/kinds", tags=["kinds"])
NamePath = Annotated[FactName, Path(description="The fact.", examples=["half_viability_years"])]


@router.get("", responses=tells_page(KindSummary))
def browse(
    paged: PagedDep, wanted: Annotated[KindFilter, Query()], session: SessionDep
) -> Response:
    """List kinds by name."""
    return paged(lambda page: list_kinds(session, wanted, page))


@router.post("", status_code=201, responses=tells(KindAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[KindCreate, body(KindCreate)], once: OnceDep, session: SessionDep
) -> Response:
    """Add a kind of your own."""
    return once(lambda: created(kinds.add_kind(session, form), "/kinds/{0.slug}"))


@router.get("/{slug}", responses=tells(KindAnswer, problems=(404, 422)))
def show(slug: SlugPath, session: SessionDep) -> Response:
    """Show a kind with every fact known about it, each with its source."""
    return sent(kinds.show_kind(session, slug))


@router.patch("/{slug}", responses=tells(KindAnswer, problems=(400, 404, 409, 412, 422, 428)))
def change(
    slug: SlugPath,
    form: Annotated[KindChange, body(KindChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Rename a kind of your own."""
    return sent(kinds.change_kind(session, slug, form, expected=expected))


@router.delete(
    "/{slug}",
    status_code=204,
    responses=tells(None, 204, problems=(400, 404, 409, 412, 422, 428)),
)
def delete(slug: SlugPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a kind of your own that has no varieties."""
    kinds.delete_kind(session, slug, expected=expected)
    return Response(status_code=204)


@router.get("/{slug}/facts", responses=tells(FactsAnswer, problems=(404, 422)))
def facts(
    slug: SlugPath,
    session: SessionDep,
    name: Annotated[str | None, Query(description="only facts of this name", max_length=60)] = None,
) -> Response:
    """List what is known about a kind, each fact with its source."""
    return sent(kinds.show_facts(session, slug, name))


@router.put("/{slug}/facts/{name}", responses=tells(KindAnswer, problems=(400, 404, 412, 422, 428)))
def state_fact(
    slug: SlugPath,
    name: NamePath,
    form: Annotated[FactStated, body(FactStated)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """State a fact of your own about a kind, with its source; it overrides the packaged one."""
    return sent(kinds.state_fact(session, slug, name, form, expected=expected))


@router.delete(
    "/{slug}/facts/{name}", responses=tells(KindAnswer, problems=(400, 404, 412, 422, 428))
)
def withdraw_fact(
    slug: SlugPath, name: NamePath, expected: IfMatchDep, session: SessionDep
) -> Response:
    """Take back a fact you stated; the packaged one, if any, holds again."""
    return sent(kinds.withdraw_fact(session, slug, name, expected=expected))
