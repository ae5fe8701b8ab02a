"""``seedbank sowing record``, ``emerged``, ``lost`` and ``finish``: seed sown, and what came of it.

A sowing is named by its number, or by the code of the lot whose only open sowing it is.
"""

from typing import Annotated, Any

import typer
from sqlmodel import Session

from seedbank.cli.answer_lists import JsonLinesOption, every_page, known, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import Given, fill_form, options_of
from seedbank.cli.screen import bullets, name_of, percent, screen, show_cautions, words
from seedbank.cli.typed_codes import typed_amounts
from seedbank.common.errors import Refused
from seedbank.database.queries import Paging
from seedbank.emergence.tables import LossCause, SowingFilter
from seedbank.lots.named_by_lot import number_meant
from seedbank.sowing.answers import SowingAnswer, SowingSummary
from seedbank.sowing.forms import (
    EmergenceCreate,
    LossCreate,
    SeveralSowings,
    SowingCreate,
    SowingFinish,
)
from seedbank.sowing.record_sowing import (
    count_emergence,
    count_losses,
    delete_sowing,
    finish_sowing,
    record_sowings,
)
from seedbank.sowing.show_sowings import list_sowings, show_sowing
from seedbank.upkeep.command_session import opened

SownArgument = Annotated[
    list[str],
    typer.Argument(
        help="Each lot with the seeds sown of it, like 4K7PM:120; - reads standard input.",
        metavar="CODE:SEEDS...",
    ),
]
SowingArgument = Annotated[
    str, typer.Argument(help="Code of the lot sown, or number of the sowing.", metavar="CODE")
]


@options_of(SowingCreate, leave_out=("lot", "seeds_sown"))
def record(
    lots: SownArgument,
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """Record seed sown, of one lot or several, all of it or nothing."""
    sowings: list[dict[str, Any]] = []
    for code, amount in typed_amounts(lots):
        if "seeds" not in amount:
            raise Refused("sown-in-seeds", "lots", code)
        sowings.append({"lot": code, "seeds_sown": amount["seeds"], **given})
    form = SeveralSowings.model_validate({"sowings": sowings})
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        recorded = record_sowings(session, form, today=today, now=now)
    if not print_json(recorded, json=json, json_lines=json_lines):
        for one in recorded:
            _show(one, json)


@options_of(EmergenceCreate, leave_out=("units_emerged",))
def emerged(
    sowing: SowingArgument,
    seeds: Annotated[int, typer.Argument(help="Seeds come up so far, in all.", metavar="SEEDS")],
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Record how many sown seeds have come up so far."""
    form = EmergenceCreate.model_validate({"units_emerged": seeds, **given})
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        number = sowing_meant(session, sowing)
        answer = count_emergence(session, number, form, today=today, now=now)
    _show(answer, json)


@options_of(LossCreate, leave_out=("units_lost", "cause"))
def lost(
    sowing: SowingArgument,
    seeds: Annotated[int, typer.Argument(help="How many.", metavar="SEEDS")],
    cause: Annotated[LossCause, typer.Argument(help="What took them.")],
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Record seeds or seedlings of a sowing lost to one cause."""
    form = LossCreate.model_validate({"units_lost": seeds, "cause": cause, **given})
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        number = sowing_meant(session, sowing)
        answer = count_losses(session, number, form, today=today, now=now)
    _show(answer, json)


@options_of(SowingFinish)
def finish(
    sowing: SowingArgument,
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Say that no more seedlings of a sowing are expected."""
    form = SowingFinish.model_validate(given)
    with opened(settings_for(database)) as collection:
        session = collection.session
        number = sowing_meant(session, sowing)
        answer = finish_sowing(session, number, form, today=collection.today)
    _show(answer, json)


@fill_form
def show_list(
    wanted: SowingFilter,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List sowings, the earliest first."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = list(every_page(lambda paging: list_sowings(session, wanted, paging)))
    if not print_json(found, json=json, json_lines=json_lines):
        columns = ("number", "lot", "variety", "date", "method", "finished", "sown", "up")
        print_table(columns, map(_row, found), numbers=2)


def show(sowing: SowingArgument, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Show a sowing and what came up of it."""
    with opened(settings_for(database)) as collection:
        answer = show_sowing(collection.session, sowing_meant(collection.session, sowing))
    _show(answer, json)


def undo(sowing: SowingArgument, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Take back a sowing recorded by mistake; its seed returns to the lot."""
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        answer = show_sowing(session, sowing_meant(session, sowing))
        delete_sowing(session, answer.id, expected=[answer.version], today=today, now=now)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        screen().print(words("sowing-undone", sowing=str(answer.id), lot=answer.lot))


def sowing_meant(session: Session, typed: str) -> int:
    """The number of the sowing named (``number_meant``)."""
    return number_meant(
        "sowing",
        typed,
        lambda code: list_sowings(session, SowingFilter(lot=code), Paging(1000)).items,
        lambda sowing: sowing.finished_on is None,
    )


def _show(sowing: SowingAnswer, json: bool) -> None:
    if json:
        print(sowing.model_dump_json(indent=2))
        return
    up = sowing.units_emerged
    screen().print(
        words(
            "sowing-told",
            sowing=str(sowing.id),
            lot=sowing.lot,
            variety=name_of(sowing.variety),
            seeds=sowing.seeds_sown,
            sown_on=sowing.sown_on,
            method=words("sowing-method", choice=sowing.method),
            up="none" if up is None else f"{up:,}",
            share="" if sowing.emerged is None else percent(sowing.emerged),
            finished=known(sowing.finished_on) or "none",
        )
    )
    bullets(one.text for one in sowing.warnings)
    show_cautions(sowing.cautions)


def _row(sowing: SowingSummary) -> tuple[str, ...]:
    return (
        str(sowing.id),
        sowing.lot,
        name_of(sowing.variety),
        known(sowing.sown_on),
        words("sowing-method", choice=sowing.method),
        known(sowing.finished_on),
        f"{sowing.seeds_sown:,}",
        "" if sowing.units_emerged is None else f"{sowing.units_emerged:,}",
    )
