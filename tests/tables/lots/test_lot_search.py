from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from sqlmodel import Session

from seedbank.common.errors import BadValue
from seedbank.database.queries import Cursor, Paging
from seedbank.germination.tables import untested_since
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.lot_search import LotEntry, LotFilter, LotOrder, find_lots, lots_coded
from seedbank.lots.tables.lots import Lot, Origin
from tests.tables.conftest import NOW, Garden

PlanOf = Callable[[Callable[[], object]], str]


def _ids(session: Session, **wanted: Any) -> set[int | None]:
    return {entry.lot.id for entry in find_lots(session, LotFilter(**wanted)).items}


def _all(session: Session, order: LotOrder, limit: int, **wanted: Any) -> list[LotEntry]:
    found: list[LotEntry] = []
    after: Cursor | None = None
    while True:
        page = find_lots(session, LotFilter(**wanted), Paging(limit, after), order=order)
        assert len(page.items) == limit or page.next is None
        found += page.items
        if page.next is None:
            return found
        after = page.next


def test_each_lot_comes_with_its_variety_and_kind(session: Session, garden: Garden) -> None:
    kind = garden.kind(slug="bean")
    variety = garden.variety(kind_id=kind.id, name="Speckled Lantern")
    lot = garden.lot(variety_id=variety.id)
    assert find_lots(session).items == [LotEntry(lot, variety, kind)]


def test_lots_are_found_by_what_they_are(session: Session, garden: Garden) -> None:
    bean, pea = garden.kind(slug="bean"), garden.kind(slug="pea")
    rare = garden.variety(kind_id=bean.id, other_keepers=OtherKeepers.NONE)
    common = garden.variety(kind_id=pea.id, other_keepers=OtherKeepers.MANY)
    a = garden.lot(variety_id=rare.id, origin=Origin.GIFT, harvest_year=2020).id
    b = garden.lot(variety_id=rare.id, origin=Origin.SELF_SAVED, harvest_year=2024).id
    c = garden.lot(variety_id=common.id, origin=Origin.BOUGHT).id
    assert _ids(session) == {a, b, c}
    assert _ids(session, kind="bean") == {a, b}
    assert _ids(session, kind="turnip") == set()
    assert _ids(session, variety=common.id) == {c}
    assert _ids(session, other_keepers=OtherKeepers.NONE) == {a, b}
    assert _ids(session, origin=Origin.GIFT) == {a}
    assert _ids(session, harvest_year_from=2021) == {b}
    assert _ids(session, harvest_year_to=2020) == {a}
    assert _ids(session, harvest_year_from=2020, harvest_year_to=2024) == {a, b}
    assert _ids(session, kind="bean", origin=Origin.BOUGHT) == set()


def test_text_is_looked_for_word_by_word_in_names_code_donor_and_notes(
    session: Session, garden: Garden
) -> None:
    kind = garden.kind(name="Runner bean")
    variety = garden.variety(kind_id=kind.id, name="Épine Rouge")
    lot = garden.lot(variety_id=variety.id, donor="Aunt Oda", notes="50% from the north_bed")
    garden.lot(donor="somebody else")
    words = ["runner", "ÉPINE rouge", "épine bean", lot.code.lower(), "oda", "50%", "north_bed"]
    for text in words:
        assert _ids(session, q=text) == {lot.id}, text
    for text in ("rouge turnip", "5%m", "northXbed", "%%"):
        assert _ids(session, q=text) == set(), text
    assert len(_ids(session, q="  ")) == 2


def test_low_stock_is_the_balance_and_not_the_first_amount(
    session: Session, garden: Garden
) -> None:
    full, low, none = garden.lot(seeds=100), garden.lot(seeds=100), garden.lot()
    book(
        session,
        Movement(
            lot_id=low.id or 0,
            reason=MovementReason.STOCK_TAKE,
            on_date=date(2027, 1, 1),
            seeds=9,
            recorded_at=NOW,
        ),
    )
    assert _ids(session, low_stock=10) == {low.id, none.id}
    assert _ids(session, low_stock=9) == {none.id}
    assert _ids(session, low_stock=101) == {full.id, low.id, none.id}


def test_untested_since_looks_only_at_finished_tests(session: Session, garden: Garden) -> None:
    day = date(2026, 1, 1)
    lately, long_ago, is_open, never = (garden.lot().id for _ in range(4))
    garden.test(lot_id=lately, finished_on=day)
    garden.test(lot_id=lately, finished_on=date(2020, 1, 1))
    garden.test(lot_id=long_ago, finished_on=date(2025, 12, 31))
    garden.test(lot_id=is_open)
    found = find_lots(session, condition=untested_since(day)).items
    assert {entry.lot.id for entry in found} == {long_ago, is_open, never}


@pytest.mark.parametrize("limit", [1, 2, 3, 7, 50])
def test_pages_together_hold_every_lot_once_and_in_order(
    session: Session, garden: Garden, limit: int
) -> None:
    years = [2020, None, 2019, 2020, 2024, None, 2020]
    lots = [garden.lot(harvest_year=year) for year in years]
    by_code = [entry.lot.code for entry in _all(session, LotOrder.CODE, limit)]
    assert by_code == sorted(lot.code for lot in lots)
    newest = [entry.lot.id for entry in _all(session, LotOrder.ADDED, limit)]
    assert newest == sorted((lot.id or 0 for lot in lots), reverse=True)
    oldest = [
        (entry.lot.harvest_year, entry.lot.id) for entry in _all(session, LotOrder.HARVEST, limit)
    ]
    assert oldest == sorted(
        ((lot.harvest_year, lot.id or 0) for lot in lots), key=lambda k: (k[0] or 9999, k[1])
    )


