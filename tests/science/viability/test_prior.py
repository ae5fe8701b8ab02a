from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.special import ndtr, ndtri

from seedbank.science.viability.prior import (
    UNKNOWN_MINIMUM,
    KeepingRows,
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


TRUE_OFFSET = np.array([0.4, -0.6, 0.2])


def _evidence(kinds: int = 40, residual: tuple[float, ...] = (0.3, 0.3, 0.3)) -> KeepingRows:
    rng = np.random.default_rng(3)
    kind = np.repeat(np.arange(kinds), 3)
    sort = np.tile(np.arange(3), kinds)
    kept = rng.uniform(size=kind.size) < 0.7
    noise = rng.normal(0, np.array(residual)[sort])
    value = rng.normal(7.5, 0.6, kinds)[kind] + TRUE_OFFSET[sort] + noise
    return KeepingRows(kind[kept], sort[kept], value[kept], np.zeros(kept.sum()), np.zeros(3))


def test_offsets_are_those_of_generalised_least_squares_at_the_fitted_spreads() -> None:
    rows = _evidence(residual=(0.6, 0.5, 0.26))
    model = fit_keeping(rows)
    same = rows.kind[:, None] == rows.kind[None, :]
    covariance = model.kinds_sd**2 * same + np.diag(model.residual_sd[rows.sort] ** 2)
    first, last = (rows.sort == 0) * 1.0, (rows.sort == 2) * 1.0
    design = np.column_stack([np.ones(rows.kind.size), first - last, (rows.sort == 1) - last])
    outside = sm.GLS(rows.log_sigma, design, sigma=covariance).fit()
    assert model.kinds_mean == pytest.approx(outside.params[0], abs=1e-6)
    assert model.sort_offset[:2] == pytest.approx(outside.params[1:], abs=1e-6)
    assert model.sort_offset.sum() == pytest.approx(0.0, abs=1e-12)


def test_spreads_are_those_of_a_mixed_model_where_residuals_are_alike() -> None:
    # With 300 kinds the penalty on the residuals no longer counts.
    rows = _evidence(kinds=300)
    model = fit_keeping(rows)
    sorts = np.column_stack([rows.sort == 0, rows.sort == 1, rows.sort == 2]).astype(float)
    outside = sm.MixedLM(rows.log_sigma, sorts, groups=rows.kind).fit(reml=True)
    assert model.kinds_sd == pytest.approx(np.sqrt(outside.cov_re[0, 0]), rel=0.03)
    assert np.sqrt(np.mean(model.residual_sd**2)) == pytest.approx(np.sqrt(outside.scale), rel=0.03)


def test_each_sort_of_evidence_has_a_residual_of_its_own() -> None:
    model = fit_keeping(_evidence(kinds=300, residual=(0.62, 0.5, 0.26)))
    assert model.sort_offset == pytest.approx(TRUE_OFFSET, abs=0.1)
    assert model.residual_sd == pytest.approx([0.62, 0.5, 0.26], rel=0.15)
    assert model.kinds_sd == pytest.approx(0.6, rel=0.12)


def test_a_residual_is_held_and_a_weak_row_counts_less() -> None:
    rows = _evidence(residual=(0.3, 0.3, 0.1))
    held = fit_keeping(replace(rows, least_residual=np.array([0.0, 0.0, 0.3])))
    assert held.residual_sd[2] == pytest.approx(0.3)
    assert fit_keeping(rows).residual_sd[2] < 0.25
    off = replace(rows, log_sigma=rows.log_sigma + 3.0 * (np.arange(rows.kind.size) == 0))
    weak = replace(off, extra_sd=3.0 * (np.arange(rows.kind.size) == 0))
    true = fit_keeping(rows).sort_offset
    assert (
        np.abs(fit_keeping(weak).sort_offset - true).max()
        < np.abs(fit_keeping(off).sort_offset - true).max()
    )


def test_no_evidence_gives_kinds_at_large_and_the_widest_spread() -> None:
    model = fit_keeping(_evidence())
    empty = estimate_keeping(model, np.array([], dtype=np.int64), np.array([]), np.array([]))
    one = estimate_keeping(model, np.array([1]), np.array([8.0]), np.array([0.0]))
    borrowed = estimate_keeping(model, np.array([1]), np.array([8.0]), np.array([0.5]))
    assert empty.log_sigma == pytest.approx(model.kinds_mean)
    assert empty.own_share == 0.0
    assert empty.log_sigma_sd > borrowed.log_sigma_sd > one.log_sigma_sd
    assert one.own_share > borrowed.own_share > 0.0


def test_evidence_of_one_sort_alone_can_not_be_levelled() -> None:
    with pytest.raises(ValueError, match="two sorts"):
        fit_keeping(
            KeepingRows(
                np.array([0, 1]), np.array([0, 0]), np.array([7.0, 8.0]), np.zeros(2), np.zeros(3)
            )
        )


def test_what_is_not_known_widens_a_lot() -> None:
    spread = lot_log_sd(np.array([0.5, 0.5, 0.7]), np.array([True, False, False]))
    assert spread[0] < spread[1] < spread[2]
