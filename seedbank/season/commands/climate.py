"""``seedbank climate``: tell the garden's climate, or read it from daily readings."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import bullets
from seedbank.climate.forms import ClimateTyped, ReadingsSent
from seedbank.climate.state_climate import read_climate, show_climate, type_climate
from seedbank.upkeep.command_session import opened

MonthsOption = Annotated[
    str, typer.Option(help="Twelve mean temperatures in °C, January first, with blanks between.")
]
LastOption = Annotated[
    datetime | None, typer.Option(help="Last frost in most years.", formats=["%Y-%m-%d"])
]
FirstOption = Annotated[
    datetime | None, typer.Option(help="First frost in most years.", formats=["%Y-%m-%d"])
]
ReadingsOption = Annotated[
    Path | None, typer.Option(help="A CSV file of daily readings.", exists=True, dir_okay=False)
]


def run(
    months: MonthsOption = "",
    last_frost: LastOption = None,
    first_frost: FirstOption = None,
    readings: ReadingsOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Tell the garden's climate, or show what is known of it."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        if readings is not None:
            sent = ReadingsSent(csv=readings.read_text("utf-8"))
            answer = read_climate(session, sent, site_id=None, expected=None)
        elif months or last_frost or first_frost:
            days = {"last_frost": last_frost, "first_frost": first_frost}
            told = {name: day and day.date() for name, day in days.items()}
            form = ClimateTyped.model_validate({"months": months, **told})
            answer = type_climate(session, form, expected=None)
        else:
            answer = show_climate(session)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        bullets(one.text for one in answer.remarks)
