"""``seedbank test``: a finished germination test recorded, and what it says."""

from datetime import date
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.failures import refuse
from seedbank.cli.screen import (
    bullets,
    chance,
    heading,
    name_of,
    percent,
    screen,
    table,
    told_cautions,
    told_sources,
)
from seedbank.germination.answers import EvaluationAnswer, TestAnswer
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.germination.tables import Pretreatment, Substratum
from seedbank.upkeep.command_session import opened

_OUTCOMES = ("normal", "abnormal", "hard", "fresh", "dead")


LotArgument = Annotated[str, typer.Argument(help="Code of the lot tested.")]
StartedOption = Annotated[str, typer.Option(help="Day the seed was set, like 2027-02-06.")]
FinishedOption = Annotated[str | None, typer.Option(help="Day of the last count; or today.")]
SetOption = Annotated[int | None, typer.Option("--set", min=1, help="Seeds set, in one replicate.")]
NormalOption = Annotated[int | None, typer.Option(min=0, help="Whole, sound seedlings.")]
AbnormalOption = Annotated[int | None, typer.Option(min=0, help="Damaged or stunted ones.")]
HardOption = Annotated[int | None, typer.Option(min=0, help="Seed that took up no water.")]
FreshOption = Annotated[int | None, typer.Option(min=0, help="Swollen, firm, but not sprouted.")]
DeadOption = Annotated[int | None, typer.Option(min=0, help="Soft or mouldy; or all the rest.")]
RepOption = Annotated[
    list[str] | None,
    typer.Option(
        help="A replicate as set:normal,abnormal,hard,fresh,dead, like 25:20,1,0,0,4; give one "
        "for each. Numbers left out at the end are 0, dead is all the rest.",
    ),
]
OnOption = Annotated[Substratum, typer.Option(help="What the seed lay on or in.")]
PretreatmentOption = Annotated[Pretreatment, typer.Option(help="Done to break dormancy.")]
TempOption = Annotated[float | None, typer.Option(help="Temperature, °C.")]
LightOption = Annotated[bool | None, typer.Option("--light/--dark", help="Left out: not known.")]
YesOption = Annotated[bool, typer.Option("--yes", help="It is so: take what was doubted.")]
NotesOption = Annotated[str, typer.Option(help="Anything else.")]


def run(
    lot: LotArgument,
    started_on: StartedOption,
    finished_on: FinishedOption = None,
    seeds_set: SetOption = None,
    normal: NormalOption = None,
    abnormal: AbnormalOption = None,
    hard: HardOption = None,
    fresh: FreshOption = None,
    dead: DeadOption = None,
    rep: RepOption = None,
    on: OnOption = Substratum.PAPER_TOWEL,
    pretreatment: PretreatmentOption = Pretreatment.NONE,
    temp_c: TempOption = None,
    light: LightOption = None,
    notes: NotesOption = "",
    yes: YesOption = False,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Record a germination test and learn what it says of the lot."""
    single = dict(zip(_OUTCOMES, (normal, abnormal, hard, fresh, dead), strict=True))
    with opened(settings_for(database)) as collection:
        form = TestRecord.model_validate(
            {
                "lot": lot,
                "started_on": started_on,
                "finished_on": finished_on or collection.today.isoformat(),
                "replicates": _replicates(seeds_set, single, rep or []),
                "substratum": on,
                "pretreatment": pretreatment,
                "temp_c": temp_c,
                "in_light": light,
                "notes": notes,
                "confirmed": yes,
            }
        )
        answer = record_test(collection.session, form, today=collection.today, now=collection.now)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)


def _replicates(
    seeds_set: int | None, single: dict[str, int | None], several: list[str]
) -> list[dict[str, int]]:
    given = {name: number for name, number in single.items() if number is not None}
    if several:
        if seeds_set is not None or given:
            raise refuse("rep", several[0], "Give --rep, or --set with --normal, not both.")
        return [_replicate(text) for text in several]
    if seeds_set is None or "normal" not in given:
        raise refuse(
            "set" if seeds_set is None else "normal",
            None,
            "Say how many seeds were set and how many came up, like --set 50 --normal 41.",
            "The outcome is missing.",
        )
    return [{"seeds_set": seeds_set, **given}]


def _replicate(text: str) -> dict[str, int]:
    seeds_set, colon, judged = text.partition(":")
    numbers = judged.split(",")
    try:
        if not colon or len(numbers) > len(_OUTCOMES):
            raise ValueError
        counts = dict(zip(_OUTCOMES, map(int, numbers), strict=False))
        return {"seeds_set": int(seeds_set), **counts}
    except ValueError:
        raise refuse("rep", text, "Write it like 25:20,1,0,0,4.") from None


def show(answer: TestAnswer) -> None:
    """What the test says, for people."""
    screen().print(
        f"Test {answer.id} of lot {answer.lot}, {name_of(answer.variety)}: "
        f"{_day(answer.started_on)} to {_day(answer.finished_on)}."
    )
    if answer.evaluation is not None:
        _show_evaluation(answer.evaluation)
    told_cautions(answer.cautions)
    told_sources(answer.sources)


def _show_evaluation(found: EvaluationAnswer) -> None:
    level = f"{found.germination.level_pct:.0f} % interval"
    heading(f"Of {found.seeds} seeds")
    shares = ("germination", "viability", *_OUTCOMES[1:])
    table(
        ("", f"share ({level})"),
        [(name, percent(getattr(found, name))) for name in shares],
        numbers=1,
    )
    lines = list(found.remarks)
    agreement = found.agreement
    if agreement.tolerated_points is not None:
        word = "agree" if agreement.agree else "disagree"
        lines.append(
            f"The replicates {word}: {agreement.range_points:.0f} points apart, "
            f"{agreement.tolerated_points:.0f} tolerated ({agreement.rule})."
        )
    if found.minimum is not None:
        least = found.minimum
        lines.append(
            f"The minimum for seed sold is {least.minimum_pct:.0f} %; the chance that this lot "
            f"reaches it is {chance(least.probability_at_least)}."
        )
    bullets(lines)
    if found.findings:
        heading("Dormant or dead?")
        bullets(f"{one.text} {one.remedy}".strip() for one in found.findings)


def _day(day: date | None) -> str:
    return "now" if day is None else day.isoformat()
