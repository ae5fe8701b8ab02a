"""Outside checks: the prior mean comes back; grid posterior against quad; known truth recovered."""

import numpy as np
import pytest
from scipy import integrate, stats

from seedbank.science.sowing.seedling_losses import (
    COMMON_PRACTICE,
    EatenRecord,
    learn_pest_loss,
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


def test_unknown_protection_and_impossible_counts_are_refused() -> None:
    with pytest.raises(ValueError, match="shed"):
        learn_pest_loss("shed", [])
    with pytest.raises(ValueError, match="not possible"):
        learn_pest_loss("open", [EatenRecord("open", 5, 6)])
