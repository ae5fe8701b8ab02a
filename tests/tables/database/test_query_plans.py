"""The lists a gardener looks at often go by an index, however large the collection."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import event, text
from sqlmodel import Session

from seedbank.database.queries import Cursor, Paging
from seedbank.emergence.tables import SowingFilter, find_sowings, outcomes
from seedbank.germination.tables import TestFilter, find_tests, set_replicates, totals
from seedbank.kinds.tables import find_kinds, find_varieties
from seedbank.lots.tables import word_search
from seedbank.lots.tables.ledger import balances
from seedbank.lots.tables.lot_search import LotFilter, LotOrder, find_lots
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.movements import find_last_movements, find_movements
from seedbank.lots.tables.places import lots_kept_in, stays
from seedbank.overview.undo_obstacles import obstacles, taken_for
from seedbank.plan.tables import PlanPinFilter, find_plan_pins, pins_between
from seedbank.saving.tables import (
    FloweringFilter,
    SeedCropFilter,
    find_flowerings,
    find_seed_crops,
    find_sites,
    flowerings_in,
    own_window,
    seed_crops_in,
)
from tests.tables.conftest import Garden

PlanOf = Callable[[Callable[[], object]], str]
DAY = date(2027, 1, 1)
MOVEMENTS_OF_LOT = "movement USING INDEX sqlite_autoindex_movement_1 (lot_id=?"


@pytest.fixture(autouse=True)
def _some_of_each(garden: Garden, session: Session) -> None:
    for n in range(5):
        lot = garden.lot(seeds=10)
        test = garden.test(lot_id=lot.id, started_on=DAY + timedelta(days=n))
        set_replicates(session, test.id or 0, [10])
        garden.sowing(lot_id=lot.id, sown_on=DAY + timedelta(days=n))
        garden.flowering(year=2020 + n)
        garden.seed_crop(flower_year=2020 + n, result_lot_id=lot.id)
        garden.pin(year=2020 + n)


ASKED: dict[str, tuple[Callable[[Session], object], str]] = {
    "a lot's movements": (
        lambda s: find_movements(s, 1, Paging(after=Cursor(1, 1))),
        f"{MOVEMENTS_OF_LOT} AND serial>?)",
    ),
    "the last movements": (
        lambda s: find_last_movements(s, Paging(after=Cursor(9, 9))),
        "movement USING INTEGER PRIMARY KEY (rowid<?)",
    ),
    "a lot's last movements": (
        lambda s: find_last_movements(s, lot_id=1),
        f"{MOVEMENTS_OF_LOT})",
    ),
    "open tests": (
        lambda s: find_tests(s, TestFilter(open=True), Paging(after=Cursor("2027-01-02", 2))),
        "ix_germination_test_finished_on (finished_on=? AND started_on>?)",
    ),
    "due tests": (
        lambda s: find_tests(s, TestFilter(due_by=DAY)),
        "ix_germination_test_finished_on (finished_on=?)",
    ),
    "all tests": (
        lambda s: find_tests(s, paging=Paging(after=Cursor("2027-01-02", 2))),
        "ix_germination_test_started_on (started_on>?)",
    ),
    "open sowings": (
        lambda s: find_sowings(s, SowingFilter(open=True)),
        "ix_sowing_finished_on (finished_on=?)",
    ),
    "a lot's sowings": (
        lambda s: find_sowings(s, SowingFilter(lot=s.get_one(Lot, 1).code)),
        "ix_sowing_lot_id (lot_id=?)",
    ),
    "kinds": (
        lambda s: find_kinds(s, paging=Paging(after=Cursor("b", 1))),
        "ix_kind_name (name>?)",
    ),
    "varieties": (lambda s: find_varieties(s), "variety USING INDEX ix_variety_name"),
    "sites": (
        lambda s: find_sites(s, Paging(after=Cursor("b", 1))),
        "sqlite_autoindex_site_1 (name>?)",
    ),
    "a year's flowerings": (
        lambda s: find_flowerings(s, FloweringFilter(year=2022)),
        "ix_flowering_year (year=?)",
    ),
    "a kind's window": (
        lambda s: own_window(s, 1, 2),
        "sqlite_autoindex_flowering_window_1 (kind_id=? AND site_id=?)",
    ),
    "a year's seed crops": (
        lambda s: find_seed_crops(s, SeedCropFilter(year=2022, open=True)),
        "ix_seed_crop_flower_year (flower_year=?)",
    ),
    "a year's pins": (
        lambda s: find_plan_pins(s, PlanPinFilter(year=2022)),
        "ix_plan_pin_year (year=?)",
    ),
    "stays": (lambda s: stays(s, [1, 2]), "sqlite_autoindex_stay_1 (lot_id=?)"),
}


@pytest.mark.parametrize("what", ASKED)
def test_the_list_goes_by_its_index_and_sorts_nothing(
    session: Session, plan_of: PlanOf, what: str
) -> None:
    ask, index = ASKED[what]
    steps = plan_of(lambda: ask(session))
    assert index in steps
    assert "TEMP B-TREE" not in steps


def test_a_year_is_read_by_its_index(session: Session, plan_of: PlanOf) -> None:
    for ask, index in (
        (lambda: flowerings_in(session, 2022), "ix_flowering_year (year=?)"),
        (lambda: seed_crops_in(session, 2022), "ix_seed_crop_flower_year (flower_year=?)"),
        (lambda: pins_between(session, 2021, 2023), "ix_plan_pin_year (year>? AND year<?)"),
    ):
        steps = plan_of(ask)
        assert index in steps
        assert "SCAN" not in steps


def test_balances_go_by_the_lot_and_so_do_the_undoings_and_the_last_stock_take(
    session: Session, plan_of: PlanOf
) -> None:
    steps = plan_of(lambda: balances(session, [1, 2]))
    assert steps.count("SEARCH") == steps.count("USING") == 5
    assert "SCAN" not in steps
    assert steps.count(MOVEMENTS_OF_LOT) == 2


def test_totals_and_outcomes_go_by_the_test_and_the_sowing(
    session: Session, plan_of: PlanOf
) -> None:
    assert "sqlite_autoindex_replicate_1 (test_id=?)" in plan_of(lambda: totals(session, [1, 2]))
    steps = plan_of(lambda: outcomes(session, [1, 2]))
    assert "sqlite_autoindex_emergence_1 (sowing_id=?)" in steps
    assert "ix_sowing_loss_sowing_id (sowing_id=?)" in steps


def test_what_stands_in_the_way_of_undoing_goes_by_indexes(
    session: Session, plan_of: PlanOf
) -> None:
    booked = find_movements(session, 1).items
    for ask in (lambda: obstacles(session, booked), lambda: taken_for(session, booked)):
        assert "SCAN movement" not in (steps := plan_of(ask))
        assert "SCAN germination_test" not in steps
        assert "SCAN sowing" not in steps


def test_the_lots_in_a_place_go_by_the_place(session: Session, plan_of: PlanOf) -> None:
    steps = plan_of(lambda: lots_kept_in(session, 1, DAY))
    assert "ix_stay_place_id (place_id=?)" in steps
    assert "SCAN" not in steps


WHOLE = re.compile(r"^SCAN (lot|variety)$|^SCAN (lot|variety) USING", re.MULTILINE)
LOOKED_UP = ("lot_words VIRTUAL TABLE INDEX", "variety_words VIRTUAL TABLE INDEX")


def _by_words(session: Session, words: str, order: LotOrder) -> Callable[[], object]:
    return lambda: find_lots(session, LotFilter(q=words), order=order)


@pytest.mark.parametrize("order", LotOrder)
@pytest.mark.parametrize("words", ["lantern", "lantern bed"])
def test_lots_are_found_by_a_rare_word_through_the_indexes_alone(
    session: Session, plan_of: PlanOf, words: str, order: LotOrder
) -> None:
    steps = plan_of(_by_words(session, words, order))
    assert [index for index in LOOKED_UP if index not in steps] == []
    assert "SEARCH lot USING INTEGER PRIMARY KEY (rowid=?)" in steps
    assert not WHOLE.search(steps)


@pytest.mark.parametrize("order", LotOrder)
def test_common_words_that_are_rare_together_are_found_through_the_indexes_too(
    garden: Garden,
    session: Session,
    plan_of: PlanOf,
    monkeypatch: pytest.MonkeyPatch,
    order: LotOrder,
) -> None:
    monkeypatch.setattr(word_search, "MOST", 1)
    for notes in ("north bed", "lantern", "lantern", "north"):
        garden.lot(notes=notes)
    steps = plan_of(_by_words(session, "north lantern", order))
    assert "INTERSECT" in steps
    assert not WHOLE.search(steps)


@pytest.mark.parametrize(
    ("order", "index"),
    [
        (LotOrder.CODE, "SCAN lot USING INDEX sqlite_autoindex_lot_1"),
        (LotOrder.HARVEST, "SCAN lot USING INDEX ix_lot_harvest_year"),
        (LotOrder.ADDED, "SCAN lot"),
        (LotOrder.VARIETY, "SCAN variety USING INDEX ix_variety_name"),
    ],
)
def test_for_a_common_word_the_list_is_gone_along_in_its_order_until_the_page_is_full(
    session: Session, plan_of: PlanOf, monkeypatch: pytest.MonkeyPatch, order: LotOrder, index: str
) -> None:
    monkeypatch.setattr(word_search, "MOST", 0)
    steps = plan_of(_by_words(session, "variety", order))
    assert index in steps.splitlines()
    assert "TEMP B-TREE FOR ORDER BY" not in steps  # but within a variety's name


def test_postgresql_can_find_lots_by_words_through_its_indexes(
    garden: Garden, session: Session
) -> None:
    if session.get_bind().dialect.name != "postgresql":
        pytest.skip("SEEDBANK_TEST_DATABASE_URL names no PostgreSQL server")
    lot = garden.lot(notes="a lantern")
    asked: list[tuple[str, Any]] = []

    def hear(_c: Any, _k: Any, statement: str, parameters: Any, *_rest: Any) -> None:
        asked.append((statement, parameters))

    # In so small a table PostgreSQL would sooner read it all.
    for way in ("seqscan", "indexscan", "indexonlyscan"):
        session.execute(text(f"SET LOCAL enable_{way} = off"))
    event.listen(session.connection(), "before_cursor_execute", hear)
    found = find_lots(session, LotFilter(q="LANTERN")).items
    event.remove(session.connection(), "before_cursor_execute", hear)
    assert [entry.lot.id for entry in found] == [lot.id]
    reach = next(one for one in asked if "UNION ALL" in one[0])
    rows = session.connection().exec_driver_sql(f"EXPLAIN {reach[0]}", reach[1])
    steps = "\n".join(row[0] for row in rows)
    assert "Bitmap Index Scan on ix_lot_words" in steps
    assert "Bitmap Index Scan on ix_variety_words" in steps
    assert "Seq Scan on lot" not in steps
