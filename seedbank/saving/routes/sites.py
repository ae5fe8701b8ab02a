"""Sites seed crops are grown on, and how far apart they are."""

from typing import Annotated

from fastapi import Path, Response

from seedbank.saving import edit_sites as sites
from seedbank.saving.answers import DistancesAnswer, SiteAnswer
from seedbank.saving.forms import DistanceStated, SiteChange, SiteCreate
from seedbank.web.api.deps import IdPath, OnceDep, SessionDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = api_router(prefix="/sites", tags=["sites"])
OtherPath = Annotated[
    int, Path(ge=1, le=2_147_483_647, description="Number of the other site.", examples=[2])
]


@router.get("", responses=tells_page(SiteAnswer))
def browse(session: SessionDep, paged: PagedDep) -> Response:
    """List sites by name."""
    return paged(lambda page: sites.list_sites(session, page))


@router.post("", status_code=201, responses=tells(SiteAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[SiteCreate, body(SiteCreate)], once: OnceDep, session: SessionDep
) -> Response:
    """Add a site."""
    return once(lambda: created(sites.add_site(session, form), "/sites/{0.id}"))


@router.get("/{id}", responses=tells(SiteAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show one site with the distances known from it."""
    return sent(sites.show_site(session, id))


@router.patch("/{id}", responses=tells(SiteAnswer, problems=(400, 404, 409, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[SiteChange, body(SiteChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change a site; fields left out stay."""
    return sent(sites.change_site(session, id, form, expected=expected))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 409, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a site nothing grows on."""
    sites.delete_site(session, id, expected=expected)
    return Response(status_code=204)


@router.get("/{id}/distances", responses=tells(DistancesAnswer, problems=(404, 422)))
def distances(id: IdPath, session: SessionDep) -> Response:
    """List how far the other sites are."""
    return sent(sites.show_distances(session, id))


@router.put(
    "/{id}/distances/{other}", responses=tells(SiteAnswer, problems=(400, 404, 412, 422, 428))
)
def state_distance(
    id: IdPath,
    other: OtherPath,
    form: Annotated[DistanceStated, body(DistanceStated)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Say how far another site is; it holds both ways."""
    return sent(sites.state_distance(session, id, other, form, expected=expected))


@router.delete(
    "/{id}/distances/{other}", responses=tells(SiteAnswer, problems=(400, 404, 412, 422, 428))
)
def withdraw_distance(
    id: IdPath, other: OtherPath, expected: IfMatchDep, session: SessionDep
) -> Response:
    """Forget how far another site is."""
    return sent(sites.withdraw_distance(session, id, other, expected=expected))
