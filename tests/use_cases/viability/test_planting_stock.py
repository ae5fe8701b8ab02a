"""Garlic is planting stock: no per cent of it germinates, nothing of it is tested or sown."""

from datetime import date

import pytest

from seedbank.common.errors import Conflict, Refused
from seedbank.facts.kinds import KeptAs
from seedbank.germination.forms import TestStart
from seedbank.germination.run_tests import start_test
from seedbank.kinds.edit_kinds import add_kind
from seedbank.kinds.forms import KindCreate
from seedbank.lots.forms import LotChange, MovementCreate
from seedbank.lots.move_seed import record_movement
from seedbank.lots.show_lots import show_lot
from seedbank.lots.take_in_lots import change_lot
from seedbank.plan.plan_supply import plan_supplies
from seedbank.saving.forms import Purpose
from seedbank.saving.show_lines import show_seed_parents
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.to_do import to_do
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.advise_variety import advise_variety
from seedbank.sowing.forms import SowingAsk, SowingCreate
from seedbank.sowing.record_sowing import record_sowing
from seedbank.verdicts.advise_testing import advise_testing
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.viability.show_viability import show_viability
from tests.use_cases.conftest import Garden

LIFTED = {"origin": "self-saved", "harvest_date": "2026-07-20", "acquired_on": "2026-07-20"}
WANTED = {"plants_wanted": 20, "other_keepers": "none"}


def cloves(garden: Garden, pieces: int | None = 60, **more) -> str:
    return garden.lot(pieces, kind="garlic", **(LIFTED | more)).code


def test_no_per_cent_of_it_is_told_and_no_test_of_it_asked_for(garden: Garden) -> None:
    code = cloves(garden, variety_id=garden.variety("garlic", **WANTED))
    life = show_viability(garden.session, code, today=garden.today)
    for point in (life.now, life.at_harvest):
        assert (point.planting_stock, point.reckoned) == (True, False)
        assert {point.median_pct, point.low_90_pct, point.high_90_pct} == {None}
    assert (life.curve, life.thresholds, life.tests) == ([], [], [])
    assert [one.code for one in life.reasons] == ["planting-stock-keeps"]
    assert life.retest.code == "planting-stock-untested"
    assert "alive" not in " ".join(one.text for one in life.reasons).replace("kept alive", "")
    advice = advise_testing(garden.session, code, today=garden.today)
    assert (advice.seeds, advice.sizes, advice.stages) == (0, [], [])
    assert [one.code for one in advice.reasons] == ["planting-stock-untested"]


def test_it_is_to_be_planted_and_once_past_its_time_looked_over(garden: Garden) -> None:
    code = cloves(garden)
    fresh = show_verdict(garden.session, code, today=garden.today)
    assert fresh.verdict is Verdict.NOT_JUDGED
    assert [one.code for one in fresh.reasons] == ["plant-again"]
    assert (fresh.viability.median_pct, fresh.viability_needed_pct) == (None, None)
    old = cloves(garden, harvest_date="2025-07-20", acquired_on="2025-07-20")
    late = show_verdict(garden.session, old, today=garden.today)
    assert [one.code for one in late.reasons] == ["past-keeping"]
    assert late.probability_parents_now < fresh.probability_parents_now
    unknown = cloves(garden, harvest_date=None, acquired_on="2026-12-01")
    # Its age counts from the day it came: nobody keeps garlic for years.
    assert show_verdict(garden.session, unknown, today=garden.today).probability_parents_now > 0.9


def test_its_pieces_are_counted_and_booked_and_neither_sown_nor_tested(garden: Garden) -> None:
    code = cloves(garden)
    lot = show_lot(garden.session, code, today=garden.today)
    assert (lot.planting_stock, lot.amount.text) == (True, "60 pieces")
    before = garden.dump()
    with pytest.raises(Refused, match="planting stock"):
        start_test(garden.session, TestStart(lot=code, replicates=[10]), **garden.when)
    sowing = SowingCreate.model_validate({"lot": code, "seeds_sown": 10, "method": "row"})
    with pytest.raises(Refused, match="planting stock"):
        record_sowing(garden.session, sowing, **garden.when)
    with pytest.raises(Conflict, match="planting stock"):
        advise_lot(garden.session, code, SowingAsk(plants=10), today=garden.today)
    with pytest.raises(Conflict, match="planting stock"):
        show_seed_parents(garden.session, code, purpose=Purpose.KEEP, today=garden.today)
    ask = SowingAsk(plants=10)
    with pytest.raises(Conflict, match="planting stock"):
        advise_variety(garden.session, lot.variety.id, ask, today=garden.today)
    assert garden.dump() == before
    form = MovementCreate.model_validate({"reason": "sown", "amount": {"seeds": 20}})
    record_movement(garden.session, code, form, **garden.when)
    assert garden.balance(code) == 40


@pytest.mark.parametrize(("pieces", "short"), [(60, False), (12, True), (None, False)])
def test_what_is_lacking_is_told_in_pieces(garden: Garden, pieces: int | None, short: bool) -> None:
    cloves(garden, pieces, variety_id=garden.variety("garlic", **WANTED))
    supplies = plan_supplies(garden.session, today=garden.today)
    assert (supplies.sow, supplies.spare) == ([], [])
    assert [one.text.startswith("12 pieces") for one in supplies.orders] == [True] * short
    running_out = [one.do for one in to_do(garden.session, today=garden.today).groups]
    assert ("running-out" in running_out) is short


def test_a_lot_may_be_what_its_kind_usually_is_not(garden: Garden) -> None:
    seed = cloves(garden, kept_as=KeptAs.SEED)
    assert show_viability(garden.session, seed, today=garden.today).now.median_pct is not None
    sets = garden.lot(30, kind="onion", kept_as=KeptAs.BULBS)
    assert show_verdict(garden.session, sets.code, today=garden.today).verdict is Verdict.NOT_JUDGED
    form = LotChange(kept_as=None)
    change_lot(garden.session, sets.code, form, expected=None, today=garden.today)
    assert (
        show_verdict(garden.session, sets.code, today=garden.today).verdict
        is not Verdict.NOT_JUDGED
    )


def test_how_long_a_kind_of_ones_own_keeps_is_the_gardeners_word(garden: Garden) -> None:
    kinds = {}
    for name, years in (("Oca", 0.5), ("Ulluco", None)):
        form = KindCreate(name=name, kept_as=KeptAs.TUBERS, keeps_years=years)
        kinds[name] = add_kind(garden.session, form).slug
    grown = {"harvest_date": "2026-06-20", "acquired_on": "2026-06-20", "origin": "self-saved"}
    oca, ulluco = (garden.lot(30, kind=kinds[one], **grown).code for one in ("Oca", "Ulluco"))
    told = show_verdict(garden.session, oca, today=garden.today)
    assert [one.code for one in told.reasons] == ["past-keeping"]  # eight months
    untold = show_verdict(garden.session, ulluco, today=garden.today)
    assert [one.code for one in untold.reasons] == ["plant-again"]  # nobody can say it is late
    life = show_viability(garden.session, ulluco, today=date(2027, 2, 20))
    assert [one.code for one in life.to_narrow] == ["record-stock-keeping"]
