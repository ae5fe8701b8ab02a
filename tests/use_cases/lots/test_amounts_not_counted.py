"""A lot of which only is known that some is there: usable, and nowhere taken for empty."""

import io
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from seedbank.common.errors import Conflict, NotEnoughSeed
from seedbank.database.queries import Paging
from seedbank.germination.forms import TestStart
from seedbank.germination.run_tests import start_test
from seedbank.interchange.folder.guard import ArchiveRefused
from seedbank.interchange.folder.import_archive import import_archive
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.interchange.passport.forms import Passport, PassportArrival
from seedbank.interchange.passport.take_in_passport import take_in_passport
from seedbank.interchange.passport.write_passport import write_passport
from seedbank.interchange.spreadsheet.answers import Spreadsheet, SpreadsheetConfirmed
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.kinds.edit_kinds import add_kind, state_fact
from seedbank.kinds.forms import FactStated, KindCreate
from seedbank.kinds.tables import FactName
from seedbank.labels.label_facts import LabelsWanted, list_label_lots
from seedbank.lots.answers import LotAnswer
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import (
    Amount,
    LotChange,
    LotCreate,
    MovementCreate,
    PlaceCreate,
    StayCreate,
    StockTakeCreate,
)
from seedbank.lots.move_seed import (
    foresee_taking,
    list_movements,
    record_movement,
    record_stock_take,
    undo_movement,
)
from seedbank.lots.show_lots import list_lots, show_lot
from seedbank.lots.tables.entry_doubts import number_of_doubts
from seedbank.lots.tables.lot_search import LotFilter
from seedbank.lots.take_in_lots import change_lot, delete_lot, move_lot_to, take_in_lot
from seedbank.overview.show_variety import show_variety_at_hand
from seedbank.plan.plan_supply import plan_supplies
from seedbank.saving.show_lines import show_seed_parents
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import Do
from seedbank.season.to_do import to_do
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.advise_variety import advise_variety
from seedbank.sowing.forms import SowingAsk, SowingCreate
from seedbank.sowing.record_sowing import record_sowing
from seedbank.upkeep.checks.rows import check_ledger
from seedbank.verdicts.advise_testing import advise_testing
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.viability.forecast_viability import MOST_ADVISED, forecast
from seedbank.viability.lot_ages import UNKNOWN_YEARS, lot_ages
from seedbank.viability.tables.stock_columns import day_number, read_collection
from tests.use_cases.conftest import Garden
from tests.use_cases.interchange.archives import archive_of, changed, every_row, without
from tests.use_cases.interchange.test_import_archive import empty


@pytest.fixture
def some(garden: Garden) -> Iterator[LotAnswer]:
    """Carrot seed bought last year, never counted; the ledger holds afterwards."""
    variety = garden.variety(plants_wanted=20, reserve_seeds=100)
    yield garden.lot(None, variety_id=variety, harvest_year=2025, acquired_on="2026-02-01")
    assert all(not proof.faults for proof in check_ledger(garden.session.connection()))


def shown(garden: Garden, lot: LotAnswer) -> LotAnswer:
    return show_lot(garden.session, lot.code, today=garden.today)


def take(garden: Garden, lot: LotAnswer, seeds: int, reason: str = "given") -> Any:
    form = MovementCreate.model_validate({"reason": reason, "amount": {"seeds": seeds}})
    return record_movement(garden.session, lot.code, form, **garden.when)


def count(garden: Garden, lot: LotAnswer, seeds: int) -> Any:
    return record_stock_take(garden.session, lot.code, StockTakeCreate(seeds=seeds), **garden.when)


def test_it_holds_some_and_nobody_says_none(garden: Garden, some: LotAnswer) -> None:
    assert (some.amount.seeds, some.amount.grams, some.amount.text) == (
        None, None, "some, not counted",
    )  # fmt: skip
    [opening] = list_movements(garden.session, some.code, None, Paging(9)).items
    assert (opening.seeds, opening.balance_seeds, opening.reason) == (None, None, "acquired")
    few = LotFilter(low_stock=50)
    assert list_lots(garden.session, few, Paging(9), today=garden.today).items == []
    assert garden.lot(0).amount.text == "none left"


