"""The shelf as columns: every lot with seed, asked, sorted and counted by state."""

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from sqlalchemy import and_, select
from sqlmodel import Session, col

from seedbank.database.find import named_in
from seedbank.database.queries import figures, numbers, read_columns, shared
from seedbank.kinds.tables import Kind, OtherKeepers, Variety, slugs_asked
from seedbank.lots.tables.lot_search import lots_called
from seedbank.lots.tables.lots import Lot, Origin
from seedbank.lots.tables.places import Place, Stay, get_place, is_last_stay
from seedbank.overview.forms import ShelfOrder, ShelfQuestion, ShelfView
from seedbank.science.quantities import BoolArray, FloatArray, IntArray
from seedbank.science.verdicts.verdict import VERDICTS
from seedbank.verdicts.judge_lots import Judgement, judge_collection

_UNKNOWN_YEAR, _RARITY = 9999.0, tuple(OtherKeepers)


@dataclass(frozen=True, slots=True)
class Shelf:
    """Lots with seed as columns of one length; ``at`` is each one's position in ``judged``.

    ``year`` and ``seeds`` are nan where nobody knows; ``state`` indexes ``VERDICTS``, -1: none;
    ``place_id`` is 0 where none is known; ``alive`` is the middle of what is thought, 0..1.
    """

    judged: Judgement
    at: IntArray
    lot_id: IntArray
    variety_id: IntArray
    variety: tuple[str, ...]
    kind: tuple[str, ...]
    kind_name: tuple[str, ...]
    other_keepers: tuple[OtherKeepers, ...]
    origin: tuple[Origin, ...]
    year: FloatArray
    place_id: IntArray
    place: tuple[str, ...]
    seeds: FloatArray
    state: IntArray
    alive: FloatArray
    begun: BoolArray


def read_shelf(session: Session, *, today: date) -> Shelf:
    """All lots that hold seed, counted or not, by the name of their variety."""
    judged = judge_collection(session, today=today)
    query = (
        select(
            col(Lot.id), col(Variety.id), col(Variety.name), col(Kind.slug), col(Kind.name),
            col(Variety.other_keepers), col(Lot.origin), col(Lot.harvest_year), col(Place.id),
            col(Place.name),
        )
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .outerjoin(Stay, and_(col(Stay.lot_id) == col(Lot.id), is_last_stay()))
        .outerjoin(Place, col(Place.id) == col(Stay.place_id))
    )  # fmt: skip
    columns = read_columns(
        session,
        query,
        (
            numbers, numbers, shared(), shared(), shared(), shared(), shared(), figures,
            lambda ids: numbers([one or 0 for one in ids]), shared(),
        ),
    )  # fmt: skip
    lots = judged.forecast.collection
    held = {int(number): at for at, number in enumerate(lots.lot_id)}
    positions = [held.get(int(number), -1) for number in columns[0]]
    empty = (lots.balance == 0) & lots.counted
    keep = [row for row, at in enumerate(positions) if at >= 0 and not empty[at]]
    keep.sort(key=lambda row: (columns[2][row].casefold(), columns[4][row], columns[0][row]))
    at = np.array([positions[row] for row in keep], dtype=np.int64)

    def texts(column: int) -> Any:
        return tuple(columns[column][row] for row in keep)

    return Shelf(
        judged=judged,
        at=at,
        lot_id=columns[0][keep],
        variety_id=columns[1][keep],
        variety=texts(2),
        kind=texts(3),
        kind_name=texts(4),
        other_keepers=texts(5),
        origin=texts(6),
        year=columns[7][keep],
        place_id=columns[8][keep],
        place=tuple(name or "" for name in texts(9)),
        seeds=np.where(lots.counted[at], lots.balance[at], np.nan),
        state=judged.verdicts.code[at],
        alive=judged.verdicts.inputs.viability_median[at],
        begun=judged.begun[at],
    )


@dataclass(frozen=True, slots=True)
class Found:
    """Rows of the shelf that answer to a question, in order, and whether its words only come near.

    ``rows_of_any_state`` are those but for the state asked: what the states are counted over.
    """

    rows: IntArray
    rows_of_any_state: IntArray
    near: bool


def find_on_shelf(
    session: Session,
    shelf: Shelf,
    asked: ShelfQuestion,
    view: ShelfView | None = None,
) -> Found:
    """The rows asked for. Raises Refused: no such place."""
    view = view or ShelfView()
    held, ranks, near = np.ones(shelf.at.size, dtype=np.bool_), None, False
    if asked.place is not None:
        with named_in("place"):
            get_place(session, asked.place)
        held &= shelf.place_id == asked.place
    if asked.variety is not None:
        held &= shelf.variety_id == asked.variety
    if asked.kind is not None:
        held &= np.isin(np.array(shelf.kind, dtype=object), slugs_asked(asked.kind))
    if asked.origin is not None:
        held &= _is(shelf.origin, asked.origin)
    if asked.other_keepers is not None:
        held &= _is(shelf.other_keepers, asked.other_keepers)
    if asked.year_from is not None:
        held &= shelf.year >= asked.year_from
    if asked.year_to is not None:
        held &= shelf.year <= asked.year_to
    if asked.seeds_to is not None:
        held &= shelf.seeds <= asked.seeds_to
    if asked.begun:
        held &= shelf.begun
    if asked.words:
        ranked, near = lots_called(session, asked.words)
        ranks = np.array([ranked.get(int(lot), -1) for lot in shelf.lot_id], dtype=np.int64)
        held &= ranks >= 0
    of_any_state = held
    if asked.state is not None:
        held = held & (shelf.state == VERDICTS.index(asked.state))
    key = ranks.astype(np.float64) if near and ranks is not None else _key(shelf, view.sort)
    rows = np.flatnonzero(held)
    by = -key[rows] if view.falling and not near else key[rows]
    return Found(rows[np.argsort(by, kind="stable")], np.flatnonzero(of_any_state), near)


def _is(values: tuple[object, ...], wanted: object) -> BoolArray:
    return np.array([value == wanted for value in values], dtype=np.bool_)


def _key(shelf: Shelf, order: ShelfOrder) -> FloatArray:
    """What to sort by, rising; what isn't known last."""
    match order:
        case ShelfOrder.KIND:
            return _alphabetic(shelf.kind_name)
        case ShelfOrder.PLACE:
            return _alphabetic(tuple(name or "\U0010ffff" for name in shelf.place))
        case ShelfOrder.HARVEST:
            return np.where(np.isnan(shelf.year), _UNKNOWN_YEAR, shelf.year)
        case ShelfOrder.AMOUNT:
            return np.where(np.isnan(shelf.seeds), np.inf, shelf.seeds)
        case ShelfOrder.ALIVE:
            return shelf.alive
        case ShelfOrder.STATE:
            return np.where(shelf.state < 0, len(VERDICTS), shelf.state).astype(np.float64)
        case ShelfOrder.RARITY:
            return np.array([_RARITY.index(one) for one in shelf.other_keepers], dtype=np.float64)
        case _:
            return np.arange(shelf.at.size, dtype=np.float64)


def _alphabetic(names: tuple[str, ...]) -> FloatArray:
    ranks = {name: rank for rank, name in enumerate(sorted(set(names), key=str.casefold))}
    return np.array([ranks[name] for name in names], dtype=np.float64)
