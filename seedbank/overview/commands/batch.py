"""``seedbank batch``: one piece of work on many lots, and its undoing."""

from typing import Annotated, Any

import typer
from pydantic import BaseModel, Field

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import screen, words
from seedbank.common.errors import Refused
from seedbank.kinds.tables import OtherKeepers
from seedbank.overview.answers import BatchAnswer
from seedbank.overview.forms import BatchCreate
from seedbank.overview.tables import BatchWork
from seedbank.overview.undo_batch import undo_batch
from seedbank.overview.work_on_lots import work_on_lots
from seedbank.science.verdicts.verdict import Verdict
from seedbank.upkeep.command_session import opened

WorkArgument = Annotated[
    BatchWork | None, typer.Argument(help="What is done to each; left out with --undo.")
]
LotsArgument = Annotated[list[str] | None, typer.Argument(help="Codes of the lots.")]
UndoOption = Annotated[int | None, typer.Option(help="Undo the work of this number.")]
_SetOption = typer.Option("--set", help="test: seeds in each replicate.")


class BatchOptions(BaseModel):
    """Which lots are meant besides those named, and how the work is done."""

    words: str | None = Field(default=None, description="Or all packets that have these words.")
    kept_in: int | None = Field(default=None, description="And are in the place so numbered.")
    state: Verdict | None = Field(default=None, description="And are in this state.")
    kind: str | None = Field(default=None, description="And are of this kind.")
    place: int | None = Field(default=None, description="move: number of the place.")
    seeds: int | None = Field(default=None, description="give, throw-out: so many of each.")
    share: float | None = Field(default=None, description="Or what share of each, 0 to 1.")
    keepers: OtherKeepers | None = Field(default=None, description="keepers: how many.")
    replicates: Annotated[list[int] | None, _SetOption] = None
    note: str = Field(default="", description="To whom, or why.")

    def form(self, work: BatchWork, lots: list[str] | None) -> BatchCreate:
        """What is to be done."""
        asked = {"words": self.words, "place": self.kept_in, "state": self.state, "kind": self.kind}
        among = {name: value for name, value in asked.items() if value is not None}
        form: dict[str, Any] = {
            "work": work,
            "lots": lots or None,
            "among": among or None,
            "place_id": self.place,
            "amount": None if self.seeds is None else {"seeds": self.seeds},
            "share": self.share,
            "other_keepers": self.keepers,
            "replicates": self.replicates or None,
            "note": self.note,
        }
        return BatchCreate.model_validate(form)


@fill_form
def run(
    options: BatchOptions,
    work: WorkArgument = None,
    lots: LotsArgument = None,
    undo: UndoOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Move, give, throw out or test many lots, or say who else keeps them: all or none."""
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        if undo is not None:
            done = undo_batch(session, undo, today=today, now=now)
        elif work is None:
            raise Refused("batch-work-unsaid", "work", None)
        else:
            done = work_on_lots(session, options.form(work, lots), today=today, now=now)
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