def test_seed_is_taken_from_it_in_every_way_and_some_is_left(
    garden: Garden, some: LotAnswer
) -> None:
    given = take(garden, some, 500)
    assert (given.seeds, given.balance_seeds, given.warnings) == (-500, None, [])
    sown = SowingCreate.model_validate(
        {"lot": some.code, "sown_on": garden.today, "method": "row", "seeds_sown": 200, "row_m": 2}
    )
    record_sowing(garden.session, sown, **garden.when)
    test = TestStart.model_validate(
        {"lot": some.code, "started_on": garden.today, "replicates": [25, 25]}
    )
    start_test(garden.session, test, **garden.when)
    take(garden, some, 10, "discarded")
    change_lot(garden.session, some.code, LotChange(notes="x"), expected=None, today=garden.today)
    assert shown(garden, some).amount.seeds is None
    moved = list_movements(garden.session, some.code, None, Paging(9)).items
    assert [one.seeds for one in moved] == [None, -500, -200, -50, -10]
    assert [one.balance_seeds for one in moved] == [None] * 5
    with pytest.raises(Conflict):
        delete_lot(garden.session, some.code, expected=None)


def test_what_would_be_left_of_it_is_some(garden: Garden, some: LotAnswer) -> None:
    seen = foresee_taking(garden.session, some.code, Amount(seeds=30))
    assert (seen.seeds, seen.left_seeds, seen.left_grams, seen.warnings) == (30, None, None, [])


def test_a_stock_take_makes_it_known_from_then_on(garden: Garden, some: LotAnswer) -> None:
    take(garden, some, 30)
    counted = count(garden, some, 200)
    assert (counted.seeds, counted.balance_seeds) == (230, 200)
    assert shown(garden, some).amount.seeds == 200
    with pytest.raises(NotEnoughSeed):
        take(garden, some, 201)
    assert take(garden, some, 150).balance_seeds == 50
    assert "under the reserve of 100" in take(garden, some, 1).warnings[0].text
    assert count(garden, some, 0).balance_seeds == 0


def test_undoing_the_count_leaves_some_again_and_undoing_all_leaves_none(
    garden: Garden, some: LotAnswer
) -> None:
    take(garden, some, 30)
    count(garden, some, 200)
    undone = undo_movement(garden.session, some.code, 3, **garden.when)
    assert (undone.seeds, undone.balance_seeds, undone.undoes) == (-230, None, 3)
    with pytest.raises(NotEnoughSeed):  # the thirty given are still to come from somewhere
        undo_movement(garden.session, some.code, 1, **garden.when)
    assert undo_movement(garden.session, some.code, 2, **garden.when).balance_seeds is None
    gone = undo_movement(garden.session, some.code, 1, **garden.when)
    assert (gone.seeds, gone.balance_seeds) == (None, 0)
    assert shown(garden, some).amount.text == "none left"


def test_seed_given_to_another_lot_is_a_known_number_there(garden: Garden, some: LotAnswer) -> None:
    take(garden, some, 40)
    part = garden.lot(40, variety_id=some.variety.id, parents=[some.code])
    assert (part.amount.seeds, shown(garden, some).amount.seeds) == (40, None)


def test_known_seed_put_to_it_leaves_some(garden: Garden, some: LotAnswer) -> None:
    assert take(garden, some, 100, "acquired").balance_seeds is None


