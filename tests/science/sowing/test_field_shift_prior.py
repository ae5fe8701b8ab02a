"""Outside checks: the printed factors come back; ordering of settings follows the printed scale."""

from dataclasses import replace

import pytest
from scipy.special import ndtr, ndtri

from seedbank.science.sowing.field_shift_prior import (
    BETWEEN_KINDS_SD,
    FieldFactor,
    SowingConditions,
    calibrate_shift_prior,
)

from .field_factors import FACTORS, published_prior

OPEN_ROW = SowingConditions("leek", "row", "open", 2024, "spring")


def test_the_seedbed_scale_comes_back() -> None:
    # Recalled vegetable drilling scale (memory): 0.7 average, 0.8 fine, 0.95 in modules.
    prior = published_prior()
    for shift, factor in ((prior.average, 0.7), (prior.fine, 0.8), (prior.under_cover, 0.95)):
        assert float(ndtr(ndtri(0.9) - shift)) == pytest.approx(0.9 * factor, abs=1e-12)


def test_kinds_with_poor_emergence_shift_more_and_are_shrunk_to_the_standard() -> None:
    # Bralewski & Holubowicz 2008: carrot 0.446, lettuce 0.451 against radish 0.823.
    prior = published_prior()
    for kind, factor in (("carrot", 0.446), ("radish", 0.823)):
        raw = float(ndtri(0.9) - ndtri(0.9 * factor)) - prior.average
        got = prior.kind_offset(kind).mean
        assert 0.0 < got / raw < 1.0
    assert prior.kind_offset("carrot").mean > 0.0 > prior.kind_offset("radish").mean


def test_carrots_printed_factor_is_shrunk_to_what_is_told_for_it() -> None:
    # decisions on the field factor: 0.446 over three years becomes 0.64 beside an average 0.7.
    shift = published_prior().published_shift(replace(OPEN_ROW, kind="carrot"))
    assert float(ndtr(ndtri(0.9) - shift)) / 0.9 == pytest.approx(0.64, abs=0.005)


def test_an_unlisted_kind_is_standard_and_as_uncertain_as_kinds_differ() -> None:
    prior = published_prior()
    offset = prior.kind_offset("leek")
    assert (offset.mean, offset.sd) == (0.0, BETWEEN_KINDS_SD)
    assert offset.sd > prior.kind_offset("lettuce").sd


def test_more_shelter_costs_less() -> None:
    prior = published_prior()
    shifts = [
        prior.setting_shift(replace(OPEN_ROW, protection=protection))
        for protection in ("open", "fleece", "tunnel", "indoors")
    ]
    assert shifts == sorted(shifts, reverse=True)
    assert len(set(shifts)) == 4
    assert prior.setting_shift(replace(OPEN_ROW, method="module")) < shifts[0]


def test_cold_is_not_counted_twice() -> None:
    prior = published_prior()
    assert prior.setting_shift(replace(OPEN_ROW, temperature_shift=0.0)) == prior.fine
    assert prior.setting_shift(OPEN_ROW) == prior.average


def test_unknown_words_and_missing_steps_are_refused() -> None:
    with pytest.raises(ValueError, match="greenhouse"):
        replace(OPEN_ROW, protection="greenhouse")
    with pytest.raises(ValueError, match="setting"):
        FieldFactor("x", "swamp", 0.5, None, None)
    with pytest.raises(ValueError, match="under-cover"):
        calibrate_shift_prior([f for f in FACTORS if f.setting != "under-cover"])
