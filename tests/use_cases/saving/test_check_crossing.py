"""What may cross with a seed crop: gathered from all that flowers, by site, day and distance."""

from datetime import date
from typing import Any

import pytest

from seedbank.common.errors import Refused
from seedbank.lots.tables.lots import Isolation, Purity
from seedbank.saving.answers import CrossingAnswer
from seedbank.saving.check_crossing import CropAsked, check_wanted_crop
from seedbank.saving.edit_flowerings import add_flowering, state_window
from seedbank.saving.edit_sites import add_site, state_distance
from seedbank.saving.forms import (
    DistanceStated,
    FloweringCreate,
    SeedCropCreate,
    SiteCreate,
    WindowStated,
)
from seedbank.saving.grow_seed_crops import start_seed_crop
from seedbank.science.crossing.crossing_risk import Purpose
from tests.use_cases.conftest import Garden


@pytest.fixture
def sites(garden: Garden) -> tuple[int, int]:
    """Two sites 400 m apart."""
    one, other = (add_site(garden.session, SiteCreate(name=n)).id for n in ("Here", "There"))
    form = DistanceStated(metres=400.0)
    state_distance(garden.session, one, other, form, expected=None)
    return one, other


def flowers(garden: Garden, site: int, **more: Any) -> None:
    form = FloweringCreate.model_validate({"year": 2027, "site_id": site, **more})
    add_flowering(garden.session, form, today=garden.today)


def check(garden: Garden, site: int, kind: str = "cabbage", **more: Any) -> CrossingAnswer:
    asked: dict[str, Any] = {"year": 2027, "purpose": Purpose.HOME, "site_id": site}
    variety = more.pop("variety_id", None) or garden.variety(kind)
    return check_wanted_crop(garden.session, CropAsked(variety_id=variety, **(asked | more)))


def metres(answer: CrossingAnswer) -> list[float | None]:
    return sorted((one.distance_m for one in answer.may_cross), key=lambda m: (m is None, m))


def test_forms_of_one_species_cross_and_other_species_are_passed_over(
    garden: Garden, sites: tuple[int, int]
) -> None:
    for kind in ("kale", "brussels-sprouts", "carrot", "leek"):
        flowers(garden, sites[0], kind=kind, what="left-to-run")
    told = check(garden, sites[0])
    assert {one.kind for one in told.may_cross} == {"kale", "brussels-sprouts"}
    assert told.purity is Purity.RISK
    assert "Risk of crossing with" in told.purity_note.text


def test_distance_runs_from_the_crop_to_each_stand_and_is_never_guessed_longer(
    garden: Garden, sites: tuple[int, int]
) -> None:
    here, there = sites
    third = add_site(garden.session, SiteCreate(name="Nobody measured")).id
    for site, what, off in (
        (here, "self-sown", None),  # 0 m
        (here, "neighbour", 150.0),  # 150 m
        (there, "left-to-run", None),  # 400 m
        (there, "wild", 90.0),  # somewhere on a ring around the other site: 310 m at least
        (there, "wild", None),
        (third, "self-sown", None),
    ):
        flowers(garden, site, kind="kale", what=what, distance_m=off)
    told = check(garden, here)
    assert metres(told) == [0.0, 150.0, 310.0, 400.0, None, None]
    assert sum(caution.code == "distance-unknown" for caution in told.cautions) == 2


def test_what_was_cut_before_it_flowered_endangers_nothing(
    garden: Garden, sites: tuple[int, int]
) -> None:
    flowers(garden, sites[0], kind="kale", what="left-to-run", stopped_on="2027-02-20")
    told = check(garden, sites[0], isolation=Isolation.ONLY_VARIETY)
    assert (told.may_cross, told.purity) == ([], Purity.ISOLATED)


def test_your_own_days_decide_whether_two_flower_together(
    garden: Garden, sites: tuple[int, int]
) -> None:
    here, _ = sites
    flowers(garden, here, kind="kale", what="self-sown", from_date="2027-04-01",
            to_date="2027-04-20")  # fmt: skip
    late = WindowStated(from_day=150, to_day=180, source="my notebook")
    state_window(garden.session, "cabbage", late, site_id=here, expected=None)
    told = check(garden, here)
    assert told.flowers.text == "30 May to 29 Jun"
    assert told.isolated_by == [Isolation.TIME]
    early = WindowStated(from_day=95, to_day=115, source="my notebook")
    state_window(garden.session, "cabbage", early, site_id=here, expected=None)
    told = check(garden, here)
    (one,) = told.may_cross
    assert (one.overlap_days, one.isolated_by, told.purity) == (16, [], Purity.RISK)
    assert any(source.confidence == "own" for source in told.sources)


