"""A page of the shelf as it is answered: its packets, and how many there are of each state."""

from datetime import date

import numpy as np
from sqlmodel import Session

from seedbank.lots.answers import LotAnswer, PlaceBrief
from seedbank.lots.show_lots import answer_lots, lot_entries
from seedbank.overview.answers import ShelfAnswer, ShelfLot, StateCount, TinAnswer
from seedbank.overview.forms import ShelfQuestion, ShelfView
from seedbank.overview.shelf_rows import Shelf, find_on_shelf, read_shelf
from seedbank.science.quantities import IntArray
from seedbank.science.verdicts.verdict import VERDICTS, counted
from seedbank.verdicts.list_verdicts import alive_today


def answer_shelf(
    session: Session, asked: ShelfQuestion, view: ShelfView, *, today: date
) -> ShelfAnswer:
    """Packets that answer to what is asked, a page of them. Raises Refused: no such place."""
    shelf = read_shelf(session, today=today)
    found = find_on_shelf(session, shelf, asked, view)
    pages = max(1, -(-found.rows.size // view.limit))
    page = min(view.page, pages)
    rows = found.rows[(page - 1) * view.limit : page * view.limit].tolist()
    numbers = [int(shelf.lot_id[row]) for row in rows]
    entries = lot_entries(session, numbers)
    lots = answer_lots(session, [entries[number] for number in numbers], today=today)
    return ShelfAnswer(
        items=[_packet(shelf, row, lot) for row, lot in zip(rows, lots, strict=True)],
        total=int(found.rows.size),
        page=page,
        pages=pages,
        near=found.near,
        states=_counted(shelf, found.rows_of_any_state),
        begun=int(shelf.begun[found.rows_of_any_state].sum()),
        places=_tins(shelf),
    )


def _packet(shelf: Shelf, row: int, lot: LotAnswer) -> ShelfLot:
    return ShelfLot(
        lot=lot,
        kind_name=shelf.kind_name[row],
        other_keepers=shelf.other_keepers[row],
        viability=alive_today(shelf.judged, int(shelf.at[row])),
        state=VERDICTS[shelf.state[row]] if shelf.state[row] >= 0 else None,
        begun=bool(shelf.begun[row]),
    )


def _counted(shelf: Shelf, rows: IntArray) -> list[StateCount]:
    return [
        StateCount(state=state, lots=lots) for state, lots in counted(shelf.state[rows]).items()
    ]


def _tins(shelf: Shelf) -> list[TinAnswer]:
    """The places with packets, by name; those of no known place last."""
    names = dict(zip(shelf.place_id.tolist(), shelf.place, strict=True))
    tins = []
    for number in sorted(names, key=lambda number: (number == 0, names[number].casefold())):
        rows = np.flatnonzero(shelf.place_id == number)
        place = PlaceBrief(id=number, name=names[number]) if number else None
        tins.append(TinAnswer(place=place, lots=rows.size, states=_counted(shelf, rows)))
    return tins


def codes_on_shelf(session: Session, asked: ShelfQuestion, *, today: date) -> list[str]:
    """Codes of all the packets that answer to what is asked. Raises Refused: no such place."""
    shelf = read_shelf(session, today=today)
    code = shelf.judged.forecast.collection.code
    return [code[int(at)] for at in shelf.at[find_on_shelf(session, shelf, asked).rows]]
