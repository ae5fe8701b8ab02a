import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from seedbank.common.errors import BadValue, Missing
from seedbank.database.queries import Paging
from seedbank.saving.tables import (
    SiteDistance,
    all_distances,
    find_sites,
    get_site,
    set_distance,
)
from tests.tables.conftest import Garden


def _sites(garden: Garden, number: int) -> list[int]:
    return [garden.site().id or 0 for _ in range(number)]


def test_a_distance_reads_the_same_from_both_ends(session: Session, garden: Garden) -> None:
    a, b, c = _sites(garden, 3)
    set_distance(session, b, a, 420.0)
    set_distance(session, b, c, 90.0)
    assert all_distances(session) == {(a, b): 420.0, (b, c): 90.0}


def test_a_distance_said_again_replaces_the_one_before(session: Session, garden: Garden) -> None:
    a, b = _sites(garden, 2)
    set_distance(session, a, b, 420.0)
    set_distance(session, b, a, 400.0)
    assert all_distances(session) == {(a, b): 400.0}


def test_no_distance_to_itself_to_nowhere_or_below_nothing(
    session: Session, garden: Garden
) -> None:
    a, b = _sites(garden, 2)
    for one, other, metres in ((a, a, 1.0), (a, b, -1.0), (a, b, float("nan"))):
        with pytest.raises(BadValue):
            set_distance(session, one, other, metres)
    with pytest.raises(Missing, match="site"):
        set_distance(session, a, 999, 1.0)
    with pytest.raises(Missing, match="site"):
        get_site(session, 999)
    assert all_distances(session) == {}


def test_the_database_itself_keeps_each_pair_once(session: Session, garden: Garden) -> None:
    a, b = _sites(garden, 2)
    session.add(SiteDistance(site_id=b, other_id=a, metres=5.0))
    with pytest.raises(IntegrityError):
        session.flush()


def test_sites_come_in_pages_by_name(session: Session, garden: Garden) -> None:
    for name in ("C", "A", "B"):
        garden.site(name=name)
    first = find_sites(session, Paging(2))
    assert [site.name for site in first.items] == ["A", "B"]
    assert [site.name for site in find_sites(session, Paging(after=first.next)).items] == ["C"]