def test_what_was_seen_to_flower_for_a_year_flowers_all_year_and_has_no_day_to_be_cut(
    garden: Garden, sites: tuple[int, int]
) -> None:
    here, _ = sites
    always = WindowStated(from_day=2, to_day=1, source="my notebook")
    state_window(garden.session, "beet", always, site_id=here, expected=None)
    flowers(garden, here, kind="chard", what="wild", from_date="2027-05-10",
            to_date="2028-05-09")  # fmt: skip
    told = check(garden, here, "beet")
    (one,) = told.may_cross
    assert (told.flowers.text, one.flowers.text, one.overlap_days) == ("1 Jan to 31 Dec",) * 2 + (
        366,
    )
    assert [mend.code for mend in one.mends] == ["move"]
    assert "no-day-to-cut" in {caution.code for caution in told.cautions}


@pytest.mark.parametrize(
    ("seen", "days"),
    [
        ({"from_date": "2027-01-25"}, "25 Jan to 25 Jan"),  # past the usual end
        ({"from_date": "2027-12-10"}, "10 Dec to 20 Jan"),
        ({"to_date": "2027-01-25"}, "16 Dec to 25 Jan"),
        ({"to_date": "2027-12-15"}, "15 Dec to 15 Dec"),  # before the usual start
    ],
)
def test_one_day_seen_beside_a_usual_window_over_new_year_never_makes_it_flower_all_year(
    garden: Garden, sites: tuple[int, int], seen: dict[str, str], days: str
) -> None:
    here, _ = sites
    usual = WindowStated(from_day=350, to_day=20, source="my notebook")
    state_window(garden.session, "kale", usual, site_id=here, expected=None)
    flowers(garden, here, kind="kale", what="left-to-run", **seen)
    (one,) = check(garden, here).may_cross
    assert one.flowers.text == days


def test_a_cage_keeps_out_bees_but_not_the_wind(garden: Garden, sites: tuple[int, int]) -> None:
    here, _ = sites
    flowers(garden, here, kind="kale", what="left-to-run")
    flowers(garden, here, kind="chard", what="left-to-run")
    for kind, purity in (("cabbage", Purity.ISOLATED), ("beet", Purity.RISK)):
        assert check(garden, here, kind, isolation=Isolation.CAGE).purity is purity
        assert check(garden, here, kind).purity is Purity.RISK


def test_other_seed_crops_count_but_not_itself_nor_its_own_variety(
    garden: Garden, sites: tuple[int, int]
) -> None:
    here, there = sites
    mine, other = garden.variety("cabbage"), garden.variety("kale")
    for variety, site in ((mine, here), (mine, there), (other, there)):
        form = SeedCropCreate(
            variety_id=variety, site_id=site, purpose=Purpose.HOME, flower_year=2027
        )
        start_seed_crop(garden.session, form, **garden.when)
    told = check(garden, here, variety_id=mine)
    assert [(one.kind, one.distance_m) for one in told.may_cross] == [("kale", 400.0)]
    assert told.isolated_by == [Isolation.DISTANCE]  # 400 m of 305 m
    strict = check(garden, here, variety_id=mine, purpose=Purpose.RARE)
    assert (strict.required_m, strict.purity) == (1000.0, Purity.RISK)
    assert {mend.code for mend in strict.may_cross[0].mends} >= {"another-year", "cage"}


def test_where_nothing_was_noted_nobody_knows_unless_an_isolation_was(
    garden: Garden, sites: tuple[int, int]
) -> None:
    told = check(garden, sites[0])
    assert (told.may_cross, told.purity) == ([], Purity.UNKNOWN)
    assert check(garden, sites[0], isolation=Isolation.DISTANCE).purity is Purity.ISOLATED


def test_relatives_to_look_for_are_named_until_someone_noted_one(
    garden: Garden, sites: tuple[int, int]
) -> None:
    told = check(garden, sites[0], "carrot")
    assert "wild carrot" in {one.name for one in told.look_for}
    flowers(garden, sites[0], kind="carrot", what="wild", distance_m=260.0)
    assert check(garden, sites[0], "carrot").look_for == []


def test_a_variety_or_site_that_is_not_there_is_refused_by_its_field(
    garden: Garden, sites: tuple[int, int]
) -> None:
    for wrong, field in (({"variety_id": 99}, "variety"), ({"site_id": 99}, "site")):
        with pytest.raises(Refused) as refused:
            check(garden, sites[0], **wrong)
        assert refused.value.field == field


def test_another_year_is_another_matter(garden: Garden, sites: tuple[int, int]) -> None:
    flowers(garden, sites[0], kind="kale", what="left-to-run", year=2026,
            from_date=date(2026, 5, 1))  # fmt: skip
    assert check(garden, sites[0], isolation=Isolation.DISTANCE).may_cross == []
