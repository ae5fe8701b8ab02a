"""Days to come: they are those of the records behind them, and each has a reason."""

from datetime import date, timedelta

from sqlmodel import Session

from seedbank.climate.forms import ClimateStated
from seedbank.climate.state_climate import state_climate
from seedbank.germination.forms import CountsCreate, TestFinish, TestStart
from seedbank.germination.run_tests import finish_test, record_counts, start_test
from seedbank.lots.forms import MovementCreate
from seedbank.lots.move_seed import record_movement
from seedbank.saving.edit_sites import add_site
from seedbank.saving.forms import SeedCropChange, SeedCropCreate, SiteCreate
from seedbank.saving.grow_seed_crops import change_seed_crop, start_seed_crop
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.season.answers import Coming, ComingDate
from seedbank.season.coming_dates import AHEAD_DAYS, list_coming_dates
from seedbank.season.crop_days import BEFORE_FLOWER_DAYS
from seedbank.viability.show_viability import show_viability
from tests.use_cases.conftest import DEMO_TODAY, Garden


def dates(garden: Garden) -> dict[str, ComingDate]:
    answer = list_coming_dates(garden.session, today=garden.today)
    return {one.name: one for one in answer.items}


def start(garden: Garden, code: str) -> int:
    form = TestStart.model_validate({"lot": code, "substratum": "paper-towel", "replicates": [20]})
    return start_test(garden.session, form, **garden.when).id


def test_an_open_test_has_its_first_and_final_count(garden: Garden) -> None:
    number = start(garden, garden.lot().code)
    found = dates(garden)
    # Carrot: first count 6 days, final 14. 7 CFR 201.58 table 2 (2015 annual edition).
    assert found[f"first-count-{number}"].on == garden.today + timedelta(6)
    assert found[f"final-count-{number}"].on == garden.today + timedelta(14)
    assert "20 seeds aren't judged yet" in found[f"final-count-{number}"].reason.text


def test_a_count_made_is_past_and_a_test_finished_has_none(garden: Garden) -> None:
    number = start(garden, garden.lot().code)
    garden.today += timedelta(6)
    counts = CountsCreate.model_validate({"counts": [{"replicate": 1, "normal": 12}]})
    record_counts(garden.session, number, counts, **garden.when)
    found = dates(garden)
    assert f"first-count-{number}" not in found
    assert "8 seeds aren't judged yet" in found[f"final-count-{number}"].reason.text
    garden.today += timedelta(8)
    finish_test(garden.session, number, TestFinish(rest_dead=True), **garden.when)
    assert not {f"first-count-{number}", f"final-count-{number}"} & dates(garden).keys()


def test_a_count_long_overdue_is_still_told(garden: Garden) -> None:
    number = start(garden, garden.lot().code)
    garden.today += timedelta(400)
    assert f"final-count-{number}" in dates(garden)


def crop(garden: Garden, **more: object) -> int:
    site = add_site(garden.session, SiteCreate(name=f"Bed {more.get('sow_on')}"))
    body = {
        "variety_id": garden.variety("broad-bean"), "site_id": site.id, "flower_year": 2027,
        "purpose": Purpose.KEEP, "isolation": "cage", **more,
    }  # fmt: skip
    form = SeedCropCreate.model_validate(body)
    return start_seed_crop(garden.session, form, **garden.when).id


def test_days_of_seed_crops_follow_the_climate_of_their_site(garden: Garden) -> None:
    number = crop(garden)
    months = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
    found = []
    for colder in (0.0, 2.0):
        form = ClimateStated(monthly_c=[month - colder for month in months])
        state_climate(garden.session, form, site_id=None, expected=None)
        told = dates(garden)
        assert told[f"harvest-{number}"].reason.code == "coming-ripe"
        found.append((told[f"isolate-{number}"].on, told[f"harvest-{number}"].on))
    assert found[1][0] > found[0][0]
    assert found[1][1] > found[0][1] > found[0][0]


def test_a_seed_crop_is_to_be_sown_kept_apart_and_harvested(garden: Garden) -> None:
    number = crop(garden, sow_on=date(2027, 3, 20))
    seen = SeedCropChange(flower_from=date(2027, 5, 20), flower_to=date(2027, 6, 30))
    change_seed_crop(garden.session, number, seen, expected=None)
    other = crop(garden)
    found = dates(garden)
    assert found[f"sow-{number}"].on == date(2027, 3, 20)
    assert found[f"harvest-{number}"].on == date(2027, 6, 30)
    assert f"isolate-{number}" not in found  # its first flower was seen
    assert f"sow-{other}" not in found  # it has no day
    apart, ripe = found[f"isolate-{other}"], found[f"harvest-{other}"]
    assert "put its cage up" in apart.reason.text
    assert apart.on + timedelta(BEFORE_FLOWER_DAYS) < ripe.on


