"""Where the question of how thickly to sow begins: as is usual for the kind."""

import pytest

from seedbank.common.errors import NotThere
from seedbank.emergence.tables import Protection, SowingMethod
from seedbank.facts.kinds import packaged_kinds
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.setting import usual_sowing_of_lot, usual_sowing_of_variety
from tests.use_cases.conftest import Garden


def test_a_lot_is_usually_sown_as_its_advice_assumes(garden: Garden) -> None:
    for kind in ("carrot", "tomato"):
        code = garden.lot(kind=kind).code
        usual = usual_sowing_of_lot(garden.session, code)
        advice = advise_lot(garden.session, code, SowingAsk(plants=5), today=garden.today)
        assert (usual.method, usual.protection) == (advice.method, advice.protection)
        assert usual.lot == code


def test_what_is_transplanted_is_sown_in_cells_indoors(garden: Garden) -> None:
    slug = next(
        s
        for s, facts in packaged_kinds().items()
        if facts.sowing_method and facts.sowing_method.value == "transplant"
    )
    usual = usual_sowing_of_lot(garden.session, garden.lot(kind=slug).code)
    assert (usual.method, usual.protection) == (SowingMethod.MODULE, Protection.INDOORS)


@pytest.mark.parametrize(
    ("keepers", "reserve", "kept"), [("none", 40, True), ("many", 40, False), ("none", 0, False)]
)
def test_only_a_rare_variety_with_a_reserve_keeps_one_back(
    garden: Garden, keepers: str, reserve: int, kept: bool
) -> None:
    number = garden.variety(other_keepers=keepers, reserve_seeds=reserve, plants_wanted=12)
    usual = usual_sowing_of_variety(garden.session, number)
    assert usual.has_reserve is kept
    assert (usual.lot, usual.plants_wanted, usual.variety.id) == ("", 12, number)


def test_there_is_no_such_variety(garden: Garden) -> None:
    with pytest.raises(NotThere):
        usual_sowing_of_variety(garden.session, 99)
