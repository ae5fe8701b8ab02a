"""What of the collection crosses with what."""

import pytest

from seedbank.common.errors import NotThere
from seedbank.saving.check_crossing import list_crossing_groups, show_alongside
from tests.use_cases.conftest import Garden


def kept(garden: Garden, kind: str, **more: object) -> int:
    number = garden.variety(kind, **more)
    garden.lot(100, kind=kind, variety_id=number)
    return number


def test_beet_and_chard_cross_and_a_pea_can_be_saved_beside_them(garden: Garden) -> None:
    beet, chard, pea = kept(garden, "beet"), kept(garden, "chard"), kept(garden, "pea")
    answer = show_alongside(garden.session, beet)
    assert [one.id for one in answer.crosses] == [chard]
    assert (answer.partly, answer.others) == ([], 1)
    assert answer.isolation_strict_m is not None
    assert show_alongside(garden.session, pea).crosses == []
    [group] = list_crossing_groups(garden.session)
    assert {one.id for one in group.varieties} == {beet, chard}
    assert group.kinds == ["beet", "chard"]


def test_hybrids_are_no_part_of_what_is_to_be_saved_true_yet_their_pollen_counts(
    garden: Garden,
) -> None:
    beet, hybrid = kept(garden, "beet"), kept(garden, "beet", breeding="f1")
    assert list_crossing_groups(garden.session) == []
    assert [one.id for one in show_alongside(garden.session, beet).crosses] == [hybrid]


def test_a_variety_without_lots_has_an_answer_and_one_that_is_not_there_has_none(
    garden: Garden,
) -> None:
    beet = kept(garden, "beet")
    empty = garden.variety("chard")
    assert [one.id for one in show_alongside(garden.session, empty).crosses] == [beet]
    with pytest.raises(NotThere):
        show_alongside(garden.session, 9999)
