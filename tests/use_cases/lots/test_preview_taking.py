"""What would be left is what is left, once it is taken."""

import pytest

from seedbank.common.errors import NotEnoughSeed
from seedbank.lots.forms import Amount, MovementCreate
from seedbank.lots.move_seed import foresee_taking, record_movement
from tests.use_cases.conftest import Garden


def test_what_is_foreseen_is_what_comes(garden: Garden) -> None:
    variety = garden.variety(reserve_seeds=150)
    lot = garden.lot(100, variety_id=variety, thousand_seed_weight_g=2.0)
    garden.lot(60, variety_id=variety)
    seen = foresee_taking(garden.session, lot.code, Amount(grams=0.04))
    assert (seen.seeds, seen.grams, seen.left_seeds, seen.left_grams) == (20, 0.04, 80, 0.16)
    form = MovementCreate.model_validate({"reason": "given", "amount": {"grams": 0.04}})
    taken = record_movement(garden.session, lot.code, form, **garden.when)
    assert taken.balance_seeds == seen.left_seeds
    assert [one.text.replace("would then hold", "now hold") for one in seen.warnings] == [
        one.text for one in taken.warnings
    ]
    assert len(taken.warnings) == 1


def test_no_warning_while_the_reserve_is_kept(garden: Garden) -> None:
    lot = garden.lot(100, variety_id=garden.variety(reserve_seeds=50))
    assert foresee_taking(garden.session, lot.code, Amount(seeds=50)).warnings == []
    assert foresee_taking(garden.session, lot.code, Amount(seeds=51)).warnings != []


def test_more_than_there_is_is_refused_beside_its_field(garden: Garden) -> None:
    lot = garden.lot(10)
    with pytest.raises(NotEnoughSeed) as refused:
        foresee_taking(garden.session, lot.code, Amount(seeds=11))
    assert refused.value.field == "amount.seeds"
