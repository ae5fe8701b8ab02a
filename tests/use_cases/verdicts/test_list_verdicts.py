"""Verdicts listed, filtered and paged; the seed to save, and how much of it to sow."""

import math
from typing import Any

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import binom
from sqlmodel import Session, col, select

from seedbank.common.answers import finding_answers
from seedbank.common.errors import NotThere
from seedbank.database.queries import NOTHING_YET, Cursor, Paging
from seedbank.facts.growing import under_cover_factor
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, OtherKeepers, Variety
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lots import Lot
from seedbank.science.sowing.emergence import (
    ShiftLaw,
    emergence_nodes,
    lot_viability,
    shift_of_factor,
)
from seedbank.science.sowing.seed_need import smallest_seeds
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.answers import SeedToSaveItem, VerdictAnswer
from seedbank.verdicts.judge_lots import PARENTS_CONFIDENCE, judge_collection
from seedbank.verdicts.list_verdicts import (
    VerdictFilter,
    list_seed_to_save,
    list_verdicts,
    lots_with_verdict,
    seeds_for_parents,
    show_verdict,
)
from seedbank.viability.forecast_viability import forecast, lot_nodes
from tests.use_cases.conftest import DEMO_TODAY, Garden

YOUNG = {"harvest_date": "2026-09-01", "acquired_on": "2026-10-01"}


def listed(session: Session, limit: int = 200, **wanted: Any) -> list[VerdictAnswer]:
    page = list_verdicts(session, VerdictFilter(**wanted), Paging(limit), today=DEMO_TODAY)
    assert page.next is None
    return page.items


@pytest.mark.parametrize("limit", [1, 7, 45])
def test_pages_visit_every_lot_once_the_most_urgent_first(demo_stock: Session, limit: int) -> None:
    lots = demo_stock.exec(select(Lot.code)).all()
    if limit == 1:  # one page, so that a full last one is met too
        limit = len(lots)
    seen, after, pages = [], None, 0
    while True:
        page = list_verdicts(demo_stock, VerdictFilter(), Paging(limit, after), today=DEMO_TODAY)
        assert 0 < len(page.items) <= limit
        seen += page.items
        pages += 1
        after = page.next
        if after is None:
            break
    assert pages == math.ceil(len(lots) / limit)
    assert sorted(item.lot for item in seen) == sorted(lots)
    urgency = [item.urgency for item in seen]
    assert urgency == sorted(urgency, reverse=True)
    assert urgency[0] > urgency[-1] == 0


def test_a_lot_that_is_gone_ends_the_pages_rather_than_starting_over(demo_stock: Session) -> None:
    page = list_verdicts(
        demo_stock, VerdictFilter(), Paging(5, Cursor(None, 999_999)), today=DEMO_TODAY
    )
    assert (page.items, page.next) == ([], None)


def test_each_filter_lists_just_the_lots_it_names(demo_stock: Session) -> None:
    every = listed(demo_stock)
    kinds = {
        variety.id: demo_stock.get_one(Kind, variety.kind_id).slug
        for variety in demo_stock.exec(select(Variety))
    }
    for verdict in {item.verdict for item in every} - {None}:
        assert listed(demo_stock, verdict=verdict) == [i for i in every if i.verdict is verdict]
    for keepers in OtherKeepers:
        found = listed(demo_stock, other_keepers=keepers)
        assert found == [i for i in every if i.other_keepers is keepers] != []
    variety = every[3].variety
    assert listed(demo_stock, variety=variety.id) == [i for i in every if i.variety == variety]
    slug = kinds[variety.id]
    assert listed(demo_stock, kind=slug) == [i for i in every if i.variety.kind == slug]
    assert listed(demo_stock, kind="no-such-kind") == []
    both = listed(demo_stock, verdict=Verdict.KEEP, other_keepers=OtherKeepers.NONE)
    assert {(i.verdict, i.other_keepers) for i in both} == {(Verdict.KEEP, OtherKeepers.NONE)}


def test_lots_with_a_verdict_are_those_listed_with_it(demo_stock: Session) -> None:
    for verdict in Verdict:
        numbers = lots_with_verdict(demo_stock, verdict, today=DEMO_TODAY)
        codes = demo_stock.exec(select(Lot.code).where(col(Lot.id).in_(numbers))).all()
        assert sorted(codes) == sorted(i.lot for i in listed(demo_stock, verdict=verdict))


def test_one_lots_verdict_is_the_one_it_has_in_the_list(demo_stock: Session) -> None:
    every = {item.lot: item for item in listed(demo_stock)}
    for code in sorted(every)[::9]:
        alone = show_verdict(demo_stock, code, today=DEMO_TODAY)
        assert alone.verdict == every[code].verdict
        assert alone.urgency == pytest.approx(every[code].urgency, abs=2e-4)
        assert [r.code for r in alone.reasons] == [r.code for r in every[code].reasons]