def test_sowing_advice_tells_the_number_and_claims_no_shortage(
    garden: Garden, some: LotAnswer
) -> None:
    counted = garden.lot(5000, harvest_year=2025, acquired_on="2026-02-01")
    ask = SowingAsk.model_validate({"plants": 20, "method": "row"})
    one = advise_lot(garden.session, some.code, ask, today=garden.today)
    other = advise_lot(garden.session, counted.code, ask, today=garden.today)
    assert (one.enough, one.enough_if_there) == (False, True)
    assert one.seeds == pytest.approx(other.seeds, rel=0.03)  # of 5000 each is a little dearer
    assert one.seeds_available is None
    assert any("some of it, not counted" in said.text for said in one.warnings)
    plan = advise_variety(garden.session, some.variety.id, ask, today=garden.today)
    assert (plan.enough_if_there, plan.seeds, plan.lots[0].held) == (True, one.seeds, None)
    assert plan.chance_of_enough == one.chance_of_enough


def test_the_verdict_judges_a_packet_of_it_and_says_so(garden: Garden, some: LotAnswer) -> None:
    verdict = show_verdict(garden.session, some.code, today=garden.today)
    assert (verdict.verdict is not None, verdict.balance_seeds) == (True, None)
    assert verdict.in_rows is not None
    assert verdict.in_rows.rows is None
    assert verdict.probability_parents_now > 0.5
    told = {reason.code: reason for reason in verdict.reasons}
    assert "likely 250 seeds" in told["not-counted"].text
    assert not {"none-left", "short-of-parents", "rows", "row-short"} & set(told)


def test_of_dead_seed_not_counted_no_number_is_told(garden: Garden) -> None:
    variety = garden.variety("parsnip", other_keepers="many")
    old = garden.lot(None, variety_id=variety, harvest_year=1950, acquired_on="1951-01-01")
    verdict = show_verdict(garden.session, old.code, today=garden.today)
    assert verdict.verdict in (Verdict.GET_FRESH, Verdict.CAN_GO)
    for reason in verdict.reasons:
        assert "None left" not in reason.text
        assert " inf" not in reason.text
        assert all(abs(number) < 1e6 for number in reason.numbers.values())


def test_other_answers_take_it_for_some(garden: Garden, some: LotAnswer) -> None:
    session, today = garden.session, garden.today
    assert advise_testing(session, some.code, today=today).seeds_spare is None
    parents = show_seed_parents(session, some.code, purpose=Purpose.HOME, today=today)
    assert (parents.seeds_held, parents.enough) == (None, True)
    assert parents.seeds < MOST_ADVISED
    [label] = list_label_lots(session, LabelsWanted(codes=(some.code,)), today=today)
    assert label.seeds is None
    at_hand = show_variety_at_hand(session, some.variety.id, today=today)
    assert (at_hand.held, at_hand.lots_not_counted, at_hand.running_out) == (0, 1, None)
    assert all(group.do is not Do.RUNNING_OUT for group in to_do(session, today=today).groups)
    supplies = plan_supplies(session, today=today)
    assert [one.variety.id for one in supplies.sow] == [some.variety.id]
    assert (supplies.orders, supplies.spare) == ([], [])


def test_it_can_be_put_away_and_found_by_its_label(garden: Garden, some: LotAnswer) -> None:
    place = add_place(garden.session, PlaceCreate(name="Shed")).id
    form = StayCreate.model_validate({"place_id": place, "from_date": date(2026, 3, 1)})
    move_lot_to(garden.session, some.code, form, today=garden.today)
    assert shown(garden, some).place is not None
    found = list_label_lots(garden.session, LabelsWanted(place_id=place), today=garden.today)
    assert [one.lot for one in found] == [some.code]


def test_the_day_it_came_may_be_unknown(garden: Garden) -> None:
    lot = garden.lot(None, acquired_on=None)
    assert lot.acquired_on is None
    left_out = LotCreate.model_validate({"variety_id": lot.variety.id, "origin": "bought"})
    today = take_in_lot(garden.session, left_out, **garden.when)
    assert (today.acquired_on, today.amount.seeds) == (garden.today, None)


# -- lists, folders, archives, passports ---------------------------------------------------------

_LIST = """Crop;Variety;How many;Year;Bought
carrot;Purple Lantern;full;;
carrot;Old Lantern;packet;sow by 2019;
carrot;Green Lantern;;2024;
carrot;Gone Lantern;none;2024;2024-10-01
"""


