"""The season's lists hold what the verdicts, the plan and the supplies ask for, with reasons."""

from sqlmodel import Session

from seedbank.database.queries import Paging
from seedbank.lots.show_lots import show_lot
from seedbank.plan.plan_supply import work_out_supplies
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import Listed, SeasonListAnswer
from seedbank.season.season_lists import season_list
from seedbank.verdicts.list_verdicts import VerdictFilter, list_verdicts
from tests.use_cases.conftest import DEMO_TODAY, Garden


def listed(session: Session, which: Listed) -> SeasonListAnswer:
    return season_list(session, which, today=DEMO_TODAY)


def codes(session: Session, verdict: Verdict) -> set[str]:
    wanted = VerdictFilter(verdict=verdict)
    page = list_verdicts(session, wanted, Paging(10_000), today=DEMO_TODAY)
    return {one.lot for one in page.items}


def told(answer: SeasonListAnswer) -> set[str]:
    return {code for one in answer.items for code in one.lots}


def test_lots_to_test_are_those_with_that_verdict_and_say_where_they_are(
    demo_stock: Session,
) -> None:
    answer = listed(demo_stock, Listed.TEST)
    assert told(answer) == codes(demo_stock, Verdict.TOWEL_FIRST)
    for one in answer.items:
        place = show_lot(demo_stock, one.lots[0], today=DEMO_TODAY).place
        assert one.place == (place.name if place else "")


def test_last_chances_come_before_fresh_seed_to_get(demo_stock: Session) -> None:
    answer = listed(demo_stock, Listed.LAST_CHANCE)
    assert told(answer) >= codes(demo_stock, Verdict.GET_FRESH)
    replaces = [one.what.text.startswith("Replace") for one in answer.items]
    assert replaces == sorted(replaces)
    assert replaces.count(True) == len(codes(demo_stock, Verdict.GET_FRESH))
    assert 0 < replaces.count(False) <= len(codes(demo_stock, Verdict.LAST_CHANCE))


def test_no_variety_is_both_to_save_and_on_its_last_chance(demo_stock: Session) -> None:
    save, last = listed(demo_stock, Listed.SAVE), listed(demo_stock, Listed.LAST_CHANCE)
    assert save.items
    assert not {one.name for one in save.items} & {one.name for one in last.items}


def test_what_to_sow_and_to_get_is_what_the_supplies_say(demo_stock: Session) -> None:
    sow, buy = listed(demo_stock, Listed.SOW), listed(demo_stock, Listed.BUY)
    supplies = work_out_supplies(demo_stock, today=DEMO_TODAY)
    assert len(buy.items) == len(supplies.orders)
    for one in supplies.sow:
        wanted = {"seeds": one.seeds, "plants": one.plants_wanted, "lots": len(one.lots)}
        assert any(
            item.name == f"{one.variety.name} ({one.variety.kind})" and item.what.numbers == wanted
            for item in sow.items
        )


def test_every_line_of_every_list_has_its_reason(demo_stock: Session) -> None:
    for which in Listed:
        for one in listed(demo_stock, which).items:
            assert one.reasons, (which, one)
            assert all(reason.text.strip() for reason in one.reasons)


def test_an_empty_collection_has_empty_lists(garden: Garden) -> None:
    for which in (Listed.TEST, Listed.SAVE, Listed.LAST_CHANCE):
        answer = season_list(garden.session, which, today=garden.today)
        assert (answer.items, answer.remarks) == ([], [])
