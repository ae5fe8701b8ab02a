"""``seedbank test``: a finished germination test recorded, and what it says."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import (
    bullets,
    heading,
    name_of,
    percent,
    screen,
    table,
    told_cautions,
    told_sources,
    words,
)
from seedbank.common.errors import Refused
from seedbank.germination.answers import EvaluationAnswer, TestAnswer
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.germination.tables import Pretreatment, Substratum
from seedbank.science.germination.germination import SeedClass
from seedbank.upkeep.command_session import opened

_OUTCOMES = tuple(map(str, SeedClass))


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
            raise Refused("replicates-told-twice", "rep", several[0])
        return [_replicate(text) for text in several]
    if seeds_set is None or "normal" not in given:
        raise Refused("outcome-missing", "set" if seeds_set is None else "normal")
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
        raise Refused("replicate-misread", "rep", text) from None


def show(answer: TestAnswer) -> None:
    """What the test says, for people."""
    screen().print(
        words(
            "test-told",
            test=str(answer.id),
            lot=answer.lot,
            variety=name_of(answer.variety),
            started_on=answer.started_on,
            finished_on=answer.finished_on,
        )
    )
    if answer.evaluation is not None:
        _show_evaluation(answer.evaluation)
    told_cautions(answer.cautions)
    told_sources(answer.sources)


def _show_evaluation(found: EvaluationAnswer) -> None:
    heading(words("heading-of-seeds", seeds=found.seeds))
    shares = {
        "germination": found.germination,
        "viability": found.viability,
        "abnormal": found.abnormal,
        "hard": found.hard,
        "fresh": found.fresh,
        "dead": found.dead,
    }
    table(
        ("", words("column-share", level_pct=found.germination.level_pct)),
        [(words("share-of-seeds", of=name), percent(share)) for name, share in shares.items()],
        numbers=1,
    )
    said = [one.text for one in found.remarks]
    if found.agreement.tolerated_points is not None:
        agreement = found.agreement.model_dump(exclude={"rule"})
        rule = found.agreement.rule.replace(" ", "-")
        said.append(words("replicates-tolerance", rule=rule, **agreement))
    if found.minimum is not None:
        said.append(words("sold-seed-minimum", **found.minimum.model_dump(exclude={"source"})))
    bullets(said)
    if found.findings:
        heading(words("heading-dormant-or-dead"))
        bullets(f"{one.text} {one.remedy.text}" for one in found.findings)
