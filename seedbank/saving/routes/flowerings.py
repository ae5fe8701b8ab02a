"""What will flower in a year, wanted or not; and when kinds flower."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.saving import edit_flowerings as flowerings
from seedbank.saving import edit_flowerings as windows
from seedbank.saving.answers import FloweringAnswer, WindowAnswer
from seedbank.saving.forms import FloweringChange, FloweringCreate, WindowStated
from seedbank.saving.tables import FloweringFilter, SiteAsked
from seedbank.web.api.deps import IdPath, OnceDep, SessionDep, SlugPath, TodayDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = api_router(prefix="/flowerings", tags=["flowerings"])
windows_router = api_router(prefix="/kinds", tags=["kinds"])

SiteQuery = Annotated[SiteAsked, Query()]


@router.get("", responses=tells_page(FloweringAnswer))
def browse(
    paged: PagedDep, wanted: Annotated[FloweringFilter, Query()], session: SessionDep
) -> Response:
    """List what flowers, by year."""
    return paged(lambda page: flowerings.list_flowerings(session, wanted, page))


@router.post("", status_code=201, responses=tells(FloweringAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[FloweringCreate, body(FloweringCreate, "distance_m", "variety_id")],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Note what will flower, or flowered."""
    return once(
        lambda: created(flowerings.add_flowering(session, form, today=today), "/flowerings/{0.id}")
    )


@router.get("/{id}", responses=tells(FloweringAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show one flowering."""
    return sent(flowerings.show_flowering(session, id))


@router.patch("/{id}", responses=tells(FloweringAnswer, problems=(400, 404, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[FloweringChange, body(FloweringChange, "distance_m")],
    expected: IfMatchDep,
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Change a flowering, or say on which day it was stopped."""
    return sent(flowerings.change_flowering(session, id, form, expected=expected, today=today))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a flowering noted by mistake."""
    flowerings.delete_flowering(session, id, expected=expected)
    return Response(status_code=204)


@windows_router.get("/{slug}/flowering-window", responses=tells(WindowAnswer, problems=(404, 422)))
def show_window(slug: SlugPath, session: SessionDep, site: SiteQuery = None) -> Response:
    """Show when a kind flowers, at a site or anywhere: your own word before the packaged one."""
    return sent(windows.show_window(session, slug, site))


@windows_router.put(
    "/{slug}/flowering-window",
    responses=tells(WindowAnswer, problems=(400, 404, 409, 412, 422, 428)),
)
def state_window(
    slug: SlugPath,
    form: Annotated[WindowStated, body(WindowStated)],
    expected: IfMatchDep,
    session: SessionDep,
    site: SiteQuery = None,
) -> Response:
    """State when a kind flowers with you, at a site or everywhere; If-Match is the kind's ETag."""
    return sent(windows.state_window(session, slug, form, site_id=site, expected=expected))


@windows_router.delete(
    "/{slug}/flowering-window",
    status_code=204,
    responses=tells(None, 204, problems=(400, 404, 412, 422, 428)),
)
def withdraw_window(
    slug: SlugPath, expected: IfMatchDep, session: SessionDep, site: SiteQuery = None
) -> Response:
    """Take back a window you stated; the packaged one, if any, holds again."""
    windows.withdraw_window(session, slug, site_id=site, expected=expected)
    return Response(status_code=204)
