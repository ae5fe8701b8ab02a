"""``seedbank token``: who else may come in, when the collection is served to others."""

import json as json_text
from typing import Annotated

import typer

from seedbank.access import tokens_and_trail as access
from seedbank.access.tables import Rights
from seedbank.cli.answer_lists import JsonLinesOption, print_json
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import aside, words
from seedbank.upkeep.command_session import opened


def add(
    name: Annotated[str, typer.Argument(help="Whose it is: a person, a device.")],
    rights: Annotated[
        Rights,
        typer.Option(
            help="reader sees everything, keeper changes it too, owner also sees and revokes "
            "tokens."
        ),
    ] = Rights.KEEPER,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Make a token and print it, this once only."""
    # Serving to others asks for a token first, so this too may begin a collection.
    with opened(settings_for(database), begins=True) as collection:
        made = access.make_token(collection.session, name, rights, now=collection.now)
    if json:
        document = {**made.token.model_dump(mode="json"), "token": made.shown}
        print(json_text.dumps(document, indent=2))
        return
    aside(words("token-made", number=made.token.id, name=made.token.name, rights=made.token.rights))
    print(made.shown)


def show_list(
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List the tokens ever made."""
    with opened(settings_for(database)) as collection:
        tokens = access.list_tokens(collection.session).items
    if print_json(tokens, json=json, json_lines=json_lines):
        return
    for one in tokens:
        revoked = one.revoked_at and one.revoked_at.date()
        state = words("token-state", made=one.made_at.date(), revoked=revoked)
        print(f"{one.id}  {one.name}  {one.rights}  {state}")
    if not tokens:
        aside(words("no-token-made"))


def revoke(
    number: Annotated[int, typer.Argument(min=1, max=2_147_483_647, help="Its number.")],
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Let the holder of a token in no longer, from this moment."""
    with opened(settings_for(database)) as collection:
        gone = access.revoke_token(collection.session, number, now=collection.now)
    if json:
        print(gone.model_dump_json(indent=2))
    else:
        print(words("token-revoked", number=gone.id, name=gone.name))
