"""``seedbank plan orders``: seed that isn't enough for the rows of this season and the next."""

from collections.abc import Sequence

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import bullets, name_of, screen, show_sources, table, words
from seedbank.plan.answers import OrderAnswer
from seedbank.plan.list_orders import list_orders
from seedbank.upkeep.command_session import opened


def run(database: DatabaseOption = None, json: JsonOption = False) -> None:
    """List what to order for the rows of this season and the next, with a margin."""
    with opened(settings_for(database)) as collection:
        answer = list_orders(collection.session, today=collection.today)
    if json:
        print(answer.model_dump_json(indent=2))
        return
    if answer.items:
        show_orders(answer.items)
    else:
        screen().print(words("nothing-to-order"))
    show_sources(answer.sources)


def show_orders(orders: Sequence[OrderAnswer]) -> None:
    """The orders in a table, and why."""
    table(
        ("variety", "how", "plants", "seeds", "grams", "packets"),
        [
            (
                name_of(one.variety),
                one.get_by.value,
                str(one.plants_wanted),
                str(one.seeds),
                "" if one.grams is None else f"{one.grams:g}",
                str(one.packets or ""),
            )
            for one in orders
        ],
        numbers=4,
    )
    bullets(f"{name_of(one.variety)}: {one.text}" for one in orders)
