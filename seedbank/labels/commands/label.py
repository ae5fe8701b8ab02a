"""``seedbank lot label``: labels of packets as a PDF file."""

import json as json_text
from pathlib import Path
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.new_file import new_file
from seedbank.cli.screen import screen, words
from seedbank.cli.typed_codes import CodesArgument, typed_codes
from seedbank.common.local_format import Local
from seedbank.labels.label_facts import LabelsWanted, list_labels
from seedbank.labels.pages.label_paper import LabelPaper
from seedbank.labels.pages.labels_pdf import MOST_COPIES, LabelJob, draw_labels
from seedbank.labels.pages.layouts import LAYOUTS
from seedbank.upkeep.command_session import opened


def run(
    lots: CodesArgument,
    out: Annotated[Path, typer.Option(help="A new file to write, like labels.pdf.")],
    paper: Annotated[str, typer.Option(help=f"Layout: {', '.join(LAYOUTS)}.")] = "a4-3x7",
    start: Annotated[int, typer.Option(min=1, help="First free label of the first sheet.")] = 1,
    copies: Annotated[int, typer.Option(min=1, max=MOST_COPIES, help="Labels of each lot.")] = 1,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Write labels of lots as a PDF file, each with its code to read and to scan."""
    layout = LabelPaper(layout=paper, start=start, copies=copies).on()
    settings = settings_for(database)
    base_url = settings.base_url or f"http://{settings.host}:{settings.port}"
    with opened(settings) as collection:
        wanted = LabelsWanted(codes=tuple(typed_codes(lots)))
        labels = list_labels(collection.session, wanted, today=collection.today)
        job = LabelJob(labels, layout, base_url, start, copies)
        drawn = draw_labels(job, collection.today, Local())
    with new_file(out) as file:
        file.write(drawn)
    if json:
        print(json_text.dumps({"file": str(out), "lots": [one.lot for one in labels]}))
        return
    screen().print(words("labels-written", lots=len(labels), file=str(out)), soft_wrap=True)