def test_a_lot_added_meanwhile_shifts_no_page(session: Session, garden: Garden) -> None:
    for year in (2020, 2021, 2022, 2023):
        garden.lot(harvest_year=year)
    first = find_lots(session, paging=Paging(2), order=LotOrder.HARVEST)
    garden.lot(harvest_year=2019)
    second = find_lots(session, paging=Paging(2, first.next), order=LotOrder.HARVEST)
    assert [entry.lot.harvest_year for entry in second.items] == [2022, 2023]


@pytest.mark.parametrize(
    ("order", "cursor"),
    [
        (LotOrder.CODE, Cursor(7, 1)),
        (LotOrder.CODE, Cursor(None, 1)),
        (LotOrder.HARVEST, Cursor("seven", 1)),
        (LotOrder.HARVEST, Cursor(2020, 2**40)),
        (LotOrder.ADDED, Cursor(2**40, 1)),
    ],
)
def test_a_cursor_of_another_list_is_refused(
    session: Session, order: LotOrder, cursor: Cursor
) -> None:
    with pytest.raises(BadValue) as refused:
        find_lots(session, paging=Paging(after=cursor), order=order)
    assert refused.value.field == "after"


def test_an_empty_page_cannot_be_asked_for(session: Session) -> None:
    with pytest.raises(BadValue):
        find_lots(session, paging=Paging(0))


@pytest.fixture
def many_lots(session: Session, garden: Garden) -> None:
    """Enough lots, unevenly spread, that SQLite's planner has something to choose between."""
    varieties = [garden.variety().id for _ in range(20)]
    session.add_all(
        Lot(
            code=f"{n:05}",
            variety_id=varieties[n % 20],
            origin=Origin.GIFT,
            harvest_year=2000 + n % 25,
            created_at=NOW,
        )
        for n in range(1_000)
    )
    session.flush()


@pytest.mark.usefixtures("many_lots")
@pytest.mark.parametrize("after", [None, Cursor("00500", 500)])
def test_the_list_by_code_walks_the_index_and_sorts_nothing(
    session: Session, plan_of: PlanOf, after: Cursor | None
) -> None:
    steps = plan_of(lambda: find_lots(session, paging=Paging(after=after)))
    assert "lot USING INDEX sqlite_autoindex_lot_1" in steps
    assert "TEMP B-TREE" not in steps
    assert ("SEARCH lot" in steps) is (after is not None)


@pytest.mark.usefixtures("many_lots")
@pytest.mark.parametrize(
    ("order", "after"),
    [
        (LotOrder.HARVEST, None),
        (LotOrder.HARVEST, Cursor(2010, 5)),
        (LotOrder.ADDED, None),
        (LotOrder.ADDED, Cursor(500, 500)),
    ],
)
def test_the_other_orders_sort_nothing_either(
    session: Session, plan_of: PlanOf, order: LotOrder, after: Cursor | None
) -> None:
    steps = plan_of(lambda: find_lots(session, paging=Paging(after=after), order=order))
    assert "TEMP B-TREE" not in steps


@pytest.mark.usefixtures("many_lots")
@pytest.mark.parametrize(
    ("wanted", "index"),
    [
        ({"wanted": LotFilter(variety=3)}, "ix_lot_variety_id (variety_id=?)"),
        (
            {"wanted": LotFilter(low_stock=10)},
            "movement USING INDEX sqlite_autoindex_movement_1 (lot_id=?)",
        ),
        (
            {"condition": untested_since(date(2026, 1, 1))},
            "ix_germination_test_lot_id (lot_id=? AND finished",
        ),
    ],
)
def test_filters_use_their_index(
    session: Session, plan_of: PlanOf, wanted: dict[str, Any], index: str
) -> None:
    assert index in plan_of(lambda: find_lots(session, **wanted))


def test_lots_come_by_the_name_of_their_variety(session: Session, garden: Garden) -> None:
    for name in ("Moth", "Anvil", "Moth", "Lantern"):
        garden.lot(variety_id=garden.variety(name=name).id)
    found = _all(session, LotOrder.VARIETY, 3)
    assert [entry.variety.name for entry in found] == ["Anvil", "Lantern", "Moth", "Moth"]


def test_lots_are_found_by_a_handful_of_codes(session: Session, garden: Garden) -> None:
    one, two = garden.lot(), garden.lot()
    garden.lot()
    found = lots_coded(session, [one.code, two.code, two.code, "XXXXX"])
    assert [entry.lot.code for entry in found] == sorted([one.code, two.code])
    assert lots_coded(session, []) == []


def test_pages_by_variety_go_on_where_the_last_one_ended_even_within_a_name(
    garden: Garden, session: Session
) -> None:
    kinds = [garden.kind().id for _ in range(2)]
    for kind in kinds:
        for name in ("Anton", "Bertha"):
            variety = garden.variety(kind_id=kind, name=name).id
            for _ in range(2):
                garden.lot(variety_id=variety)
    after, seen = None, []
    while True:
        page = find_lots(session, paging=Paging(3, after), order=LotOrder.VARIETY)
        seen += [(one.variety.name, one.lot.id) for one in page.items]
        after = page.next
        if after is None:
            break
    assert seen == sorted(seen)
    assert len(seen) == len(set(seen)) == 8


def test_a_word_of_a_code_is_found_in_any_case(garden: Garden, session: Session) -> None:
    lot = garden.lot(code="K1234")
    garden.lot(code="H9999")
    for word in ("k12", "K1234", "1234"):
        found = find_lots(session, LotFilter(q=word)).items
        assert [one.lot.id for one in found] == [lot.id]