def test_a_verdict_on_no_lot_is_not_there(garden: Garden) -> None:
    with pytest.raises(NotThere):
        show_verdict(garden.session, code_for(4711), today=garden.today)


def test_a_lot_with_too_little_seed_whatever_its_viability_says_so(garden: Garden) -> None:
    variety = garden.variety("onion", other_keepers="none", breeding="landrace")
    code = garden.lot(2, variety_id=variety, **YOUNG).code
    answer = show_verdict(garden.session, code, today=garden.today)
    assert answer.viability_needed_pct is None
    assert answer.probability_parents_now == 0
    assert answer.verdict is not Verdict.DISCARD
    assert "too-few-seeds" in [reason.code for reason in answer.reasons]


def chance_of_parents(session: Session, item: SeedToSaveItem, seeds: int) -> float:
    """Chance that so many seeds raise the parents, summed over the lot's viability."""
    number = session.exec(select(Lot.id).where(Lot.code == item.sow_lot)).one()
    seen = forecast(session, today=DEMO_TODAY, lot_ids=[number or 0])
    nodes = lot_nodes(seen, 0, seen.today)
    emerging = ndtr(nodes.probit[0] - float(shift_of_factor(under_cover_factor().value)))
    return float(nodes.weight[0] @ binom.sf(item.seed_parents - 1, seeds, emerging))


def test_seed_to_save_lists_the_lots_to_grow_this_year_rarest_first(demo_stock: Session) -> None:
    answer = list_seed_to_save(demo_stock, today=DEMO_TODAY)
    every = listed(demo_stock)
    grow = [i for i in every if i.verdict in (Verdict.SAVE_SEED, Verdict.RESCUE)]
    rare = {i.lot for i in grow if i.other_keepers is not OtherKeepers.MANY}
    assert {item.sow_lot for item in answer.items} == rare
    rank = [list(OtherKeepers).index(item.other_keepers) for item in answer.items]
    assert list(OtherKeepers)[:2] == [OtherKeepers.NONE, OtherKeepers.FEW]
    assert rank == sorted(rank)
    assert len(set(rank)) == 2
    urgency = {i.lot: i.urgency for i in every}
    for place, before in enumerate(answer.items[:-1]):
        after = answer.items[place + 1]
        if after.other_keepers is before.other_keepers:
            assert urgency[before.sow_lot] >= urgency[after.sow_lot]
    varieties = [item.variety.id for item in answer.items]
    assert len(varieties) == len(set(varieties))


def test_the_seeds_to_sow_raise_the_parents_with_90_percent_and_one_fewer_does_not(
    demo_stock: Session,
) -> None:
    answer = list_seed_to_save(demo_stock, today=DEMO_TODAY, other_keepers=list(OtherKeepers))
    saved = [item for item in answer.items if item.verdict is Verdict.SAVE_SEED]
    told = [item for item in saved if item.seeds_to_sow is not None]
    assert told
    for item in told:
        assert item.seeds_to_sow is not None
        assert item.seed_parents <= item.seeds_to_sow <= item.seeds_held
        enough = chance_of_parents(demo_stock, item, item.seeds_to_sow)
        short = chance_of_parents(demo_stock, item, item.seeds_to_sow - 1)
        assert short - 2e-4 < 0.90 < enough + 2e-4
    for item in saved:
        if item.seeds_to_sow is None:
            assert chance_of_parents(demo_stock, item, item.seeds_held) < 0.90 + 2e-4


def test_of_a_lot_to_rescue_all_is_sown(demo_stock: Session) -> None:
    items = list_seed_to_save(demo_stock, today=DEMO_TODAY).items
    rescued = [item for item in items if item.verdict is Verdict.RESCUE]
    assert rescued
    assert {item.seeds_to_sow for item in rescued} == {None}


def test_a_biennial_flowers_next_year_and_the_remark_counts_every_one(
    demo_stock: Session,
) -> None:
    answer = list_seed_to_save(demo_stock, today=DEMO_TODAY)
    later = 0
    for item in answer.items:
        kind = demo_stock.exec(select(Kind).where(Kind.slug == item.variety.kind)).one()
        cycle = facts_for(demo_stock, kind).life_cycle
        second_year = cycle is not None and cycle.value != "annual"
        assert item.flowers_in == DEMO_TODAY.year + second_year
        later += second_year
    assert 0 < later < len(answer.items)
    assert answer.remarks[0].text.startswith(f"{later} of them flower next year only.")


def test_a_list_of_biennials_only_says_that_they_flower_next_year(garden: Garden) -> None:
    variety = garden.variety("onion", other_keepers="none", breeding="landrace")
    garden.lot(25, variety_id=variety, **YOUNG)
    answer = list_seed_to_save(garden.session, today=garden.today)
    assert [item.flowers_in for item in answer.items] == [2028]
    assert answer.remarks[0].text.startswith("1 of them flower")


