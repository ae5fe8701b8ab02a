"""Germination tests: run day by day, or recorded whole."""

from datetime import date
from typing import Any

import pytest

from seedbank.common.errors import (
    AlreadyCounted,
    BadValue,
    Doubted,
    NotEnoughSeed,
    NotThere,
    Refused,
    SeedsUnjudged,
    StaleVersion,
    TestFinished,
    TooManyCounted,
)
from seedbank.database.queries import Paging
from seedbank.facts.kinds import kind_facts
from seedbank.germination.answers import TestAnswer
from seedbank.germination.forms import (
    CountsCorrect,
    CountsCreate,
    TestChange,
    TestFinish,
    TestRecord,
    TestStart,
)
from seedbank.germination.run_tests import (
    change_test,
    correct_counts,
    finish_test,
    record_counts,
    record_test,
    start_test,
)
from seedbank.germination.show_tests import list_tests, show_test
from seedbank.germination.tables import TestFilter
from seedbank.science.germination.proportion import proportion_interval
from seedbank.sowing.record_sowing import delete_test
from tests.use_cases.conftest import Garden


def start(garden: Garden, code: str, **more: Any) -> TestAnswer:
    body = {"lot": code, "started_on": "2027-02-01", "replicates": [25, 25], **more}
    return start_test(garden.session, TestStart.model_validate(body), **garden.when)


def count(garden: Garden, number: int, day: str, *rows: dict[str, int]) -> TestAnswer:
    form = CountsCreate.model_validate({"on_date": day, "counts": rows})
    return record_counts(garden.session, number, form, **garden.when)


def finish(garden: Garden, number: int, **more: Any) -> TestAnswer:
    form = TestFinish.model_validate({"finished_on": "2027-02-15", **more})
    return finish_test(garden.session, number, form, **garden.when)


def record(garden: Garden, code: str, *replicates: dict[str, int], **more: Any) -> TestAnswer:
    body = {
        "lot": code,
        "started_on": "2027-02-01",
        "finished_on": "2027-02-15",
        "replicates": replicates,
        **more,
    }
    return record_test(garden.session, TestRecord.model_validate(body), **garden.when)


def test_starting_a_test_takes_its_seed_and_proposes_the_published_days(garden: Garden) -> None:
    lot = garden.lot(250)
    test = start(garden, lot.code)
    assert garden.balance(lot.code) == 200
    # 7 CFR 201.58 table 2: carrot, first count 6 days, final count 14 days
    assert (test.first_count_due, test.final_count_due) == (date(2027, 2, 7), date(2027, 2, 15))
    assert any("201.58" in source.text for source in test.sources)
    assert test.evaluation is None
    assert test.interim is not None
    assert test.interim.unjudged == 50


def test_the_gardeners_own_due_days_go_before_the_published_ones(garden: Garden) -> None:
    test = start(garden, garden.lot().code, first_count_due="2027-02-05")
    assert test.first_count_due == date(2027, 2, 5)
    with pytest.raises(Refused):
        start(garden, garden.lot().code, final_count_due="2027-01-05")


def test_a_test_of_more_seed_than_there_is_is_refused_and_changes_nothing(
    garden: Garden,
) -> None:
    lot = garden.lot(49)
    before = garden.dump()
    with pytest.raises(NotEnoughSeed) as refused:
        start(garden, lot.code)
    assert refused.value.field == "replicates"
    with pytest.raises(NotEnoughSeed):
        record(garden, lot.code, {"seeds_set": 50, "normal": 40})
    assert garden.dump() == before


def test_a_test_run_day_by_day_says_in_the_end_what_it_means(garden: Garden) -> None:
    test = start(garden, garden.lot().code)
    count(
        garden,
        test.id,
        "2027-02-07",
        {"replicate": 1, "normal": 12},
        {"replicate": 2, "normal": 10},
    )
    halfway = count(
        garden,
        test.id,
        "2027-02-15",
        {"replicate": 1, "normal": 8, "abnormal": 1, "dead": 4},
        {"replicate": 2, "normal": 9, "fresh": 3, "dead": 3},
    )
    assert halfway.interim is not None
    assert halfway.interim.unjudged == 0
    done = finish(garden, test.id)
    assert done.finished_on == date(2027, 2, 15)
    assert done.interim is None
    said = done.evaluation
    assert said is not None
    wanted = proportion_interval(39, 50, 0.90)
    assert said.germination.pct == 78.0
    assert said.germination.low_pct == pytest.approx(100 * wanted.low, abs=0.01)
    assert said.germination.high_pct == pytest.approx(100 * wanted.high, abs=0.01)
    assert said.viability.pct == 84.0
    assert said.agreement.agree
    # 22 seedlings on day 6 and 17 on day 14: (22 * 6 + 17 * 14) / 39
    assert said.timing is not None
    assert said.timing.mean_days == pytest.approx(370 / 39, abs=0.01)


