"""What only the owner of a list can say: each doubt once, however many rows wait for it."""

from collections import Counter
from collections.abc import Collection
from typing import Final

from seedbank.interchange.spreadsheet.answers import Meaning, QuestionAnswer
from seedbank.interchange.spreadsheet.cells import Reading
from seedbank.interchange.spreadsheet.preview_spreadsheet import DATED, LookedOver
from seedbank.science.quantities import Finding

OF_LIST: Final = ("day_order", "short_dates", "blank_kinds")
"""Fields with an answer for all rows that wait for it; of others each text has its own."""
_NUMBERS: Final = (
    Meaning.AMOUNT, Meaning.PACKET_SEEDS, Meaning.GENERATION, Meaning.PRINTED_GERMINATION,
    Meaning.NOTES,
)  # fmt: skip


def questions_of(looked: LookedOver, left_out: Collection[int]) -> list[QuestionAnswer]:
    """Every question, those of columns first; rows left out, or here already, ask none."""
    questions = [_of_column(heading, like) for heading, like in _open_columns(looked).items()]
    first: dict[tuple[str, str], Reading] = {}
    rows: Counter[tuple[str, str]] = Counter()
    for row in looked.rows:
        if row.line in left_out or row.mark in looked.before:
            continue
        for one in row.in_the_way:
            if one.answers and (one.text or one.answers in OF_LIST):
                key = one.answers, "" if one.answers in OF_LIST else one.text
                first.setdefault(key, one)
                rows[key] += 1
    for key in sorted(first, key=lambda key: _ORDER.index(key[0])):
        one = first[key]
        about = one.heading if one.answers in ("day_order", "blank_kinds") else one.text
        said = one.said
        if one.answers == "day_order":
            orders = (sheet.orders.get(one.heading) for sheet in looked.sheets)
            said = next((order.said for order in orders if order and order.said), said)
        questions.append(
            QuestionAnswer(
                field=one.answers,
                about=about,
                said=said,
                choices=list(one.choices),
                rows=rows[key],
            )
        )
    return questions


_ORDER: Final = ("kinds", "blank_kinds", "day_order", "short_dates", "dates", "amounts")


def _open_columns(looked: LookedOver) -> dict[str, Meaning]:
    return {heading: like for one in looked.sheets for heading, like in one.columns.left}


def _of_column(heading: str, like: Meaning) -> QuestionAnswer:
    choices = _NUMBERS if like is Meaning.AMOUNT else (*DATED, Meaning.NOTES)
    return QuestionAnswer(
        field="columns",
        about=heading,
        said=Finding("sheet-column-open"),
        choices=list(choices),
        rows=0,
    )