def of_a_list(garden: Garden, text: str = _LIST) -> dict[str, LotAnswer]:
    """Lots by variety, made of somebody's own list."""
    form: dict[str, Any] = {"text": text}
    shown = preview_spreadsheet(garden.session, Spreadsheet(**form), today=garden.today)
    confirmed = SpreadsheetConfirmed(digest=shown.digest, **form)
    taken = take_in_spreadsheet(garden.session, confirmed, **garden.when)
    lots = [show_lot(garden.session, one.code, today=garden.today) for one in taken.lots]
    return {lot.variety.name: lot for lot in lots}


def test_words_nobody_can_count_come_in_as_some(garden: Garden) -> None:
    lots = of_a_list(garden)
    assert {name: lot.amount.seeds for name, lot in lots.items()} == {
        "Purple Lantern": None, "Old Lantern": None, "Green Lantern": None, "Gone Lantern": 0,
    }  # fmt: skip
    assert take(garden, lots["Purple Lantern"], 30).balance_seeds is None
    assert lots["Purple Lantern"].acquired_on is None
    assert lots["Gone Lantern"].acquired_on == date(2024, 10, 1)
    old = lots["Old Lantern"]
    assert (old.harvest_year, old.harvest_estimated) == (2018, True)


def test_seed_of_unknown_age_is_judged_wide_and_not_as_bought_that_day(garden: Garden) -> None:
    unknown = of_a_list(garden)["Purple Lantern"]
    fresh = garden.lot(250, acquired_on=garden.today)
    seen = forecast(garden.session, today=garden.today)
    at = {code: place for place, code in enumerate(seen.collection.code)}
    age = (seen.today - seen.ages.harvest_day[at[unknown.code]]) / 365.25
    assert age == pytest.approx(UNKNOWN_YEARS)
    band = seen.posterior.band(seen.dose_on(seen.today))
    width = band.high_90 - band.low_90
    assert width[at[unknown.code]] > 0.5
    assert width[at[unknown.code]] > 1.5 * width[at[fresh.code]]
    assert band.median[at[unknown.code]] < band.median[at[fresh.code]]


def test_a_gift_of_unknown_harvest_is_no_seed_bought_fresh(garden: Garden) -> None:
    garden.lot(100, origin="gift", acquired_on="2027-01-10")
    ages = lot_ages(read_collection(garden.session), day_number(garden.today))
    came = day_number(date(2027, 1, 10))
    assert came - ages.harvest_day[0] == pytest.approx(UNKNOWN_YEARS * 365.25)


def test_an_archive_carries_what_is_not_known_and_back(garden: Garden, some: LotAnswer) -> None:
    take(garden, some, 30)
    garden.lot(None, acquired_on=None)
    kept = every_row(garden.session)
    archive = archive_of(garden.session)
    empty(garden.session)
    import_archive(garden.session, io.BytesIO(archive), name="a.zip")
    assert every_row(garden.session) == kept
    assert shown(garden, some).amount.seeds is None


def _not_told(movements: bytes) -> bytes:
    return movements.replace(b",77,0.0,77,", b",77,0.0,,")


def test_an_archive_in_which_a_known_amount_is_left_out_is_refused(garden: Garden) -> None:
    garden.lot(77)
    archive = archive_of(garden.session)
    empty(garden.session)
    wrong = changed(archive, "movement.csv", _not_told)
    with pytest.raises(ArchiveRefused, match="don't add up"):
        import_archive(garden.session, io.BytesIO(wrong), name="a.zip")


def test_an_archive_of_an_older_program_is_read_and_asked_about(garden: Garden) -> None:
    garden.lot(0)
    archive = without(archive_of(garden.session), "entry_doubt.csv")
    empty(garden.session)
    import_archive(garden.session, io.BytesIO(archive), name="a.zip")
    assert number_of_doubts(garden.session) == 1


