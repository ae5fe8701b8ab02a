"""Climates asked for by site: that there is such a site is known here."""

from collections.abc import Collection
from dataclasses import replace

from sqlmodel import Session

from seedbank.climate.answers import ClimateAnswer, KindSeasonAnswer
from seedbank.climate.forms import ClimateStated, ClimateTyped, ReadingsSent
from seedbank.climate.kind_season import SeasonAsked, kind_season
from seedbank.climate.state_climate import (
    read_climate,
    show_climate,
    state_climate,
    type_climate,
)
from seedbank.kinds.edit_varieties import show_variety
from seedbank.saving.edit_sites import site_named


def show_climate_at(session: Session, site_id: int | None) -> ClimateAnswer:
    """The climate that holds at a site, or in the garden. Raises Refused: no such site."""
    _known(session, site_id)
    return show_climate(session, site_id)


def state_climate_at(
    session: Session,
    form: ClimateStated,
    *,
    site_id: int | None,
    expected: Collection[int] | None,
) -> ClimateAnswer:
    """Tell of a climate. Raises Refused: no such site. StaleVersion."""
    _known(session, site_id)
    return state_climate(session, form, site_id=site_id, expected=expected)


def type_climate_at(
    session: Session, form: ClimateTyped, *, site_id: int | None, expected: Collection[int] | None
) -> ClimateAnswer:
    """Tell of a climate as typed. Raises Refused: no such site, or no climate. StaleVersion."""
    _known(session, site_id)
    return type_climate(session, form, site_id=site_id, expected=expected)


def read_climate_at(
    session: Session,
    form: ReadingsSent,
    *,
    site_id: int | None,
    expected: Collection[int] | None,
) -> ClimateAnswer:
    """Tell of a climate by readings. Raises Refused: no such site, or a reading. StaleVersion."""
    _known(session, site_id)
    return read_climate(session, form, site_id=site_id, expected=expected)


def kind_season_at(session: Session, slug: str, asked: SeasonAsked) -> KindSeasonAnswer:
    """A kind's year at a site. Raises NotThere: the kind. Refused: no such site."""
    _known(session, asked.site_id)
    return kind_season(session, slug, asked)


def variety_season_at(session: Session, number: int, asked: SeasonAsked) -> KindSeasonAnswer:
    """A variety's year at a site. Raises NotThere: the variety. Refused: no such site."""
    variety = show_variety(session, number)
    return kind_season_at(session, variety.kind, replace(asked, season=variety.season))


def _known(session: Session, site_id: int | None) -> None:
    if site_id is not None:
        site_named(session, site_id, field="site")
