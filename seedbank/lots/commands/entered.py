"""``seedbank entered``: lots whose amount or day of coming an import may have made up."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import screen, table, words
from seedbank.database.queries import Paging
from seedbank.lots.answers import EntryDoubtAnswer
from seedbank.lots.forms import AmountIs, DayIs, EntryDoubtsAnswered
from seedbank.lots.settle_entry_doubts import list_entry_doubts, settle_entry_doubts
from seedbank.upkeep.command_session import opened

_MOST = 1000
LotsArgument = Annotated[
    list[str] | None, typer.Argument(help="Codes of the lots meant; left out: all of them.")
]
AmountOption = Annotated[
    AmountIs | None, typer.Option(help="some: it holds some, not counted; none: it is empty.")
]
DayOption = Annotated[
    DayIs | None,
    typer.Option("--day", help="right: it came on that day; unknown: nobody knows when."),
]


def run(
    lots: LotsArgument = None,
    amount: AmountOption = None,
    day: DayOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """List lots that an import may have entered as empty or as come that day; answer for them."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        if amount is None and day is None and not lots:
            page = list_entry_doubts(session, Paging(_MOST))
            found = page.items
            if json:
                print("[" + ", ".join(one.model_dump_json() for one in found) + "]")
            else:
                _show(found)
            return
        form = EntryDoubtsAnswered(lots=lots or None, amount=amount, acquired_day=day)
        settled = settle_entry_doubts(session, form, today=collection.today, now=collection.now)
    if json:
        print(settled.model_dump_json())
    else:
        text = words("entered-answered", lots=settled.settled, left=settled.left)
        screen().print(text)


def _show(found: list[EntryDoubtAnswer]) -> None:
    if not found:
        screen().print(words("entered-none-left"))
        return
    table(
        ("lot", "variety", "nothing-booked", "on-record-as-come"),
        [
            (
                one.lot,
                f"{one.variety.name} ({one.variety.kind})",
                words("nothing-booked", amount=one.amount),
                one.acquired_on.isoformat() if one.acquired_on else "",
            )
            for one in found
        ],
    )
    screen().print()
    screen().print(words("entered-how"))
