"""``seedbank variety``: the varieties of a collection."""

from typing import Annotated

import typer

from seedbank.cli.answer_lists import JsonLinesOption, every_page, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import Given, fill_form, options_of
from seedbank.cli.screen import bullets, heading, screen, words
from seedbank.kinds.answers import VarietyAnswer
from seedbank.kinds.edit_varieties import add_variety, change_variety, show_variety
from seedbank.kinds.forms import VarietyChange, VarietyCreate
from seedbank.kinds.tables import VarietyFilter
from seedbank.lots.show_lots import list_varieties
from seedbank.overview.show_variety import show_variety_at_hand
from seedbank.upkeep.command_session import opened
from seedbank.verdicts.words import verdict_words

NumberArgument = Annotated[
    int, typer.Argument(min=1, help="Number of the variety, as variety list tells it.")
]
NameArgument = Annotated[str, typer.Argument(help="Its name.", metavar="NAME")]


@fill_form
def show_list(
    wanted: VarietyFilter,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List varieties by name."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = list(every_page(lambda paging: list_varieties(session, wanted, paging)))
    if not print_json(found, json=json, json_lines=json_lines):
        print_table(("number", "variety", "kind", "keepers"), map(_row, found))


def show(
    variety: NumberArgument, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Show a variety with its lots, what is planned of it and what crosses with it."""
    with opened(settings_for(database)) as collection:
        found = show_variety_at_hand(collection.session, variety, today=collection.today)
    if json:
        print(found.model_dump_json(indent=2))
        return
    heading(f"{found.variety.name} ({found.variety.kind})")
    rows = [
        (
            one.lot,
            verdict_words(one.verdict) if one.verdict else "",
            words("amount-in-column", seeds=one.balance_seeds),
        )
        for one in found.lots
    ]
    print_table(("lot", "state", "seeds"), rows, numbers=1)
    if found.running_out is not None:
        bullets([found.running_out.text])
    if found.alongside.crosses:
        heading(words("variety-crosses"))
        bullets(f"{one.name} ({one.kind})" for one in found.alongside.crosses)


@options_of(VarietyCreate, leave_out=("name",))
def add(
    name: NameArgument, given: Given, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Add a variety that is kept."""
    form = VarietyCreate.model_validate({"name": name, **given})
    with opened(settings_for(database)) as collection:
        made = add_variety(collection.session, form)
    _show(made, "added", json)


@options_of(VarietyChange)
def change(
    variety: NumberArgument, given: Given, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Change what is known of a variety."""
    form = VarietyChange.model_validate(given)
    with opened(settings_for(database)) as collection:
        session = collection.session
        expected = [show_variety(session, variety).version]
        changed = change_variety(session, variety, form, expected=expected)
    _show(changed, "changed", json)


def _show(variety: VarietyAnswer, choice: str, json: bool) -> None:
    if json:
        print(variety.model_dump_json(indent=2))
        return
    name = f"{variety.name} ({variety.kind})"
    told = words("variety-told", number=str(variety.id), variety=name, choice=choice)
    screen().print(told)


def _row(one: VarietyAnswer) -> tuple[str, ...]:
    return (
        str(one.id),
        one.name,
        one.kind,
        "" if one.keepers_unknown else words("keepers-number", keepers=one.other_keepers.value),
    )