def test_a_count_is_refused_twice_on_a_day_over_the_seeds_set_or_once_finished(
    garden: Garden,
) -> None:
    test = start(garden, garden.lot().code)
    count(garden, test.id, "2027-02-07", {"replicate": 1, "normal": 12})
    before = garden.dump()
    with pytest.raises(AlreadyCounted):
        count(garden, test.id, "2027-02-07", {"replicate": 1, "normal": 1})
    with pytest.raises(TooManyCounted):
        count(garden, test.id, "2027-02-08", {"replicate": 1, "normal": 14})
    with pytest.raises(Refused) as missing:
        count(
            garden, test.id, "2027-02-08", {"replicate": 2, "dead": 1}, {"replicate": 3, "dead": 1}
        )
    assert missing.value.field == "counts[1].replicate"
    with pytest.raises(Refused):
        count(garden, test.id, "2027-03-02", {"replicate": 1, "normal": 1})
    assert garden.dump() == before
    finish(garden, test.id, rest_dead=True)
    with pytest.raises(TestFinished):
        count(garden, test.id, "2027-02-15", {"replicate": 2, "normal": 1})


def test_a_corrected_count_stands_and_the_first_is_kept_with_the_reason(garden: Garden) -> None:
    test = start(garden, garden.lot().code)
    count(garden, test.id, "2027-02-07", {"replicate": 1, "normal": 12})
    form = CountsCorrect.model_validate(
        {
            "on_date": "2027-02-07",
            "counts": [{"replicate": 1, "normal": 11, "abnormal": 1}],
            "why": "took a stub for a seedling",
        }
    )
    corrected = correct_counts(garden.session, test.id, form, now=garden.now)
    assert [(one.revision, one.current, one.normal) for one in corrected.counts] == [
        (1, False, 12),
        (2, True, 11),
    ]
    assert corrected.counts[1].why_corrected == "took a stub for a seedling"
    assert corrected.replicates[0].normal == 11


def test_a_test_with_seed_nobody_judged_is_not_finished_unless_the_rest_is_dead(
    garden: Garden,
) -> None:
    test = start(garden, garden.lot().code)
    count(
        garden,
        test.id,
        "2027-02-15",
        {"replicate": 1, "normal": 20},
        {"replicate": 2, "normal": 25},
    )
    before = garden.dump()
    with pytest.raises(SeedsUnjudged):
        finish(garden, test.id)
    assert garden.dump() == before
    done = finish(garden, test.id, rest_dead=True)
    assert [one.dead for one in done.replicates] == [5, 0]
    assert "5 seeds" in done.notes
    assert len(done.counts) == 3  # the day's count of replicate 1 is kept beside its correction


def test_a_whole_test_recorded_in_one_call_says_what_it_means(garden: Garden) -> None:
    lot = garden.lot(250, treated=True)
    test = record(
        garden,
        lot.code,
        {"seeds_set": 25, "normal": 14, "abnormal": 1, "fresh": 2, "dead": 8},
        {"seeds_set": 25, "normal": 13, "abnormal": 0, "fresh": 0, "dead": 12},
    )
    assert garden.balance(lot.code) == 200
    said = test.evaluation
    assert said is not None
    assert said.germination.pct == 54.0
    assert said.germination.low_pct < 54.0 < said.germination.high_pct
    assert said.viability.pct == 58.0
    # 2002/55/EC Annex II: carrot 65 %
    assert said.minimum is not None
    assert (said.minimum.minimum_pct, said.minimum.reached) == (65.0, False)
    assert 0.0 < said.minimum.probability_at_least < 0.2
    assert {finding.code for finding in said.findings} >= {"fresh-seed", "looks-dead"}
    warned = " ".join(caution.text for caution in test.cautions)
    assert "do not eat germination-test seedlings" in warned
    assert "mould" in warned
    assert "must not be used for food" in test.cautions[0].text
    assert all(source.text and source.confidence for source in test.sources)
    assert show_test(garden.session, test.id) == test


