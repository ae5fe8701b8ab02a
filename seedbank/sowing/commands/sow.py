"""``seedbank sow``: how thickly to sow a lot for the plants wanted."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import bar, bullets, screen, show_cautions, words
from seedbank.sowing.advise_mixture import advise_mixture, is_mixture
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.commands.advice_on_screen import show
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.mixture_answers import MixtureSowingAnswer
from seedbank.upkeep.command_session import opened

LotArgument = Annotated[str, typer.Argument(help="Code of the lot to sow.")]


@fill_form
def run(
    lot: LotArgument, ask: SowingAsk, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Ask how thickly to sow a lot for the plants wanted."""
    with opened(settings_for(database)) as collection, bar("Weighing it up"):
        session, today = collection.session, collection.today
        mixture = (
            advise_mixture(session, lot, ask, today=today) if is_mixture(session, lot) else None
        )
        answer = mixture or advise_lot(session, lot, ask, today=today)
    if json:
        print(answer.model_dump_json(indent=2))
    elif isinstance(answer, MixtureSowingAnswer):
        show_mixture(answer)
    else:
        show(answer)


def show_mixture(answer: MixtureSowingAnswer) -> None:
    """How much of a mixture to sow, for people."""
    screen().print(
        words(
            "mixture-sow",
            lot=answer.lot,
            seeds=answer.seeds,
            low=answer.plants.low,
            high=answer.plants.high,
        ),
        answer.how_sure.text,
        answer.plan_b.text if answer.plan_b else "",
    )
    bullets(
        words("mixture-sow-part", seeds=one.seeds, of=one.lot or one.name) for one in answer.parts
    )
    bullets(one.text for one in answer.reasons)
    show_cautions(answer.cautions)