def test_retests_are_those_of_the_lots_own_page(demo_stock: Session) -> None:
    answer = list_coming_dates(demo_stock, today=DEMO_TODAY)
    retests = [one for one in answer.items if one.coming is Coming.RETEST]
    assert retests
    for one in retests:
        assert one.lot is not None
        retest = show_viability(demo_stock, one.lot, today=DEMO_TODAY).retest
        assert retest.due_on is not None
        assert one.on == retest.due_on
        assert retest.text in one.reason.text


def test_the_demos_days_are_in_order_named_once_and_within_reach(demo_stock: Session) -> None:
    answer = list_coming_dates(demo_stock, today=DEMO_TODAY)
    assert answer == list_coming_dates(demo_stock, today=DEMO_TODAY)
    days = [one.on for one in answer.items]
    assert days == sorted(days)
    assert len({one.name for one in answer.items}) == len(answer.items)
    assert max(days) <= DEMO_TODAY + timedelta(AHEAD_DAYS)
    assert {Coming.FINAL_COUNT, Coming.RETEST, Coming.ISOLATE, Coming.HARVEST} <= {
        one.coming for one in answer.items
    }
    assert all(len(one.reason.text) > 20 for one in answer.items)


MARITIME = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]


def tell_climate(garden: Garden, *, colder_c: float = 0.0, months_on: int = 0) -> None:
    monthly = [one - colder_c for one in MARITIME[months_on:] + MARITIME[:months_on]]
    form = ClimateStated(monthly_c=monthly)
    state_climate(garden.session, form, site_id=None, expected=None)


def windows(garden: Garden) -> dict[str, ComingDate]:
    told = (Coming.SOWING_WINDOW, Coming.RIPE_SEED)
    return {name: one for name, one in dates(garden).items() if one.coming in told}


def test_kinds_in_stock_are_told_when_they_are_sown_and_ripe_here(garden: Garden) -> None:
    garden.lot(kind="carrot")
    garden.lot(kind="carrot")
    assert windows(garden) == {}  # no climate: nobody can say
    tell_climate(garden)
    found = windows(garden)
    carrot = found["sowing-window-carrot-open-2027"]
    assert carrot.on.month in (3, 4)
    assert carrot.until is not None
    assert carrot.until > carrot.on
    assert carrot.kind == "carrot"
    assert "Invented 1, Invented 2" in carrot.reason.text
    assert carrot.title.text == "Sow carrot in the open"
    assert found["ripe-seed-carrot-2027"].on > carrot.on
    assert not any("tomato" in name for name in found)


def test_a_window_that_is_open_is_told_and_one_that_is_over_is_not(garden: Garden) -> None:
    garden.lot(kind="carrot")
    tell_climate(garden)
    window = windows(garden)["sowing-window-carrot-open-2027"]
    first, last = window.on, window.until
    assert last is not None
    garden.today = first + timedelta(70)
    assert "sowing-window-carrot-open-2027" in windows(garden)
    garden.today = last + timedelta(1)
    assert "sowing-window-carrot-open-2027" not in windows(garden)
    assert "sowing-window-carrot-open-2028" in windows(garden)


def test_a_colder_garden_and_one_in_the_south_have_other_days(garden: Garden) -> None:
    garden.lot(kind="carrot")
    garden.lot(kind="tomato")
    tell_climate(garden)
    here = windows(garden)
    tell_climate(garden, colder_c=4.0)
    cold = windows(garden)
    name = "sowing-window-carrot-open-2027"
    assert cold[name].on > here[name].on
    assert cold[name].revision > here[name].revision
    tell_climate(garden, months_on=6)
    south = windows(garden)
    apart = (south[name].on - here[name].on).days % 365
    assert 150 < apart < 215


def test_seed_that_is_gone_and_f1_that_never_comes_true_are_left_out(garden: Garden) -> None:
    tell_climate(garden)
    gone = garden.lot(10, kind="leek").code
    form = MovementCreate.model_validate({"reason": "given", "amount": {"seeds": 10}})
    record_movement(garden.session, gone, form, **garden.when)
    garden.lot(kind="tomato", variety_id=garden.variety("tomato", breeding="f1"))
    found = windows(garden)
    assert not any("leek" in name for name in found)
    assert "sowing-window-tomato-indoors-2027" in found
    assert not any(name.startswith("ripe-seed-tomato") for name in found)
