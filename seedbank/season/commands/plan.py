"""``seedbank plan``: what to save this year and in the years after."""

from time import monotonic
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import bar, words
from seedbank.plan.forms import PlanAsk
from seedbank.plan.make_plan import keep_saving_plan, work_out_plan
from seedbank.season.commands.plan_on_screen import show_plan
from seedbank.upkeep.command_session import opened

HorizonOption = Annotated[int, typer.Option(help="Years planned, this one first; 1 to 12.")]
LimitOption = Annotated[float, typer.Option(help="Seconds the search may take, 0.5 to 60.")]
KeepOption = Annotated[
    bool, typer.Option("--keep", help="Keep the plan: the next one changes little of it.")
]


def run(
    horizon: HorizonOption = 6,
    time_limit_s: LimitOption = 10.0,
    keep: KeepOption = False,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Plan which varieties to save seed of, year by year, so that least is likely to be lost."""
    ask = PlanAsk(horizon_years=horizon, time_limit_s=time_limit_s)
    with opened(settings_for(database)) as collection, bar(words("plan-working")):
        session = collection.session
        worked = work_out_plan(session, ask, today=collection.today, clock=monotonic)
        plan = worked.answer
        if keep:
            plan = keep_saving_plan(session, worked, now=collection.now)
    if json:
        print(plan.model_dump_json(indent=2))
    else:
        show_plan(plan)
