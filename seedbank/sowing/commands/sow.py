"""``seedbank sow``: how thickly to sow a lot for the plants wanted."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import bar
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.commands.advice_on_screen import show
from seedbank.sowing.forms import SowingAsk
from seedbank.upkeep.command_session import opened

LotArgument = Annotated[str, typer.Argument(help="Code of the lot to sow.")]


@fill_form
def run(
    lot: LotArgument, ask: SowingAsk, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Ask how thickly to sow a lot for the plants wanted."""
    with opened(settings_for(database)) as collection, bar("Weighing it up"):
        answer = advise_lot(collection.session, lot, ask, today=collection.today)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)
