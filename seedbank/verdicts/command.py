"""``seedbank towels``: which lots to test this winter."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import bar, bullets, heading, name_of, show_sources, words
from seedbank.upkeep.command_session import opened
from seedbank.verdicts.answers import TestBatchAnswer
from seedbank.verdicts.choose_tests import choose_tests
from seedbank.verdicts.forms import TestBatchAsked

EveningsOption = Annotated[int, typer.Option(min=1, max=20, help="Evenings, of ten towels each.")]
TowelsOption = Annotated[
    int | None, typer.Option(min=1, max=1000, help="Sheets of paper; left out: enough.")
]


def run(
    evenings: EveningsOption = 1,
    towels: TowelsOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Choose which lots to test: the few whose answers save most over all lots they teach."""
    asked = TestBatchAsked(evenings=evenings, towels=towels)
    with opened(settings_for(database)) as collection, bar(words("save-working")):
        answer = choose_tests(collection.session, asked, today=collection.today)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)


def show(answer: TestBatchAnswer) -> None:
    """Each lot with what its towel would change."""
    for one in answer.items:
        heading(words("save-heading-lot", variety=name_of(one.variety), lot=one.lot))
        said = [one.what.text, *(reason.text for reason in one.reasons), one.bed.text]
        bullets([one.place, *said] if one.place else said)
    bullets(f"{name_of(one.variety)}, {one.lot}: {one.text}" for one in answer.left_out)
    bullets(one.text for one in answer.remarks)
    show_sources(answer.sources)
