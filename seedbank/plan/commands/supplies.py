"""``seedbank plan supplies``: what to sow this year, what to order, and what may be given away."""

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import (
    bar,
    bullets,
    heading,
    name_of,
    percent,
    screen,
    show_cautions,
    show_sources,
    table,
    words,
)
from seedbank.plan.answers import SuppliesAnswer
from seedbank.plan.commands.orders import show_orders
from seedbank.plan.plan_supply import plan_supplies
from seedbank.upkeep.command_session import opened


def run(database: DatabaseOption = None, json: JsonOption = False) -> None:
    """List what to sow this year, what to order, and what seed may be given away."""
    with opened(settings_for(database)) as collection, bar(words("supplies-working")):
        answer = plan_supplies(collection.session, today=collection.today)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)


def show(answer: SuppliesAnswer) -> None:
    """The three lists."""
    if answer.sow:
        heading(words("supplies-heading-sow"))
        table(
            ("variety", "from", "plants", "seeds", "enough"),
            [
                (
                    name_of(one.variety),
                    ", ".join(f"{lot.lot} ({lot.seeds})" for lot in one.lots),
                    str(one.plants_wanted),
                    str(one.seeds),
                    percent(one.chance_of_enough),
                )
                for one in answer.sow
            ],
            numbers=3,
        )
    if answer.orders:
        heading(words("supplies-heading-lacking"))
        show_orders(answer.orders)
    if answer.spare:
        heading(words("supplies-heading-spare"))
        table(
            ("variety", "from", "held", "keep", "spare"),
            [
                (
                    name_of(one.variety),
                    ", ".join(f"{lot.lot} ({lot.seeds})" for lot in one.lots),
                    str(one.held),
                    str(one.keep),
                    str(one.spare),
                )
                for one in answer.spare
            ],
            numbers=3,
        )
    screen().print()
    bullets(one.text for one in answer.remarks)
    show_cautions(answer.cautions)
    show_sources(answer.sources)
