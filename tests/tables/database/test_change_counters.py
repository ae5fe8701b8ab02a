"""What is written is counted at its commit, whoever writes and however, on both engines."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from itertools import count

import pytest
from sqlalchemy import Engine, delete, insert, text
from sqlmodel import Session, SQLModel, col, select, update

import seedbank.tables  # noqa: F401 - fills the metadata
from seedbank.database.change_counters import (
    ChangeCounter,
    Changes,
    blanks_of,
    changes,
    notes_of,
    topics_of,
    topics_written,
)
from seedbank.database.engine import session_factory
from seedbank.germination.tables import GerminationTest, Pretreatment, Substratum
from seedbank.kinds.tables import Variety
from seedbank.lots.tables.lots import Lot
from seedbank.viability.tables.change_topics import ALIVE, JUDGED
from tests.tables.conftest import Garden


def judged(engine: Engine) -> Changes:
    with session_factory(engine, writes=False)() as reader:
        return changes(reader, JUDGED)


def counters(engine: Engine) -> dict[str, int]:
    with session_factory(engine, writes=False)() as reader:
        return {one.topic: one.number for one in reader.exec(select(ChangeCounter))}


def raised(engine: Engine, before: dict[str, int]) -> dict[str, int]:
    """Counters that have grown, and by how much."""
    now = counters(engine)
    return {
        topic: now[topic] - before.get(topic, 0) for topic in now if now[topic] != before.get(topic)
    }


def test_what_another_commits_is_seen_and_what_it_takes_back_is_not(
    garden: Garden, session: Session, engine: Engine
) -> None:
    lot = garden.lot(seeds=10)
    session.commit()
    before = judged(engine)
    change = update(Lot).where(col(Lot.id) == lot.id).values(harvest_year=2019)
    session.execute(change)
    assert judged(engine) == before
    session.rollback()
    assert judged(engine) == before
    session.execute(change)
    session.commit()
    assert judged(engine) != before


def test_what_one_connection_writes_and_then_reads_is_seen(engine: Engine) -> None:
    """The pool hands the same connection to the reader, the writer and the reader again."""
    seen = []
    for start in (10, 20, 30):
        seen.append(judged(engine))
        with session_factory(engine)() as writer:
            Garden(writer, count(start)).lot(seeds=10)
            writer.commit()
    assert len(set(seen)) == 3


def test_a_session_sees_what_it_has_written_itself_and_nobody_else_does(
    garden: Garden, session: Session
) -> None:
    garden.lot(seeds=10)
    session.commit()
    before = changes(session, JUDGED)
    garden.lot(seeds=10)
    first = changes(session, JUDGED)
    assert first == changes(session, JUDGED) != before
    garden.lot(seeds=10)
    assert changes(session, JUDGED) not in (before, first)
    session.rollback()
    assert changes(session, JUDGED) == before
    garden.lot(seeds=10)
    assert changes(session, JUDGED) != first, "what was taken back is not what was written since"


WAYS: dict[str, Callable[[Session, Lot], object]] = {
    "a row changed": lambda s, lot: s.add(lot.sqlmodel_update({"generation": 3})),
    "a statement": lambda s, lot: s.execute(update(Lot).values(generation=lot.id)),
    "rows in bulk": lambda s, lot: s.execute(
        insert(Lot), [lot.model_dump(exclude={"id"}) | {"code": f"B{n}"} for n in range(3)]
    ),
    "text": lambda s, _: s.execute(text("UPDATE lot SET generation = 4")),
    "the connection": lambda s, _: s.connection().exec_driver_sql("update lot set generation = 5"),
    "a row deleted": lambda s, _: s.execute(delete(Lot).where(col(Lot.code) == "spare")),
}


@pytest.mark.parametrize("way", WAYS)
def test_whatever_writes_counts_once_a_commit(
    garden: Garden, session: Session, engine: Engine, way: str
) -> None:
    lot = garden.lot(seeds=10)
    session.commit()
    before = counters(engine)
    WAYS[way](session, lot)
    session.commit()
    assert raised(engine, before) == {"lot": 1}


def test_a_note_is_counted_apart_and_judges_nothing_anew(
    garden: Garden, session: Session, engine: Engine
) -> None:
    lot = garden.lot(seeds=10)
    session.commit()
    known, before = counters(engine), judged(engine)
    lot.notes = "in the blue tin"
    session.add(lot)
    session.execute(update(Lot).values(version=Lot.version + 1))
    session.commit()
    assert raised(engine, known) == {notes_of(Lot): 1}
    assert judged(engine) == before


def test_a_note_beside_something_else_counts_as_that(
    garden: Garden, session: Session, engine: Engine
) -> None:
    lot = garden.lot(seeds=10)
    session.commit()
    before = counters(engine)
    session.execute(update(Lot).where(col(Lot.id) == lot.id).values(notes="x", harvest_year=2001))
    session.commit()
    assert raised(engine, before) == {"lot": 1}


def test_a_test_begun_says_nothing_of_how_alive_a_lot_is_and_a_finished_one_does(
    garden: Garden, session: Session, engine: Engine
) -> None:
    lot = garden.lot(seeds=100)
    session.commit()

    def put(*finished: object) -> dict[str, int]:
        before = counters(engine)
        day = lot.created_at.date()
        row = {"version": 1, "lot_id": lot.id, "substratum": Substratum.SAND, "started_on": day}
        row |= {"pretreatment": Pretreatment.NONE, "notes": "", "created_at": lot.created_at}
        session.execute(insert(GerminationTest), [row | {"finished_on": one} for one in finished])
        session.commit()
        return raised(engine, before)

    assert put(None, None) == {blanks_of(GerminationTest): 1}
    assert put(None, lot.created_at.date())["germination_test"] == 1
    assert blanks_of(GerminationTest) in JUDGED
    assert blanks_of(GerminationTest) not in ALIVE


def test_many_who_write_at_once_lose_no_count_and_none_waits_for_ever(
    garden: Garden, session: Session, engine: Engine
) -> None:
    lot, variety = garden.lot(seeds=10), garden.variety()
    session.commit()
    before = counters(engine)

    def write(number: int) -> None:
        both = [
            update(Lot).where(col(Lot.id) == lot.id).values(generation=number),
            update(Variety).where(col(Variety.id) == variety.id).values(plants_wanted=number + 1),
        ]
        with session_factory(engine)() as writer:
            writer.execute(both[number % 2])
            writer.execute(both[0]) if number % 3 == 0 else None
            writer.commit()

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(write, range(24)))
    grown = raised(engine, before)
    assert grown["lot"] == sum(number % 2 == 0 or number % 3 == 0 for number in range(24))
    assert grown["variety"] == 12


def test_every_table_can_be_told_from_what_is_written_to_it() -> None:
    for name in SQLModel.metadata.tables:
        uncounted = {"change_counter", "audit_entry", "answered_request", "stored_answer"}
        counted = {name} - uncounted
        for statement in (
            f"INSERT INTO {name} (a, b) VALUES (?, ?)",
            f'DELETE FROM "{name}" WHERE {name}.id = ?',
            f"UPDATE {name} SET a=?, version=({name}.version + ?) WHERE {name}.id = ?",
            f"INSERT INTO {name} (a) VALUES (1) ON CONFLICT (a) DO UPDATE SET b = 2",
            f"TRUNCATE {name}",
        ):
            found = topics_written(statement) - {"change_counter"}
            assert found >= counted - {"TRUNCATE"}
            assert found <= {name}
    assert topics_written("TRUNCATE lot, movement") == {"lot", "movement"}
    assert topics_of(Lot, Variety) == ("lot", "variety")
