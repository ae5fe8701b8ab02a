"""The season at a glance: as it is after every change."""

from seedbank.climate.forms import ClimateStated
from seedbank.climate.state_climate import state_climate
from seedbank.season.show_season import show_season
from seedbank.verdicts.answers import When
from seedbank.verdicts.list_verdicts import list_seed_to_save
from tests.use_cases.conftest import Garden

RARE = {"other_keepers": "none", "breeding": "open-pollinated", "plants_wanted": 10}
COLD_C = [-9.0, -8.0, -3.0, 4.0, 9.0, 14.0, 16.0, 14.0, 9.0, 4.0, -2.0, -7.0]


def test_seed_to_save_is_timed_by_a_climate_once_it_is_told(garden: Garden) -> None:
    lot = garden.lot(
        600, variety_id=garden.variety("lettuce", **RARE), origin="self-saved",
        harvest_date="2022-09-01", acquired_on="2022-09-01",
    ).code  # fmt: skip
    [before] = show_season(garden.session, today=garden.today).save.items
    assert (before.sow_lot, before.when) == (lot, When.NOT_KNOWN)
    state_climate(garden.session, ClimateStated(monthly_c=COLD_C), site_id=None, expected=None)
    answer = show_season(garden.session, today=garden.today)
    assert answer.save == list_seed_to_save(garden.session, today=garden.today)
    assert answer.save.items[0].when not in (When.NOT_KNOWN, When.NOW)
