"""A day's counts saved however often, and looked ahead from before they are saved."""

from datetime import date
from typing import Any

import pytest

from seedbank.common.errors import Refused, SeedsUnjudged, TestFinished, TooManyCounted
from seedbank.germination.answers import TestAnswer
from seedbank.germination.forms import CountRow, DayCounts
from seedbank.germination.record_day_counts import save_day_counts
from seedbank.germination.show_tests import show_test
from seedbank.verdicts.answers import TestOutlookAnswer
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.verdicts.preview_counts import look_ahead
from tests.use_cases.conftest import Garden
from tests.use_cases.germination.test_run_tests import count, finish, start

FIRST_DAY, SECOND_DAY = "2027-02-08", "2027-02-15"


def save(
    garden: Garden, number: int, *rows: dict[str, int], day: str = FIRST_DAY, **more: Any
) -> TestAnswer:
    form = DayCounts.model_validate({"on_date": day, "counts": rows, **more})
    return save_day_counts(garden.session, number, form, **garden.when)


def ahead(
    garden: Garden, number: int, *rows: dict[str, int], day: str = FIRST_DAY
) -> TestOutlookAnswer:
    return look_ahead(
        garden.session,
        number,
        [CountRow.model_validate(row) for row in rows],
        on=date.fromisoformat(day),
        today=garden.today,
    )


def test_the_first_saving_of_a_day_records_and_a_second_corrects_with_its_reason(
    garden: Garden,
) -> None:
    test = start(garden, garden.lot().code)
    save(garden, test.id, {"replicate": 1, "normal": 12}, {"replicate": 2, "normal": 10})
    again = save(
        garden,
        test.id,
        {"replicate": 1, "normal": 11},
        {"replicate": 2, "normal": 10},
        why="took a stub for a seedling",
    )
    assert [one.normal for one in again.replicates] == [11, 10]
    corrected = [one for one in again.counts if one.why_corrected]
    assert [(one.replicate, one.revision) for one in corrected] == [(1, 2)]


def test_a_replicate_not_counted_before_that_day_needs_no_reason(garden: Garden) -> None:
    test = start(garden, garden.lot().code)
    count(garden, test.id, FIRST_DAY, {"replicate": 1, "normal": 12})
    both = save(garden, test.id, {"replicate": 1, "normal": 12}, {"replicate": 2, "normal": 9})
    assert [one.normal for one in both.replicates] == [12, 9]
    assert all(one.revision == 1 for one in both.counts)


@pytest.mark.parametrize("why", ["", "no"])
def test_a_saved_count_isnt_changed_without_a_reason(garden: Garden, why: str) -> None:
    test = start(garden, garden.lot().code)
    save(garden, test.id, {"replicate": 1, "normal": 12})
    with pytest.raises(Refused) as refused:
        save(garden, test.id, {"replicate": 1, "normal": 2}, why=why)
    assert refused.value.field == "why"
    assert show_test(garden.session, test.id).replicates[0].normal == 12


def test_more_than_a_replicate_holds_is_told_at_its_row(garden: Garden) -> None:
    test = start(garden, garden.lot().code)
    with pytest.raises(TooManyCounted) as refused:
        save(garden, test.id, {"replicate": 1, "normal": 12}, {"replicate": 2, "normal": 26})
    assert refused.value.field == "counts[1].normal"
    assert show_test(garden.session, test.id).counts == []


def test_a_test_is_finished_with_its_last_count_and_the_rest_is_taken_as_dead(
    garden: Garden,
) -> None:
    test = start(garden, garden.lot().code)
    save(garden, test.id, {"replicate": 1, "normal": 12}, {"replicate": 2, "normal": 10})
    rows = ({"replicate": 1, "normal": 8}, {"replicate": 2, "normal": 0})
    with pytest.raises(SeedsUnjudged):
        save(garden, test.id, *rows, day=SECOND_DAY, finish=True)
    assert show_test(garden.session, test.id).replicates[0].normal == 12
    done = save(garden, test.id, *rows, day=SECOND_DAY, finish=True, rest_dead=True)
    assert [(one.normal, one.dead) for one in done.replicates] == [(20, 5), (10, 15)]
    assert done.finished_on == date(2027, 2, 15)
    with pytest.raises(TestFinished):
        save(garden, test.id, {"replicate": 1, "normal": 1}, day="2027-02-16")