def test_nothing_to_save_is_said(garden: Garden) -> None:
    garden.lot(50, **YOUNG)
    answer = list_seed_to_save(garden.session, today=garden.today)
    assert answer.items == []
    assert [one.code for one in answer.remarks] == ["none-to-save"]


def test_only_the_rarities_asked_for_are_listed(demo_stock: Session) -> None:
    for keepers in OtherKeepers:
        items = list_seed_to_save(demo_stock, today=DEMO_TODAY, other_keepers=[keepers]).items
        assert {item.other_keepers for item in items} <= {keepers}
    everything = list_seed_to_save(demo_stock, today=DEMO_TODAY, other_keepers=list(OtherKeepers))
    assert np.unique([i.other_keepers.value for i in everything.items]).size >= 2


def test_no_chance_is_rounded_into_a_certainty(demo_stock: Session) -> None:
    for item in listed(demo_stock):
        for chance in (item.probability_parents_now, item.probability_parents_next_season):
            assert chance < 1
        assert not any("100 %" in reason.text for reason in item.reasons)


def test_seed_to_save_carries_what_to_beware_of(demo_stock: Session) -> None:
    answer = list_seed_to_save(demo_stock, today=DEMO_TODAY)
    texts = [caution.text for caution in answer.cautions]
    assert len(texts) == len(set(texts)) > 1
    assert any("virus-infected" in text for text in texts)
    assert {caution.source.text for caution in answer.cautions} <= {s.text for s in answer.sources}


def test_a_perennials_flowering_is_not_promised(demo_stock: Session) -> None:
    answer = list_seed_to_save(demo_stock, today=DEMO_TODAY)
    slow = {item.variety.kind for item in answer.items if item.flowers_at_earliest}
    assert "sweet-chestnut" in slow
    assert slow <= {"sweet-chestnut", "asparagus", "rhubarb", "artichoke", "cardoon", "sage"}
    assert answer.remarks[-1].text.startswith("Perennials may take years")


def test_an_annual_and_a_biennial_flower_when_they_are_said_to(garden: Garden) -> None:
    for kind, waits in (("lettuce", 0), ("carrot", 1)):
        number = garden.variety(kind, other_keepers="none", plants_wanted=5)
        garden.lot(60, kind=kind, variety_id=number, harvest_year=2016)
        found = list_seed_to_save(garden.session, today=garden.today).items
        (one,) = [item for item in found if item.variety.id == number]
        assert (one.flowers_in - garden.today.year, one.flowers_at_earliest) == (waits, False)


def test_a_collection_without_lots_says_so(garden: Garden) -> None:
    answer = list_seed_to_save(garden.session, today=garden.today)
    assert (answer.items, answer.remarks) == ([], finding_answers(NOTHING_YET))
    assert answer.remarks[0].text == "The collection holds no lots yet."


def test_seeds_to_sow_worked_out_together_are_those_of_each_lot_alone(large_stock: Session) -> None:
    seen = judge_collection(large_stock, today=DEMO_TODAY)
    shift = float(shift_of_factor(under_cover_factor().value))
    together = seeds_for_parents(large_stock, seen)
    assert sorted(together) == np.flatnonzero(seen.verdicts.where(Verdict.SAVE_SEED)).tolist()
    assert len(together) > 100
    for at, seeds in together.items():
        viable = lot_viability(lot_nodes(seen.forecast, at, seen.forecast.today))
        assert seeds == smallest_seeds(
            emergence_nodes(viable, ShiftLaw(shift, 0.0)),
            int(seen.verdicts.inputs.parents_needed[at]),
            PARENTS_CONFIDENCE,
            available=int(seen.forecast.collection.balance[at]),
        )


def test_seeds_to_sow_are_worked_out_anew_once_a_test_says_otherwise(garden: Garden) -> None:
    variety = garden.variety("broad-bean", other_keepers="none", breeding="landrace")
    code = garden.lot(160, variety_id=variety, **YOUNG).code
    answers = []
    for normal in (20, 17):
        body = {
            "lot": code, "started_on": "2027-02-10", "finished_on": "2027-02-24",
            "substratum": "sand",
            "replicates": [{"seeds_set": 20, "normal": normal, "dead": 20 - normal}],
        }  # fmt: skip
        record_test(garden.session, TestRecord.model_validate(body), **garden.when)
        answers += list_seed_to_save(garden.session, today=garden.today).items
    before, after = answers
    assert before.verdict is after.verdict is Verdict.SAVE_SEED
    assert before.seeds_to_sow is not None
    assert after.seeds_to_sow is not None
    assert before.seeds_to_sow < after.seeds_to_sow
