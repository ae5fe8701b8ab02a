from datetime import date

import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.saving.tables import (
    SeedCropFilter,
    find_seed_crops,
    get_seed_crop,
    seed_crops_in,
)
from tests.tables.conftest import Garden

DAY = date(2027, 9, 1)


def test_a_seed_crop_is_open_until_it_is_harvested_or_fails(
    session: Session, garden: Garden
) -> None:
    growing = garden.seed_crop()
    saved, lost = garden.seed_crop(harvested_on=DAY), garden.seed_crop(failed_on=DAY)
    assert [crop.is_open for crop in (growing, saved, lost)] == [True, False, False]
    assert find_seed_crops(session, SeedCropFilter(open=True)).items == [growing]
    assert find_seed_crops(session, SeedCropFilter(open=False)).items == [saved, lost]
    assert seed_crops_in(session, 2027) == [growing, saved]
    with pytest.raises(Missing, match="seed crop"):
        get_seed_crop(session, 999)


def test_seed_crops_are_found_by_variety_site_and_year(session: Session, garden: Garden) -> None:
    one, two = garden.seed_crop(flower_year=2026), garden.seed_crop(flower_year=2025)
    assert find_seed_crops(session).items == [two, one]
    for wanted in (
        SeedCropFilter(variety=one.variety_id),
        SeedCropFilter(site=one.site_id),
        SeedCropFilter(year=2026),
    ):
        assert find_seed_crops(session, wanted).items == [one]


@pytest.mark.parametrize(
    "wrong",
    [
        {"parents_started": 10, "parents_rogued": 4, "parents_kept": 7},
        {"parents_started": -1},
        {"harvested_on": DAY, "failed_on": DAY},
        {"flower_from": date(2027, 6, 2), "flower_to": date(2027, 6, 1)},
    ],
)
def test_numbers_and_days_that_cannot_be_are_refused(
    garden: Garden, wrong: dict[str, object]
) -> None:
    with pytest.raises(IntegrityError):
        garden.seed_crop(**wrong)


def test_plants_lost_need_no_reason(garden: Garden) -> None:
    crop = garden.seed_crop(parents_started=10, parents_rogued=2, parents_kept=5)
    assert crop.id is not None


def test_a_lot_comes_from_one_seed_crop_only(garden: Garden) -> None:
    lot = garden.lot()
    garden.seed_crop(result_lot_id=lot.id)
    garden.seed_crop()
    garden.seed_crop()
    with pytest.raises(IntegrityError):
        garden.seed_crop(result_lot_id=lot.id)
