"""How much of a mixture to sow: each part comes up as its own lot would."""

import pytest

from seedbank.common.errors import Conflict
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.lots.forms import MixtureCreate, MixtureTold
from seedbank.lots.mix_lots import mix_lots, tell_mixture
from seedbank.sowing.advise_mixture import advise_mixture, is_mixture
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.mixture_answers import MixtureSowingAnswer
from tests.use_cases.conftest import Garden

ASK = SowingAsk(plants=20, method="row")


def counted(garden: Garden, alive: int) -> str:
    code = garden.lot(900, kind="lettuce", harvest_year=2025).code
    form = TestRecord.model_validate(
        {
            "lot": code, "started_on": "2027-02-01", "finished_on": "2027-02-15",
            "replicates": [{"seeds_set": 50, "normal": alive}],
        }
    )  # fmt: skip
    record_test(garden.session, form, **garden.when)
    return code


def mixture(garden: Garden, *parts: tuple[str, int]) -> str:
    told = {
        "variety": "Leaves",
        "parts": [{"lot": code, "amount": {"seeds": seeds}} for code, seeds in parts],
    }
    return mix_lots(garden.session, MixtureCreate.model_validate(told), **garden.when).code


def advised(garden: Garden, code: str) -> MixtureSowingAnswer:
    return advise_mixture(garden.session, code, ASK, today=garden.today)


def test_the_worse_a_part_the_thicker_it_is_sown(garden: Garden) -> None:
    good, other, poor = (counted(garden, alive) for alive in (48, 47, 12))
    fine, mixed = (
        mixture(garden, (good, 400), (other, 800)),
        mixture(garden, (good, 400), (poor, 800)),
    )
    best, worse = advised(garden, fine), advised(garden, mixed)
    assert best.enough
    assert worse.enough
    assert worse.seeds > 1.2 * best.seeds
    assert [one.lot for one in worse.parts] == [good, poor]
    assert sum(one.seeds or 0 for one in worse.parts) == worse.seeds
    assert worse.parts[0].viability.pct > 80.0 > 50.0 > worse.parts[1].viability.pct
    assert worse.row_m is not None
    assert worse.good_end_pct is not None
    assert worse.good_end_pct >= 80.0
    assert worse.plan_b is not None
    assert worse.plan_b.below_plants <= worse.plants_wanted


def test_a_confidence_asked_for_is_given_in_plants(garden: Garden) -> None:
    code = mixture(garden, (counted(garden, 48), 200), (counted(garden, 40), 200))
    ask = ASK.model_copy(update={"confidence": 0.9})
    sure = advise_mixture(garden.session, code, ask, today=garden.today)
    assert sure.chance_of_enough >= 0.9
    assert (sure.confidence_pct, sure.good_end_pct) == (90.0, None)


def test_of_one_lot_mixed_with_itself_as_much_is_sown_as_of_the_lot(garden: Garden) -> None:
    code = counted(garden, 45)
    whole = mixture(garden, (code, 200), (counted(garden, 45), 200))
    alone = advise_lot(garden.session, code, ASK, today=garden.today)
    assert advised(garden, whole).seeds == pytest.approx(alone.seeds, rel=0.1)


def test_a_part_nobody_knows_gives_no_plant_and_is_said(garden: Garden) -> None:
    lot, bought = counted(garden, 45), garden.lot(400, kind="lettuce").code
    told = {"parts": [{"lot": lot, "share": 0.5}, {"name": "red mustard", "share": 0.5}]}
    form = MixtureTold.model_validate(told)
    tell_mixture(garden.session, bought, form, expected=None, today=garden.today)
    found = advised(garden, bought)
    assert [one.seeds for one in found.parts][1] is None
    assert "mixture-part-unknown" in [one.code for one in found.reasons]
    alone = advised(garden, mixture(garden, (lot, 100), (counted(garden, 45), 100)))
    assert found.seeds > 1.7 * alone.seeds


def test_of_what_is_none_or_is_known_by_name_alone_nothing_is_advised(garden: Garden) -> None:
    lot = garden.lot(400, kind="lettuce").code
    assert not is_mixture(garden.session, lot)
    with pytest.raises(Conflict, match="no mixture"):
        advised(garden, lot)
    told = MixtureTold.model_validate({"parts": [{"name": "red mustard"}, {"name": "cress"}]})
    tell_mixture(garden.session, lot, told, expected=None, today=garden.today)
    assert is_mixture(garden.session, lot)
    with pytest.raises(Conflict, match="is a mixture"):
        advised(garden, lot)
