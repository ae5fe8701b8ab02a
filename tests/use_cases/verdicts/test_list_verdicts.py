"""Verdicts listed, filtered and paged; the seed to save, and how much of it to sow."""

import math
from datetime import date
from typing import Any

import numpy as np
import pytest
from sqlmodel import Session, col, select

from seedbank.climate.forms import ClimateStated
from seedbank.climate.garden_year import GardenYear
from seedbank.climate.state_climate import state_climate
from seedbank.climate.tables import Known
from seedbank.common.answers import finding_answers
from seedbank.common.errors import NotThere
from seedbank.database.queries import NOTHING_YET, Cursor, Paging
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, OtherKeepers, Variety
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lots import Lot
from seedbank.saving.edit_sites import add_site
from seedbank.saving.forms import SeedCropCreate, SeedCropSow, SiteCreate
from seedbank.saving.grow_seed_crops import sow_seed_crop, start_seed_crop
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.season.sowing_windows import REFERENCE
from seedbank.science.verdicts.verdict import FOR_SEED, Verdict
from seedbank.season.answers import Do
from seedbank.season.to_do import to_do
from seedbank.verdicts.answers import VerdictAnswer, When
from seedbank.verdicts.judge_lots import AHEAD_YEARS, judge_forecast
from seedbank.verdicts.list_verdicts import (
    VerdictFilter,
    list_seed_to_save,
    list_verdicts,
    lots_with_verdict,
    show_verdict,
)
from seedbank.verdicts.surroundings import Surroundings
from seedbank.viability.forecast_viability import forecast
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
    both = listed(demo_stock, verdict=Verdict.SOW_AS_USUAL, other_keepers=OtherKeepers.NONE)
    assert {(i.verdict, i.other_keepers) for i in both} == {
        (Verdict.SOW_AS_USUAL, OtherKeepers.NONE)
    }


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
    code = garden.lot(2, variety_id=variety, harvest_date="2024-09-01").code
    answer = show_verdict(garden.session, code, today=garden.today)
    assert answer.viability_needed_pct is None
    assert answer.probability_parents_now == 0
    assert answer.verdict is Verdict.LAST_CHANCE
    assert "short-of-parents" in [reason.code for reason in answer.reasons]


def test_seed_to_save_lists_the_lots_to_grow_this_year_rarest_first(demo_stock: Session) -> None:
    answer = list_seed_to_save(demo_stock, today=DEMO_TODAY)
    every = listed(demo_stock)
    grow = [i for i in every if i.verdict in FOR_SEED]
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


def test_half_is_held_back_but_of_what_is_dying_or_too_little_to_divide(
    demo_stock: Session,
) -> None:
    answer = list_seed_to_save(demo_stock, today=DEMO_TODAY, other_keepers=list(OtherKeepers))
    every = {item.lot: item for item in listed(demo_stock)}
    kinds = set()
    for item in answer.items:
        if item.seeds_held is None:
            assert (item.seeds_to_sow, item.seeds_to_hold) == (None, None)
            continue
        assert item.seeds_to_sow is not None
        assert item.seeds_to_hold is not None
        assert item.seeds_to_sow + item.seeds_to_hold == item.seeds_held
        said = {reason.code for reason in item.reasons}
        if item.seeds_to_hold == 0:
            assert said & {"rest-is-dying", "too-little-to-divide", "does-not-store"}
        else:
            assert 2 * item.seeds_to_sow <= item.seeds_held
            assert "half-held-back" in said
        kinds.add(item.seeds_to_hold == 0)
        alone = every[item.sow_lot]
        assert (alone.sow_seeds, alone.hold_seeds) == (item.seeds_to_sow, item.seeds_to_hold)
        assert alone.advice == item.advice
        worth = alone.worth
        assert worth is not None
        assert worth.loss <= min(worth.loss_if_left, worth.loss_if_all_sown) + 1e-4
    assert kinds == {True, False}


def test_the_parents_named_are_a_home_savers_with_the_genebanks_beside_them(
    garden: Garden,
) -> None:
    variety = garden.variety("leek", other_keepers="none", breeding="landrace")
    code = garden.lot(600, variety_id=variety, **YOUNG).code
    parents = show_verdict(garden.session, code, today=garden.today).seed_parents
    assert parents is not None
    assert (parents.plants, parents.genebank_plants) == (12, 20)
    assert parents.source is not None
    assert parents.genebank_source is not None
    assert parents.source != parents.genebank_source
    bought = garden.lot(600, kind="leek", **YOUNG).code
    assert show_verdict(garden.session, bought, today=garden.today).seed_parents is None


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
    garden.lot(25, variety_id=variety, harvest_date="2023-09-01")
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


