"""``seedbank sow``: how thickly to sow a lot for the plants wanted."""

from collections.abc import Sequence
from datetime import date
from typing import Annotated

import typer
from sqlmodel import Session

from seedbank.cli.answer_lists import print_json
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import bar, bullets, name_of, screen, show_cautions, table, words
from seedbank.lots.tables.lot_codes import is_code
from seedbank.overview.answers import ShelfLot
from seedbank.overview.forms import ShelfQuestion, ShelfView
from seedbank.sowing.advise_mixture import advise_mixture, is_mixture
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.commands.advice_on_screen import show
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.mixture_answers import MixtureSowingAnswer
from seedbank.upkeep.command_session import opened
from seedbank.verdicts.words import verdict_words

_MOST_OFFERED = 200
LotArgument = Annotated[
    str,
    typer.Argument(help="Code of the lot to sow; or a kind or variety, to be offered its lots."),
]


@fill_form
def run(
    lot: LotArgument, ask: SowingAsk, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Ask how thickly to sow a lot for the plants wanted."""
    with opened(settings_for(database)) as collection, bar("Weighing it up"):
        session, today = collection.session, collection.today
        offered = [] if is_code(lot) else _lots_called(session, lot, today)
        if offered:
            _offer(lot, offered, json)
            return
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


def _lots_called(session: Session, sought: str, today: date) -> list[ShelfLot]:
    """Packets on the shelf that a name may mean; near names only of what is no code misread."""
    from seedbank.overview.show_shelf import show_shelf  # of a lot named by its code none of it

    question, view = ShelfQuestion(words=sought), ShelfView(limit=_MOST_OFFERED)
    found = show_shelf(session, question, view, today=today)
    return [] if found.near and any(map(str.isdigit, sought)) else found.items


def _offer(sought: str, lots: Sequence[ShelfLot], json: bool) -> None:
    """The lots that may be meant, to choose from."""
    if json:
        print_json(lots, json=True, json_lines=False)
        return
    screen().print(words("sow-which-lot", words=sought))
    rows = [
        (
            one.lot.code,
            name_of(one.lot.variety),
            one.lot.place.name if one.lot.place else "",
            verdict_words(one.state) if one.state else "",
            str(one.lot.harvest_year or ""),
            one.lot.amount.text,
        )
        for one in lots
    ]
    table(("lot", "variety", "kept-in", "state", "harvested", "seeds"), rows, numbers=1)
    screen().print(words("sow-how-chosen", lot=lots[0].lot.code))


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
