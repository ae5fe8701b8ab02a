from datetime import date

import pytest
from sqlmodel import Session

from seedbank.common.errors import CircularParents, MisreadCode, Missing
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lots import (
    age_years,
    ancestors,
    get_lot,
    harvest_span,
    lot_by_code,
    next_codes,
    parents,
    set_parents,
)
from tests.tables.conftest import Garden

TODAY = date(2027, 3, 1)


def test_a_lot_is_found_by_id_and_by_code_however_it_is_written(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot()
    assert get_lot(session, lot.id or 0) is lot
    assert lot_by_code(session, f"{lot.code[:3].lower()}-{lot.code[3:].lower()}") is lot


def test_a_code_nobody_has_is_missing_and_a_misread_one_is_told_apart(
    session: Session, garden: Garden
) -> None:
    garden.lot()
    with pytest.raises(Missing) as refused:
        lot_by_code(session, code_for(70_000))
    assert refused.value.key == code_for(70_000)
    with pytest.raises(MisreadCode):
        lot_by_code(session, "00000")
    with pytest.raises(Missing):
        get_lot(session, 999)


def test_codes_are_counted_out_in_turn(session: Session) -> None:
    assert [next_codes(session, 1)[0] for _ in range(3)] == [code_for(n) for n in range(3)]


def test_a_code_is_not_given_out_again_when_its_lot_is_gone(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot()
    session.delete(lot)
    session.flush()
    assert garden.lot().code != lot.code


def test_codes_that_came_with_lots_are_passed_over(session: Session, garden: Garden) -> None:
    garden.lot(code=code_for(0))
    garden.lot(code=code_for(1))
    assert next_codes(session, 1)[0] == code_for(2)


def test_a_mixed_lot_has_several_parents_which_can_be_changed(
    session: Session, garden: Garden
) -> None:
    a, b, c, mixed = (garden.lot().id or 0 for _ in range(4))
    set_parents(session, mixed, [b, a, a])
    assert parents(session, [mixed, a]) == {mixed: [a, b], a: []}
    set_parents(session, mixed, [c, b])
    assert parents(session, [mixed]) == {mixed: [b, c]}
    set_parents(session, mixed, [])
    assert parents(session, [mixed]) == {mixed: []}


def test_ancestors_reach_back_through_every_line(session: Session, garden: Garden) -> None:
    a, b, c, d, e = (garden.lot().id or 0 for _ in range(5))
    set_parents(session, b, [a])
    set_parents(session, c, [a])
    set_parents(session, d, [b, c])
    set_parents(session, e, [d])
    assert ancestors(session, e) == {a, b, c, d}
    assert ancestors(session, a) == set()


def test_a_lot_cannot_descend_from_itself(session: Session, garden: Garden) -> None:
    a, b, c = (garden.lot().id or 0 for _ in range(3))
    set_parents(session, b, [a])
    set_parents(session, c, [b])
    for lot_id, parent_id in [(a, c), (a, b), (a, a)]:
        with pytest.raises(CircularParents) as refused:
            set_parents(session, lot_id, [parent_id])
        assert (refused.value.lot_id, refused.value.parent_id) == (lot_id, parent_id)
    assert parents(session, [a]) == {a: []}


def test_parents_must_be_there(session: Session, garden: Garden) -> None:
    lot_id = garden.lot().id or 0
    with pytest.raises(Missing):
        set_parents(session, lot_id, [999])
    with pytest.raises(Missing):
        set_parents(session, 999, [lot_id])


def test_a_harvest_day_gives_one_age(garden: Garden) -> None:
    lot = garden.lot(harvest_year=2025, harvest_date=date(2025, 3, 1))
    assert harvest_span(lot) == (date(2025, 3, 1), date(2025, 3, 1))
    assert age_years(lot, TODAY) == pytest.approx((2.0, 2.0), abs=0.002)


def test_a_harvest_year_gives_a_span_of_ages_cut_short_by_the_day_it_came(
    garden: Garden,
) -> None:
    whole = garden.lot(harvest_year=2025)
    assert harvest_span(whole) == (date(2025, 1, 1), date(2025, 12, 31))
    assert age_years(whole, TODAY) == pytest.approx((425 / 365.25, 789 / 365.25))
    early = garden.lot(harvest_year=2025, acquired_on=date(2025, 9, 30))
    assert harvest_span(early) == (date(2025, 1, 1), date(2025, 9, 30))
    later = garden.lot(harvest_year=2025, acquired_on=date(2026, 2, 1))
    assert harvest_span(later) == (date(2025, 1, 1), date(2025, 12, 31))
    muddled = garden.lot(harvest_year=2025, acquired_on=date(2024, 2, 1))
    assert harvest_span(muddled) == (date(2025, 1, 1), date(2025, 1, 1))


def test_seed_harvested_in_the_future_has_no_age_below_nought(garden: Garden) -> None:
    assert age_years(garden.lot(harvest_year=2027), TODAY) == (0.0, 59 / 365.25)


def test_a_lot_of_unknown_harvest_has_no_age(garden: Garden) -> None:
    assert age_years(garden.lot(), TODAY) is None
