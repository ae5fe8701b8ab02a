"""``seedbank kind list`` and ``show``: kinds, and what is known of them with its source."""

from typing import Annotated

import typer

from seedbank.cli.answer_lists import JsonLinesOption, every_page, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import heading, table, words
from seedbank.kinds.edit_kinds import show_kind
from seedbank.kinds.tables import KindFilter, kind_named
from seedbank.kinds.words import more_facts
from seedbank.lots.show_lots import list_kinds
from seedbank.upkeep.command_session import opened

KindArgument = Annotated[str, typer.Argument(help="Its name, or its short name.")]


@fill_form
def show_list(
    wanted: KindFilter,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List the kinds of plant that are known."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = list(every_page(lambda paging: list_kinds(session, wanted, paging)))
    if not print_json(found, json=json, json_lines=json_lines):
        print_table(("slug", "name"), [(one.slug, one.name) for one in found])


def show(kind: KindArgument, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Show what is known of a kind, each fact with its source.

    Facts of several numbers are in the JSON alone.
    """
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = show_kind(session, kind_named(session, kind).slug)
    if json:
        print(found.model_dump_json(indent=2))
        return
    heading(words("kind-heading", kind=found.name, slug=found.slug))
    names = more_facts()
    rows = [
        (names[one.name], str(one.value), f"{one.source.text} ({one.source.confidence})")
        for one in found.facts
        if one.name in names and isinstance(one.value, str | int | float)
    ]
    table(("what", "value", "source"), rows)
