"""What own sowings teach, and that what is kept in memory is never stale."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from sqlmodel import Session

from seedbank.database.change_counters import changes
from seedbank.germination.forms import TestRecord, TestStart
from seedbank.germination.run_tests import record_test, start_test
from seedbank.kinds.edit_kinds import state_fact
from seedbank.kinds.forms import FactStated
from seedbank.kinds.tables import FactName
from seedbank.lots.edit_places import add_place, change_place
from seedbank.lots.forms import LotChange, MovementCreate, PlaceChange, PlaceCreate, StayCreate
from seedbank.lots.move_seed import record_movement
from seedbank.lots.show_lots import show_lot
from seedbank.lots.take_in_lots import change_lot, move_lot_to
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.seedling_losses import EatenRecord, learn_pest_loss
from seedbank.sowing import learn_from_sowings as garden_record
from seedbank.sowing.forms import SowingChange, SowingFinish
from seedbank.sowing.judge_forecasts import held_before
from seedbank.sowing.learn_from_sowings import learn_garden
from seedbank.sowing.record_sowing import change_sowing, delete_sowing, finish_sowing
from seedbank.viability.forecast_viability import forecast
from seedbank.viability.garden_keeping import learn_from
from seedbank.viability.past_sowings import PastSowing, season_of
from seedbank.viability.sown_evidence import not_yet_learned
from seedbank.viability.tables.change_topics import ALIVE
from tests.use_cases.conftest import Garden
from tests.use_cases.sowing.test_record_sowing import emerge, lose, sow


def finished(garden: Garden, *, emerged: int = 70, eaten: int = 0, **more: Any) -> int:
    """A finished sowing of 100 seeds."""
    lot = garden.lot(400, harvest_year=2026)
    number = sow(garden, lot.code, **more).id
    if eaten:
        lose(garden, number, eaten)
    emerge(garden, number, "2027-02-20", emerged)
    finish_sowing(garden.session, number, SowingFinish(), today=garden.today)
    return number


def past_sowings(garden: Garden) -> tuple[PastSowing, ...]:
    return learn_garden(garden.session, today=garden.today).sowings


def learned_anew(garden: Garden) -> garden_record.Garden:
    """What the garden teaches whoever knows nothing of before."""
    seen = forecast(garden.session, today=garden.today)
    return garden_record.learn_from(learn_from(seen, seen.garden.sown.sowings).sown)


def test_without_sowings_the_garden_is_the_published_one(garden: Garden) -> None:
    learned = learn_garden(garden.session, today=garden.today)
    here = SowingConditions("carrot", "row", "open", 2027, "spring")
    published = not_yet_learned(()).model
    assert learned.shift_model.predict(here) == published.predict(here)
    assert learned.sowings == ()
    assert learned.seeds_per_plant == {}


def test_a_finished_sowing_becomes_what_the_science_reads(garden: Garden) -> None:
    finished(garden, emerged=60, eaten=20, soil_temp_c=9.0, plants_wanted=50)
    (past,) = past_sowings(garden)
    record = past.record
    assert (record.sown, record.emerged, record.eaten, record.trials) == (100, 60, 20, 80)
    assert record.conditions.season == "winter"
    assert record.conditions.temperature_shift is not None
    assert past.eaten == EatenRecord("open", 100, 20)
    assert held_before(garden.session, [past]) == {past.movement_id: 400}
    assert past.plants_wanted == 50
    learned = learn_garden(garden.session, today=garden.today)
    assert learned.seeds_per_plant == {"carrot": (2.0,)}
    assert learned.pests["open"] == learn_pest_loss("open", [past.eaten])
    assert learned.shift_model.predict(record.conditions).sowings == 1


def test_seedlings_eaten_once_up_are_pests_work_but_not_bad_seed(garden: Garden) -> None:
    number = sow(garden, garden.lot(400).code).id
    lose(garden, number, 20)
    emerge(garden, number, "2027-02-20", 40)
    lose(garden, number, 10, after_emergence=True)
    lose(garden, number, 5, "frost", after_emergence=True)
    finish_sowing(garden.session, number, SowingFinish(), today=garden.today)
    (past,) = past_sowings(garden)
    assert (past.record.emerged, past.record.eaten, past.record.frosted) == (40, 20, 0)
    # Left with chance (1 - 20/100)(1 - 10/40) = 0.6, as 50 units with 20 of them eaten.
    assert past.eaten == EatenRecord("open", 50, 20)


def test_an_open_sowing_teaches_only_once_it_has_stood_long_enough(garden: Garden) -> None:
    young, old = (
        sow(garden, garden.lot(400).code, sown_on=day).id for day in ("2027-01-20", "2027-01-18")
    )
    for number in (young, old):
        emerge(garden, number, "2027-03-01", 50)
    found = past_sowings(garden)
    assert [past.sowing_id for past in found] == [old]


def test_december_belongs_to_the_winter_it_begins(garden: Garden) -> None:
    assert season_of(garden.today.replace(year=2026, month=12)) == (2027, "winter")
    assert season_of(garden.today) == (2027, "spring")


def test_the_same_garden_is_not_learned_twice(
    garden: Garden, monkeypatch: pytest.MonkeyPatch
) -> None:
    finished(garden)
    first = learn_garden(garden.session, today=garden.today)
    monkeypatch.setattr(garden_record, "garden_keeping", None)
    assert learn_garden(garden.session, today=garden.today) is first


def _change_test(garden: Garden, _number: int) -> None:
    (past,) = past_sowings(garden)
    replicate = {"seeds_set": 20, "normal": 12, "dead": 8}
    body = {"lot": past.lot, "substratum": "sand", "replicates": [replicate]}
    days = {"started_on": "2027-02-10", "finished_on": "2027-02-24"}
    record_test(garden.session, TestRecord.model_validate(body | days), **garden.when)


def _change_store(garden: Garden, _number: int) -> None:
    (past,) = past_sowings(garden)
    place = add_place(garden.session, PlaceCreate(name="Loft", temp_summer_c=30.0))
    body = StayCreate.model_validate({"place_id": place.id, "from_date": "2026-10-01"})
    move_lot_to(garden.session, past.lot, body, today=garden.today)


def _change_fact(garden: Garden, _number: int) -> None:
    form = FactStated(value="55", source="my own tests")
    state_fact(garden.session, "carrot", FactName.MINIMUM_GERMINATION_PCT, form, expected=None)


def _change_age(garden: Garden, _number: int) -> None:
    (past,) = past_sowings(garden)
    form = LotChange.model_validate({"harvest_year": 2020})
    change_lot(garden.session, past.lot, form, expected=None, today=garden.today)


def _change_description(garden: Garden, number: int) -> None:
    form = SowingChange.model_validate({"soil_temp_c": 9.5})
    change_sowing(garden.session, number, form, expected=None)


CHANGES: dict[str, Callable[[Garden, int], object]] = {
    "another sowing": lambda g, _: finished(g),
    "a sowing taken back": lambda g, n: delete_sowing(g.session, n, expected=None, **g.when),
    "the description of a sowing": _change_description,
    "a recount of the same day": lambda g, n: emerge(g, n, "2027-02-20", 71),
    "a later count": lambda g, n: emerge(g, n, "2027-02-25", 75),
    "a loss": lambda g, n: lose(g, n, 3),
    "a test of the lot": _change_test,
    "the lot's age": _change_age,
    "where it was kept": _change_store,
    "a fact about its kind": _change_fact,
}


@pytest.mark.parametrize("what", CHANGES)
def test_whatever_it_rests_on_changes_it_is_learned_anew(garden: Garden, what: str) -> None:
    number = finished(garden)
    before = changes(garden.session, ALIVE)
    first = learn_garden(garden.session, today=garden.today)
    CHANGES[what](garden, number)
    assert changes(garden.session, ALIVE) != before
    again = learn_garden(garden.session, today=garden.today)
    fresh = learned_anew(garden)
    assert again is not first
    here = SowingConditions("carrot", "row", "open", 2027, "spring")
    one, other = again.shift_model.predict(here).law, fresh.shift_model.predict(here).law
    assert (one.mean, one.sd) == pytest.approx((other.mean, other.sd), abs=1e-5)
    assert again.pests == fresh.pests


NO_NEWS: dict[str, Callable[[Garden, str], object]] = {
    "seed given away": lambda g, code: record_movement(
        g.session, code, MovementCreate.model_validate(GIVEN), **g.when
    ),
    "a test begun": lambda g, code: start_test(
        g.session, TestStart.model_validate(BEGUN | {"lot": code}), **g.when
    ),
    "another lot of the variety": lambda g, code: g.lot(
        variety_id=show_lot(g.session, code, today=g.today).variety.id
    ),
    "a sowing nobody has counted": lambda g, code: sow(g, code),
    "a fact none of them rests on": lambda g, _: state_fact(
        g.session, "carrot", FactName.DEPTH_CM, FactStated(value="2", source="mine"), expected=None
    ),
    "the next day": lambda g, _: setattr(g, "today", date(2027, 3, 2)),
}
GIVEN = {"reason": "given", "on_date": "2027-03-01", "amount": {"seeds": 5}}
BEGUN = {"started_on": "2027-02-24", "substratum": "sand", "replicates": [20]}


@pytest.mark.parametrize("what", NO_NEWS)
def test_what_says_nothing_of_past_sowings_leaves_the_garden_as_it_was_learned(
    garden: Garden, what: str
) -> None:
    finished(garden)
    first = learn_garden(garden.session, today=garden.today)
    (past,) = first.sowings
    NO_NEWS[what](garden, past.lot)
    again = learn_garden(garden.session, today=garden.today)
    here = SowingConditions("carrot", "row", "open", 2027, "spring")
    one, other = first.shift_model.predict(here).law, again.shift_model.predict(here).law
    assert (one.mean, one.sd) == pytest.approx((other.mean, other.sd), abs=1e-5)
    assert again.sowings == first.sowings


def test_taking_seed_and_beginning_a_test_do_not_even_ask_the_sowings(garden: Garden) -> None:
    finished(garden)
    code = garden.lot(400).code
    before = changes(garden.session, ALIVE)
    first = learn_garden(garden.session, today=garden.today)
    NO_NEWS["seed given away"](garden, code)
    NO_NEWS["a test begun"](garden, code)
    assert changes(garden.session, ALIVE) == before
    assert learn_garden(garden.session, today=garden.today) is first


def test_a_garden_that_knows_its_old_sowings_learns_what_one_that_does_not_learns(
    garden: Garden,
) -> None:
    for emerged in (55, 70, 80):
        finished(garden, emerged=emerged)
    learn_garden(garden.session, today=garden.today)
    finished(garden, emerged=30)
    again = learn_garden(garden.session, today=garden.today)
    fresh = learned_anew(garden)
    here = SowingConditions("carrot", "row", "open", 2027, "spring")
    one, other = again.shift_model.predict(here).law, fresh.shift_model.predict(here).law
    assert (one.mean, one.sd) == pytest.approx((other.mean, other.sd), abs=1e-5)


def test_a_changed_place_is_noticed(garden: Garden) -> None:
    finished(garden)
    place = add_place(garden.session, PlaceCreate(name="Loft"))
    before = changes(garden.session, ALIVE)
    form = PlaceChange.model_validate({"temp_summer_c": 31.0})
    change_place(garden.session, place.id, form, expected=None)
    assert changes(garden.session, ALIVE) != before


def test_a_sowing_deleted_and_made_anew_under_its_number_is_noticed(
    garden: Garden, session: Session
) -> None:
    number = finished(garden)
    before = changes(session, ALIVE)
    delete_sowing(session, number, expected=None, **garden.when)
    again = finished(garden, emerged=71)
    assert changes(session, ALIVE) != before
    assert again >= number
