"""``seedbank lot add`` and what else is booked in one packet's ledger."""

from typing import Annotated, Any

import typer

from seedbank.cli.answer_lists import (
    JsonLinesOption,
    every_page,
    known,
    print_json,
    print_table,
)
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import Given, options_of
from seedbank.cli.screen import bullets, name_of, screen, show_cautions, words
from seedbank.cli.typed_codes import WeighedArgument, typed_amounts
from seedbank.lots.answers import MovementAnswer
from seedbank.lots.edit_places import place_called
from seedbank.lots.forms import LotChange, PacketCreate, StockTakeCreate
from seedbank.lots.move_seed import list_movements, record_stock_takes
from seedbank.lots.show_lots import show_lot
from seedbank.lots.take_in_lots import change_lot
from seedbank.lots.take_in_packet import take_in_packet
from seedbank.upkeep.command_session import opened

VarietyArgument = Annotated[str, typer.Argument(help="Name of its variety.")]
PlaceOption = Annotated[
    str | None, typer.Option(help="Place it is put in, by name or number, if it is listed.")
]
NewPlaceOption = Annotated[
    str | None, typer.Option(help="Name of a place to put it in that isn't listed yet.")
]
CodeArgument = Annotated[str, typer.Argument(help="Code of the lot.", metavar="CODE")]
_BY_NAME = ("variety", "variety_id", "place_id", "new_place")


@options_of(PacketCreate, leave_out=_BY_NAME)
def add(
    variety: VarietyArgument,
    given: Given,
    place: PlaceOption = None,
    new_place: NewPlaceOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Take a packet in, its variety and place too if they are new."""
    with opened(settings_for(database), begins=True) as collection:
        session = collection.session
        form: dict[str, Any] = {"variety": variety, **given}
        if new_place is not None:
            form["new_place"] = {"name": new_place}
        if place is not None:
            form["place_id"] = place_called(session, place)
        packet = PacketCreate.model_validate(form)
        lot = take_in_packet(session, packet, today=collection.today, now=collection.now)
    if json:
        print(lot.model_dump_json(indent=2))
        return
    kept_in = lot.place.name if lot.place else "none"
    told = {"variety": name_of(lot.variety), "amount": lot.amount.text, "place": kept_in}
    screen().print(words("lot-taken-in", lot=lot.code, **told))
    show_cautions(lot.cautions)


@options_of(LotChange)
def change(
    lot: CodeArgument, given: Given, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Change what is known of a lot; its amount is changed by a stock-take."""
    form = LotChange.model_validate(given)
    with opened(settings_for(database)) as collection:
        session, today = collection.session, collection.today
        expected = [show_lot(session, lot, today=today).version]
        changed = change_lot(session, lot, form, expected=expected, today=today)
    if json:
        print(changed.model_dump_json(indent=2))
    else:
        told = words("lot-changed", lot=changed.code, variety=name_of(changed.variety))
        screen().print(told)


@options_of(StockTakeCreate, leave_out=("seeds", "grams", "seeds_se"))
def count(
    lots: WeighedArgument,
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """Take stock: say what packets really hold, all of them or none."""
    takes = [
        (code, StockTakeCreate.model_validate({**amount, **given}))
        for code, amount in typed_amounts(lots)
    ]
    with opened(settings_for(database)) as collection:
        booked = record_stock_takes(
            collection.session, takes, today=collection.today, now=collection.now
        )
    if not print_json(booked, json=json, json_lines=json_lines):
        bullets(
            words("stock-taken", lot=one.lot, seeds=one.balance_seeds, change=one.seeds)
            for one in booked
        )


def history(
    lot: CodeArgument,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List all that came into a lot and left it."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = list(every_page(lambda paging: list_movements(session, lot, None, paging)))
    if not print_json(found, json=json, json_lines=json_lines):
        columns = ("number", "date", "what", "note", "seeds", "left")
        print_table(columns, map(_row, found), numbers=2)


def _row(one: MovementAnswer) -> tuple[str, ...]:
    what = words("moved", choice=one.reason)
    seeds = "" if one.seeds is None else f"{one.seeds:+,}"
    left = "" if one.balance_seeds is None else f"{one.balance_seeds:,}"
    return str(one.serial), known(one.on_date), what, one.note, seeds, left
