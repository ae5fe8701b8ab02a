from datetime import date

import pytest
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.database.queries import Paging
from seedbank.lots.tables.places import find_places, get_place, lots_kept_in, move_lot, stays
from tests.tables.conftest import Garden

SPRING, SUMMER, AUTUMN = date(2026, 3, 1), date(2026, 6, 1), date(2026, 9, 1)


def _history(session: Session, lot_id: int) -> list[tuple[str, date, date | None]]:
    return [
        (entry.place.name, entry.stay.from_date, entry.until)
        for entry in stays(session, [lot_id])[lot_id]
    ]


def test_a_lot_stays_in_a_place_until_it_is_moved(session: Session, garden: Garden) -> None:
    lot_id = garden.lot().id or 0
    shed, cellar = garden.place(name="Shed").id, garden.place(name="Cellar").id
    move_lot(session, lot_id=lot_id, place_id=shed or 0, from_date=SPRING)
    move_lot(session, lot_id=lot_id, place_id=cellar or 0, from_date=AUTUMN)
    assert _history(session, lot_id) == [("Shed", SPRING, AUTUMN), ("Cellar", AUTUMN, None)]


def test_a_move_in_the_past_fills_in_the_history(session: Session, garden: Garden) -> None:
    lot_id = garden.lot().id or 0
    for name, day in [("Shed", SPRING), ("Cellar", AUTUMN), ("Attic", SUMMER)]:
        place_id = garden.place(name=name).id or 0
        move_lot(session, lot_id=lot_id, place_id=place_id, from_date=day)
    assert _history(session, lot_id) == [
        ("Shed", SPRING, SUMMER),
        ("Attic", SUMMER, AUTUMN),
        ("Cellar", AUTUMN, None),
    ]


def test_a_second_move_on_one_day_replaces_the_first(session: Session, garden: Garden) -> None:
    lot_id = garden.lot().id or 0
    shed, cellar = garden.place(name="Shed").id, garden.place(name="Cellar").id
    first = move_lot(session, lot_id=lot_id, place_id=shed or 0, from_date=SPRING)
    second = move_lot(session, lot_id=lot_id, place_id=cellar or 0, from_date=SPRING)
    assert second.id == first.id
    assert _history(session, lot_id) == [("Cellar", SPRING, None)]


def test_each_lot_has_a_history_of_its_own(session: Session, garden: Garden) -> None:
    a, b, c = (garden.lot().id or 0 for _ in range(3))
    shed = garden.place(name="Shed").id or 0
    move_lot(session, lot_id=b, place_id=shed, from_date=SPRING)
    move_lot(session, lot_id=a, place_id=shed, from_date=SUMMER)
    found = stays(session, [a, b, c])
    assert [(len(found[x]), [e.until for e in found[x]]) for x in (a, b, c)] == [
        (1, [None]),
        (1, [None]),
        (0, []),
    ]


def test_lots_and_places_that_are_not_there_are_missing(session: Session, garden: Garden) -> None:
    lot_id, place_id = garden.lot().id or 0, garden.place().id or 0
    with pytest.raises(Missing, match="place"):
        move_lot(session, lot_id=lot_id, place_id=999, from_date=SPRING)
    with pytest.raises(Missing, match="lot"):
        move_lot(session, lot_id=999, place_id=place_id, from_date=SPRING)
    with pytest.raises(Missing, match="place"):
        get_place(session, 999)
    assert stays(session, [lot_id]) == {lot_id: []}


def test_places_come_in_pages_by_name(session: Session, garden: Garden) -> None:
    for name in ("C", "A", "B"):
        garden.place(name=name)
    first = find_places(session, Paging(2))
    assert [p.name for p in first.items] == ["A", "B"]
    second = find_places(session, Paging(2, first.next))
    assert ([p.name for p in second.items], second.next) == (["C"], None)


def test_a_place_holds_the_lots_whose_last_stay_by_a_day_is_there(
    session: Session, garden: Garden
) -> None:
    shed, cellar = garden.place().id or 0, garden.place().id or 0
    moved, still = garden.lot().id or 0, garden.lot().id or 0
    for lot_id, place_id, day in (
        (moved, shed, SPRING),
        (moved, cellar, AUTUMN),
        (still, shed, SUMMER),
    ):
        move_lot(session, lot_id=lot_id, place_id=place_id, from_date=day)
    assert lots_kept_in(session, shed, date(2026, 1, 1)) == set()
    assert lots_kept_in(session, shed, SUMMER) == {moved, still}
    assert lots_kept_in(session, shed, AUTUMN) == {still}
    assert lots_kept_in(session, cellar, AUTUMN) == {moved}
