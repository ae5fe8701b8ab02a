"""``seedbank place``: where seed is kept."""

from typing import Annotated

import typer

from seedbank.cli.answer_lists import JsonLinesOption, every_page, known, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import Given, options_of
from seedbank.cli.screen import screen, words
from seedbank.lots.answers import PlaceAnswer
from seedbank.lots.edit_places import add_place, change_place, place_called, show_place
from seedbank.lots.forms import PlaceChange, PlaceCreate
from seedbank.lots.show_lots import list_places
from seedbank.upkeep.command_session import opened

NameArgument = Annotated[str, typer.Argument(help="Its name.", metavar="NAME")]
PlaceArgument = Annotated[str, typer.Argument(help="Its name or number.", metavar="NAME")]


def show_list(
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List the places seed is kept, and what is known of them."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = list(every_page(lambda paging: list_places(session, paging)))
    if not print_json(found, json=json, json_lines=json_lines):
        columns = ("number", "name", "sealed", "winter", "summer", "humidity")
        print_table(columns, map(_row, found), numbers=3)


@options_of(PlaceCreate, leave_out=("name",))
def add(
    name: NameArgument, given: Given, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Add a place seed is kept, with what is known of it."""
    form = PlaceCreate.model_validate({"name": name, **given})
    with opened(settings_for(database), begins=True) as collection:
        place = add_place(collection.session, form)
    _show(place, "added", json)


@options_of(PlaceChange)
def change(
    place: PlaceArgument, given: Given, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Change what is known of a place."""
    form = PlaceChange.model_validate(given)
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = show_place(session, place_called(session, place))
        changed = change_place(session, found.id, form, expected=[found.version])
    _show(changed, "changed", json)


def _show(place: PlaceAnswer, choice: str, json: bool) -> None:
    if json:
        print(place.model_dump_json(indent=2))
    else:
        told = words("place-told", number=str(place.id), place=place.name, choice=choice)
        screen().print(told)


def _row(one: PlaceAnswer) -> tuple[str, ...]:
    humidity = "" if one.rh_winter_pct is None else f"{one.rh_winter_pct:g} %"
    winter, summer = (
        "" if celsius is None else f"{celsius:g} °C"
        for celsius in (one.temp_winter_c, one.temp_summer_c)
    )
    sealed = words("yes-or-no", choice="yes" if one.sealed else "no")
    return known(one.id), one.name, sealed, winter, summer, humidity
