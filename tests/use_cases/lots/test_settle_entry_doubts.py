"""Lots that an earlier program may have entered as empty, or as come that day: asked about once."""

from datetime import UTC, datetime

import pytest
from pydantic import ValidationError
from sqlalchemy import text

from seedbank.common.errors import Refused
from seedbank.database.change_counters import changes
from seedbank.database.migrations.doubted_entries import doubt_entries
from seedbank.database.queries import Paging
from seedbank.lots.forms import EntryDoubtsAnswered
from seedbank.lots.move_seed import list_movements
from seedbank.lots.settle_entry_doubts import list_entry_doubts, settle_entry_doubts
from seedbank.lots.show_lots import show_lot
from seedbank.lots.take_in_lots import delete_lot
from seedbank.season.answers import Do
from seedbank.season.to_do import to_do
from seedbank.viability.tables.change_topics import ALIVE
from tests.use_cases.conftest import Garden

ROW = "From list.csv, line 2, as it was written:\nAmount: full\n[row 0123456789abcdef]"


@pytest.fixture
def lots(garden: Garden) -> list[str]:
    """As an earlier program left them: two from a list, one by hand, and one that is right."""
    found = [
        garden.lot(0, notes=ROW, acquired_on=garden.today).code,
        garden.lot(50, notes=ROW.replace("f]", "e]"), acquired_on=garden.today).code,
        garden.lot(0, acquired_on="2026-01-01").code,
        garden.lot(50, notes=ROW.replace("f]", "d]"), acquired_on="2026-01-01").code,
    ]
    doubt_entries(garden.session.connection())
    garden.session.commit()
    return found


def asked(garden: Garden) -> list[tuple[str, bool, bool]]:
    page = list_entry_doubts(garden.session, Paging(50))
    return [(one.lot, one.amount, one.acquired_on is not None) for one in page.items]


def answer(garden: Garden, **said: object) -> tuple[int, int]:
    form = EntryDoubtsAnswered.model_validate(said)
    done = settle_entry_doubts(garden.session, form, **garden.when)
    return done.settled, done.left


def test_only_what_may_be_made_up_is_asked(garden: Garden, lots: list[str]) -> None:
    assert asked(garden) == [
        (lots[0], True, True), (lots[1], False, True), (lots[2], True, False),
    ]  # fmt: skip
    [group] = [
        g for g in to_do(garden.session, today=garden.today).groups if g.do is Do.CHECK_ENTRY
    ]
    assert (group.total, [item.lot for item in group.items]) == (3, lots[:3])


def test_an_answer_changes_what_it_is_about_and_is_never_asked_for_again(
    garden: Garden, lots: list[str]
) -> None:
    before = changes(garden.session, ALIVE)
    said = {"lots": [lots[0]], "amount": "some", "acquired_day": "unknown"}
    assert answer(garden, **said) == (1, 2)
    lot = show_lot(garden.session, lots[0], today=garden.today)
    assert (lot.amount.seeds, lot.acquired_on, lot.version) == (None, None, 2)
    assert changes(garden.session, ALIVE) != before
    [opening] = list_movements(garden.session, lots[0], None, Paging(9)).items
    assert (opening.seeds, opening.reason, opening.on_date) == (None, "acquired", garden.today)
    kept = garden.dump()
    with pytest.raises(Refused, match="answered already"):
        answer(garden, **said)
    assert garden.dump() == kept


def test_what_is_right_stays_as_it_is_and_one_question_may_wait(
    garden: Garden, lots: list[str]
) -> None:
    movements = garden.dump()["movement"]
    assert answer(garden, lots=[lots[0]], amount="none") == (1, 3)
    assert asked(garden)[0] == (lots[0], False, True)
    assert answer(garden, acquired_day="right") == (3, 1)
    assert answer(garden, amount="none") == (1, 0)
    assert asked(garden) == []
    assert garden.dump()["movement"] == movements
    assert all(show_lot(garden.session, code, today=garden.today).acquired_on for code in lots)


def test_all_may_be_answered_at_once(garden: Garden, lots: list[str]) -> None:
    assert answer(garden, amount="some", acquired_day="unknown") == (3, 0)
    found = [show_lot(garden.session, code, today=garden.today) for code in lots]
    assert [lot.amount.seeds for lot in found] == [None, 50, None, 50]
    assert [lot.acquired_on is None for lot in found] == [True, True, False, False]


def test_seed_booked_meanwhile_is_an_answer_too(garden: Garden, lots: list[str]) -> None:
    from tests.use_cases.lots.test_amounts_not_counted import count

    count(garden, show_lot(garden.session, lots[2], today=garden.today), 40)
    assert [code for code, *_ in asked(garden)] == lots[:2]


def test_a_lot_in_doubt_can_be_taken_out(garden: Garden, lots: list[str]) -> None:
    delete_lot(garden.session, lots[0], expected=None)
    assert [code for code, *_ in asked(garden)] == lots[1:3]


def test_a_lot_nothing_is_asked_about_and_no_answer_are_refused(
    garden: Garden, lots: list[str]
) -> None:
    with pytest.raises(Refused, match=f"Nothing is asked about lot {lots[3]}"):
        answer(garden, lots=[lots[0], lots[3]], amount="none")
    assert len(asked(garden)) == 3
    with pytest.raises(ValidationError, match="Answer for the amount, or for the day it came here"):
        EntryDoubtsAnswered.model_validate({})


def test_the_day_of_entry_may_be_told_by_another_clock(garden: Garden) -> None:
    code = garden.lot(9, notes=ROW, acquired_on=garden.today).code
    late = datetime(2027, 2, 28, 23, 30, tzinfo=UTC)  # already 1 March where the gardener is
    garden.session.execute(
        text("UPDATE lot SET created_at = :late WHERE code = :code"), {"late": late, "code": code}
    )
    doubt_entries(garden.session.connection())
    assert asked(garden) == [(code, False, True)]
