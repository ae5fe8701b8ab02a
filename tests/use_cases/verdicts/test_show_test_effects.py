"""What a finished test changes, against the same lot without it."""

import pytest

from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.forms import SowingAsk
from seedbank.verdicts.show_test_effects import read_finished_test
from seedbank.viability.show_viability import show_viability
from tests.use_cases.conftest import Garden
from tests.use_cases.germination.test_run_tests import finish, record, start


def test_without_the_test_the_lot_is_as_alive_as_it_was_before_it(garden: Garden) -> None:
    code = garden.lot(300).code
    start(garden, code)
    before = show_viability(garden.session, code, today=garden.today).now
    test = record(garden, code, {"seeds_set": 50, "normal": 20})
    read = read_finished_test(garden.session, test, today=garden.today)
    after = show_viability(garden.session, code, today=garden.today).now
    assert read.alive_without.pct == pytest.approx(before.median_pct, abs=0.5)
    assert read.alive_without.low_pct == pytest.approx(before.low_90_pct, abs=0.5)
    assert read.alive_with.pct == pytest.approx(after.median_pct, abs=0.5)
    assert read.alive_with.pct < read.alive_without.pct


def test_another_test_of_the_lot_still_speaks(garden: Garden) -> None:
    code = garden.lot(300).code
    record(garden, code, {"seeds_set": 50, "normal": 20}, started_on="2027-01-10")
    alone = show_viability(garden.session, code, today=garden.today).now
    test = record(garden, code, {"seeds_set": 50, "normal": 45})
    read = read_finished_test(garden.session, test, today=garden.today)
    assert read.alive_without.pct == pytest.approx(alone.median_pct, abs=0.5)


def test_what_comes_up_with_it_is_what_the_sowing_advice_says(garden: Garden) -> None:
    code = garden.lot(300).code
    test = record(garden, code, {"seeds_set": 50, "normal": 20, "fresh": 10})
    read = read_finished_test(garden.session, test, today=garden.today)
    advice = advise_lot(garden.session, code, SowingAsk(plants=10), today=garden.today)
    assert read.comes_up_with == advice.emergence
    assert read.comes_up_with.pct < read.comes_up_without.pct
    assert "more seed" in read.density_text.text or "times as thickly" in read.density_text.text
    ratio = read.comes_up_without.pct / read.comes_up_with.pct
    said = f"{ratio:.1f} times" if ratio >= 2 else f"{ratio - 1:.0%} more".replace("%", " %")
    assert said in read.density_text.text


def test_a_good_test_thins_the_sowing(garden: Garden) -> None:
    code = garden.lot(300, harvest_year=2018).code
    test = record(garden, code, {"seeds_set": 50, "normal": 49})
    read = read_finished_test(garden.session, test, today=garden.today)
    assert "less seed" in read.density_text.text


def test_a_dead_lot_is_not_worth_sowing(garden: Garden) -> None:
    code = garden.lot(600, harvest_year=2005).code
    test = record(garden, code, {"seeds_set": 200, "normal": 0}, {"seeds_set": 200, "normal": 0})
    done = read_finished_test(garden.session, test, today=garden.today)
    assert done.comes_up_with.pct < 1
    assert "not worth sowing" in done.density_text.text


def test_an_open_test_changes_nothing_yet_and_a_finished_one_does(garden: Garden) -> None:
    code = garden.lot(300).code
    opened = start(garden, code)
    now = show_viability(garden.session, code, today=garden.today).now
    finished = finish(garden, opened.id, rest_dead=True)
    read = read_finished_test(garden.session, finished, today=garden.today)
    assert read.alive_without.pct == pytest.approx(now.median_pct, abs=0.5)
    assert read.alive_with.pct < 30
