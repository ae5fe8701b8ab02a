import pytest
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.database.queries import Paging
from seedbank.kinds.tables import (
    KindFact,
    KindFilter,
    ensure_packaged_kinds,
    facts_of,
    find_kinds,
    get_kind,
)
from tests.tables.conftest import Garden


def _listed(session: Session) -> list[tuple[str, str, bool]]:
    return [(k.slug, k.name, k.packaged) for k in find_kinds(session).items]


def test_packaged_kinds_are_put_in_once_however_often(session: Session) -> None:
    names = {"pea": "Pea", "bean": "Bean"}
    ensure_packaged_kinds(session, names)
    ids = {kind.slug: kind.id for kind in find_kinds(session).items}
    ensure_packaged_kinds(session, names)
    assert _listed(session) == [("bean", "Bean", True), ("pea", "Pea", True)]
    assert {kind.slug: kind.id for kind in find_kinds(session).items} == ids


def test_a_renamed_packaged_kind_takes_its_new_name(session: Session) -> None:
    ensure_packaged_kinds(session, {"pea": "Pea"})
    ensure_packaged_kinds(session, {"pea": "Garden pea"})
    assert _listed(session) == [("pea", "Garden pea", True)]


def test_a_gardeners_own_kind_keeps_its_varieties_when_it_becomes_packaged(
    session: Session, garden: Garden
) -> None:
    own = garden.kind(slug="sea-beet", name="My sea beet")
    other = garden.kind(slug="moon-pea", name="Moon pea")
    variety = garden.variety(kind_id=own.id)
    ensure_packaged_kinds(session, {"sea-beet": "Sea beet"})
    assert _listed(session) == [("moon-pea", "Moon pea", False), ("sea-beet", "Sea beet", True)]
    assert variety.kind_id == get_kind(session, "sea-beet").id
    assert not other.packaged


def test_kinds_are_found_by_slug_name_and_where_they_are_from(
    session: Session, garden: Garden
) -> None:
    ensure_packaged_kinds(session, {"pea": "Garden pea", "bean": "Runner bean"})
    garden.kind(slug="own", name="Bean of my own")
    assert get_kind(session, "pea").name == "Garden pea"
    assert [k.slug for k in find_kinds(session, KindFilter(q="BEAN")).items] == ["own", "bean"]
    assert [k.slug for k in find_kinds(session, KindFilter(q="bean runner")).items] == ["bean"]
    assert [k.slug for k in find_kinds(session, KindFilter(packaged=False)).items] == ["own"]
    with pytest.raises(Missing):
        get_kind(session, "turnip")


def test_kinds_come_in_pages_by_name(session: Session, garden: Garden) -> None:
    for name in ("C", "A", "B", "A"):
        garden.kind(name=name)
    first = find_kinds(session, paging=Paging(3))
    assert [k.name for k in first.items] == ["A", "A", "B"]
    second = find_kinds(session, paging=Paging(3, first.next))
    assert ([k.name for k in second.items], second.next) == (["C"], None)


def test_facts_come_by_kind_and_name(session: Session, garden: Garden) -> None:
    a, b = garden.kind(), garden.kind()
    for name in ("row_cm", "depth_cm"):
        session.add(KindFact(kind_id=a.id or 0, name=name, value="3", source="my beds"))
    found = facts_of(session, [a.id or 0, b.id or 0])
    assert [fact.name for fact in found[a.id or 0]] == ["depth_cm", "row_cm"]
    assert found[b.id or 0] == []
