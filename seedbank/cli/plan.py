"""``seedbank plan``: what to save this year and in the years after."""

from time import monotonic
from typing import Annotated

import typer

from seedbank.cli.collection import DatabaseOption, JsonOption, opened, settings_for
from seedbank.cli.plan_shown import show_plan
from seedbank.cli.screen import bar
from seedbank.service.forms.saving_plans import PlanAsk
from seedbank.service.plan_saving import keep_saving_plan, plan_saving

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
    with opened(settings_for(database)) as collection, bar("Weighing the years"):
        session, today = collection.session, collection.today
        if keep:
            now = collection.now
            plan = keep_saving_plan(session, ask, today=today, now=now, clock=monotonic)
        else:
            plan = plan_saving(session, ask, today=today, clock=monotonic)
    if json:
        print(plan.model_dump_json(indent=2))
    else:
        show_plan(plan)
