"""What can't be is refused; what hardly ever is so is asked, and taken once it is said to be so."""

from collections.abc import Callable
from typing import Any

import pytest

from seedbank.common.errors import Conflict, Doubted, Refused, StockFault, TooManyEmerged
from seedbank.facts.growing import SEED_TO_SEED_DAYS, fastest_emergence
from seedbank.facts.kinds import packaged_kinds
from seedbank.germination.forms import DayCounts, TestRecord, TestStart
from seedbank.germination.record_day_counts import save_day_counts
from seedbank.germination.run_tests import record_test, start_test
from seedbank.saving.edit_sites import add_site
from seedbank.saving.forms import SeedCropCreate, SeedCropHarvest, SiteCreate
from seedbank.saving.grow_seed_crops import harvest_seed_crop, start_seed_crop
from seedbank.sowing.forms import EmergenceCreate, LossCreate, SowingCreate
from seedbank.sowing.record_sowing import count_emergence, count_losses, record_sowing
from tests.use_cases.conftest import Garden


def asked(garden: Garden, do: Callable[[bool], Any], field: str, *words: str) -> Any:
    """Done without a word it is doubted and changes nothing; said to be so it is taken."""
    before = garden.dump()
    with pytest.raises(Doubted) as doubted:
        do(False)
    assert doubted.value.field == field
    assert doubted.value.mend
    for word in words:
        assert word in str(doubted.value)
    assert garden.dump() == before
    taken = do(True)
    assert garden.dump() != before
    return taken


def refused(garden: Garden, fault: type[StockFault], field: str, do: Callable[[bool], Any]) -> None:
    """Impossible: saying that it is so doesn't help."""
    before = garden.dump()
    for confirmed in (False, True):
        with pytest.raises(fault) as told:
            do(confirmed)
        assert not isinstance(told.value, Doubted)
        assert told.value.field == field
        assert garden.dump() == before


def sown(garden: Garden, kind: str = "carrot", seeds: int = 100, day: str = "2027-02-01") -> int:
    body = {"lot": garden.lot(kind=kind).code, "seeds_sown": seeds, "method": "row"}
    form = SowingCreate.model_validate(body | {"sown_on": day})
    return record_sowing(garden.session, form, **garden.when).id


def up(garden: Garden, sowing: int, day: str, units: int) -> Callable[[bool], Any]:
    def do(confirmed: bool) -> Any:
        body = {"on_date": day, "units_emerged": units, "confirmed": confirmed}
        form = EmergenceCreate.model_validate(body)
        return count_emergence(garden.session, sowing, form, **garden.when)

    return do


def test_seedlings_on_the_day_of_sowing_are_asked_about_and_more_than_were_sown_refused(
    garden: Garden,
) -> None:
    for kind in ("carrot", "turnip", "salsify"):  # of salsify nobody published a time
        sowing = sown(garden, kind)
        refused(garden, TooManyEmerged, "units_emerged", up(garden, sowing, "2027-02-01", 101))
        asked(garden, up(garden, sowing, "2027-02-01", 61), "on_date", "61 up on the day of sowing")
        up(garden, sowing, "2027-02-02", 70)(False)  # settled: some were up already


@pytest.mark.parametrize(
    ("kind", "fastest", "doubted_until"),
    # Harrington & Minges 1954, the packaged table: fewest days at any soil temperature
    [("parsley", 12, 5), ("carrot", 6, 2), ("lettuce", 2, 0), ("turnip", 1, 0)],
)
def test_seedlings_before_half_the_fastest_published_time_are_asked_about(
    garden: Garden, kind: str, fastest: int, doubted_until: int
) -> None:
    known = fastest_emergence(packaged_kinds()[kind].emergence_by_temperature)
    assert known is not None
    assert known.value == fastest
    assert "Harrington & Minges" in known.source
    late = sown(garden, kind)
    up(garden, late, f"2027-02-{2 + doubted_until:02}", 5)(False)
    soon = sown(garden, kind)
    told = ("Harrington & Minges", f"{fastest} day")
    asked(garden, up(garden, soon, f"2027-02-{1 + doubted_until:02}", 5), "on_date", *told)


def test_none_up_is_no_wonder_and_seedlings_lost_too_soon_are_asked_about(garden: Garden) -> None:
    sowing = sown(garden)
    up(garden, sowing, "2027-02-01", 0)(False)

    def lose(confirmed: bool, *, once_up: bool = True) -> Any:
        body = {"on_date": "2027-02-02", "cause": "eaten", "units_lost": 3}
        more = {"after_emergence": once_up, "confirmed": confirmed}
        form = LossCreate.model_validate(body | more)
        return count_losses(garden.session, sowing, form, **garden.when)

    lose(False, once_up=False)
    asked(garden, lose, "on_date", "3 up 1 day after sowing")


