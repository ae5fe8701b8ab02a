"""``seedbank supplies``: what to sow this year, what is lacking, and what may be given away."""

from time import monotonic

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
from seedbank.plan.plan_supply import plan_supplies
from seedbank.upkeep.command_session import opened


def run(database: DatabaseOption = None, json: JsonOption = False) -> None:
    """List what to sow this year, what seed is lacking, and what seed may be given away."""
    with opened(settings_for(database)) as collection, bar(words("supplies-working")):
        answer = plan_supplies(collection.session, today=collection.today, clock=monotonic)
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
    if answer.shortfall:
        heading(words("supplies-heading-lacking"))
        bullets(f"{name_of(one.variety)}: {one.text}" for one in answer.shortfall)
    if answer.spare:
        heading(words("supplies-heading-spare"))
        table(
            ("variety", "from", "held", "spare"),
            [
                (
                    name_of(one.variety),
                    ", ".join(f"{lot.lot} ({lot.seeds})" for lot in one.lots),
                    str(one.held),
                    str(one.seeds),
                )
                for one in answer.spare
            ],
            numbers=2,
        )
    screen().print()
    bullets(one.text for one in answer.remarks)
    show_cautions(answer.cautions)
    show_sources(answer.sources)
