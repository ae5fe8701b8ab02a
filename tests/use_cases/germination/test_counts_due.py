"""Which count of a test comes next, and how late it is."""

from datetime import timedelta

from seedbank.germination.answers import CountDueAnswer, CountIs
from seedbank.germination.forms import CountsCreate, TestStart
from seedbank.germination.run_tests import record_counts, start_test
from seedbank.germination.show_tests import counts_due
from tests.use_cases.conftest import Garden


def begun(garden: Garden, *, days_ago: int, kind: str = "carrot") -> int:
    lot = garden.lot(200, kind=kind)
    form = TestStart.model_validate(
        {
            "lot": lot.code,
            "started_on": (garden.today - timedelta(days=days_ago)).isoformat(),
            "substratum": "paper-towel",
            "replicates": [10, 10],
        }
    )
    return start_test(garden.session, form, **garden.when).id


def counted(garden: Garden, test: int, days_ago: int, normal: int) -> None:
    day = (garden.today - timedelta(days=days_ago)).isoformat()
    rows = [{"replicate": one, "normal": normal} for one in (1, 2)]
    form = CountsCreate.model_validate({"on_date": day, "counts": rows})
    record_counts(garden.session, test, form, **garden.when)


def only(garden: Garden) -> CountDueAnswer:
    [one] = counts_due(garden.session, today=garden.today)
    return one


def test_a_test_just_begun_waits_for_its_first_count(garden: Garden) -> None:
    begun(garden, days_ago=0)
    one = only(garden)
    assert one.count is CountIs.FIRST
    assert one.due is not None
    assert one.due > garden.today
    assert one.text == "Its first count is due in 6 days."


def test_a_count_before_the_day_of_the_first_leaves_the_first_still_to_make(
    garden: Garden,
) -> None:
    number = begun(garden, days_ago=3)  # a carrot's first count: 7 CFR 201.58 table 2, 6 days
    counted(garden, number, 1, 2)
    assert only(garden).count is CountIs.FIRST


def test_after_the_first_count_the_final_one_is_due(garden: Garden) -> None:
    number = begun(garden, days_ago=40)
    assert only(garden).count is CountIs.FINAL
    counted(garden, number, 30, 4)
    one = only(garden)
    assert (one.count, one.unjudged, one.seeds) == (CountIs.FINAL, 12, 20)
    assert one.days_late > 0
    assert one.text.startswith("Its final count was due ")


def test_a_test_whose_seeds_are_all_judged_is_to_be_finished(garden: Garden) -> None:
    number = begun(garden, days_ago=6)
    counted(garden, number, 0, 10)
    assert only(garden).count is CountIs.FINISH


def test_a_kind_with_one_set_count_only_waits_for_that(garden: Garden) -> None:
    begun(garden, days_ago=0, kind="lettuce")  # 7 CFR 201.58 table 2: 7 days, no first count
    one = only(garden)
    assert (one.count, one.text) == (CountIs.FINAL, "Its final count is due in 7 days.")


def test_a_kind_without_set_days_is_listed_last_and_never_late(garden: Garden) -> None:
    begun(garden, days_ago=30, kind="orache")
    late = begun(garden, days_ago=20)
    found = counts_due(garden.session, today=garden.today)
    assert found[0].test == late
    assert (found[1].count, found[1].due, found[1].days_late) == (CountIs.ANY, None, 0)
