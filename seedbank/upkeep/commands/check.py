"""``seedbank check``: proves the collection row by row, changing nothing."""

import json as as_json

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import aside, screen, table, words
from seedbank.common.catalogue import text_of
from seedbank.upkeep.check_collection import CheckedPart, CheckReport, check_collection
from seedbank.upkeep.command_session import looked_into

_EVERY_CLAIM = 10  # parts with more claims than this are told in one line
FAULTY = 1


def run(database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Prove the ledger, the references and every rule; exit code 1 if something is wrong."""
    with looked_into(settings_for(database)) as engine:
        report = check_collection(engine)
    if json:
        numbers = {"holds": report.holds, "broken": report.broken, "faults": report.faults}
        print(as_json.dumps({**numbers, "parts": list(map(_part, report.parts))}, indent=2))
    else:
        show(report)
    if not report.holds:
        raise typer.Exit(FAULTY)


def show(report: CheckReport) -> None:
    """What was proved, with numbers, and then what is wrong."""
    table(
        ("what-holds", "of", "broken"),
        [row for part in report.parts for row in _rows(part)],
        numbers=1,
    )
    if report.holds:
        screen().print(words("check-all-holds", claims=report.claims))
    else:
        tell_faults(report.faults)


def tell_faults(faults: list[str]) -> None:
    """One sentence a fault, on stderr."""
    for fault in faults:
        aside(fault)


def _part(part: CheckedPart) -> dict[str, object]:
    """The part as JSON tells it."""
    proofs = [
        {
            "code": one.code,
            "claim": one.claim,
            "number": one.number,
            "things": one.things,
            "faults": list(map(text_of, one.faults)),
            "broken": one.broken,
        }
        for one in part.proofs
    ]
    return {"name": part.name, "proofs": proofs}


def _rows(part: CheckedPart) -> list[tuple[str, str, str]]:
    if len(part.proofs) > _EVERY_CLAIM:
        whole = sum(not proof.broken for proof in part.proofs)
        number = sum(proof.number for proof in part.proofs)
        broken = sum(proof.broken for proof in part.proofs)
        claim = words("check-part-holds", whole=whole, claims=len(part.proofs), choice=part.code)
        return [(claim, words("check-rows-in-all", rows=number), f"{broken:,}")]
    return [
        (proof.claim, f"{proof.number:,} {proof.things}", f"{proof.broken:,}")
        for proof in part.proofs
    ]
