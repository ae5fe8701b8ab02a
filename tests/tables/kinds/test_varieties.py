import pytest
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.database.queries import Paging
from seedbank.kinds.tables import (
    Breeding,
    OtherKeepers,
    VarietyEntry,
    VarietyFilter,
    find_varieties,
    get_variety,
)
from tests.tables.conftest import Garden


def _names(session: Session, wanted: VarietyFilter) -> list[str]:
    return [entry.variety.name for entry in find_varieties(session, wanted).items]


def test_a_variety_comes_with_its_kind(session: Session, garden: Garden) -> None:
    kind = garden.kind()
    variety = garden.variety(kind_id=kind.id)
    assert find_varieties(session).items == [VarietyEntry(variety, kind)]
    assert get_variety(session, variety.id or 0) is variety
    with pytest.raises(Missing):
        get_variety(session, 999)


def test_varieties_are_found_by_what_they_are(session: Session, garden: Garden) -> None:
    bean, pea = garden.kind(slug="bean", name="Bean"), garden.kind(slug="pea", name="Pea")
    garden.variety(
        kind_id=bean.id, name="Alto", breeding=Breeding.F1, other_keepers=OtherKeepers.MANY
    )
    garden.variety(kind_id=bean.id, name="Basso", other_keepers=OtherKeepers.NONE)
    garden.variety(kind_id=pea.id, name="Canto", notes="sweet, like alto")
    assert _names(session, VarietyFilter(kind="bean")) == ["Alto", "Basso"]
    assert _names(session, VarietyFilter(breeding=Breeding.F1)) == ["Alto"]
    assert _names(session, VarietyFilter(other_keepers=OtherKeepers.NONE)) == ["Basso"]
    assert _names(session, VarietyFilter(q="alto")) == ["Alto", "Canto"]
    assert _names(session, VarietyFilter(q="alto pea")) == ["Canto"]


def test_varieties_come_in_pages_by_name(session: Session, garden: Garden) -> None:
    for name in ("C", "A", "B", "A"):
        garden.variety(name=name)
    first = find_varieties(session, paging=Paging(3))
    assert [e.variety.name for e in first.items] == ["A", "A", "B"]
    second = find_varieties(session, paging=Paging(3, first.next))
    assert ([e.variety.name for e in second.items], second.next) == (["C"], None)
