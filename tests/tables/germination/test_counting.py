from datetime import date, datetime

import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from seedbank.common.errors import (
    AlreadyCounted,
    BadValue,
    Missing,
    SeedsUnjudged,
    TestFinished,
    TooManyCounted,
)
from seedbank.facts.methods import tolerance_table
from seedbank.germination.tables import (
    Count,
    GerminationTest,
    Judged,
    Replicate,
    ReplicateTotal,
    correct_count,
    counts,
    finish,
    record_count,
    replicate_numbered,
    set_replicates,
    totals,
)
from seedbank.science.viability.test_evidence import weigh_test
from tests.tables.conftest import NOW, Garden


def judged_as(
    normal: int = 0, abnormal: int = 0, hard: int = 0, fresh: int = 0, dead: int = 0
) -> Judged:
    return Judged(normal=normal, abnormal=abnormal, hard=hard, fresh=fresh, dead=dead)


START, FIRST, FINAL = date(2027, 1, 10), date(2027, 1, 17), date(2027, 1, 24)


def _test_of(session: Session, garden: Garden, *seeds_set: int) -> tuple[int, list[int]]:
    test_id = garden.test(started_on=START).id or 0
    return test_id, [r.id or 0 for r in set_replicates(session, test_id, seeds_set)]


def _record(session: Session, replicate_id: int, on: date, **judged: int) -> Count:
    return record_count(
        session, replicate_id=replicate_id, on=on, judged=judged_as(**judged), now=NOW
    )


def test_replicates_are_numbered_from_one(session: Session, garden: Garden) -> None:
    test_id, ids = _test_of(session, garden, 25, 25, 20)
    assert [(t.number, t.seeds_set, t.judged) for t in totals(session, [test_id])[test_id]] == [
        (1, 25, judged_as()),
        (2, 25, judged_as()),
        (3, 20, judged_as()),
    ]
    assert replicate_numbered(session, test_id, 3).id == ids[2]
    with pytest.raises(Missing):
        replicate_numbered(session, test_id, 4)


def test_replicates_can_be_set_again_until_one_is_counted(session: Session, garden: Garden) -> None:
    test_id, _ = _test_of(session, garden, 10)
    [replicate] = set_replicates(session, test_id, [20])
    _record(session, replicate.id or 0, FIRST, normal=1)
    with pytest.raises(BadValue, match="replicates"):
        set_replicates(session, test_id, [30])
    assert [t.seeds_set for t in totals(session, [test_id])[test_id]] == [20]


@pytest.mark.parametrize("seeds_set", [[], [0], [10, -1]])
def test_a_replicate_has_a_seed_at_least(
    session: Session, garden: Garden, seeds_set: list[int]
) -> None:
    with pytest.raises(BadValue):
        set_replicates(session, garden.test().id or 0, seeds_set)


def test_counts_of_several_days_add_up_by_category(session: Session, garden: Garden) -> None:
    test_id, [a, b] = _test_of(session, garden, 25, 25)
    _record(session, a, FIRST, normal=15, dead=1)
    _record(session, a, FINAL, normal=4, abnormal=2, hard=1, fresh=1, dead=1)
    _record(session, b, FIRST, normal=20)
    assert totals(session, [test_id])[test_id] == [
        ReplicateTotal(test_id, a, 1, 25, judged_as(19, 2, 1, 1, 2)),
        ReplicateTotal(test_id, b, 2, 25, judged_as(20)),
    ]
    assert [t.unjudged for t in totals(session, [test_id])[test_id]] == [0, 5]


def test_totals_of_many_tests_come_together(session: Session, garden: Garden) -> None:
    one, [a] = _test_of(session, garden, 10)
    other, [b, _] = _test_of(session, garden, 20, 20)
    bare = garden.test().id or 0
    _record(session, a, FIRST, normal=3)
    _record(session, b, FIRST, dead=4)
    found = totals(session, [one, other, bare])
    assert [[t.judged.seeds() for t in found[i]] for i in (one, other, bare)] == [[3], [4, 0], []]


