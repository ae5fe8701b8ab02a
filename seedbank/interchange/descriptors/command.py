"""``seedbank descriptors``: lots as records of the genebanks' passport descriptors, in CSV."""

import sys
from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from seedbank.cli.answer_lists import print_json
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import aside, screen, words
from seedbank.cli.typed_codes import CodesArgument, typed_codes
from seedbank.common.errors import Refused
from seedbank.interchange.descriptors.answers import DescriptorsAnswer, RecordsTakenIn
from seedbank.interchange.descriptors.take_in_descriptors import import_records, write_records
from seedbank.interchange.descriptors.write_descriptors import write_descriptors
from seedbank.upkeep.command_session import opened


def run(
    codes: CodesArgument,
    institute: Annotated[
        str, typer.Option(help="WIEWS code of the institute that keeps them, if it has one.")
    ] = "",
    out: Annotated[
        Path | None, typer.Option(help="A new file to write to; left out: shown here.")
    ] = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Tell lots in the Multi-Crop Passport Descriptors V.2.1, for a genebank or another keeper."""
    if out is not None and out.exists():
        raise Refused("file-exists", "out", str(out))
    with opened(settings_for(database), writes=False) as collection:
        answers = [
            write_descriptors(collection.session, code, institute=institute, today=collection.today)
            for code in typed_codes(codes)
        ]
    if print_json(answers, json=json, json_lines=False):
        return
    records = [answer.record for answer in answers]
    if out is None:
        write_records(sys.stdout, records)
    else:
        with out.open("x", encoding="utf-8", newline="") as file:
            write_records(file, records)
    for line in _remarks(answers):
        aside(line)


def _remarks(answers: list[DescriptorsAnswer]) -> list[str]:
    notes = [note.text for answer in answers for note in answer.notes]
    cautions = [one for answer in answers for one in answer.cautions]
    warnings = [f"{one.text.rstrip('.')}. {one.who_decides}".strip() for one in cautions]
    return list(dict.fromkeys([*notes, *warnings]))


def take_in_file(file: Path, *, database: str | None, dry_run: bool, json: bool) -> None:
    """Make lots of a file of records. Raises ImportRefused."""
    with (
        opened(settings_for(database), begins=True, keeps=not dry_run) as collection,
        file.open("rb") as brought,
    ):
        taken = import_records(
            collection.session,
            brought,
            name=file.name,
            dry_run=dry_run,
            today=collection.today,
            now=collection.now,
        )
    if json:
        print(TypeAdapter(RecordsTakenIn).dump_json(taken, indent=2).decode())
        return
    if dry_run:
        screen().print(words("records-could-be-taken-in", file=str(file), lots=len(taken.lots)))
        return
    for lot in taken.lots:
        variety = lot.variety
        made = {"lot": lot.code, "variety": variety.name, "kind": variety.kind, "donor": lot.donor}
        made["named"] = "yes" if lot.donor else "no"
        screen().print(words("record-lot-made", **made))