def test_a_passport_may_go_with_seed_nobody_counted(garden: Garden, some: LotAnswer) -> None:
    passport = write_passport(garden.session, some.code, seeds=None, today=garden.today)
    assert passport.given_seeds is None
    again = Passport.model_validate_json(passport.model_dump_json())
    taken = take_in_passport(garden.session, PassportArrival(passport=again), **garden.when)
    assert taken.lot.amount.seeds is None


def test_bought_seed_of_unknown_age_stays_so_with_whom_it_is_given(garden: Garden) -> None:
    lot = garden.lot(50, acquired_on=None)
    passport = write_passport(garden.session, lot.code, seeds=20, today=garden.today)
    taken = take_in_passport(garden.session, PassportArrival(passport=passport), **garden.when)
    ages = lot_ages(read_collection(garden.session), day_number(garden.today))
    assert taken.lot.acquired_on is None
    assert np.ptp(ages.possible.day[-1]) > 2000.0  # days: nobody knows which of many years


def test_a_line_of_movements_without_an_amount_brings_in_some(
    garden: Garden, tmp_path: Path
) -> None:
    (tmp_path / "varieties.csv").write_text("kind,variety\npea,Fenwythe\n")
    (tmp_path / "lots.csv").write_text("label,kind,variety,origin\nA,pea,Fenwythe,gift\n")
    lines = "A,2024-10-01,acquired,\nA,2024-11-01,given,10\n"
    movements = tmp_path / "movements.csv"
    movements.write_text("lot,date,reason,seeds\n" + lines)
    import_collection(garden.session, tmp_path, now=garden.now)
    [lot] = list_lots(garden.session, LotFilter(), Paging(9), today=garden.today).items
    moved = list_movements(garden.session, lot.code, None, Paging(9)).items
    assert [(one.seeds, one.balance_seeds) for one in moved] == [(None, None), (-10, None)]


def chance_of_parents(garden: Garden, *codes: str) -> list[float]:
    seen = judge_collection(garden.session, today=garden.today)
    at = [seen.forecast.collection.code.index(code) for code in codes]
    return seen.verdicts.inputs.p_parents_next[at].tolist()


OLD = {"harvest_date": "2019-09-01", "acquired_on": "2020-01-01"}


def amounts_of(garden: Garden) -> list[float]:
    """What the first lot may hold, low, middling and high."""
    seen = judge_collection(garden.session, today=garden.today).forecast
    return seen.amounts_left(np.array([0])).nodes()[:, 0].tolist()


def test_the_doubt_about_the_amount_is_in_its_chances(garden: Garden) -> None:
    some = garden.lot(None, **OLD).code
    low, middle, high = amounts = amounts_of(garden)
    assert low < middle / 2 < high / 4  # a packet may hold anything
    counted = [garden.lot(int(seeds), **OLD).code for seeds in amounts]
    mixed, *each = chance_of_parents(garden, some, *counted)
    assert max(each) - min(each) > 0.01
    assert mixed == pytest.approx(np.mean(each), abs=1e-6)


def test_what_was_taken_was_there_and_what_is_left_is_what_is_reckoned_with(
    garden: Garden,
) -> None:
    code = garden.lot(None).code
    before = amounts_of(garden)
    form = MovementCreate.model_validate({"reason": "given", "amount": {"seeds": 600}})
    record_movement(garden.session, code, form, **garden.when)
    after = amounts_of(garden)
    assert before[1] == 250
    assert min(after) >= 1
    assert after[2] > before[2] - 600  # the packet was a large one, then
    record_stock_take(garden.session, code, StockTakeCreate(seeds=30), **garden.when)
    assert show_verdict(garden.session, code, today=garden.today).balance_seeds == 30


def test_advice_tells_the_chance_that_there_is_so_much(garden: Garden) -> None:
    some, counted = garden.lot(None).code, garden.lot(5000).code
    few, many = (
        advise_lot(garden.session, some, SowingAsk(plants=n, method="row"), today=garden.today)
        for n in (3, 200)
    )
    assert 1 > few.chance_it_is_there > many.chance_it_is_there > 0
    assert "the chance that there are" in " ".join(one.text for one in many.warnings)
    ask = SowingAsk(plants=3, method="row")
    sure = advise_lot(garden.session, counted, ask, today=garden.today)
    assert sure.chance_it_is_there == 1


