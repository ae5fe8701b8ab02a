"""``seedbank lot find`` and ``show``: which lots there are, and all of one."""

import json as json_text
import math
from typing import Annotated

import typer

from seedbank.cli.answer_lists import JsonLinesOption, every_page, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import (
    bullets,
    heading,
    name_of,
    screen,
    show_cautions,
    show_sources,
    table,
    words,
)
from seedbank.cli.typed_codes import CodesArgument, typed_codes
from seedbank.common.answers import ViabilityPoint
from seedbank.lots.answers import LotAnswer
from seedbank.lots.edit_places import place_called
from seedbank.lots.show_lots import show_lot
from seedbank.overview.answers import FoundLot
from seedbank.overview.find_lots import look_for_lots
from seedbank.overview.forms import LotQuestion
from seedbank.science.verdicts.verdict import Verdict
from seedbank.upkeep.command_session import opened
from seedbank.verdicts.answers import VerdictAnswer
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.verdicts.words import verdict_words
from seedbank.viability.answers import ViabilityAnswer
from seedbank.viability.show_viability import show_viability


def find(
    sought: Annotated[list[str], typer.Argument(help="Words of the variety, kind, code or notes.")],
    place: Annotated[str | None, typer.Option(help="In the place, by name or number.")] = None,
    verdict: Annotated[Verdict | None, typer.Option(help="What to do with it.")] = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """Find lots by words, empty ones too, with how alive they are."""
    with opened(settings_for(database)) as collection:
        session, today = collection.session, collection.today
        number = None if place is None else place_called(session, place)
        asked = LotQuestion(words=" ".join(sought), place=number, verdict=verdict)
        found = list(every_page(lambda page: look_for_lots(session, asked, page, today=today)))
    if not print_json(found, json=json, json_lines=json_lines):
        columns = ("lot", "variety", "kept-in", "state", "alive", "seeds")
        print_table(columns, map(_row, found), numbers=2)


def show(
    lots: CodesArgument,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """Show lots: what they are, how much is left, how alive it is and what to do."""
    with opened(settings_for(database)) as collection:
        session, today = collection.session, collection.today
        found = [
            (
                show_lot(session, code, today=today),
                show_viability(session, code, today=today),
                show_verdict(session, code, today=today),
            )
            for code in typed_codes(lots)
        ]
    if json or json_lines:
        told = [_document(*one) for one in found]
        if json_lines:
            print("\n".join(json_text.dumps(one) for one in told))
        else:
            print(json_text.dumps({"items": told}, indent=2))
        return
    for one in found:
        _show(*one)


def _document(lot: LotAnswer, life: ViabilityAnswer, verdict: VerdictAnswer) -> dict[str, object]:
    parts = {"lot": lot, "viability": life, "verdict": verdict}
    return {name: part.model_dump(mode="json") for name, part in parts.items()}


def _row(one: FoundLot) -> tuple[str, ...]:
    lot = one.lot
    return (
        lot.code,
        name_of(lot.variety),
        lot.place.name if lot.place else "",
        verdict_words(one.verdict) if one.verdict else "",
        "" if one.viability is None else _alive(one.viability),
        words("amount-in-column", seeds=math.nan if lot.amount.seeds is None else lot.amount.seeds),
    )


def _alive(now: ViabilityPoint) -> str:
    median = now.median_pct if now.reckoned else math.nan
    return words("alive", median_pct=median, low_pct=now.low_90_pct, high_pct=now.high_90_pct)


def _show(lot: LotAnswer, life: ViabilityAnswer, verdict: VerdictAnswer) -> None:
    heading(words("lot-heading", lot=lot.code, variety=name_of(lot.variety)))
    lines = {
        "amount": lot.amount.text,
        "kept-in": lot.place.name if lot.place else "",
        "origin": words("origin", choice=lot.origin),
        "donor": lot.donor,
        "harvested": str(lot.harvest_date or lot.harvest_year or ""),
        "alive": _alive(life.now),
        "state": verdict_words(verdict.verdict) if verdict.verdict else "",
        "notes": lot.notes,
    }
    table(("", ""), [(words("column", name=name), line) for name, line in lines.items() if line])
    told = [] if verdict.advice is None else [verdict.advice.text]
    bullets([*told, *(one.text for one in life.reasons), *(one.text for one in life.warnings)])
    if life.to_narrow:
        screen().print(words("lot-to-narrow"))
        bullets(one.text for one in life.to_narrow)
    show_cautions(lot.cautions)
    show_sources(life.sources)
