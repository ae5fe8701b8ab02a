"""``seedbank kind-year``: when to sow a kind here, when it flowers, when its seed is ripe."""

from datetime import datetime
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import bullets, heading, show_cautions, show_sources, table, words
from seedbank.climate.answers import KindSeasonAnswer
from seedbank.climate.kind_season import SeasonAsked
from seedbank.common.local_format import Local
from seedbank.kinds.tables import kind_named
from seedbank.saving.climate_of_sites import kind_season_at
from seedbank.season.answers import YearAnswer
from seedbank.season.show_year import show_year
from seedbank.season.year_list import YEAR_COLUMNS, year_row
from seedbank.upkeep.command_session import opened

KindArgument = Annotated[
    str | None,
    typer.Argument(help="Its name, like carrot; left out: all that is sown or stands here."),
]
SiteOption = Annotated[int | None, typer.Option(help="Number of a site with its own climate.")]
OnOption = Annotated[
    datetime | None,
    typer.Option(help="Day of sowing asked about, like 2027-04-20.", formats=["%Y-%m-%d"]),
]


def run(
    kind: KindArgument = None,
    on: OnOption = None,
    site: SiteOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Tell when to sow a kind here, how soon it is up, when it flowers and its seed is ripe."""
    answer: KindSeasonAnswer | YearAnswer
    with opened(settings_for(database)) as collection:
        day = collection.today if on is None else on.date()
        if kind is None:
            answer = show_year(collection.session, today=day)
        else:
            slug = kind_named(collection.session, kind).slug
            answer = kind_season_at(collection.session, slug, SeasonAsked(day, site))
    if json:
        print(answer.model_dump_json(indent=2))
    elif isinstance(answer, YearAnswer):
        show_all(answer)
    else:
        show(answer)


def show_all(year: YearAnswer) -> None:
    """The year of all crops, for people, as the page has it as a list."""
    bullets(one.text for one in year.remarks)
    heading(words("season-picture", year=year.on.year))
    table(YEAR_COLUMNS, [year_row(one, year.on.year, Local()) for one in year.crops])


def show(answer: KindSeasonAnswer) -> None:
    """What an answer says, for people."""
    weeks = [] if answer.sow_in_weeks is None else [answer.sow_in_weeks.text]
    bullets([*(one.text for one in answer.findings), *weeks])
    bullets([f"{one.text} {one.standing.text}" for one in answer.sow if one.windows])
    bullets([one.text for one in answer.sow if not one.windows])
    bullets([one.text for one in answer.harvest])
    show_cautions(answer.cautions)
    show_sources(answer.sources)
