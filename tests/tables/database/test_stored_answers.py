"""Answers stored for the next program: the very ones, and never one that something has changed."""

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, col, select, update
from starlette.testclient import TestClient

from seedbank.common.answers import AnswerModel, FindingAnswer, _findings_in, stored_json
from seedbank.common.local_format import Local
from seedbank.database import cache, stored_answers
from seedbank.database.engine import open_engine, open_for_reading, session_factory
from seedbank.database.stored_answers import (
    StoredAnswer,
    program_digest,
    read_answer,
    store_answer,
)
from seedbank.lots.tables.lots import Lot
from seedbank.overview.forms import ShelfQuestion, ShelfView
from seedbank.overview.show_shelf import show_shelf
from seedbank.science.quantities import Finding
from seedbank.season.this_week import show_this_week, week_at_hand
from seedbank.server.app import create_server
from seedbank.settings import Settings, Units
from seedbank.upkeep.copy_tables import digest_tables
from seedbank.verdicts.answers import SeedToSaveAnswer
from seedbank.verdicts.seed_to_save import show_seed_to_save

DEMO_TODAY = date(2027, 2, 20)
STATE = (DEMO_TODAY, 3, ("lot", 2))
ANSWER = FindingAnswer.of(Finding("begun-towel", {"name": "Loft Tin", "kind": "pea"}))


@pytest.fixture
def stores(monkeypatch: pytest.MonkeyPatch) -> None:
    """Answers are stored here, though tests share them otherwise."""
    monkeypatch.setattr(cache, "store_answer", store_answer)


def rows(engine: Engine) -> dict[str, tuple[str, str]]:
    with session_factory(engine)() as session:
        return {one.sort: (one.seal, one.answer) for one in session.exec(select(StoredAnswer))}


def spoken(answer: AnswerModel) -> list[str]:
    """Every sentence as a reader in other units is told it."""
    elsewhere = Local(Units.US, "en-US")
    return [one.text_for(elsewhere) for one in _findings_in(answer)]


def again(engine: Engine) -> Engine:
    """The database as the next program opens it: nothing is in memory."""
    return open_engine(engine.url.render_as_string(hide_password=False))


def test_an_answer_is_read_back_with_its_findings_in_its_state_alone(engine: Engine) -> None:
    with session_factory(engine, writes=False)() as session:
        store_answer(session, STATE, ANSWER)
        found = read_answer(session, FindingAnswer, STATE)
        assert found == ANSWER
        assert found is not None
        assert found.finding == ANSWER.finding
        others = [(DEMO_TODAY, 4, ("lot", 2)), (DEMO_TODAY + timedelta(1), *STATE[1:]), ()]
        assert [read_answer(session, FindingAnswer, other) for other in others] == [None] * 3
        assert read_answer(session, SeedToSaveAnswer, STATE) is None


def test_what_a_session_has_not_committed_is_never_stored(engine: Engine) -> None:
    with session_factory(engine, writes=False)() as session:
        store_answer(session, (*STATE, object()), ANSWER)
        assert read_answer(session, FindingAnswer, (*STATE, object())) is None
    assert rows(engine) == {}