def test_looking_ahead_writes_nothing_and_says_what_saving_would(garden: Garden) -> None:
    test = start(garden, garden.lot().code)
    save(garden, test.id, {"replicate": 1, "normal": 10}, {"replicate": 2, "normal": 8})
    before = garden.dump()
    rows = ({"replicate": 1, "normal": 5}, {"replicate": 2, "abnormal": 3})
    seen = ahead(garden, test.id, *rows, day=SECOND_DAY)
    garden.session.rollback()
    assert garden.dump() == before
    saved = save(garden, test.id, *rows, day=SECOND_DAY)
    assert seen.replicates == saved.replicates
    assert seen.interim == saved.interim
    assert (seen.seeds, seen.judged, seen.evaluation) == (50, 26, None)


def test_looking_ahead_on_a_day_saved_before_takes_its_counts_out(garden: Garden) -> None:
    test = start(garden, garden.lot().code)
    save(garden, test.id, {"replicate": 1, "normal": 20}, {"replicate": 2, "normal": 20})
    seen = ahead(garden, test.id, {"replicate": 1, "normal": 25}, {"replicate": 2, "normal": 20})
    assert [one.normal for one in seen.replicates] == [25, 20]
    with pytest.raises(TooManyCounted):
        ahead(garden, test.id, {"replicate": 1, "normal": 26})


def test_with_every_seed_judged_it_says_just_what_the_finished_test_will(garden: Garden) -> None:
    test = start(garden, garden.lot().code)
    save(garden, test.id, {"replicate": 1, "normal": 15}, {"replicate": 2, "normal": 14})
    rows = (
        {"replicate": 1, "normal": 5, "dead": 5},
        {"replicate": 2, "normal": 2, "fresh": 4, "dead": 5},
    )
    seen = ahead(garden, test.id, *rows, day=SECOND_DAY)
    done = save(garden, test.id, *rows, day=SECOND_DAY, finish=True)
    assert seen.evaluation is not None
    assert done.evaluation is not None
    assert seen.evaluation.germination == done.evaluation.germination
    assert seen.evaluation.viability == done.evaluation.viability
    assert seen.evaluation.timing == done.evaluation.timing
    assert seen.evaluation.agreement == done.evaluation.agreement


def test_each_count_can_only_narrow_what_is_possible(garden: Garden) -> None:
    test = start(garden, garden.lot().code)
    seen = [
        ahead(garden, test.id, {"replicate": 1, "normal": n, "dead": n // 3}).interim
        for n in range(0, 19, 3)
    ]
    lows = [one.germination_low_pct for one in seen]
    highs = [one.germination_high_pct for one in seen]
    assert lows == sorted(lows)
    assert highs == sorted(highs, reverse=True)
    assert highs[-1] - lows[-1] < highs[0] - lows[0]


@pytest.mark.parametrize("rest", ["normal", "dead"])
@pytest.mark.parametrize("normal", [0, 9, 25])
def test_the_outlook_is_the_verdict_that_the_finished_test_will_bring(
    garden: Garden, normal: int, rest: str
) -> None:
    test = start(garden, _rare_lot(garden))
    count(garden, test.id, FIRST_DAY, {"replicate": 1, "normal": normal})
    seen = ahead(garden, test.id, day=SECOND_DAY).outlook
    assert seen is not None
    left = [{"replicate": 1, rest: 25 - normal}, {"replicate": 2, rest: 25}]
    save(garden, test.id, *left, day=SECOND_DAY, finish=True)
    verdict = show_verdict(garden.session, test.lot, today=garden.today).verdict
    assert verdict is (seen.if_all if rest == "normal" else seen.if_none)


def test_the_outlook_is_open_at_first_and_settled_once_every_seed_is_judged(
    garden: Garden,
) -> None:
    test = start(garden, _rare_lot(garden))
    before = ahead(garden, test.id).outlook
    assert before is not None
    assert not before.settled
    assert before.if_none is not before.if_all
    judged = ({"replicate": 1, "normal": 25}, {"replicate": 2, "normal": 25})
    after = ahead(garden, test.id, *judged).outlook
    assert after is not None
    assert after.settled
    assert after.if_none is after.if_all is before.if_all


def _rare_lot(garden: Garden) -> str:
    variety = garden.variety(other_keepers="none", reserve_seeds=20, plants_wanted=20)
    garden.lot(30, variety_id=variety, origin="self-saved", harvest_year=2015)
    return garden.lot(600, variety_id=variety, origin="self-saved", harvest_year=2025).code


def test_a_lot_wholly_spent_on_its_test_has_no_outlook(garden: Garden) -> None:
    test = start(garden, garden.lot(50).code)
    assert ahead(garden, test.id, {"replicate": 1, "normal": 3}).outlook is None
    finish(garden, test.id, rest_dead=True)
