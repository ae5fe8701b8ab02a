"""Outside checks: the prior mean comes back; grid posterior against quad; known truth recovered."""

import numpy as np
import pytest
from scipy import integrate, stats

from seedbank.science.sowing.seedling_losses import (
    COMMON_PRACTICE,
    EatenRecord,
    learn_patchiness,
    learn_pest_loss,
    patchiness_prior,
)


def test_without_sowings_the_common_figure_is_used_and_named() -> None:
    loss = learn_pest_loss("open", [])
    assert loss.share.mean == pytest.approx(0.08, abs=1e-4)
    assert (loss.source, loss.sowings) == (COMMON_PRACTICE, 0)
    assert learn_pest_loss("indoors", []).share.mean < loss.share.mean


def test_own_sowings_move_the_share_to_the_exact_posterior_mean() -> None:
    # Prior Beta(1.6, 18.4) on the mean; each share Beta(9 mu, 9 (1 - mu)).
    records = [EatenRecord("open", 40, 12), EatenRecord("open", 60, 3)]

    def joint(mu: float) -> float:
        like = [stats.betabinom.pmf(r.eaten, r.sown, 9 * mu, 9 * (1 - mu)) for r in records]
        return float(stats.beta.pdf(mu, 1.6, 18.4) * np.prod(like))

    total = integrate.quad(joint, 0, 1)[0]
    mean = integrate.quad(lambda mu: mu * joint(mu), 0, 1)[0] / total
    assert learn_pest_loss("open", records).share.mean == pytest.approx(mean, rel=1e-4)


def test_losses_under_one_protection_do_not_speak_for_another() -> None:
    records = [EatenRecord("open", 40, 30)] * 5
    assert learn_pest_loss("tunnel", records).share == learn_pest_loss("tunnel", []).share


@pytest.mark.parametrize("truth", [0.02, 0.1, 0.25])
def test_patchiness_is_found_from_station_counts(truth: float) -> None:
    rng = np.random.default_rng(12)
    scale = 1 / truth - 1
    sowings = []
    for chance in rng.uniform(0.3, 0.8, 40):
        shares = rng.beta(chance * scale, (1 - chance) * scale, 30)
        sowings.append([(6, int(k)) for k in rng.binomial(6, shares)])
    found = learn_patchiness("open", sowings)
    assert found.range.low - 0.01 <= truth <= found.range.high + 0.01
    assert found.patches.rho == pytest.approx(truth, abs=0.03)
    assert found.patches_seen == 1200


def test_a_single_patch_says_nothing_of_patchiness() -> None:
    assert learn_patchiness("open", [[(50, 20)]]).patches_seen == 0
    assert learn_patchiness("open", []).patches.rho == pytest.approx(
        patchiness_prior("open").rho, abs=0.005
    )


def test_unknown_protection_and_impossible_counts_are_refused() -> None:
    with pytest.raises(ValueError, match="shed"):
        learn_pest_loss("shed", [])
    with pytest.raises(ValueError, match="not possible"):
        learn_pest_loss("open", [EatenRecord("open", 5, 6)])
    with pytest.raises(ValueError, match="not possible"):
        learn_patchiness("open", [[(5, 6), (5, 1)]])
