"""``seedbank lot move``, ``give`` and ``discard``: of one packet or many, of all or of none."""

from typing import Annotated, Any

import typer
from pydantic import BaseModel, Field

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import screen, show_cautions, words
from seedbank.cli.typed_codes import CodesArgument, typed_codes
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.edit_places import place_called
from seedbank.lots.move_seed import giving_cautions, undo_movement
from seedbank.overview.answers import BatchAnswer
from seedbank.overview.forms import BatchCreate
from seedbank.overview.tables import BatchWork
from seedbank.overview.undo_batch import undo_batch
from seedbank.overview.work_on_lots import work_on_lots
from seedbank.upkeep.command_session import Opened, opened

OnDateOption = Annotated[str | None, typer.Option(help="The day; today if left out.")]


class TakenOptions(BaseModel):
    """How much of each lot is taken; nothing said: all of it."""

    seeds: int | None = Field(None, description="So many seeds of each.")
    grams: float | None = Field(None, description="Or so many grams of each.")
    share: float | None = Field(None, description="Or what share of each, 0 to 1.")
    on_date: str | None = Field(None, description="The day; today if left out.")

    def form(self, work: BatchWork, note: str) -> dict[str, Any]:
        """The work, as its form has it."""
        given = self.model_dump(include={"seeds", "grams"}, exclude_none=True)
        told = {"work": work, "note": note, "on_date": self.on_date, "share": self.share}
        return told | {"amount": given or None}


class GiftOptions(TakenOptions):
    """The same, and to whom."""

    to: str = Field("", description="To whom.")


class DiscardOptions(TakenOptions):
    """The same, and why."""

    why: str = Field("", description="Why.")


def move(
    lots: CodesArgument,
    place: Annotated[str | None, typer.Option(help="Place, by name or number.")] = None,
    new_place: Annotated[str | None, typer.Option(help="Name of one not listed yet.")] = None,
    on_date: OnDateOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Put lots in another place."""
    with opened(settings_for(database)) as collection:
        form: dict[str, Any] = {"work": BatchWork.MOVE, "on_date": on_date}
        if place is not None:
            form["place_id"] = place_called(collection.session, place)
        if new_place is not None:
            form["new_place"] = {"name": new_place}
        done = _work(collection, typed_codes(lots), form)
    _show(done, json)


@fill_form
def give(
    lots: CodesArgument,
    given: GiftOptions,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Give seed away: so much of each lot, or all of it."""
    with opened(settings_for(database)) as collection:
        form = given.form(BatchWork.GIVE, given.to)
        done = _work(collection, typed_codes(lots), form)
        cautions = [one for code in done.lots for one in giving_cautions(collection.session, code)]
    _show(done, json)
    if not json:
        show_cautions(list(dict.fromkeys(cautions)))


@fill_form
def discard(
    lots: CodesArgument,
    given: DiscardOptions,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Let seed go: so much of each lot, or all of it."""
    with opened(settings_for(database)) as collection:
        form = given.form(BatchWork.THROW_OUT, given.why)
        done = _work(collection, typed_codes(lots), form)
    _show(done, json)


def keepers(
    lots: CodesArgument,
    others: Annotated[OtherKeepers, typer.Option(help="How many others keep their varieties.")],
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Say how many others keep the varieties of lots."""
    form = {"work": BatchWork.KEEPERS, "other_keepers": others}
    with opened(settings_for(database)) as collection:
        done = _work(collection, typed_codes(lots), form)
    _show(done, json)


def undo(
    work: Annotated[str, typer.Argument(help="Number of the work; or code of a lot.")],
    movement: Annotated[
        int | None,
        typer.Argument(help="After a code: number of the movement, as history lists it."),
    ] = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Undo work on lots by its number, or one movement of a lot."""
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        if movement is None:
            done = undo_batch(session, _number(work), today=today, now=now)
            told = words("batch-undone", lots=len(done.lots))
            answer = done.model_dump_json(indent=2)
        else:
            undone = undo_movement(session, work, movement, today=today, now=now)
            left = undone.balance_seeds
            told = words("stock-taken", lot=undone.lot, seeds=left, change=undone.seeds)
            answer = undone.model_dump_json(indent=2)
    print(answer) if json else screen().print(told)


def _number(text: str) -> int:
    if not text.isascii() or not text.isdigit():
        raise typer.BadParameter(f"{text!r} is no number", param_hint="WORK")
    return int(text)


def _work(collection: Opened, codes: list[str], form: dict[str, Any]) -> BatchAnswer:
    batch = BatchCreate.model_validate({"lots": codes, **form})
    return work_on_lots(collection.session, batch, today=collection.today, now=collection.now)


def _show(done: BatchAnswer, json: bool) -> None:
    if json:
        print(done.model_dump_json(indent=2))
        return
    screen().print(done.done.text)
    screen().print(words("work-how-undone", number=str(done.id)))
