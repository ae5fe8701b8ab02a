"""What is kept in memory: used again under the same stamp, of its own database, and bounded."""

import gc
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlmodel import Session

from seedbank.service.kept import Kept
from seedbank.stock.engine import open_engine, session_factory


@contextmanager
def collection(path: Path) -> Iterator[Callable[[], Session]]:
    engine = open_engine(f"sqlite:///{path}")
    yield session_factory(engine)
    engine.dispose()


def test_it_is_worked_out_once_while_its_stamp_is_the_same(session: Session) -> None:
    kept: Kept[int] = Kept()
    worked: list[int] = []

    def work() -> int:
        worked.append(1)
        return len(worked)

    assert [kept.get(session, lambda _: ("a",), work) for _ in range(3)] == [1, 1, 1]
    assert kept.get(session, lambda _: ("b",), work) == 2
    assert kept.get(session, lambda _: ("a",), work) == 3  # only the last stamp is kept


def test_two_databases_in_one_process_never_mix(tmp_path: Path) -> None:
    kept: Kept[str] = Kept()
    with collection(tmp_path / "one.db") as one, collection(tmp_path / "two.db") as two:

        def ask(factory: Callable[[], Session], name: str) -> str:
            with factory() as session:
                return kept.get(session, lambda _: (1,), lambda: name)

        assert [ask(one, "one"), ask(two, "two")] == ["one", "two"]
        assert [ask(one, "never"), ask(two, "never")] == ["one", "two"]


def test_every_session_of_a_database_shares_what_is_kept(tmp_path: Path) -> None:
    kept: Kept[object] = Kept()
    with collection(tmp_path / "one.db") as factory, factory() as first, factory() as second:
        answers = [kept.get(each, lambda _: (1,), object) for each in (first, second)]
        assert answers[0] is answers[1]


def test_no_more_is_kept_than_was_said_and_the_longest_unused_goes(session: Session) -> None:
    kept: Kept[int] = Kept(most=2)

    def ask(number: int, answer: int) -> int:
        return kept.get(session, lambda _: (), lambda: answer, asked=number)

    ask(1, 10)
    ask(2, 20)
    assert ask(1, -1) == 10
    ask(3, 30)
    assert (ask(1, -1), ask(3, -3), ask(2, -2)) == (10, 30, -2)


def test_work_that_fails_leaves_nothing_behind(session: Session) -> None:
    kept: Kept[int] = Kept()
    with pytest.raises(ZeroDivisionError):
        kept.get(session, lambda _: (1,), lambda: 1 // 0)
    assert kept.last(session) is None


def test_many_threads_at_once_all_get_the_answer_of_their_stamp(tmp_path: Path) -> None:
    kept: Kept[int] = Kept(most=3)
    with collection(tmp_path / "one.db") as factory:

        def ask(number: int) -> bool:
            with factory() as session:
                answer = kept.get(
                    session, lambda _: (number % 7,), lambda: number % 7, asked=number % 5
                )
                return answer == number % 7

        with ThreadPoolExecutor(8) as pool:
            assert all(pool.map(ask, range(2000)))


def test_what_was_kept_for_a_database_is_forgotten_with_it(tmp_path: Path) -> None:
    kept: Kept[int] = Kept()
    with collection(tmp_path / "one.db") as factory:
        with factory() as session:
            kept.get(session, lambda _: (1,), lambda: 1)
            assert len(kept._kept) == 1
        del session
    del factory
    gc.collect()
    assert len(kept._kept) == 0
