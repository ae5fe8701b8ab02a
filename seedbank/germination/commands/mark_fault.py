"""``seedbank test-fault``: what went wrong with a germination test, told afterwards."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.germination.commands.record_test import show, show_contradiction
from seedbank.germination.forms import TestChange
from seedbank.germination.run_tests import change_test
from seedbank.germination.tables import TestFault
from seedbank.upkeep.command_session import opened
from seedbank.viability.show_viability import show_viability

NumberArgument = Annotated[int, typer.Argument(min=1, help="Number of the test.")]
FaultArgument = Annotated[
    TestFault | None, typer.Argument(help="What went wrong; left out: nothing did.")
]


def run(
    test: NumberArgument,
    fault: FaultArgument = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Say what went wrong with a germination test, or that nothing did.

    It then only tells the least that was alive.
    """
    with opened(settings_for(database)) as collection:
        form = TestChange(fault=fault)
        answer = change_test(collection.session, test, form, expected=None)
        life = show_viability(collection.session, answer.lot, today=collection.today)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)
        show_contradiction(life)
