"""``seedbank climate``: tell the garden's climate, or read it from daily readings."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer
from pydantic import BaseModel, Field

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import bullets
from seedbank.climate.answers import ClimateAnswer
from seedbank.climate.forms import ClimateTyped, ReadingsSent
from seedbank.climate.tables import Hemisphere
from seedbank.saving.climate_of_sites import read_climate_at, show_climate_at, type_climate_at
from seedbank.upkeep.command_session import opened

SiteOption = Annotated[
    int | None, typer.Option(help="Number of a site; left out: the garden's climate.")
]


class ClimateOptions(BaseModel):
    """A climate as it is told in a line, or a file it is read from."""

    months: str = Field(
        "", description="Twelve mean temperatures in °C, January first, with blanks between."
    )
    last_frost: Annotated[
        datetime | None, typer.Option(help="Last frost in most years.", formats=["%Y-%m-%d"])
    ] = None
    first_frost: Annotated[
        datetime | None, typer.Option(help="First frost in most years.", formats=["%Y-%m-%d"])
    ] = None
    hemisphere: Hemisphere | None = Field(
        None, description="Half of the world, if no more is known."
    )
    readings: Annotated[
        Path | None,
        typer.Option(help="A CSV file of daily readings.", exists=True, dir_okay=False),
    ] = None
    site: int | None = Field(None, description="Number of a site; left out: the garden's climate.")


@fill_form
def run(told: ClimateOptions, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Tell the climate of the garden or a site, or show what is known of it."""
    with opened(settings_for(database)) as collection:
        session, site = collection.session, told.site
        if told.readings is not None:
            sent = ReadingsSent(csv=told.readings.read_text("utf-8"))
            answer = read_climate_at(session, sent, site_id=site, expected=None)
        elif told.months or told.last_frost or told.first_frost or told.hemisphere:
            form = ClimateTyped(
                months=told.months,
                last_frost=told.last_frost and told.last_frost.date(),
                first_frost=told.first_frost and told.first_frost.date(),
                hemisphere=told.hemisphere,
            )
            answer = type_climate_at(session, form, site_id=site, expected=None)
        else:
            answer = show_climate_at(session, site)
    _print(answer, json)


def show(
    site: SiteOption = None, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Show what is known of the climate of the garden or a site."""
    with opened(settings_for(database)) as collection:
        _print(show_climate_at(collection.session, site), json)


def _print(answer: ClimateAnswer, json: bool) -> None:
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        bullets(one.text for one in answer.remarks)
