"""``seedbank plan``: what to save this year and in the years after."""

from time import monotonic
from typing import Annotated

import typer

from seedbank.cli.answer_lists import print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import bar, name_of, words
from seedbank.common.errors import Refused
from seedbank.plan.answers import LastPlanCropAnswer
from seedbank.plan.forms import PlanAsk
from seedbank.plan.make_plan import keep_saving_plan, work_out_plan
from seedbank.plan.show_plan import show_plan_now
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


def show(database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Show the plan kept last, and what was recorded of it since."""
    with opened(settings_for(database)) as collection:
        plan = show_plan_now(collection.session, today=collection.today)
    if plan is None:
        raise Refused("no-plan-kept", "plan", None)
    if json:
        print(plan.model_dump_json(indent=2))
    elif plan.told is not None:
        show_plan(plan.told)
    else:
        columns = ("variety", "sow", "flowers", "site", "isolate-by")
        print_table(columns, map(_row, plan.plan.crops))


def _row(crop: LastPlanCropAnswer) -> tuple[str, ...]:
    return (
        name_of(crop.variety),
        str(crop.sow_in),
        str(crop.flowers_in),
        crop.site,
        words("isolation-way", way=crop.isolation),
    )
