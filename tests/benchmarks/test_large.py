"""A collection of 20,000 lots, 60,000 tests and 200,000 movements on SQLite and PostgreSQL, or in
full of five times as many.

Query plans, the milliseconds of each question, and what judging every lot takes in time and memory.
PostgreSQL is tried where SEEDBANK_TEST_DATABASE_URL names one.
"""

import os
import re
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, event, make_url
from sqlmodel import Session

from seedbank.database.engine import open_engine, session_factory
from seedbank.database.queries import Cursor, Paging
from seedbank.germination.show_tests import counts_due, list_tests
from seedbank.germination.tables import TestFilter, untested_since
from seedbank.lots.show_lots import list_lots, show_lot
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lot_search import LotFilter
from seedbank.lots.tables.lots import Origin
from seedbank.overview.find_lots import look_for_lots, near_lots
from seedbank.overview.forms import LotQuestion
from seedbank.overview.list_changes import list_changes
from seedbank.season.coming_dates import list_coming_dates
from seedbank.season.to_do import to_do
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.open_collection import open_collection
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.verdicts.list_verdicts import VerdictFilter, list_seed_to_save, list_verdicts
from seedbank.viability.show_viability import show_viability
from tests.benchmarks.large import NOW, TODAY, fill_large
from tests.sizes import sized

pytestmark = pytest.mark.benchmark

