"""What was to come up of a sowing, told without what it showed; and lots sown together."""

import pytest
from sqlmodel import Session

from seedbank.common.errors import NotEnoughSeed, NotThere
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.forms import SeveralSowings, SowingAsk
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.record_sowing import record_sowings
from seedbank.sowing.show_sowings import foretell_sowing
from tests.use_cases.conftest import DEMO_TODAY, Garden
from tests.use_cases.sowing.test_record_sowing import emerge, lose, sow


def test_a_finished_sowing_is_foretold_as_in_the_record_of_forecasts(demo_stock: Session) -> None:
    item = judge_forecasts(demo_stock, today=DEMO_TODAY).items[-1]
    told = foretell_sowing(demo_stock, item.sowing, today=DEMO_TODAY)
    assert told is not None
    assert (told.seeds, told.expected, told.low, told.high) == (
        item.seeds, item.expected, item.low, item.high,
    )  # fmt: skip


def test_an_open_sowing_is_foretold_as_its_advice_did(garden: Garden) -> None:
    code = garden.lot(400).code
    ask = SowingAsk(plants=40, method="row", protection="open", soil_temp_c=15.0)
    advice = advise_lot(garden.session, code, ask, today=garden.today)
    sown = sow(
        garden, code, advice.seeds, sown_on=garden.today.isoformat(), soil_temp_c=15.0,
        protection="open",
    )  # fmt: skip
    told = foretell_sowing(garden.session, sown.id, today=garden.today)
    assert told is not None
    assert told.seeds == advice.seeds
    # The advice leaves out those eaten, once up or before; this tells all that come up.
    assert told.expected >= advice.plants.mean
    assert told.low <= told.expected <= told.high
    assert told.first_on is not None
    assert advice.soil.days_to_emergence is not None
    assert (told.first_on - garden.today).days == round(advice.soil.days_to_emergence)


def test_counting_it_changes_nothing_that_was_foretold(garden: Garden) -> None:
    sown = sow(garden, garden.lot().code)
    before = foretell_sowing(garden.session, sown.id, today=garden.today)
    emerge(garden, sown.id, "2027-02-15", 3)
    assert foretell_sowing(garden.session, sown.id, today=garden.today) == before


def test_seed_lost_in_the_soil_is_no_longer_awaited(garden: Garden) -> None:
    sown = sow(garden, garden.lot().code)
    lose(garden, sown.id, 60)
    told = foretell_sowing(garden.session, sown.id, today=garden.today)
    assert told is not None
    assert told.seeds == 40
    lose(garden, sown.id, 40, cause="frost")
    assert foretell_sowing(garden.session, sown.id, today=garden.today) is None


def test_there_is_nothing_to_foretell_of_no_sowing(garden: Garden) -> None:
    with pytest.raises(NotThere):
        foretell_sowing(garden.session, 99, today=garden.today)


def test_lots_sown_together_are_recorded_together_or_not_at_all(garden: Garden) -> None:
    one, other = garden.lot(50).code, garden.lot(50).code

    def form(*amounts: int) -> SeveralSowings:
        rows = [
            {"lot": lot, "seeds_sown": seeds, "method": "row"}
            for lot, seeds in zip((one, other), amounts, strict=True)
        ]
        return SeveralSowings.model_validate({"sowings": rows})

    with pytest.raises(NotEnoughSeed) as refused:
        record_sowings(garden.session, form(20, 60), **garden.when)
    assert refused.value.field == "sowings[1].seeds_sown"
    assert (garden.balance(one), garden.balance(other)) == (50, 50)
    recorded = record_sowings(garden.session, form(20, 30), **garden.when)
    assert [sowing.lot for sowing in recorded] == [one, other]
    assert (garden.balance(one), garden.balance(other)) == (30, 20)
