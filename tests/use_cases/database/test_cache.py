"""What is kept in memory: used again in the same state, of its own database, and bounded."""

import gc
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from threading import Barrier, Lock, Semaphore
from typing import Any
from weakref import ref

import pytest
from sqlmodel import Session

import seedbank.database.cache as cache_module
from seedbank.common.errors import Busy
from seedbank.database.cache import CacheRegion, cache_of
from seedbank.database.engine import open_engine, session_factory
from seedbank.database.lanes import Lane
from seedbank.database.transaction import let_go


@contextmanager
def collection(path: Path, *, writes: bool = True) -> Iterator[Callable[[], Session]]:
    engine = open_engine(f"sqlite:///{path}")
    yield session_factory(engine, writes=writes)
    engine.dispose()


def test_it_is_worked_out_once_while_its_state_is_the_same(session: Session) -> None:
    answers: CacheRegion[int] = CacheRegion()
    worked: list[int] = []

    def work() -> int:
        worked.append(1)
        return len(worked)

    assert [answers.get(session, ("a",), work) for _ in range(3)] == [1, 1, 1]
    assert answers.get(session, ("b",), work) == 2
    assert answers.get(session, ("a",), work) == 3  # only the last state is kept


def test_two_databases_in_one_process_never_mix(tmp_path: Path) -> None:
    answers: CacheRegion[str] = CacheRegion()
    with collection(tmp_path / "one.db") as one, collection(tmp_path / "two.db") as two:

        def ask(factory: Callable[[], Session], name: str) -> str:
            with factory() as session:
                return answers.get(session, (1,), lambda: name)

        assert [ask(one, "one"), ask(two, "two")] == ["one", "two"]
        assert [ask(one, "never"), ask(two, "never")] == ["one", "two"]


def test_every_session_of_a_database_shares_what_is_kept(tmp_path: Path) -> None:
    answers: CacheRegion[object] = CacheRegion()
    with collection(tmp_path / "one.db") as factory, factory() as first, factory() as second:
        answers = [answers.get(each, (1,), object) for each in (first, second)]
        assert answers[0] is answers[1]


def test_no_more_is_kept_than_was_said_and_the_longest_unused_goes(session: Session) -> None:
    answers: CacheRegion[int] = CacheRegion(most=2)

    def ask(number: int, answer: int) -> int:
        return answers.get(session, (), lambda: answer, asked=number)

    ask(1, 10)
    ask(2, 20)
    assert ask(1, -1) == 10
    ask(3, 30)
    assert (ask(1, -1), ask(3, -3), ask(2, -2)) == (10, 30, -2)


