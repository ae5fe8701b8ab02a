"""``seedbank lot label``: labels of packets as a PDF file."""

import json as json_text
from pathlib import Path
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import Given, options_of
from seedbank.cli.new_file import check_new, new_file
from seedbank.cli.screen import screen, words
from seedbank.cli.typed_codes import CodesArgument, typed_codes
from seedbank.common.local_format import Local
from seedbank.labels.label_facts import LabelsWanted, list_labels
from seedbank.labels.pages.label_paper import LabelPaper
from seedbank.labels.pages.labels_pdf import LabelJob, draw_labels
from seedbank.upkeep.command_session import opened

OutOption = Annotated[Path, typer.Option(help="A new file to write, like labels.pdf.")]


@options_of(LabelPaper, leave_out=("all",))
def run(
    lots: CodesArgument,
    out: OutOption,
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Write labels of lots as a PDF file, each with its code to read and to scan."""
    check_new(out)
    paper = LabelPaper.model_validate(given)
    layout = paper.on()
    settings = settings_for(database)
    base_url = settings.base_url or f"http://{settings.host}:{settings.port}"
    with opened(settings) as collection:
        wanted = LabelsWanted(codes=tuple(typed_codes(lots)))
        labels = list_labels(collection.session, wanted, today=collection.today)
        job = LabelJob(labels, layout, base_url, paper.start, paper.copies)
        drawn = draw_labels(job, collection.today, Local())
    with new_file(out) as file:
        file.write(drawn)
    if json:
        print(json_text.dumps({"file": str(out), "lots": [one.lot for one in labels]}))
        return
    screen().print(words("labels-written", lots=len(labels), file=str(out)), soft_wrap=True)
