"""``seedbank shelf``: the packets with seed, sought, filtered and sorted."""

import math
from collections.abc import Iterator

from seedbank.cli.answer_lists import JsonLinesOption, print_json
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import name_of, screen, table, words
from seedbank.common.answers import ViabilityPoint
from seedbank.overview.answers import ShelfAnswer, ShelfLot
from seedbank.overview.forms import ShelfAsked
from seedbank.overview.show_shelf import show_shelf
from seedbank.upkeep.command_session import Opened, opened
from seedbank.verdicts.words import verdict_words

_A_PAGE = 200


@fill_form
def run(
    asked: ShelfAsked,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List packets, sought, filtered and sorted, with how alive they are and what to do."""
    with opened(settings_for(database), writes=False) as collection:
        if json_lines:  # all of them, whatever page was asked for
            print_json(_every_packet(collection, asked), json=False, json_lines=True)
            return
        answer = show_shelf(collection.session, asked.question, asked.view, today=collection.today)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        show(answer)


def _every_packet(collection: Opened, asked: ShelfAsked) -> Iterator[ShelfLot]:
    page = pages = 1
    while page <= pages:
        view = asked.view.model_copy(update={"page": page, "limit": _A_PAGE})
        answer = show_shelf(collection.session, asked.question, view, today=collection.today)
        yield from answer.items
        page, pages = page + 1, answer.pages


def show(answer: ShelfAnswer) -> None:
    """The packets of a page, and how many there are."""
    if answer.near:
        screen().print(words("shelf-near"))
    if answer.items:
        table(
            ("lot", "variety", "kept-in", "state", "alive", "seeds"),
            [
                (
                    one.lot.code,
                    name_of(one.lot.variety),
                    one.lot.place.name if one.lot.place else "",
                    verdict_words(one.state) if one.state else "",
                    _alive(one.viability),
                    _seeds(one.lot.amount.seeds),
                )
                for one in answer.items
            ],
            numbers=2,
        )
    screen().print(words("shelf-total", lots=answer.total, page=answer.page, pages=answer.pages))


def _alive(now: ViabilityPoint) -> str:
    median = now.median_pct if now.reckoned else math.nan
    return words("alive", median_pct=median, low_pct=now.low_90_pct, high_pct=now.high_90_pct)


def _seeds(seeds: int | None) -> str:
    return words("amount-in-column", seeds=math.nan if seeds is None else seeds)
