"""How the service is, for whatever watches over it."""

from sqlalchemy import text

from tests.api.conftest import Hand


def test_a_service_that_can_work_says_so(hand: Hand) -> None:
    answer = hand.get("/health")
    assert answer.status_code == 200
    assert answer.json().keys() == {"status", "version", "schema_revision"}


def test_a_database_that_a_newer_program_has_taken_over_is_told(hand: Hand) -> None:
    with hand.app.state.wiring.writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
        session.commit()
    answer = hand.get("/health")
    assert (answer.status_code, answer.json()["type"]) == (503, "/problems/database")
    assert "9999" in answer.text
