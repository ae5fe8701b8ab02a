"""Grams into seeds, and how sure that is."""

from datetime import UTC, datetime

import pytest

from seedbank.common.errors import Refused
from seedbank.facts.kinds import kind_facts
from seedbank.facts.overrides import with_overrides
from seedbank.lots.tables.lots import Lot, Origin
from seedbank.lots.weighing import grams_of, seed_weight, weigh


def lot(**more: float) -> Lot:
    made = datetime(2027, 3, 1, tzinfo=UTC)
    return Lot(code="X", variety_id=1, origin=Origin.BOUGHT, created_at=made, **more)


def test_a_weight_measured_on_the_lot_goes_before_the_published_one() -> None:
    weight = seed_weight(
        lot(thousand_seed_weight_g=2.0, thousand_seed_weight_se_g=0.1), kind_facts("carrot")
    )
    assert weight is not None
    assert (weight.tsw_g, weight.tsw_se_g, weight.measured) == (2.0, 0.1, True)


def test_a_published_range_is_read_as_four_standard_errors() -> None:
    fact = kind_facts("carrot").thousand_seed_weight_g
    assert fact is not None
    assert fact.value.low is not None
    assert fact.value.high is not None
    weight = seed_weight(lot(), kind_facts("carrot"))
    assert weight is not None
    assert weight.tsw_se_g == pytest.approx((fact.value.high - fact.value.low) / 4)
    assert weight.source.text == fact.source


def test_half_a_gram_of_seed_at_two_grams_a_thousand_is_250_give_or_take() -> None:
    weight = seed_weight(
        lot(thousand_seed_weight_g=2.0, thousand_seed_weight_se_g=0.1), kind_facts("carrot")
    )
    weighed = weigh(seeds=None, grams=0.5, seeds_se=None, weight=weight)
    assert weighed.seeds == 250
    assert weighed.seeds_se == pytest.approx(250 * 0.1 / 2.0)
    assert grams_of(250, weight) == pytest.approx(0.5)


def test_counted_seed_needs_no_weight() -> None:
    weighed = weigh(seeds=30, grams=None, seeds_se=2.0, weight=None)
    assert (weighed.seeds, weighed.seeds_se, weighed.grams) == (30, 2.0, None)


def test_grams_of_seed_whose_weight_nobody_knows_are_refused() -> None:
    bare = with_overrides(None, {}, slug="sea-beet", name="Sea beet")
    assert seed_weight(lot(), bare) is None
    assert grams_of(10, None) is None
    with pytest.raises(Refused) as refused:
        weigh(seeds=None, grams=1.0, seeds_se=None, weight=None)
    assert refused.value.field == "amount.grams"


def test_less_than_half_a_seed_is_refused_but_an_empty_packet_is_not() -> None:
    weight = seed_weight(lot(thousand_seed_weight_g=400.0), kind_facts("broad-bean"))
    with pytest.raises(Refused):
        weigh(seeds=None, grams=0.1, seeds_se=None, weight=weight)
    assert weigh(seeds=None, grams=0.0, seeds_se=None, weight=weight).seeds == 0
