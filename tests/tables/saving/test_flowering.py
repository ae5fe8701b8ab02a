from datetime import date

import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.saving.tables import (
    FloweringFilter,
    FloweringWindow,
    find_flowerings,
    flowerings_in,
    get_flowering,
    own_window,
    own_windows,
)
from seedbank.science.crossing.crossing_stands import StandIs
from tests.tables.conftest import Garden


def test_what_flowers_is_found_by_year_site_kind_and_how_it_came(
    session: Session, garden: Garden
) -> None:
    here, kind = garden.site().id, garden.kind()
    one = garden.flowering(year=2026, what=StandIs.WILD, distance_m=80.0)
    two = garden.flowering(year=2027, site_id=here, kind_id=kind.id)
    three = garden.flowering(year=2027, site_id=here, what=StandIs.NEIGHBOUR)
    for wanted, found in (
        (FloweringFilter(), [one, two, three]),
        (FloweringFilter(year=2027), [two, three]),
        (FloweringFilter(site=here, what=StandIs.SELF_SOWN), [two]),
        (FloweringFilter(kind=kind.slug), [two]),
    ):
        assert find_flowerings(session, wanted).items == found
    assert flowerings_in(session, 2027) == [two, three]
    with pytest.raises(Missing, match="flowering"):
        get_flowering(session, 999)


@pytest.mark.parametrize(
    "wrong",
    [
        {"distance_m": -1.0},
        {"year": 1066},
        {"from_date": date(2027, 6, 2), "to_date": date(2027, 6, 1)},
    ],
)
def test_flowering_that_cannot_be_is_refused(garden: Garden, wrong: dict[str, object]) -> None:
    with pytest.raises(IntegrityError):
        garden.flowering(**wrong)


def _window(kind_id: int | None, site_id: int | None, first: int, last: int) -> FloweringWindow:
    return FloweringWindow(
        kind_id=kind_id or 0, site_id=site_id, from_day=first, to_day=last, source="seen"
    )


def test_a_kind_has_one_window_a_site_and_one_for_all_the_others(
    session: Session, garden: Garden
) -> None:
    kind, here, there = garden.kind().id or 0, garden.site().id or 0, garden.site().id or 0
    anywhere, just_here = _window(kind, None, 150, 200), _window(kind, here, 160, 210)
    session.add_all([anywhere, just_here])
    session.flush()
    assert own_window(session, kind, None) is anywhere
    assert own_window(session, kind, here) is just_here
    assert own_window(session, kind, there) is None
    found = own_windows(session, [kind], [here, there])
    assert found == {(kind, None): anywhere, (kind, here): just_here}
    assert own_windows(session, [kind], [there]) == {(kind, None): anywhere}
    session.add(_window(kind, None, 1, 2))
    with pytest.raises(IntegrityError):
        session.flush()


@pytest.mark.parametrize(("first", "last"), [(0, 5), (5, 367), (0, 367)])
def test_a_window_lies_within_a_year(
    session: Session, garden: Garden, first: int, last: int
) -> None:
    session.add(_window(garden.kind().id, None, first, last))
    with pytest.raises(IntegrityError):
        session.flush()
