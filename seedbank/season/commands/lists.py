"""``seedbank list``: what is to be done, by day, and the season's lists, also for paper."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer
from pydantic import BaseModel

from seedbank.cli.answer_lists import JsonLinesOption, known, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.new_file import check_new, new_file
from seedbank.cli.screen import bar, bullets, heading, screen, words
from seedbank.common.errors import Refused
from seedbank.common.local_format import Local
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import Do, Listed, SeasonListAnswer, ToDoItem
from seedbank.season.coming_dates import list_coming_dates
from seedbank.season.pages.list_paper import PAPERS, draw_list
from seedbank.season.season_lists import season_list
from seedbank.season.this_week import show_this_week
from seedbank.season.to_do import to_do as all_to_do
from seedbank.upkeep.command_session import opened

_MOST = 1000
OutOption = Annotated[
    Path | None, typer.Option(help="A new PDF file to write it to; left out: shown here.")
]
PaperOption = Annotated[str, typer.Option(help="Paper of the PDF file: A4 or US Letter.")]


def to_do(
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List all there is to do, the most pressing first."""
    with opened(settings_for(database)) as collection:
        answer = all_to_do(collection.session, today=collection.today, most=_MOST)
    if _printed(answer, [one for group in answer.groups for one in group.items], json, json_lines):
        return
    for group in answer.groups:
        heading(_heading(group.do))
        bullets(map(_job, group.items))


def week(
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List this week's jobs, at most five, and why."""
    with opened(settings_for(database)) as collection:
        answer = show_this_week(collection.session, today=collection.today)
    if _printed(answer, answer.jobs, json, json_lines):
        return
    bullets(
        " ".join(filter(None, (one.title.text, one.item.lot, one.item.why.text)))
        for one in answer.jobs
    )
    screen().print(words("listed-in-all", things=len(answer.jobs)))


def dates(
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List what falls on a day, up to a year and a half ahead."""
    with opened(settings_for(database)) as collection:
        answer = list_coming_dates(collection.session, today=collection.today)
    if not _printed(answer, answer.items, json, json_lines):
        rows = [
            (known(one.on), known(one.until), one.lot or "", one.title.text) for one in answer.items
        ]
        print_table(("date", "until", "lot", "what"), rows)


def season(
    listed: Annotated[Listed, typer.Argument(help="Which of the season's lists.")],
    out: OutOption = None,
    paper: PaperOption = "A4",
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List what to test, save, sow or get this season, on screen or as PDF."""
    if out is not None:
        check_new(out)
    if paper not in PAPERS:
        raise Refused("no-such-list-paper", "paper", paper, papers=" or ".join(PAPERS))
    with opened(settings_for(database), writes=False) as collection, bar(words("save-working")):
        answer = season_list(collection.session, listed, today=collection.today)
    if out is not None:
        with new_file(out) as file:
            file.write(draw_list(answer, paper, Local()))
        if not _printed(answer, answer.items, json, json_lines):
            screen().print(words("list-written", file=str(out)), soft_wrap=True)
    elif not _printed(answer, answer.items, json, json_lines):
        _show(answer)


def _printed(answer: BaseModel, items: Sequence[BaseModel], json: bool, json_lines: bool) -> bool:
    """Print the answer as JSON, or its items as lines of it; false if neither is asked."""
    if json_lines:
        return print_json(items, json=False, json_lines=True)
    if json:
        print(answer.model_dump_json(indent=2))
    return json


def _show(answer: SeasonListAnswer) -> None:
    heading(words("list-title", list=answer.listed))
    if not answer.items:
        screen().print(words("list-nothing", list=answer.listed))
    for one in answer.items:
        heading(" ".join([one.name, *one.lots]))
        place = [one.place] if one.place else []
        bullets([*place, one.what.text, *(reason.text for reason in one.reasons)])
    bullets([*(one.text for one in answer.remarks), *answer.cautions])


def _heading(do: Do) -> str:
    if do.value in [verdict.value for verdict in Verdict]:
        return words("verdict", verdict=do.value)
    return words("to-do-heading", do=do.value)


def _job(one: ToDoItem) -> str:
    """What it is about, by code or number, and why."""
    name = f"{one.name} ({one.kind})" if one.kind else one.name
    return " ".join(part for part in (name, one.lot, one.why.text) if part)