def test_more_seeds_than_were_set_cannot_be_judged(session: Session, garden: Garden) -> None:
    test_id, [a] = _test_of(session, garden, 25)
    _record(session, a, FIRST, normal=20)
    with pytest.raises(TooManyCounted) as refused:
        _record(session, a, FINAL, normal=4, dead=2)
    assert (refused.value.replicate, refused.value.seeds_set, refused.value.counted) == (1, 25, 26)
    assert totals(session, [test_id])[test_id][0].judged == judged_as(20)
    _record(session, a, FINAL, normal=4, dead=1)


@pytest.mark.parametrize("field", ["normal", "abnormal", "hard", "fresh", "dead"])
def test_fewer_than_no_seeds_cannot_be_judged(session: Session, garden: Garden, field: str) -> None:
    _, [a] = _test_of(session, garden, 25)
    with pytest.raises(BadValue) as refused:
        _record(session, a, FIRST, **{field: -1})
    assert refused.value.field == field


def test_a_day_is_counted_once_and_not_before_the_start(session: Session, garden: Garden) -> None:
    _, [a, b] = _test_of(session, garden, 25, 25)
    _record(session, a, FIRST, normal=2)
    _record(session, b, FIRST, normal=2)
    with pytest.raises(AlreadyCounted):
        _record(session, a, FIRST, normal=2)
    with pytest.raises(BadValue, match="on_date"):
        _record(session, a, date(2027, 1, 9), normal=2)
    with pytest.raises(Missing):
        _record(session, 999, FIRST, normal=2)


def test_a_correction_stands_and_what_it_corrects_is_kept(
    session: Session, garden: Garden, now: datetime
) -> None:
    test_id, [a] = _test_of(session, garden, 25)
    _record(session, a, FIRST, normal=20)
    for normal, why in [(18, "two were stubs"), (19, "one was not")]:
        correct_count(
            session, replicate_id=a, on=FIRST, judged=judged_as(normal=normal), why=why, now=now
        )
    assert totals(session, [test_id])[test_id][0].judged == judged_as(19)
    [standing] = counts(session, [test_id])[test_id]
    assert (standing.normal, standing.revision, standing.why_corrected) == (19, 3, "one was not")
    history = counts(session, [test_id], history=True)[test_id]
    assert [(c.revision, c.normal, c.current) for c in history] == [
        (1, 20, False),
        (2, 18, False),
        (3, 19, True),
    ]


def test_a_correction_has_to_fit_too(session: Session, garden: Garden, now: datetime) -> None:
    test_id, [a] = _test_of(session, garden, 25)
    _record(session, a, FIRST, normal=20)
    _record(session, a, FINAL, dead=5)
    with pytest.raises(TooManyCounted):
        correct_count(session, replicate_id=a, on=FIRST, judged=judged_as(21), why="", now=now)
    with pytest.raises(Missing):
        correct_count(session, replicate_id=a, on=START, judged=judged_as(1), why="", now=now)
    assert totals(session, [test_id])[test_id][0].judged == judged_as(20, dead=5)


def test_a_test_is_finished_once_every_seed_is_judged(session: Session, garden: Garden) -> None:
    test_id, [a, b] = _test_of(session, garden, 10, 10)
    _record(session, a, FIRST, normal=10)
    _record(session, b, FIRST, normal=7)
    with pytest.raises(SeedsUnjudged) as refused:
        finish(session, test_id, on=FINAL)
    assert (refused.value.replicate, refused.value.missing) == (2, 3)
    _record(session, b, FINAL, dead=3)
    with pytest.raises(BadValue, match="finished_on"):
        finish(session, test_id, on=FIRST)
    assert finish(session, test_id, on=FINAL).finished_on == FINAL
    with pytest.raises(TestFinished):
        finish(session, test_id, on=FINAL)


def test_a_test_without_replicates_cannot_be_finished(session: Session, garden: Garden) -> None:
    with pytest.raises(BadValue, match="replicates"):
        finish(session, garden.test().id or 0, on=FINAL)
    with pytest.raises(Missing):
        finish(session, 999, on=FINAL)


