"""``seedbank test``: a finished germination test recorded, and what it says."""

from typing import Annotated

import typer
from pydantic import BaseModel, Field

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import (
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
from seedbank.common.errors import Refused
from seedbank.germination.answers import EvaluationAnswer, TestAnswer
from seedbank.germination.forms import TestRecord
from seedbank.germination.tables import Pretreatment, Substratum, TestFault
from seedbank.science.germination.germination import SeedClass
from seedbank.upkeep.command_session import opened
from seedbank.viability.answers import ViabilityAnswer
from seedbank.viability.foretell_tests import record_test_foretold
from seedbank.viability.show_viability import show_viability

_OUTCOMES = tuple(map(str, SeedClass))


LotArgument = Annotated[str, typer.Argument(help="Code of the lot tested.")]


class TestOptions(BaseModel):
    """A test as it is told in a line: its seeds in one replicate, or each replicate in a word."""

    started_on: str = Field(description="Day the seed was set, like 2027-02-06.")
    finished_on: str | None = Field(None, description="Day of the last count; or today.")
    seeds_set: Annotated[
        int | None, typer.Option("--set", min=1, help="Seeds set, in one replicate.")
    ] = None
    normal: Annotated[int | None, typer.Option(min=0, help="Whole, sound seedlings.")] = None
    abnormal: Annotated[int | None, typer.Option(min=0, help="Damaged or stunted ones.")] = None
    hard: Annotated[int | None, typer.Option(min=0, help="Seed that took up no water.")] = None
    fresh: Annotated[int | None, typer.Option(min=0, help="Swollen, firm, but not sprouted.")] = (
        None
    )
    dead: Annotated[int | None, typer.Option(min=0, help="Soft or mouldy; or all the rest.")] = None
    rep: Annotated[
        list[str] | None,
        typer.Option(
            help="A replicate as set:normal,abnormal,hard,fresh,dead, like 25:20,1,0,0,4; give one "
            "for each. Numbers left out at the end are 0, dead is all the rest.",
        ),
    ] = None
    on: Substratum = Field(Substratum.PAPER_TOWEL, description="What the seed lay on or in.")
    pretreatment: Pretreatment = Field(Pretreatment.NONE, description="Done to break dormancy.")
    temp_c: float | None = Field(None, description="Temperature, °C.")
    light: Annotated[bool | None, typer.Option("--light/--dark", help="Left out: not known.")] = (
        None
    )
    fault: TestFault | None = Field(None, description="What went wrong with it, if anything.")
    notes: str = Field("", description="Anything else.")
    yes: bool = Field(False, description="It is so: take what was doubted.")


@fill_form
def run(
    lot: LotArgument,
    counted: TestOptions,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Record a germination test and learn what it says of the lot."""
    with opened(settings_for(database)) as collection:
        form = TestRecord.model_validate(
            {
                "lot": lot,
                "started_on": counted.started_on,
                "finished_on": counted.finished_on or collection.today.isoformat(),
                "replicates": _replicates(counted),
                "substratum": counted.on,
                "pretreatment": counted.pretreatment,
                "temp_c": counted.temp_c,
                "in_light": counted.light,
                "fault": counted.fault,
                "notes": counted.notes,
                "confirmed": counted.yes,
            }
        )
        answer = record_test_foretold(
            collection.session, form, today=collection.today, now=collection.now
        )
        life = show_viability(collection.session, answer.lot, today=collection.today)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)
        show_contradiction(life)


def _replicates(counted: TestOptions) -> list[dict[str, int]]:
    given = counted.model_dump(include={"seeds_set", *_OUTCOMES}, exclude_none=True)
    if counted.rep:
        if given:
            raise Refused("replicates-told-twice", "rep", counted.rep[0])
        return [_replicate(text) for text in counted.rep]
    for name in ("seeds_set", "normal"):
        if name not in given:
            raise Refused("outcome-missing", name.removeprefix("seeds_"))
    return [given]


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
            choice=answer.fault or "none",
        )
    )
    if answer.evaluation is not None:
        _show_evaluation(answer.evaluation)
    show_cautions(answer.cautions)
    show_sources(answer.sources)


def show_contradiction(life: ViabilityAnswer) -> None:
    """Both readings of a lot whose tests contradict each other."""
    if life.contradiction is not None:
        heading(words("heading-contradicting-tests"))
        bullets([life.contradiction.text])


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
    remarks = [one.text for one in found.remarks]
    if found.agreement.tolerated_points is not None:
        agreement = found.agreement.model_dump(exclude={"rule"})
        rule = found.agreement.rule.replace(" ", "-")
        remarks.append(words("replicates-tolerance", rule=rule, **agreement))
    if found.minimum is not None:
        remarks.append(words("sold-seed-minimum", **found.minimum.model_dump(exclude={"source"})))
    bullets(remarks)
    if found.findings:
        heading(words("heading-dormant-or-dead"))
        bullets(f"{one.text} {one.remedy.text}" for one in found.findings)