@pytest.mark.parametrize("harm", ["another-program", "another-number", "nonsense", "seal"])
def test_a_row_of_another_program_or_tampered_with_is_as_good_as_none(
    harm: str, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    with session_factory(engine)() as session:
        store_answer(session, STATE, ANSWER)
    with session_factory(engine)() as session:
        row = session.get_one(StoredAnswer, "FindingAnswer")
        if harm == "another-program":
            monkeypatch.setattr(stored_answers, "program_digest", lambda: b"another")
        elif harm == "another-number":
            row.answer = row.answer.replace("Loft Tin", "Loft Tun")
        elif harm == "nonsense":
            row.answer = "{"
        else:
            row.seal = "0" * 64
        session.add(row)
        session.commit()
        assert read_answer(session, FindingAnswer, STATE) is None
        store_answer(session, STATE, ANSWER)
        session.commit()


def test_a_well_sealed_row_that_fits_no_model_is_as_good_as_none(engine: Engine) -> None:
    with session_factory(engine, writes=False)() as session:
        other = stored_json(ANSWER).replace('"code"', '"cope"')
        known = stored_answers._as_text(STATE)
        assert known is not None
        seal = stored_answers._seal(FindingAnswer, known, other)
        with session_factory(engine)() as writing:
            writing.add(StoredAnswer(sort="FindingAnswer", seal=seal, answer=other))
            writing.commit()
        assert read_answer(session, FindingAnswer, STATE) is None


def test_one_row_a_sort_is_kept_and_none_that_is_very_long(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    with session_factory(engine, writes=False)() as session:
        for number in range(5):
            store_answer(session, (number,), ANSWER)
        assert list(rows(engine)) == ["FindingAnswer"]
        monkeypatch.setattr(stored_answers, "LONGEST", 10)
        store_answer(session, (9,), ANSWER)
        assert read_answer(session, FindingAnswer, (9,)) is None
        assert read_answer(session, FindingAnswer, (4,)) == ANSWER


def test_who_would_have_to_wait_or_may_not_write_goes_without(engine: Engine) -> None:
    with session_factory(engine)() as writer, session_factory(engine, writes=False)() as reader:
        writer.add(StoredAnswer(sort="another", seal="", answer=""))
        writer.flush()
        if engine.dialect.name == "sqlite":
            store_answer(reader, STATE, ANSWER)
            assert read_answer(reader, FindingAnswer, STATE) is None
    as_it_stands = open_for_reading(engine.url.render_as_string(hide_password=False))
    with session_factory(as_it_stands, writes=False)() as reader:
        store_answer(reader, STATE, ANSWER)
    as_it_stands.dispose()
    assert rows(engine) == {}
    memory = open_engine("sqlite://")
    with session_factory(memory)() as session:
        store_answer(session, STATE, ANSWER)
        assert read_answer(session, FindingAnswer, STATE) is None
    memory.dispose()


def test_stored_answers_are_no_part_of_the_collection(engine: Engine) -> None:
    with engine.connect() as connection:
        before = digest_tables(connection)
    with session_factory(engine)() as session:
        store_answer(session, STATE, ANSWER)
    assert list(rows(engine)) == ["FindingAnswer"]
    with engine.connect() as connection:
        assert digest_tables(connection) == before
        counters = connection.exec_driver_sql("SELECT topic FROM change_counter").scalars().all()
        assert "stored_answer" not in counters


ASKED: dict[str, Callable[[Session], AnswerModel]] = {
    "this week": lambda session: show_this_week(session, today=DEMO_TODAY),
    "shelf": lambda session: show_shelf(session, ShelfQuestion(), ShelfView(), today=DEMO_TODAY),
    "seed to save": lambda session: show_seed_to_save(session, today=DEMO_TODAY),
}


@pytest.mark.usefixtures("stores")
@pytest.mark.parametrize("what", ASKED)
def test_the_next_program_answers_the_same_and_judges_nothing(
    what: str, garden_engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    with session_factory(garden_engine, writes=False)() as session:
        first = ASKED[what](session)
    following = again(garden_engine)
    with session_factory(following, writes=False)() as session, monkeypatch.context() as patch:
        patch.setattr("seedbank.verdicts.list_verdicts.list_seed_to_save", None)
        patch.setattr("seedbank.season.week_jobs.work_out_week", None)
        patch.setattr("seedbank.overview.answer_shelf.answer_shelf", None)
        found = ASKED[what](session)
        assert found.model_dump() == first.model_dump()
        assert stored_json(found) == stored_json(first)
        assert spoken(found) == spoken(first)
        with pytest.raises(TypeError):  # on any other day it is worked out
            show_seed_to_save(session, today=DEMO_TODAY + timedelta(days=1))
    following.dispose()


@pytest.mark.usefixtures("stores")
def test_the_front_page_of_the_next_program_is_the_same(garden_engine: Engine) -> None:
    url = garden_engine.url.render_as_string(hide_password=False)

    def shown() -> str:
        app = create_server(Settings(database_url=url, today=DEMO_TODAY))
        page = TestClient(app, base_url="http://127.0.0.1").get("/").text
        app.state.wiring.reading.kw["bind"].dispose()
        return re.sub(r'name="key" value="[^"]+"', "", page)

    first = shown()
    assert list(rows(garden_engine)) == ["ThisWeekAnswer"]
    assert shown() == first
    assert "Grow for seed" in first


@pytest.mark.usefixtures("stores")
def test_what_an_answer_rests_on_makes_it_void(
    garden_engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    with session_factory(garden_engine, writes=False)() as session:
        for ask in ASKED.values():
            ask(session)
    assert len(rows(garden_engine)) == len(ASKED)
    with session_factory(garden_engine)() as session:
        before = show_seed_to_save(session, today=DEMO_TODAY)
        sown = col(Lot.code) == before.items[0].sow_lot
        session.execute(update(Lot).where(sown).values(generation=7))
        session.commit()
    following = again(garden_engine)
    with session_factory(following, writes=False)() as session, monkeypatch.context() as patch:
        assert not week_at_hand(session, today=DEMO_TODAY)
        patch.setattr("seedbank.verdicts.list_verdicts.list_seed_to_save", None)
        patch.setattr("seedbank.season.week_jobs.work_out_week", None)
        patch.setattr("seedbank.overview.answer_shelf.answer_shelf", None)
        for ask in ASKED.values():
            with pytest.raises(TypeError):
                ask(session)
    following.dispose()


@pytest.mark.usefixtures("stores")
def test_of_the_shelf_only_what_is_asked_most_is_stored(garden_engine: Engine) -> None:
    with session_factory(garden_engine, writes=False)() as session:
        asked, view = ShelfQuestion(words="carrot"), ShelfView()
        found = show_shelf(session, asked, view, today=DEMO_TODAY)
        assert rows(garden_engine) == {}
        everything = show_shelf(session, ShelfQuestion(), view, today=DEMO_TODAY)
        assert 0 < found.total < everything.total
    assert list(rows(garden_engine)) == ["ShelfAnswer"]


@pytest.mark.usefixtures("stores")
def test_the_next_program_knows_that_a_week_is_at_hand(garden_engine: Engine) -> None:
    with session_factory(garden_engine, writes=False)() as session:
        assert not week_at_hand(session, today=DEMO_TODAY)
        show_this_week(session, today=DEMO_TODAY)
    following = again(garden_engine)
    with session_factory(following, writes=False)() as session:
        assert week_at_hand(session, today=DEMO_TODAY)
        assert not week_at_hand(session, today=DEMO_TODAY + timedelta(days=1))
    following.dispose()


def test_a_command_stores_its_answer_and_the_next_one_prints_it(
    garden_file: Path, tmp_path: Path
) -> None:
    file = shutil.copy(garden_file, tmp_path / "garden.sqlite")
    words = [str(Path(sys.executable).parent / "seedbank"), "save", "--database", str(file)]
    asked = os.environ | {"SEEDBANK_TODAY": DEMO_TODAY.isoformat()}

    def printed() -> bytes:
        return subprocess.run(words, env=asked, check=True, capture_output=True).stdout

    first = printed()
    with sqlite3.connect(file) as direct:
        ((sort, seal),) = direct.execute("SELECT sort, seal FROM stored_answer").fetchall()
        assert sort == "SeedToSaveAnswer"
        assert printed() == first
        assert direct.execute("SELECT seal FROM stored_answer").fetchall() == [(seal,)]


def test_the_program_is_known_by_every_file_of_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "__init__.py").write_text("")
    (tmp_path / "facts.csv").write_text("1")
    monkeypatch.setattr("seedbank.__file__", str(tmp_path / "__init__.py"))
    digests = [program_digest.__wrapped__()]
    (tmp_path / "facts.csv").write_text("2")
    digests.append(program_digest.__wrapped__())
    (tmp_path / "__pycache__").mkdir()
    (tmp_path / "__pycache__" / "facts.pyc").write_text("2")
    assert program_digest.__wrapped__() == digests[1]
    assert len(set(digests)) == 2
