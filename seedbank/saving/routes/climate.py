"""The climate of the garden and its sites, and a kind's year in it."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.climate.answers import ClimateAnswer, KindSeasonAnswer
from seedbank.climate.forms import ClimateStated, ReadingsSent
from seedbank.climate.kind_season import SeasonAsked
from seedbank.common.forms import Day
from seedbank.facts.variety_season import VarietySeason
from seedbank.saving import climate_of_sites as climates
from seedbank.saving.tables import SiteAsked
from seedbank.web.api.deps import IdPath, SessionDep, SlugPath, TodayDep, api_router
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, sent, tells

router = api_router(prefix="/climate", tags=["climate"])
kinds_router = api_router(prefix="/kinds", tags=["kinds"])
varieties_router = api_router(prefix="/varieties", tags=["varieties"])

SiteQuery = Annotated[SiteAsked, Query()]
OnQuery = Annotated[Day | None, Query(description="day of sowing asked about; today if left out")]
SeasonQuery = Annotated[
    VarietySeason | None, Query(description="what the variety is for among those of its kind")
]


@router.get("", responses=tells(ClimateAnswer, problems=(422,)))
def show(session: SessionDep, site: SiteQuery = None) -> Response:
    """Show the climate of the garden, or the one that holds at a site."""
    return sent(climates.show_climate_at(session, site))


@router.put("", responses=tells(ClimateAnswer, problems=(400, 412, 422, 428)))
def state(
    form: Annotated[ClimateStated, body(ClimateStated)],
    expected: IfMatchDep,
    session: SessionDep,
    site: SiteQuery = None,
) -> Response:
    """Tell the climate of the garden or a site, in place of what was told before."""
    return sent(climates.state_climate_at(session, form, site_id=site, expected=expected))


@router.put("/readings", responses=tells(ClimateAnswer, problems=(400, 412, 422, 428)))
def read(
    form: Annotated[ReadingsSent, body(ReadingsSent)],
    expected: IfMatchDep,
    session: SessionDep,
    site: SiteQuery = None,
) -> Response:
    """Tell the climate by daily readings; months read go before those told."""
    return sent(climates.read_climate_at(session, form, site_id=site, expected=expected))


@kinds_router.get("/{slug}/season", responses=tells(KindSeasonAnswer, problems=(404, 422)))
def season(
    slug: SlugPath,
    session: SessionDep,
    today: TodayDep,
    site: SiteQuery = None,
    on: OnQuery = None,
    variety_season: SeasonQuery = None,
) -> Response:
    """Tell a kind's year here: when to sow, how soon it is up, flowers, ripe seed, what to do."""
    asked = SeasonAsked(on=on or today, site_id=site, season=variety_season)
    return sent(climates.kind_season_at(session, slug, asked))


@varieties_router.get("/{id}/season", responses=tells(KindSeasonAnswer, problems=(404, 422)))
def variety_season(
    id: IdPath, session: SessionDep, today: TodayDep, site: SiteQuery = None, on: OnQuery = None
) -> Response:
    """Tell a variety's year here, with the season it is for."""
    return sent(climates.variety_season_at(session, id, SeasonAsked(on or today, site)))