LOTS = sized(20_000, 100_000)
SERVER = os.environ.get("SEEDBANK_TEST_DATABASE_URL")
ENGINES = ["sqlite", "postgresql"]
BIG = "lot|movement|germination_test|replicate|germination_count|stay"
ONE = code_for(LOTS // 2 + 4321)


@dataclass(frozen=True, slots=True)
class Large:
    """The filled collection, its URL, and the seconds that filling it took."""

    engine: Engine
    url: str
    seconds: float


@pytest.fixture(scope="module", params=ENGINES)
def large(request: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Large]:
    if request.param == "sqlite":
        with _filled(f"sqlite:///{tmp_path_factory.mktemp('large')}/large.sqlite") as filled:
            yield filled
        return
    if SERVER is None:
        pytest.skip("SEEDBANK_TEST_DATABASE_URL names no PostgreSQL server")
    schema = f"large_{uuid.uuid4().hex}"
    admin = open_engine(SERVER)
    with admin.begin() as connection:
        connection.exec_driver_sql(f"CREATE SCHEMA {schema}")
    url = make_url(SERVER).update_query_dict({"options": f"-csearch_path={schema}"})
    with _filled(url.render_as_string(hide_password=False)) as filled:
        yield filled
    with admin.begin() as connection:
        connection.exec_driver_sql(f"DROP SCHEMA {schema} CASCADE")
    admin.dispose()


@contextmanager
def _filled(url: str) -> Iterator[Large]:
    """A filled collection, whose connections are closed when it is no longer needed."""
    engine = open_collection(url, now=NOW)
    try:
        start = time.perf_counter()
        fill_large(engine, LOTS)
        yield Large(engine, url, time.perf_counter() - start)
    finally:
        engine.dispose()


Ask = Callable[[Session], object]


def _lots(after: Cursor | None = None, **wanted: Any) -> Ask:
    asked, condition = LotFilter(**wanted), wanted.get("condition")
    return lambda session: list_lots(
        session, asked, Paging(50, after), today=TODAY, condition=condition
    )


def _tests(**wanted: Any) -> Ask:
    asked = TestFilter(**wanted)
    return lambda session: list_tests(session, asked, Paging(50))


BY_INDEX: dict[str, Ask] = {
    "lots by code": _lots(),
    "lots by code, far on": _lots(Cursor(code_for(7 * LOTS // 10), 7 * LOTS // 10 + 1)),
    "lots of a kind": _lots(kind="leek"),
    "lots of a variety": _lots(variety=777),
    "lots of rare varieties": _lots(other_keepers="none"),
    "lots bought": _lots(origin=Origin.BOUGHT),
    "lots of late years": _lots(harvest_year_from=2026),
    "lots nearly used up": _lots(low_stock=10),
    "lots not tested of late": _lots(condition=untested_since(date(2026, 6, 1))),
    "one lot": lambda session: show_lot(session, ONE, today=TODAY),
    "a misread code": lambda session: near_lots(session, ONE[:-1] + "0"),
    "forecast of one lot": lambda session: show_viability(session, ONE, today=TODAY),
    "the last changes": lambda session: list_changes(session, Paging(40)),
    "a lot's changes": lambda session: list_changes(session, Paging(40), lot=ONE),
    "tests": _tests(),
    "open tests": _tests(open=True),
    "tests due": _tests(due_by=TODAY),
    "counts due": lambda session: counts_due(session, today=TODAY),
    "lots by a rare word": _lots(q=f"{LOTS // 3 - 32:06d}"),
    "lots by a piece of a code": _lots(q=ONE[:3]),
}
"""What goes by an index whatever the size."""

COMMON: dict[str, Ask] = {
    "lots by a common word": _lots(q="purple"),
    "lots by two common words": _lots(q="purple leek"),
}
"""Words of a tenth of all lots: SQLite goes by its indexes for them too, PostgreSQL holds the names
it found by an index against the lots' table, if need be all of it."""

WALKED: dict[str, Ask] = {
    "lots by two letters none has": _lots(q="zz"),
    "lots by a word none has": _lots(q="nosuchword"),
}
"""Words under three letters are in no index, so lots are gone through until a page is full. Where
no lot holds the words, the names of all are held against them for those nearly spelt so."""

JUDGED: dict[str, Ask] = {
    "to do, three of each": lambda session: to_do(session, today=TODAY, most=3),
    "verdicts": lambda session: list_verdicts(session, VerdictFilter(), Paging(50), today=TODAY),
    "find": lambda session: _find(session),
    "find those to rescue": lambda session: _find(session, verdict="last-chance"),
    "find in a place": lambda session: _find(session, place=2),
    "coming dates": lambda session: list_coming_dates(session, today=TODAY),
    "seed to save": lambda session: list_seed_to_save(session, today=TODAY),
}
"""What rests on every lot's verdict, asked once they are kept."""


def _find(session: Session, **asked: Any) -> object:
    return look_for_lots(session, LotQuestion(**asked), Paging(30), today=TODAY)


@dataclass(slots=True)
class Watched:
    """Statements of one question, and the milliseconds of the quicker of two goes."""

    statements: list[tuple[str, Any]]
    ms: float


def _watched(engine: Engine, ask: Ask) -> Watched:
    statements: list[tuple[str, Any]] = []

    def hear(_c: Any, _k: Any, statement: str, parameters: Any, *_rest: Any) -> None:
        statements.append((statement, parameters))

    best = float("inf")
    for _ in range(2):
        with session_factory(engine, writes=False)() as session:
            event.listen(engine, "before_cursor_execute", hear)
            start = time.perf_counter()
            ask(session)
            best = min(best, time.perf_counter() - start)
            event.remove(engine, "before_cursor_execute", hear)
    return Watched(
        [one for one in statements if one[0].startswith(("SELECT", "WITH"))], 1000 * best
    )


def _whole_tables(engine: Engine, watched: Watched) -> list[str]:
    """Steps of the plans that read a big table from end to end, by no index.

    A list is cut off at its page, so going along an index until it is full is no such step; the
    stamp, summed once after a change, is told apart by its sums.
    """
    postgresql = engine.dialect.name == "postgresql"
    explain = "EXPLAIN" if postgresql else "EXPLAIN QUERY PLAN"
    whole = rf"Seq Scan on ({BIG}) " if postgresql else rf"^SCAN ({BIG})$"
    found = []
    with engine.connect() as connection:
        cursor = connection.connection.driver_connection.cursor()  # type: ignore[union-attr]
        for statement, parameters in watched.statements:
            if "pg_current_snapshot" in statement or "AS anon_7" in statement:
                continue
            cursor.execute(f"{explain} {statement}", parameters)
            steps = [row[0] if postgresql else row[3] for row in cursor.fetchall()]
            found += [f"{step.strip()} in {statement}" for step in steps if re.search(whole, step)]
    return found


def test_it_is_filled_within_minutes_and_holds_in_every_row(large: Large) -> None:
    if large.engine.dialect.name == "postgresql":
        print(f"\npostgresql: filled in {large.seconds:.0f} s")
        return  # the rows are the same
    start = time.perf_counter()
    report = check_collection(large.engine)
    took = time.perf_counter() - start
    print(
        f"\n{large.engine.dialect.name}: filled in {large.seconds:.0f} s, {report.claims} claims "
        f"proved of every row in {took:.0f} s"
    )
    assert report.holds, report.faults


def test_lists_forecasts_and_changes_go_by_an_index(large: Large) -> None:
    told, whole = [], {}
    # What all lots teach each other is read and learned once, until one that teaches changes.
    start = time.perf_counter()
    _watched(large.engine, BY_INDEX["forecast of one lot"])
    told.append(f"learning of all {1000 * (time.perf_counter() - start):.0f}")
    for name, ask in BY_INDEX.items():
        watched = _watched(large.engine, ask)
        told.append(f"{name} {watched.ms:.0f}")
        # SQLite scans in the order of ids only where the last ids are what is asked for.
        steps = _whole_tables(large.engine, watched)
        steps = [step for step in steps if "ORDER BY movement.id DESC" not in step]
        if steps:
            whole[name] = steps
    for name, ask in COMMON.items():
        watched = _watched(large.engine, ask)
        told.append(f"{name} {watched.ms:.0f}")
        if large.engine.dialect.name == "sqlite" and (
            steps := _whole_tables(large.engine, watched)
        ):
            whole[name] = steps
    for name, ask in WALKED.items():
        told.append(f"{name} {_watched(large.engine, ask).ms:.0f}")
    print(f"\n{large.engine.dialect.name}, ms: {', '.join(told)}")
    assert not whole


def test_what_rests_on_verdicts_is_answered_from_those_kept(large: Large) -> None:
    start = time.perf_counter()
    with session_factory(large.engine, writes=False)() as session:
        judge_collection(session, today=TODAY)
    judged = time.perf_counter() - start
    told, whole = [], {}
    for name, ask in JUDGED.items():
        watched = _watched(large.engine, ask)
        told.append(f"{name} {watched.ms:.0f}")
        steps = _whole_tables(large.engine, watched)
        if steps and name.startswith("to do"):
            whole[name] = steps
    print(f"\n{large.engine.dialect.name}: judged in {judged:.1f} s; then, ms: {', '.join(told)}")
    assert not whole


_PASS = """
import re, sys, time
from datetime import date
import seedbank.tables
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.database.engine import open_engine, session_factory
def peak():  # of this program alone: getrusage tells its parent's too
    return int(re.search("VmHWM:\\s+(\\d+)", open("/proc/self/status").read())[1]) / 1024
engine, idle = open_engine(sys.argv[1]), peak()
with session_factory(engine, writes=False)() as session:
    start = time.process_time()
    seen = judge_collection(session, today=date(2027, 2, 20))
    print(seen.forecast.collection.size, time.process_time() - start, idle, peak())
"""


def _pass_in_a_process(url: str) -> tuple[float, float, float]:
    """Seconds of processor, and MB before and at most, of a process that judges every lot."""
    answer = subprocess.run(
        [sys.executable, "-c", _PASS, url], check=True, capture_output=True, text=True
    ).stdout.split()
    assert int(answer[0]) > 0
    return float(answer[1]), float(answer[2]), float(answer[3])


def test_keep_or_discard_of_ten_times_the_lots_takes_hardly_more_memory(
    large: Large, tmp_path: Path
) -> None:
    if large.engine.dialect.name != "sqlite":
        pytest.skip("the pass is the same on either engine; its memory is measured on SQLite")
    tenth = open_collection(f"sqlite:///{tmp_path}/tenth.sqlite", now=NOW)
    fill_large(tenth, LOTS // 10)
    few, many = _pass_in_a_process(str(tenth.url)), _pass_in_a_process(large.url)
    tenth.dispose()
    print(
        f"\n{LOTS // 10:,} lots: {few[0]:.1f} s, {few[1]:.0f} MB before, {few[2]:.0f} MB at most; "
        f"{LOTS:,} lots: {many[0]:.1f} s, {many[2]:.0f} MB; {many[2] / few[2]:.2f} x the memory "
        f"for 10 x the lots, {many[0] / few[0]:.1f} x the time"
    )
    # All rows of the fit would take 3,500 MB; kept are a few numbers a lot, some 1 kB.
    # Seven harvest days a lot among it, and its doses in each circumstance.
    assert many[2] - few[2] <= 0.003 * (LOTS - LOTS // 10)
