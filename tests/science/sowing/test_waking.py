"""Outside check: lots simulated from the description, one by one."""

import numpy as np
import pytest

from seedbank.science.sowing.waking import (
    HALF_ASLEEP_DAYS,
    HALF_ASLEEP_LOG_SD,
    NEVER_TESTED,
    SleepSeen,
    awake_share,
)

CASES = [
    (SleepSeen(46, 54, 0), 0.0),
    (SleepSeen(46, 54, 0), 200.0),
    (SleepSeen(18, 2, 5), 60.0),
    (SleepSeen(20, 0, 9), 900.0),
    (SleepSeen(25, 0, 0), 30.0),
]


@pytest.mark.parametrize(("seen", "days"), CASES)
def test_mean_and_spread_are_those_of_simulated_lots(seen: SleepSeen, days: float) -> None:
    rng = np.random.default_rng(4)
    size = 400_000
    asleep = seen.fresh + seen.hard
    slept = rng.beta(NEVER_TESTED.beta + asleep, NEVER_TESTED.alpha + seen.awake, size)
    half_days = HALF_ASLEEP_DAYS * np.exp(rng.normal(0.0, HALF_ASLEEP_LOG_SD, size))
    hard = seen.hard / asleep if asleep else 0.0
    left = slept * (hard + (1.0 - hard) * 0.5 ** (days / half_days))
    awake = 1.0 - left * rng.uniform(size=size)
    share = awake_share(seen, days)
    sd = np.sqrt(share.mean * (1.0 - share.mean) / (share.alpha + share.beta + 1.0))
    assert share.mean == pytest.approx(awake.mean(), abs=0.001)
    assert sd == pytest.approx(awake.std(), abs=0.001)


def test_fresh_seed_wakes_in_store_and_hard_seed_does_not() -> None:
    fresh = [awake_share(SleepSeen(50, 50, 0), days).mean for days in (0.0, 90.0, 360.0, 2000.0)]
    hard = [awake_share(SleepSeen(50, 0, 50), days).mean for days in (0.0, 2000.0)]
    assert fresh == sorted(fresh)
    assert fresh[-1] > 0.99
    assert hard[0] == pytest.approx(hard[1])
    assert fresh[0] == pytest.approx(hard[0])


def test_one_seed_more_awake_never_lowers_the_share() -> None:
    means = [awake_share(SleepSeen(k, 20 - k, 0), 45.0).mean for k in range(21)]
    assert np.all(np.diff(means) > 0)


def test_a_later_test_is_taken_as_it_is() -> None:
    seen = SleepSeen(30, 10, 0)
    assert awake_share(seen, -400.0) == awake_share(seen, 0.0)


def test_no_count_is_below_nought() -> None:
    with pytest.raises(ValueError, match="negative"):
        awake_share(SleepSeen(3, -1, 0), 0.0)
