"""``seedbank crop advise``: the rare varieties to grow for seed next, the rarest first."""

from enum import StrEnum
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import (
    bar,
    bullets,
    heading,
    name_of,
    screen,
    show_cautions,
    show_sources,
    words,
)
from seedbank.kinds.tables import OtherKeepers
from seedbank.season.commands.lots_on_screen import alive_words, seed_to_save_table
from seedbank.upkeep.command_session import opened
from seedbank.verdicts.answers import SeedToSaveAnswer
from seedbank.verdicts.seed_to_save import show_seed_to_save

RarityOption = Annotated[
    list[OtherKeepers] | None,
    typer.Option(hidden=True, help="As it was called before; none is nobody."),
]


class Keepers(StrEnum):
    """How many others keep a variety."""

    NOBODY = "nobody"
    FEW = "few"
    MANY = "many"


KeepersOption = Annotated[
    list[Keepers] | None,
    typer.Option(
        help="How many others keep the variety; may be repeated. Left out: nobody and few."
    ),
]
_AS_STORED = {
    Keepers.NOBODY: OtherKeepers.NONE,
    Keepers.FEW: OtherKeepers.FEW,
    Keepers.MANY: OtherKeepers.MANY,
}


def run(
    keepers: KeepersOption = None,
    rarity: RarityOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """List the rare varieties to grow for seed next, the rarest first."""
    wanted = [_AS_STORED[one] for one in keepers or ()] + (rarity or [])
    wanted = wanted or [OtherKeepers.NONE, OtherKeepers.FEW]
    reading = opened(settings_for(database), writes=False)
    with reading as collection, bar(words("save-working")):
        answer = show_seed_to_save(collection.session, today=collection.today, other_keepers=wanted)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)


def show(answer: SeedToSaveAnswer) -> None:
    """The varieties, and why each is there."""
    seed_to_save_table(answer.items)
    for one in answer.items:
        alive = alive_words(one.viability)
        heading(words("save-heading-lot", variety=name_of(one.variety), lot=one.sow_lot))
        bullets(
            [
                words(
                    "save-lot",
                    alive=alive,
                    parents=one.seed_parents.plants,
                    year=one.flowers_in,
                    at_earliest=one.flowers_at_earliest,
                ),
                one.advice.text,
                *(reason.text for reason in one.reasons),
            ]
        )
    screen().print()
    bullets(one.text for one in answer.remarks)
    show_cautions(answer.cautions)
    show_sources(answer.sources)
