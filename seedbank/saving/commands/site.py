"""``seedbank site``: ground that plants flower on."""

from typing import Annotated

import typer

from seedbank.cli.answer_lists import JsonLinesOption, every_page, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import Given, options_of
from seedbank.cli.screen import screen, words
from seedbank.saving.edit_sites import add_site, list_sites
from seedbank.saving.forms import SiteCreate
from seedbank.upkeep.command_session import opened

NameArgument = Annotated[str, typer.Argument(help="Its name.", metavar="NAME")]


def show_list(
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List the sites that plants flower on."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = list(every_page(lambda paging: list_sites(session, paging)))
    if not print_json(found, json=json, json_lines=json_lines):
        rows = [(str(one.id), one.name, one.notes) for one in found]
        print_table(("number", "name", "notes"), rows)


@options_of(SiteCreate, leave_out=("name",))
def add(
    name: NameArgument, given: Given, database: DatabaseOption = None, json: JsonOption = False
) -> None:
    """Add a site that plants flower on."""
    form = SiteCreate.model_validate({"name": name, **given})
    with opened(settings_for(database), begins=True) as collection:
        site = add_site(collection.session, form)
    if json:
        print(site.model_dump_json(indent=2))
    else:
        screen().print(words("site-added", number=str(site.id), site=site.name))