@pytest.mark.parametrize("method", ["row", "station", "module"])
def test_what_may_not_be_there_is_in_the_chance_of_enough(garden: Garden, method: str) -> None:
    variety = garden.variety()
    some = garden.lot(None, variety_id=variety).code
    told, lost = [], []
    for plants in (3, 20, 60, 200):
        ask = SowingAsk(plants=plants, method=method, confidence=0.9)
        answer = advise_lot(garden.session, some, ask, today=garden.today)
        told.append(answer.chance_of_enough.pct)
        assert answer.enough == (answer.chance_of_enough.pct >= 90)
        assert answer.sure_plants <= plants
        counted = garden.lot(answer.seeds).code
        sure = advise_lot(garden.session, counted, ask, today=garden.today)
        if_there = sure.chance_of_enough.pct
        least = if_there * answer.chance_it_is_there
        assert least - 0.02 <= told[-1] <= if_there + 0.02
        lost.append(if_there - told[-1])
    assert told == sorted(told, reverse=True)
    assert lost == sorted(lost)
    assert lost[-1] > 15


def test_a_lot_with_enough_for_sure_is_sown_before_one_that_may_have_it(garden: Garden) -> None:
    variety = garden.variety()
    garden.lot(None, variety_id=variety, harvest_date="2023-09-01", acquired_on="2023-10-01")
    counted = garden.lot(5000, variety_id=variety).code
    ask = SowingAsk(plants=60, method="row")
    answer = advise_variety(garden.session, variety, ask, today=garden.today)
    assert answer.enough
    assert {one.lot for one in answer.lots if one.seeds} == {counted}


def test_lots_nobody_has_counted_together_may_be_too_little(garden: Garden) -> None:
    variety = garden.variety()
    for _ in range(2):
        garden.lot(None, variety_id=variety)
    garden.lot(20, variety_id=variety, harvest_date="2023-09-01", acquired_on="2023-10-01")
    ask = SowingAsk(plants=150, method="row")
    answer = advise_variety(garden.session, variety, ask, today=garden.today)
    assert not answer.enough
    assert answer.chance_of_enough.pct < 90
    assert answer.sure_plants < 150


def test_grams_of_seed_nobody_has_weighed_stay_grams(garden: Garden) -> None:
    kind = add_kind(garden.session, KindCreate(name="Skirret")).slug
    form = {"variety_id": garden.variety(kind), "origin": "bought", "amount": {"grams": 12.0}}
    code = take_in_lot(garden.session, LotCreate.model_validate(form), **garden.when).code
    lot = show_lot(garden.session, code, today=garden.today)
    (first,) = list_movements(garden.session, code, None, Paging(9)).items
    assert (lot.amount.seeds, first.seeds, first.grams) == (None, None, 12.0)
    low, middle, high = amounts_of(garden)
    assert middle == pytest.approx(12_000 / 5.25, rel=0.01)  # of seed as heavy as kinds are
    assert high / low > 30
    more = MovementCreate.model_validate({"reason": "acquired", "amount": {"grams": 3.0}})
    assert record_movement(garden.session, code, more, **garden.when).grams == 3.0
    taken = MovementCreate.model_validate({"reason": "given", "amount": {"grams": 1.0}})
    assert record_movement(garden.session, code, taken, **garden.when).seeds is None
    by_count = MovementCreate.model_validate({"reason": "given", "amount": {"seeds": 100}})
    record_movement(garden.session, code, by_count, **garden.when)
    fact = FactStated(value="2", source="weighed a hundred")
    state_fact(garden.session, kind, FactName.THOUSAND_SEED_WEIGHT_G, fact, expected=None)
    low, middle, high = amounts_of(garden)
    assert middle == pytest.approx(14_000 / 2 - 100, rel=0.01)
    assert high / low < 2
