"""Keyed requests: the answer is kept in the same commit as what it did."""

import subprocess
import sys
import textwrap
from datetime import datetime, timedelta

import pytest
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlmodel import Session, select

import seedbank.database.engine as stock_engine
import seedbank.database.run_once as once
from seedbank.common.errors import KeyReused
from seedbank.database.audit import AnsweredRequest
from seedbank.database.database_faults import BUSY, ailment_of
from seedbank.database.engine import open_engine, session_factory
from seedbank.database.run_once import Answer, forget_answers, run_once
from seedbank.lots.tables.places import Place


def put(session: Session, name: str) -> Answer:
    session.add(Place(name=name))
    session.flush()
    return Answer(201, f'{{"name":"{name}"}}', "/places/1", '"1"')


def places(engine: Engine) -> list[str]:
    with Session(engine) as other:
        return sorted(place.name for place in other.exec(select(Place)))


def test_the_second_asking_gets_the_first_answer(
    session: Session, engine: Engine, now: datetime
) -> None:
    asked = {"key": "k", "fingerprint": "f", "now": now}
    first = run_once(session, **asked, action=lambda: put(session, "Shed"))
    again = run_once(session, **asked, action=lambda: put(session, "Cellar"))
    assert (first.replayed, again.replayed) == (False, True)
    assert again.answer == first.answer
    assert places(engine) == ["Shed"]


def test_a_key_of_another_request_is_refused(session: Session, now: datetime) -> None:
    run_once(session, key="k", fingerprint="f", now=now, action=lambda: put(session, "Shed"))
    with pytest.raises(KeyReused):
        run_once(session, key="k", fingerprint="g", now=now, action=lambda: put(session, "B"))


def test_an_action_that_fails_keeps_neither_work_nor_key(
    session: Session, engine: Engine, now: datetime
) -> None:
    def half() -> Answer:
        put(session, "Shed")
        raise KeyError

    with pytest.raises(KeyError):
        run_once(session, key="k", fingerprint="f", now=now, action=half)
    assert places(engine) == []
    told = run_once(session, key="k", fingerprint="f", now=now, action=lambda: put(session, "B"))
    assert not told.replayed


def test_work_whose_answer_cannot_be_kept_is_undone(
    session: Session, engine: Engine, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_args: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(once, "_keep", broken)
    with pytest.raises(OSError, match="disk full"):
        run_once(session, key="k", fingerprint="f", now=now, action=lambda: put(session, "Shed"))
    assert places(engine) == []


def test_a_crash_half_way_leaves_nothing_and_the_retry_does_it_all(
    database_url: str, engine: Engine, now: datetime
) -> None:
    crashing = textwrap.dedent(f"""
        import os
        from datetime import UTC, datetime
        from seedbank.database.run_once import run_once
        from seedbank.database.engine import open_engine, session_factory
        from seedbank.lots.tables.places import Place
        import seedbank.tables

        session = session_factory(open_engine({database_url!r}))()

        def action():
            session.add(Place(name="Shed"))
            session.flush()
            os._exit(9)

        run_once(session, key="k", fingerprint="f", now=datetime.now(UTC), action=action)
    """)
    ended = subprocess.run([sys.executable, "-c", crashing], timeout=60, check=False)
    assert ended.returncode == 9
    assert places(engine) == []
    with session_factory(engine)() as session:
        told = run_once(
            session, key="k", fingerprint="f", now=now, action=lambda: put(session, "Shed")
        )
    assert not told.replayed
    assert places(engine) == ["Shed"]


def test_a_writer_who_does_not_make_way_is_told_as_a_busy_database(
    database_url: str, engine: Engine, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not database_url.startswith("sqlite"):
        pytest.skip("PostgreSQL writers wait for one another's keys only")
    monkeypatch.setattr(stock_engine, "BUSY_TIMEOUT_MS", 50)
    impatient = open_engine(database_url)
    with session_factory(engine)() as holder, session_factory(impatient)() as session:
        holder.exec(select(Place)).all()  # holds the write lock until it is done
        with pytest.raises(OperationalError) as told:
            run_once(
                session, key="k", fingerprint="f", now=now, action=lambda: put(session, "Shed")
            )
        assert ailment_of(told.value) is BUSY
    impatient.dispose()
    assert places(engine) == []


def test_old_answers_are_forgotten_and_their_keys_free_again(
    session: Session, now: datetime
) -> None:
    run_once(session, key="old", fingerprint="f", now=now, action=lambda: put(session, "A"))
    later = now + timedelta(days=2)
    run_once(session, key="new", fingerprint="f", now=later, action=lambda: put(session, "B"))
    assert forget_answers(session, before=now + timedelta(days=1)) == 1
    assert [row.key for row in session.exec(select(AnsweredRequest))] == ["new"]
