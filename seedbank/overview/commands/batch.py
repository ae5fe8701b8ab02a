"""``seedbank batch``: one piece of work on many lots, and its undoing."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import screen, words
from seedbank.common.errors import Refused
from seedbank.kinds.tables import OtherKeepers
from seedbank.overview.answers import BatchAnswer
from seedbank.overview.forms import BatchCreate
from seedbank.overview.tables import BatchWork, LotState
from seedbank.overview.undo_batch import undo_batch
from seedbank.overview.work_on_lots import work_on_lots
from seedbank.upkeep.command_session import opened

WorkArgument = Annotated[
    BatchWork | None, typer.Argument(help="What is done to each; left out with --undo.")
]
LotsArgument = Annotated[list[str] | None, typer.Argument(help="Codes of the lots.")]


def run(
    work: WorkArgument = None,
    lots: LotsArgument = None,
    words_asked: Annotated[
        str, typer.Option("--words", help="Or all packets that have these words.")
    ] = "",
    kept_in: Annotated[int | None, typer.Option(help="And are in the place so numbered.")] = None,
    state: Annotated[LotState | None, typer.Option(help="And are in this state.")] = None,
    kind: Annotated[str | None, typer.Option(help="And are of this kind.")] = None,
    place: Annotated[int | None, typer.Option(help="move: number of the place.")] = None,
    seeds: Annotated[int | None, typer.Option(help="give, throw-out: so many of each.")] = None,
    share: Annotated[float | None, typer.Option(help="Or what share of each, 0 to 1.")] = None,
    keepers: Annotated[OtherKeepers | None, typer.Option(help="keepers: how many.")] = None,
    each_of: Annotated[
        list[int] | None, typer.Option("--set", help="test: seeds in each replicate.")
    ] = None,
    note: Annotated[str, typer.Option(help="To whom, or why.")] = "",
    undo: Annotated[int | None, typer.Option(help="Undo the work of this number.")] = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Move, give, throw out or test many lots, or say who else keeps them: all or none."""
    among = {"words": words_asked, "place": kept_in, "state": state, "kind": kind}
    among = {name: value for name, value in among.items() if value}
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        if undo is not None:
            done = undo_batch(session, undo, today=today, now=now)
        else:
            if work is None:
                raise Refused("batch-work-unsaid", "work", None)
            form = BatchCreate.model_validate(
                {
                    "work": work,
                    "lots": lots or None,
                    "among": among or None,
                    "place_id": place,
                    "amount": None if seeds is None else {"seeds": seeds},
                    "share": share,
                    "other_keepers": keepers,
                    "replicates": each_of or None,
                    "note": note,
                }
            )
            done = work_on_lots(session, form, today=today, now=now)
    if json:
        print(done.model_dump_json(indent=2))
    else:
        show(done)


def show(done: BatchAnswer) -> None:
    """What was done, and how it is undone."""
    if done.undone_at is not None:
        screen().print(words("batch-undone", lots=len(done.lots)))
        return
    screen().print(done.done.text)
    screen().print(words("batch-how-undone", number=str(done.id)))
