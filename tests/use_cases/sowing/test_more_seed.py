"""Advice on sowing never gets worse with more seed, counted or not.

Where a certainty is asked for the chance of enough never falls. Without one the rate is the one
that costs least, which may ask for a seed or two fewer once there is more than all that is needed
(of lettuce in a row 83.4 to 83.0 % at most): whether it is enough never turns to no.
"""

from collections.abc import Iterator
from itertools import pairwise

import pytest

from seedbank.kinds.edit_kinds import add_kind
from seedbank.kinds.forms import KindCreate
from seedbank.lots.forms import MovementCreate
from seedbank.lots.move_seed import record_movement
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.answers import SowingAdviceAnswer
from seedbank.sowing.forms import SowingAsk
from tests.sizes import sized
from tests.use_cases.conftest import Garden

STEPS = sized(8, 40)
WAYS = [("row", 0.9), ("row", None), ("station", 0.9), ("module", 0.8), ("broadcast", 0.9)]
ROUNDED = 0.02  # per cent; chances are told to so much


def more_and_more(
    garden: Garden, code: str, ask: SowingAsk, amount: dict[str, float]
) -> Iterator[SowingAdviceAnswer]:
    for _ in range(STEPS):
        yield advise_lot(garden.session, code, ask, today=garden.today)
        form = MovementCreate.model_validate({"reason": "acquired", "amount": amount})
        record_movement(garden.session, code, form, **garden.when)


def never_worse(answers: Iterator[SowingAdviceAnswer], *, surely: bool) -> None:
    for less, more in pairwise(answers):
        assert more.enough >= less.enough
        if not surely:
            continue
        assert more.chance_of_enough.pct >= less.chance_of_enough.pct - ROUNDED
        if more.cells is None and more.stations is None:  # two seeds a cell mean fewer cells
            assert more.sure_plants >= less.sure_plants
        if more.seeds == less.seeds:
            assert more.chance_it_is_there >= less.chance_it_is_there - 1e-4


@pytest.mark.parametrize(("method", "confidence"), WAYS)
def test_more_counted_seed_is_never_worse(
    garden: Garden, method: str, confidence: float | None
) -> None:
    code = garden.lot(6, kind="lettuce", harvest_year=2025).code
    ask = SowingAsk(plants=20, method=method, confidence=confidence)
    answers = more_and_more(garden, code, ask, {"seeds": 6})
    never_worse(answers, surely=confidence is not None)


@pytest.mark.parametrize(("method", "confidence"), WAYS)
def test_more_seed_nobody_counted_is_never_worse(
    garden: Garden, method: str, confidence: float | None
) -> None:
    add_kind(garden.session, KindCreate(name="Oddbean"))
    code = garden.lot(None, kind="oddbean", amount={"grams": 0.1}, harvest_year=2025).code
    ask = SowingAsk(plants=20, method=method, confidence=confidence)
    answers = list(more_and_more(garden, code, ask, {"grams": 0.2}))
    never_worse(iter(answers), surely=confidence is not None)
    assert answers[0].chance_of_enough.pct < answers[-1].chance_of_enough.pct
    assert 0.0 < answers[0].chance_it_is_there < answers[-1].chance_it_is_there < 1.0
