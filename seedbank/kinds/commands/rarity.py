"""``seedbank rarity``: how many others keep each variety, said of many at once."""

import json as json_text
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import screen, table, words
from seedbank.kinds.edit_varieties import answer_variety, tell_keepers, untold_keepers
from seedbank.kinds.forms import KeepersTold
from seedbank.kinds.tables import OtherKeepers
from seedbank.upkeep.command_session import opened

_MOST = 100
_Numbers = list[int] | None


def run(
    none: Annotated[_Numbers, typer.Option(help="Number of one that nobody else keeps.")] = None,
    few: Annotated[_Numbers, typer.Option(help="Number of one that few others keep.")] = None,
    many: Annotated[_Numbers, typer.Option(help="Number of one that many others keep.")] = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Say how many others keep varieties; list those of which nobody has said."""
    told = {OtherKeepers.NONE: none, OtherKeepers.FEW: few, OtherKeepers.MANY: many}
    items = [
        {"variety_id": number, "other_keepers": keepers}
        for keepers, numbers in told.items()
        for number in numbers or ()
    ]
    with opened(settings_for(database)) as collection:
        if items:
            tell_keepers(collection.session, KeepersTold.model_validate({"items": items}))
        untold = [
            answer_variety(collection.session, one)
            for one in untold_keepers(collection.session, _MOST)
        ]
    if json:
        print(json_text.dumps([one.model_dump(mode="json") for one in untold], indent=2))
        return
    if items:
        screen().print(words("rarity-told", varieties=len(items)))
    screen().print(words("rarity-untold", varieties=len(untold), more=len(untold) == _MOST))
    if untold:
        rows = [(str(one.id), one.name, one.kind) for one in untold]
        table(("number", "variety", "kind"), rows)