def test_seed_used_before_it_came_or_before_a_guessed_harvest_is_asked_about(
    garden: Garden,
) -> None:
    came = {"harvest_year": 2024, "acquired_on": "2026-10-01"}
    guess = {"harvest_year": 2026, "harvest_estimated": True, "acquired_on": "2024-10-01"}
    for lot, day, said in (
        (came, "2026-09-30", "came here on 2026-10-01"),
        (guess, "2025-03-01", "thought to be of 2026"),
    ):
        code = garden.lot(**lot).code

        def test(confirmed: bool, code: str = code, day: str = day) -> Any:
            body = {"lot": code, "started_on": day, "replicates": [10], "confirmed": confirmed}
            return start_test(garden.session, TestStart.model_validate(body), **garden.when)

        def sow(confirmed: bool, code: str = code, day: str = day) -> Any:
            body = {"lot": code, "sown_on": day, "seeds_sown": 5, "method": "row"}
            form = SowingCreate.model_validate(body | {"confirmed": confirmed})
            return record_sowing(garden.session, form, **garden.when)

        asked(garden, test, "started_on", said)
        asked(garden, sow, "sown_on", said)


def test_a_test_before_the_harvest_is_refused_though_it_is_said_to_be_so(garden: Garden) -> None:
    code = garden.lot(harvest_date="2026-09-10", acquired_on="2026-09-10").code

    def test(confirmed: bool) -> Any:
        body = {"lot": code, "started_on": "2026-09-09", "finished_on": "2026-09-23"}
        more = {"replicates": [{"seeds_set": 9, "normal": 8}], "confirmed": confirmed}
        return record_test(garden.session, TestRecord.model_validate(body | more), **garden.when)

    refused(garden, Refused, "started_on", test)


def test_seedlings_on_the_day_the_seed_was_set_are_asked_about(garden: Garden) -> None:
    code = garden.lot().code

    def whole(confirmed: bool) -> Any:
        body = {"lot": code, "started_on": "2027-02-01", "finished_on": "2027-02-01"}
        more = {"replicates": [{"seeds_set": 25, "normal": 20}], "confirmed": confirmed}
        return record_test(garden.session, TestRecord.model_validate(body | more), **garden.when)

    asked(garden, whole, "finished_on", "20 seedlings on the day the seed was set")
    form = TestStart.model_validate({"lot": code, "replicates": [10]})
    number = start_test(garden.session, form, **garden.when).id

    def count(confirmed: bool, **judged: int) -> Any:
        body = {"counts": [{"replicate": 1, **(judged or {"normal": 3})}], "confirmed": confirmed}
        form = DayCounts.model_validate(body | {"why": "miscounted"})
        return save_day_counts(garden.session, number, form, **garden.when)

    count(False, dead=1)
    asked(garden, count, "on_date", "3 seedlings")


def crop(garden: Garden, kind: str, **more: Any) -> int:
    site = add_site(garden.session, SiteCreate(name=f"Site of {len(more)} {kind}")).id
    body = {"variety_id": garden.variety(kind), "site_id": site, "purpose": "home", **more}
    return start_seed_crop(garden.session, SeedCropCreate.model_validate(body), **garden.when).id


def reap(garden: Garden, crop: int, day: str) -> Callable[[bool], Any]:
    def do(confirmed: bool) -> Any:
        body = {"amount": {"seeds": 200}, "harvested_on": day, "confirmed": confirmed}
        form = SeedCropHarvest.model_validate(body)
        return harvest_seed_crop(garden.session, crop, form, **garden.when)

    return do


def test_a_crop_planned_and_not_sown_gives_no_seed(garden: Garden) -> None:
    planned = crop(garden, "radish", flower_year=2026)
    refused(garden, Conflict, "sown_on", reap(garden, planned, "2026-09-01"))


@pytest.mark.parametrize(
    ("more", "day"),
    [
        ({"flower_year": 2026, "sow": {"sown_on": "2026-04-01"}}, "2026-03-31"),
        ({"flower_year": 2027, "sow": {"sown_on": "2025-04-01"}}, "2026-06-30"),
    ],
)
def test_a_harvest_against_the_crops_own_record_is_refused(
    garden: Garden, more: dict[str, Any], day: str
) -> None:
    refused(garden, Refused, "harvested_on", reap(garden, crop(garden, "radish", **more), day))


@pytest.mark.parametrize(
    ("kind", "sown_on", "harvested_on", "says"),
    [
        # Williams & Hill 1986: no more than ten generations a year, and that of plants bred for it
        ("radish", "2026-08-01", "2026-09-05", "35 days before"),
        ("carrot", "2026-03-01", "2026-10-01", "flowers the year after it is sown"),
        ("radish", "2026-03-01", "2026-04-20", "opens its first flower about"),
    ],
)
def test_a_harvest_before_its_seed_can_well_be_ripe_is_asked_about(
    garden: Garden, kind: str, sown_on: str, harvested_on: str, says: str
) -> None:
    number = crop(garden, kind, flower_year=2026, sow={"sown_on": sown_on})
    taken = asked(garden, reap(garden, number, harvested_on), "harvested_on", says)
    assert taken.lot.amount.seeds == 200


def test_a_harvest_in_its_season_is_taken_without_a_word(garden: Garden) -> None:
    assert SEED_TO_SEED_DAYS.value == pytest.approx(365 / 10, abs=1)  # ten generations a year
    for kind, sown_on in (("radish", "2026-03-20"), ("carrot", "2025-06-20")):
        number = crop(garden, kind, flower_year=2026, sow={"sown_on": sown_on})
        assert reap(garden, number, "2026-09-15")(False).lot.amount.seeds == 200