def test_replicates_that_disagree_widen_the_interval_and_are_said_to(garden: Garden) -> None:
    uneven = record(
        garden,
        garden.lot().code,
        {"seeds_set": 50, "normal": 45},
        {"seeds_set": 50, "normal": 20},
    )
    said = uneven.evaluation
    assert said is not None
    assert not said.agreement.agree
    assert said.agreement.intraclass_correlation > 0.1
    alike = proportion_interval(65, 100, 0.90)
    assert said.germination.low_pct < 100 * alike.low - 5
    assert any("replicates differ" in remark.text for remark in said.remarks)


def test_four_replicates_of_a_hundred_are_judged_by_the_published_table(garden: Garden) -> None:
    test = record(
        garden, garden.lot(500).code, *({"seeds_set": 100, "normal": n} for n in (88, 90, 92, 90))
    )
    assert test.evaluation is not None
    assert test.evaluation.agreement.rule == "published tolerance"
    # 7 CFR 201.55 (2015 edition): average 90, four replicates, range 12
    assert test.evaluation.agreement.tolerated_points == 12.0
    assert any("201.55" in source.text for source in test.sources)


def test_hard_seed_of_peas_counts_towards_their_minimum(garden: Garden) -> None:
    lot = garden.lot(kind="pea")
    test = record(garden, lot.code, {"seeds_set": 50, "normal": 38, "hard": 6, "dead": 6})
    assert test.evaluation is not None
    minimum = test.evaluation.minimum
    assert minimum is not None
    assert (minimum.hard_counted, minimum.counted_pct) == (True, 88.0)
    assert minimum.minimum_pct == 80.0  # 2002/55/EC Annex II: pea 80 %
    assert test.evaluation.findings[0].code == "hard-seed"


def test_lettuce_in_the_dark_and_too_warm_is_told_so(garden: Garden) -> None:
    test = record(
        garden,
        garden.lot(kind="lettuce").code,
        {"seeds_set": 50, "normal": 20, "fresh": 25, "dead": 5},
        temp_c=28.0,
        in_light=False,
    )
    assert test.evaluation is not None
    found = {finding.code: finding for finding in test.evaluation.findings}
    assert {"fresh-seed", "too-warm", "light-needed", "looks-dormant"} <= set(found)
    assert "10 °C" in found["fresh-seed"].remedy.text  # 7 CFR 201.58: lettuce, prechill 10 C 3 d


def test_dead_seed_left_out_is_the_rest_and_said_so(garden: Garden) -> None:
    test = record(garden, garden.lot().code, {"seeds_set": 20, "normal": 17})
    assert test.replicates[0].dead == 3
    assert "3 seeds" in test.notes


def test_counts_that_do_not_add_up_are_refused_before_anything_happens() -> None:
    for bad in (
        {"seeds_set": 20, "normal": 21},
        {"seeds_set": 20, "normal": 15, "dead": 4},
        {"seeds_set": 20, "normal": 15, "hard": 3, "fresh": 3},
    ):
        with pytest.raises(ValueError, match="must add up"):
            TestRecord.model_validate(
                {
                    "lot": "4K7PM",
                    "started_on": "2027-02-01",
                    "finished_on": "2027-02-15",
                    "replicates": [bad],
                }
            )


def test_a_test_that_ends_before_it_starts_is_refused(garden: Garden) -> None:
    lot = garden.lot()
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        record(garden, lot.code, {"seeds_set": 20, "normal": 2}, finished_on="2027-01-31")
    assert refused.value.field == "finished_on"
    assert garden.dump() == before


def test_a_kind_of_unknown_method_and_minimum_still_gets_an_answer(garden: Garden) -> None:
    slug = next(
        slug
        for slug in ("nasturtium", "calendula", "sweet-pea", "foxglove")
        if kind_facts(slug).minimum_germination_pct is None
    )
    test = record(garden, garden.lot(kind=slug).code, {"seeds_set": 20, "normal": 15})
    assert test.evaluation is not None
    assert test.evaluation.minimum is None