def test_work_that_fails_leaves_nothing_behind(session: Session) -> None:
    answers: CacheRegion[int] = CacheRegion()
    with pytest.raises(ZeroDivisionError):
        answers.get(session, (1,), lambda: 1 // 0)
    assert answers.last(session) is None


def test_many_threads_at_once_all_get_the_answer_of_their_state(tmp_path: Path) -> None:
    answers: CacheRegion[int] = CacheRegion(most=3)
    with collection(tmp_path / "one.db") as factory:

        def ask(number: int) -> bool:
            with factory() as session:
                answer = answers.get(session, (number % 7,), lambda: number % 7, asked=number % 5)
                return answer == number % 7

        with ThreadPoolExecutor(8) as pool:
            assert all(pool.map(ask, range(2000)))


def test_what_was_kept_for_a_database_is_forgotten_with_it(tmp_path: Path) -> None:
    answers: CacheRegion[int] = CacheRegion()
    with collection(tmp_path / "one.db") as factory:
        with factory() as session:
            answers.get(session, (1,), lambda: 1)
            cache = ref(cache_of(session))
            assert cache() is not None
        del session
    del factory
    gc.collect()
    assert cache() is None


def asked_by_many(
    factory: Callable[[], Session], answers: CacheRegion[int], work: Callable[[], int]
) -> list[Any]:
    """What eight who ask at once get, an answer or a fault; ``work`` waits until seven wait."""
    start = Barrier(8)

    def ask(_number: int) -> object:
        with factory() as session:
            session.connection()
            start.wait()
            try:
                return answers.get(session, (1,), work)
            except Exception as fault:
                return fault

    with ThreadPoolExecutor(8) as pool:
        return list(pool.map(ask, range(8)))


@pytest.fixture
def waiting(monkeypatch: pytest.MonkeyPatch) -> Semaphore:
    """Counts those who wait for another's work, their connections let go of."""
    semaphore, let_go = Semaphore(0), cache_module.let_go

    def noted(session: Session) -> None:
        let_go(session)
        semaphore.release()

    monkeypatch.setattr(cache_module, "let_go", noted)
    return semaphore


def all_wait(waiting: Semaphore) -> None:
    for _ in range(7):
        assert waiting.acquire(timeout=30)


def test_of_many_who_ask_at_once_one_works_and_the_others_hold_no_connection(
    tmp_path: Path, waiting: Semaphore
) -> None:
    answers: CacheRegion[int] = CacheRegion()
    taken: list[int] = []
    engine = open_engine(f"sqlite:///{tmp_path / 'one.db'}")

    def work() -> int:
        all_wait(waiting)
        taken.append(engine.pool.checkedout())  # type: ignore[attr-defined]
        return 7

    told = asked_by_many(session_factory(engine, writes=False), answers, work)
    assert (told, taken) == ([7] * 8, [1])
    engine.dispose()


def test_those_who_wait_for_work_that_fails_get_the_fault_and_the_next_works_anew(
    tmp_path: Path, waiting: Semaphore
) -> None:
    answers: CacheRegion[int] = CacheRegion()
    works: list[int] = []

    def fails() -> int:
        works.append(1)
        all_wait(waiting)
        return 1 // 0

    with collection(tmp_path / "one.db", writes=False) as factory:
        told = asked_by_many(factory, answers, fails)
        assert ([type(fault) for fault in told], works) == ([ZeroDivisionError] * 8, [1])
        with factory() as session:
            assert answers.get(session, (1,), lambda: 3) == 3


def test_nobody_waits_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache_module, "LONGEST_WAIT_S", 0.05)
    answers: CacheRegion[int] = CacheRegion()
    given_up = Semaphore(0)

    def slow() -> int:
        for _ in range(7):
            assert given_up.acquire(timeout=30)
        return 5

    def ask(factory: Callable[[], Session]) -> object:
        with factory() as session:
            try:
                return answers.get(session, (1,), slow)
            except Busy as fault:
                given_up.release()
                return fault

    with (
        collection(tmp_path / "one.db", writes=False) as factory,
        ThreadPoolExecutor(8) as pool,
    ):
        told = list(pool.map(ask, [factory] * 8))
    assert told.count(5) == 1
    assert sum(isinstance(one, Busy) for one in told) == 7


def test_a_lane_takes_so_many_and_work_within_work_has_its_place(session: Session) -> None:
    lane = Lane(1)
    outer: CacheRegion[int] = CacheRegion(lane=lane)
    inner: CacheRegion[int] = CacheRegion(lane=lane)

    def ask(answers: CacheRegion[int], work: Callable[[], int]) -> int:
        return answers.get(session, (1,), work)

    assert ask(outer, lambda: 1 + ask(inner, lambda: 1)) == 2
    with lane.place():
        with ThreadPoolExecutor(1) as another, pytest.raises(Busy):
            another.submit(ask, CacheRegion(lane=lane), lambda: 1).result()
        assert ask(outer, lambda: -1) == 2, "what is kept needs no place"
    assert ask(CacheRegion(lane=lane), lambda: 4) == 4


def test_of_those_in_a_lane_so_many_work_at_once(tmp_path: Path) -> None:
    answers: CacheRegion[int] = CacheRegion(most=9, lane=Lane(8, at_once=2))
    lock, working, most = Lock(), [0], [0]

    def work() -> int:
        with lock:
            working[0] += 1
            most[0] = max(most[0], working[0])
        time.sleep(0.01)
        with lock:
            working[0] -= 1
        return 1

    with collection(tmp_path / "one.db", writes=False) as factory:

        def ask(number: int) -> int:
            with factory() as session:
                return answers.get(session, (1,), work, asked=number)

        with ThreadPoolExecutor(8) as pool:
            assert sum(pool.map(ask, range(8))) == 8
    assert most == [2]


def test_a_session_that_may_write_keeps_what_it_has_locked(tmp_path: Path) -> None:
    with collection(tmp_path / "one.db") as factory, factory() as session:
        session.connection()
        let_go(session)
        assert session.in_transaction()
    with collection(tmp_path / "one.db", writes=False) as factory, factory() as session:
        session.connection()
        let_go(session)
        assert not session.in_transaction()
