import numpy as np
import pytest
import statsmodels.api as sm
from scipy.special import ndtr, ndtri

from seedbank.science.viability.prior import (
    UNKNOWN_MINIMUM,
    estimate_keeping,
    fit_keeping,
    initial_viability,
    lot_log_sd,
)


def test_bought_seed_has_its_5_percent_point_at_the_legal_minimum() -> None:
    mean, sd = initial_viability(np.array([0.75, 0.40]), np.array([True, True]))
    assert ndtr(mean + ndtri(0.05) * sd) == pytest.approx([0.75, 0.40])
    assert ndtr(mean) == pytest.approx(ndtr(0.5 * (ndtri([0.75, 0.40]) + ndtri(0.99))))


def test_seed_from_no_seller_is_expected_lower_and_wider() -> None:
    mean, sd = initial_viability(np.array([0.75, 0.75]), np.array([True, False]))
    assert mean[1] < mean[0]
    assert sd[1] > sd[0]


def test_a_kind_without_a_minimum_takes_the_general_one() -> None:
    known, _ = initial_viability(np.array([UNKNOWN_MINIMUM]), np.array([True]))
    unknown, _ = initial_viability(np.array([np.nan]), np.array([True]))
    assert known == unknown


def _evidence() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(3)
    kind = np.repeat(np.arange(40), 3)
    sort = np.tile(np.arange(3), 40)
    kept = rng.uniform(size=kind.size) < 0.7
    level = rng.normal(7.5, 0.6, 40)
    value = level[kind] + np.array([0.4, -0.6, 0.2])[sort] + rng.normal(0, 0.3, kind.size)
    return kind[kept], sort[kept], value[kept]


def test_the_fit_agrees_with_statsmodels_least_squares() -> None:
    kind, sort, value = _evidence()
    model = fit_keeping(kind, sort, value, 3)
    kinds = np.unique(kind)
    design = np.column_stack(
        [(kind[:, None] == kinds), (sort == 0) * 1.0 - (sort == 2), (sort == 1) * 1.0 - (sort == 2)]
    ).astype(float)
    outside = sm.OLS(value, design).fit()
    assert model.sort_offset[:2] == pytest.approx(outside.params[-2:], abs=1e-9)
    assert model.sort_offset.sum() == pytest.approx(0.0, abs=1e-12)
    assert model.residual_sd == pytest.approx(np.sqrt(outside.scale), rel=1e-9)


def test_known_offsets_and_spreads_are_recovered() -> None:
    kind, sort, value = _evidence()
    model = fit_keeping(kind, sort, value, 3)
    assert model.sort_offset == pytest.approx([0.4, -0.6, 0.2], abs=0.15)
    assert model.residual_sd == pytest.approx(0.3, abs=0.08)
    assert model.kinds_sd == pytest.approx(0.6, abs=0.15)


def test_no_evidence_gives_kinds_at_large_and_the_widest_spread() -> None:
    kind, sort, value = _evidence()
    model = fit_keeping(kind, sort, value, 3)
    empty = estimate_keeping(model, np.array([], dtype=np.int64), np.array([]), np.array([]))
    one = estimate_keeping(model, np.array([1]), np.array([8.0]), np.array([0.0]))
    borrowed = estimate_keeping(model, np.array([1]), np.array([8.0]), np.array([0.5]))
    assert empty.log_sigma == pytest.approx(model.kinds_mean)
    assert empty.own_share == 0.0
    assert empty.log_sigma_sd > borrowed.log_sigma_sd > one.log_sigma_sd
    assert one.own_share > borrowed.own_share > 0.0


def test_evidence_of_one_sort_alone_can_not_be_levelled() -> None:
    with pytest.raises(ValueError, match="two sorts"):
        fit_keeping(np.array([0, 1]), np.array([0, 0]), np.array([7.0, 8.0]), 3)


def test_what_is_not_known_widens_a_lot() -> None:
    spread = lot_log_sd(
        np.array([0.5, 0.5, 0.5]), np.array([True, False, False]), np.array([0.0, 0.0, 0.7])
    )
    assert spread[0] < spread[1] < spread[2]
