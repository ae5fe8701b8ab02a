from datetime import date
from typing import Any

import pytest
from sqlmodel import Session

from seedbank.common.errors import BadValue, FewerEmerged, Missing, TooManyEmerged
from seedbank.emergence.tables import (
    Emergence,
    Loss,
    LossCause,
    outcomes,
    record_emergence,
    record_loss,
)
from tests.tables.conftest import NOW, Garden

SOWN = date(2026, 4, 1)
DAYS = [date(2026, 4, day) for day in (10, 14, 18, 22)]


def _seen(session: Session, sowing_id: int, on: date, units: int, **values: Any) -> Emergence:
    return record_emergence(
        session, sowing_id=sowing_id, on=on, units_emerged=units, now=NOW, **values
    )


def _lost(session: Session, sowing_id: int, cause: str, units: int, **values: Any) -> Loss:
    loss = Loss(
        sowing_id=sowing_id,
        on_date=values.pop("on", DAYS[1]),
        cause=LossCause(cause),
        units_lost=units,
        recorded_at=NOW,
        **values,
    )
    return record_loss(session, loss)


def _totals(session: Session, sowing_id: int) -> list[tuple[int, bool]]:
    seen = outcomes(session, [sowing_id])[sowing_id].emergences
    return [(each.units_emerged, each.correction) for each in seen]


@pytest.fixture
def sowing_id(garden: Garden) -> int:
    return garden.sowing(seeds_sown=50, sown_on=SOWN).id or 0


def test_the_last_running_total_is_what_emerged(session: Session, sowing_id: int) -> None:
    assert outcomes(session, [sowing_id])[sowing_id].units_emerged is None
    for day, units in zip(DAYS, [0, 20, 20, 35], strict=True):
        _seen(session, sowing_id, day, units)
    assert outcomes(session, [sowing_id])[sowing_id].units_emerged == 35


def test_a_running_total_cannot_fall_unless_it_is_a_correction(
    session: Session, sowing_id: int
) -> None:
    _seen(session, sowing_id, DAYS[0], 20)
    with pytest.raises(FewerEmerged, match="19 emerged by 2026-04-14"):
        _seen(session, sowing_id, DAYS[1], 19)
    assert _totals(session, sowing_id) == [(20, False)]
    _seen(session, sowing_id, DAYS[1], 15, correction=True)
    # What was corrected binds no more.
    _seen(session, sowing_id, DAYS[2], 18)
    assert _totals(session, sowing_id) == [(20, False), (15, True), (18, False)]


def test_a_total_filled_in_late_has_to_fit_the_one_after_it(
    session: Session, sowing_id: int
) -> None:
    _seen(session, sowing_id, DAYS[0], 10)
    _seen(session, sowing_id, DAYS[2], 20)
    for correction in (False, True):
        with pytest.raises(FewerEmerged) as refused:
            _seen(session, sowing_id, DAYS[1], 21, correction=correction)
        assert "later" in refused.value.mend
    _seen(session, sowing_id, DAYS[1], 20)
    assert _totals(session, sowing_id) == [(10, False), (20, False), (20, False)]


def test_a_second_look_on_one_day_replaces_the_first(session: Session, sowing_id: int) -> None:
    first = _seen(session, sowing_id, DAYS[0], 10)
    assert _seen(session, sowing_id, DAYS[0], 12).id == first.id
    with pytest.raises(FewerEmerged):
        _seen(session, sowing_id, DAYS[0], 11)
    _seen(session, sowing_id, DAYS[0], 11, correction=True)
    # Nothing earlier was wrong, so the row that stands corrects nothing.
    assert _totals(session, sowing_id) == [(11, False)]


def test_more_cannot_emerge_than_were_sown(session: Session, sowing_id: int) -> None:
    _seen(session, sowing_id, DAYS[0], 50)
    with pytest.raises(TooManyEmerged) as refused:
        _seen(session, sowing_id, DAYS[1], 51)
    assert (refused.value.field, refused.value.value) == ("units_emerged", 51)