def test_seeds_to_sow_are_worked_out_anew_once_a_test_says_otherwise(garden: Garden) -> None:
    variety = garden.variety("broad-bean", other_keepers="none", breeding="landrace")
    code = garden.lot(160, variety_id=variety, harvest_date="2021-09-01").code
    answers = []
    for normal in (20, 12):
        body = {
            "lot": code, "started_on": "2027-02-10", "finished_on": "2027-02-24",
            "substratum": "sand",
            "replicates": [{"seeds_set": 20, "normal": normal, "dead": 20 - normal}],
        }  # fmt: skip
        record_test(garden.session, TestRecord.model_validate(body), **garden.when)
        answers += list_seed_to_save(garden.session, today=garden.today).items
    before, after = answers
    assert before.seeds_to_sow is not None
    assert after.seeds_to_sow is not None
    assert before.seeds_to_sow < after.seeds_to_sow


def tell_climate(garden: Garden) -> None:
    """A cool maritime garden in the north."""
    months = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
    form = ClimateStated(monthly_c=months, last_frost_day=121, first_frost_day=298)
    state_climate(garden.session, form, site_id=None, expected=None)


@pytest.mark.parametrize("month", range(1, 13))
def test_nothing_is_sown_now_out_of_its_window(garden: Garden, month: int) -> None:
    tell_climate(garden)
    for kind in ("parsnip", "common-bean", "tomato", "leek", "squash-pepo", "lettuce"):
        variety = garden.variety(kind, other_keepers="none", breeding="landrace")
        garden.lot(60, variety_id=variety, harvest_date="2020-09-01")
    day = date(2028, month, 15)
    for item in list_verdicts(garden.session, VerdictFilter(), Paging(50), today=day).items:
        assert item.advice is not None
        open_now = item.when is When.NOW
        assert (item.opens_on is None) == open_now
        if open_now:
            assert item.sow_until is None or item.sow_until >= day
        else:
            assert item.opens_on is not None
            assert item.opens_on > day
            assert " now" not in item.advice.text
            assert "this year:" not in item.advice.text
    summer = {"common-bean", "tomato", "squash-pepo"}
    if month >= 10:
        due = list_verdicts(garden.session, VerdictFilter(), Paging(50), today=day).items
        assert all(one.when is not When.NOW for one in due if one.variety.kind in summer)


def test_a_crop_begun_is_told_beside_the_state_and_never_in_its_place(garden: Garden) -> None:
    variety = garden.variety("common-bean", other_keepers="none", breeding="landrace")
    code = garden.lot(60, variety_id=variety, harvest_date="2020-09-01").code
    before = show_verdict(garden.session, code, today=garden.today)
    assert before.verdict in FOR_SEED
    assert not before.begun
    site = add_site(garden.session, SiteCreate(name="Long bed")).id
    form = SeedCropCreate(
        variety_id=variety, lot=code, site_id=site, flower_year=2027, purpose=Purpose.KEEP
    )
    crop = start_seed_crop(garden.session, form, **garden.when)
    planned = show_verdict(garden.session, code, today=garden.today)
    assert not planned.begun
    sow_seed_crop(garden.session, crop.id, SeedCropSow(seeds_sown=20), **garden.when)
    after = show_verdict(garden.session, code, today=garden.today)
    assert after.begun
    assert after.verdict in FOR_SEED
    groups = to_do(garden.session, today=garden.today).groups
    assert not {one.do for one in groups} & {Do.LAST_CHANCE, Do.GROW_FOR_SEED}


def test_in_october_there_is_little_to_do_before_spring(demo_stock: Session) -> None:
    garden = Surroundings(year=GardenYear(Known.MONTHS, REFERENCE, 121))
    day = date(2026, 10, 15)
    seen = judge_forecast(garden, forecast(demo_stock, today=day, ahead_years=AHEAD_YEARS))
    lots = seen.forecast.collection.size
    now = np.array([seen.time_of(at).when is When.NOW for at in range(lots)])
    busy = seen.to_be_done(Verdict.TOWEL_FIRST, Verdict.GET_FRESH)
    busy |= seen.to_be_done(*FOR_SEED) & now
    assert 0 < busy.sum() <= lots / 5
    assert seen.verdicts.where(*FOR_SEED).sum() > (seen.to_be_done(*FOR_SEED) & now).sum()