def test_a_finished_test_takes_corrections_that_add_up_but_no_new_counts(
    session: Session, garden: Garden, now: datetime
) -> None:
    test_id, [a] = _test_of(session, garden, 10)
    _record(session, a, FIRST, normal=8, dead=2)
    finish(session, test_id, on=FINAL)
    with pytest.raises(TestFinished):
        _record(session, a, FINAL)
    with pytest.raises(SeedsUnjudged):
        correct_count(session, replicate_id=a, on=FIRST, judged=judged_as(8), why="", now=now)
    correct_count(session, replicate_id=a, on=FIRST, judged=judged_as(7, dead=3), why="", now=now)
    assert totals(session, [test_id])[test_id][0].judged == judged_as(7, dead=3)


def test_the_database_itself_lets_only_one_revision_stand(session: Session, garden: Garden) -> None:
    _, [a] = _test_of(session, garden, 10)
    _record(session, a, FIRST, normal=1)
    session.add(Count(replicate_id=a, on_date=FIRST, revision=2, normal=2, recorded_at=NOW))
    with pytest.raises(IntegrityError):
        session.flush()


def test_counts_come_by_day_then_replicate(session: Session, garden: Garden) -> None:
    test_id, [a, b] = _test_of(session, garden, 10, 10)
    for replicate_id, day in [(b, FINAL), (b, FIRST), (a, FINAL), (a, FIRST)]:
        _record(session, replicate_id, day, normal=1)
    found = counts(session, [test_id])[test_id]
    assert [(c.on_date, c.replicate_id) for c in found] == [
        (FIRST, a),
        (FIRST, b),
        (FINAL, a),
        (FINAL, b),
    ]
    assert session.get(Replicate, a) is not None


def _worth(session: Session, test_id: int) -> tuple[float | None, ...]:
    test = session.get_one(GerminationTest, test_id)
    session.refresh(test)
    return test.judged_seeds, test.normal_seeds, test.viable_seeds, test.correlation


def test_a_test_has_its_worth_from_the_day_it_is_finished(session: Session, garden: Garden) -> None:
    test_id, ids = _test_of(session, garden, 25, 25)
    assert _worth(session, test_id) == (None, None, None, None)
    _record(session, ids[0], FIRST, normal=12, abnormal=2)
    _record(session, ids[0], FINAL, normal=3, hard=4, fresh=1, dead=3)
    _record(session, ids[1], FINAL, normal=17, hard=2, fresh=1, dead=5)
    assert _worth(session, test_id) == (None, None, None, None)
    finish(session, test_id, on=FINAL)
    assert _worth(session, test_id) == (50, 32, 40, 0.01)


def test_a_corrected_count_weighs_the_finished_test_anew(session: Session, garden: Garden) -> None:
    test_id, ids = _test_of(session, garden, 25, 25)
    for number in ids:
        _record(session, number, FINAL, normal=20, dead=5)
    finish(session, test_id, on=FINAL)
    assert _worth(session, test_id) == (50, 40, 40, 0.01)
    right = judged_as(normal=1, fresh=1, dead=23)
    correct_count(session, replicate_id=ids[0], on=FINAL, judged=right, why="mixed up", now=NOW)
    judged, normal, viable, correlation = _worth(session, test_id)
    assert (judged, normal, viable) == (50, 21, 22)
    # 2 and 20 of 25 can't be one share but by a strong correlation within replicates.
    assert correlation == weigh_test([2, 20], [25, 25], tolerance_table()).correlation
    assert correlation is not None
    assert correlation > 0.1


def test_a_count_corrected_while_a_test_is_open_gives_it_no_worth_yet(
    session: Session, garden: Garden
) -> None:
    test_id, ids = _test_of(session, garden, 20)
    _record(session, ids[0], FINAL, normal=20)
    right = judged_as(normal=10, dead=10)
    correct_count(session, replicate_id=ids[0], on=FINAL, judged=right, why="miscount", now=NOW)
    assert _worth(session, test_id) == (None, None, None, None)
    finish(session, test_id, on=FINAL)
    assert _worth(session, test_id) == (20, 10, 10, 0.01)