def test_a_test_taken_back_returns_its_seed(garden: Garden) -> None:
    lot = garden.lot(250)
    test = record(garden, lot.code, {"seeds_set": 20, "normal": 17})
    delete_test(garden.session, test.id, expected={1}, **garden.when)
    assert garden.balance(lot.code) == 250
    with pytest.raises(NotThere):
        show_test(garden.session, test.id)


def test_the_description_of_a_test_changes_but_not_its_counts(garden: Garden) -> None:
    test = record(garden, garden.lot().code, {"seeds_set": 20, "normal": 17})
    form = TestChange.model_validate({"substratum": "sand", "temp_c": 18.0})
    changed = change_test(garden.session, test.id, form, expected={1})
    assert (changed.substratum, changed.temp_c, changed.version) == ("sand", 18.0, 2)
    assert changed.counts == test.counts
    wrong = TestChange.model_validate({"final_count_due": "2027-01-01"})
    with pytest.raises(Refused):
        change_test(garden.session, test.id, wrong, expected=None)


def test_tests_are_listed_by_lot_and_by_what_is_due(garden: Garden) -> None:
    lot = garden.lot()
    open_one = start(garden, lot.code)
    record(garden, garden.lot().code, {"seeds_set": 20, "normal": 17})
    of_lot = list_tests(garden.session, TestFilter(lot=lot.code), Paging(9))
    due = list_tests(garden.session, TestFilter(due_by=garden.today), Paging(9))
    assert [test.id for test in of_lot.items] == [open_one.id] == [test.id for test in due.items]


def test_a_test_begun_before_the_harvest_is_refused_unless_that_is_a_guess(garden: Garden) -> None:
    known = garden.lot(harvest_date="2027-02-10", acquired_on="2027-02-11")
    guessed = garden.lot(harvest_year=2027, harvest_estimated=True)
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        record(garden, known.code, {"seeds_set": 20, "normal": 15})
    assert (refused.value.field, refused.value.value) == ("started_on", "2027-02-01")
    with pytest.raises(Refused):
        start(garden, known.code, started_on="2026-12-31")
    assert garden.dump() == before
    with pytest.raises(Doubted):
        start(garden, guessed.code, started_on="2026-12-31")
    assert garden.dump() == before
    early = start(garden, guessed.code, started_on="2026-12-31", confirmed=True)
    assert early.started_on == date(2026, 12, 31)


def test_a_test_ended_before_its_last_day_says_what_it_may_have_missed(garden: Garden) -> None:
    code = garden.lot(kind="parsnip").code  # 28 days: 7 CFR 201.58 table 2
    poor, full = {"seeds_set": 20, "normal": 9}, {"seeds_set": 20, "normal": 20}
    early = record(garden, code, poor).evaluation
    assert early is not None
    assert "14 days before the last count" in early.remarks[-1].text
    sprouted = record(garden, code, full).evaluation
    in_time = record(garden, code, poor, started_on="2027-01-18").evaluation
    assert sprouted is not None
    assert in_time is not None
    assert not any("before the last count" in r.text for r in sprouted.remarks + in_time.remarks)


def test_days_that_fit_no_count_are_told_as_days(garden: Garden) -> None:
    number = start(garden, garden.lot().code).id
    with pytest.raises(BadValue, match="on_date can't be 2027-01-31") as early:
        count(garden, number, "2027-01-31", {"replicate": 1, "normal": 3})
    assert early.value.field == "on_date"
    count(garden, number, "2027-02-08", {"replicate": 1, "normal": 3})
    form = CountsCorrect.model_validate(
        {
            "on_date": "2027-02-09",
            "counts": [{"replicate": 1, "normal": 2}],
            "why": "counted one twice",
        }
    )
    with pytest.raises(Refused, match="Replicate 1 was not counted on 2027-02-09") as uncounted:
        correct_counts(garden.session, number, form, now=garden.now)
    assert uncounted.value.field == "on_date"


def test_counts_made_since_a_test_was_read_are_not_taken_back_unseen(garden: Garden) -> None:
    read = start(garden, garden.lot().code)
    counted = count(garden, read.id, "2027-02-08", {"replicate": 1, "normal": 3})
    before = garden.dump()
    with pytest.raises(StaleVersion):
        delete_test(garden.session, read.id, expected=[read.version], **garden.when)
    assert garden.dump() == before
    delete_test(garden.session, read.id, expected=[counted.version], **garden.when)