def test_units_lost_in_the_soil_cannot_emerge(session: Session, sowing_id: int) -> None:
    _lost(session, sowing_id, "eaten", 12)
    with pytest.raises(TooManyEmerged):
        _seen(session, sowing_id, DAYS[2], 39)
    _seen(session, sowing_id, DAYS[2], 38)
    with pytest.raises(TooManyEmerged) as refused:
        _lost(session, sowing_id, "not-emerged", 1)
    assert (refused.value.field, refused.value.value) == ("units_lost", 1)
    assert "38 emerged and 13 lost before they came up, but 50 were sown" in str(refused.value)


def test_seedlings_lost_once_up_still_count_as_emerged(session: Session, sowing_id: int) -> None:
    _seen(session, sowing_id, DAYS[0], 45)
    _lost(session, sowing_id, "frost", 45, after_emergence=True)
    _seen(session, sowing_id, DAYS[1], 50)
    found = outcomes(session, [sowing_id])[sowing_id]
    assert found.units_emerged == 50
    assert found.units_lost(after_emergence=True) == 45
    assert found.units_lost(after_emergence=False) == 0
    with pytest.raises(TooManyEmerged):
        _lost(session, sowing_id, "eaten", 6, after_emergence=True)


def test_seedlings_lost_count_as_emerged_before_anybody_counted_them(
    session: Session, sowing_id: int
) -> None:
    _lost(session, sowing_id, "frost", 30, after_emergence=True)
    with pytest.raises(TooManyEmerged):
        _lost(session, sowing_id, "eaten", 21)
    _seen(session, sowing_id, DAYS[1], 5)  # some were seen by nobody but the frost
    with pytest.raises(TooManyEmerged) as refused:
        _lost(session, sowing_id, "eaten", 21)
    assert (refused.value.field, refused.value.value) == ("units_lost", 21)
    _lost(session, sowing_id, "eaten", 20)
    with pytest.raises(TooManyEmerged):
        _lost(session, sowing_id, "frost", 1, after_emergence=True)


def test_what_did_not_emerge_was_not_lost_after_emergence(session: Session, sowing_id: int) -> None:
    with pytest.raises(BadValue, match="after_emergence"):
        _lost(session, sowing_id, "not-emerged", 1, after_emergence=True)


def test_numbers_and_days_have_to_make_sense(session: Session, sowing_id: int) -> None:
    before = date(2026, 3, 31)
    with pytest.raises(BadValue, match="units_emerged"):
        _seen(session, sowing_id, DAYS[0], -1)
    with pytest.raises(BadValue, match="on_date"):
        _seen(session, sowing_id, before, 1)
    with pytest.raises(BadValue, match="units_lost"):
        _lost(session, sowing_id, "eaten", 0)
    with pytest.raises(BadValue, match="on_date"):
        _lost(session, sowing_id, "eaten", 1, on=before)
    with pytest.raises(Missing, match="sowing"):
        _seen(session, 999, DAYS[0], 1)
    with pytest.raises(Missing, match="sowing"):
        _lost(session, 999, "eaten", 1)
    assert outcomes(session, [sowing_id])[sowing_id].losses == []


def test_outcomes_of_many_sowings_come_together(
    session: Session, garden: Garden, sowing_id: int
) -> None:
    other, bare = garden.sowing().id or 0, garden.sowing().id or 0
    _seen(session, sowing_id, DAYS[0], 1)
    _seen(session, other, DAYS[0], 2)
    _lost(session, other, "dried-out", 3)
    found = outcomes(session, [sowing_id, other, bare])
    assert [found[i].units_emerged for i in (sowing_id, other, bare)] == [1, 2, None]
    assert [found[i].units_lost(after_emergence=False) for i in found] == [0, 3, 0]
