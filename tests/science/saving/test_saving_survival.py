"""Outside checks: every lifetime and outcome enumerated; a simulation of lots as they live."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seedbank.science.quantities import FloatArray
from seedbank.science.saving.saving_survival import (
    NO_CROP,
    SeedLives,
    any_lot,
    crop_failure,
    expected_failure,
    loss_by_end,
)
from tests.sizes import sized

LAST = 5


def curve_from(draws: list[float]) -> FloatArray:
    return np.sort(np.array(draws))[::-1].copy()


curves = st.lists(st.floats(0, 1), min_size=LAST + 1, max_size=LAST + 1).map(curve_from)


def lifetimes(curve: FloatArray) -> FloatArray:
    """Chance that a lot fails for good in season 0, 1, ... LAST, or later."""
    return -np.diff(np.concatenate([[1.0], curve, [0.0]]))


def lost_by(
    fails_in: tuple[int, ...], sown: tuple[int, ...], lead: int, fresh: tuple[int, ...], bad: int
) -> list[bool]:
    """Lost by each season or not, when each lot's failing season and each crop's luck are given."""
    born = [0] * len(fails_in)
    dies = list(fails_in)
    for k, y in enumerate(sown):
        raised = any(b <= y < d for b, d in zip(born, dies, strict=True))
        if raised and not bad >> k & 1:
            born.append(y + lead)
            # Seed dead from the outset is no lot at any time, not even while its plants stand.
            dies.append(y + lead + fresh[k] if fresh[k] else 0)
    return [all(d <= t for d in dies) for t in range(LAST + 1)]


def enumerated(
    lots: list[FloatArray], fresh: FloatArray, sown: tuple[int, ...], lead: int, fails: list[float]
) -> FloatArray:
    """Sum over every combination of the lots' failing seasons and the crops' outcomes."""
    total = np.zeros(LAST + 1)
    ways = [lifetimes(c) for c in lots] + [lifetimes(fresh)] * len(sown)
    for picks in itertools.product(range(LAST + 2), repeat=len(ways)):
        chance = np.prod([w[p] for w, p in zip(ways, picks, strict=True)])
        if chance == 0:
            continue
        for bad in range(1 << len(sown)):
            luck = np.prod([q if bad >> k & 1 else 1 - q for k, q in enumerate(fails)])
            outcome = lost_by(picks[: len(lots)], sown, lead, picks[len(lots) :], bad)
            total += chance * luck * np.array(outcome)
    return total


def ours(
    lots: list[FloatArray], fresh: FloatArray, sown: tuple[int, ...], lead: int, fails: list[float]
) -> float:
    padded = np.array([[*sown, *[NO_CROP] * (3 - len(sown))]])
    chances = np.array([[*fails, *[1.0] * (3 - len(fails))]])
    lives = SeedLives(any_lot(lots)[None], fresh[None], np.array([lead]))
    return float(loss_by_end(lives, np.array([0]), padded, chances)[0])


@settings(max_examples=sized(15, 40), deadline=None)
@given(curves, curves, curves, st.integers(1, 2), st.data())
def test_the_loss_equals_every_lifetime_and_outcome_enumerated(
    one: FloatArray, other: FloatArray, fresh: FloatArray, lead: int, data: st.DataObject
) -> None:
    sets = [s for n in (0, 1, 2) for s in itertools.combinations(range(LAST), n)]
    sown = data.draw(st.sampled_from([s for s in sets if np.all(np.diff(s) >= lead)]))
    fails = data.draw(st.lists(st.floats(0, 1), min_size=len(sown), max_size=len(sown)))
    expected = enumerated([one, other], fresh, sown, lead, fails)
    end = ours([one, other], fresh, sown, lead, fails)
    assert end == pytest.approx(expected[-1], abs=1e-12)


@pytest.mark.parametrize(("sown", "lead"), [((0, 1, 3), 1), ((0, 2, 4), 2), ((1, 2, 4), 1)])
def test_three_crops_equal_the_enumeration(sown: tuple[int, ...], lead: int) -> None:
    lot = np.array([0.9, 0.8, 0.55, 0.5, 0.2, 0.1])
    fresh = np.array([0.97, 0.9, 0.8, 0.7, 0.6, 0.3])
    fails = [0.2, 0.35, 0.1]
    expected = enumerated([lot], fresh, sown, lead, fails)
    end = ours([lot], fresh, sown, lead, fails)
    assert end == pytest.approx(expected[-1], abs=1e-12)


def test_a_simulation_of_lots_and_crops_gives_the_same_loss() -> None:
    rng = np.random.default_rng(20270101)
    lots = [np.array([0.95, 0.9, 0.7, 0.4, 0.2, 0.1]), np.array([0.6, 0.6, 0.5, 0.3, 0.1, 0.05])]
    fresh = np.array([0.98, 0.95, 0.9, 0.8, 0.6, 0.5])
    runs, lost = 40_000, 0
    for _ in range(runs):
        levels = rng.random(2 + 3)
        can = [(0, lot, u) for lot, u in zip(lots, levels, strict=False)]
        for k, (y, fails) in enumerate(((0, 0.3), (2, 0.3), (3, 0.1))):
            raised = any(born <= y and u < c[y - born] for born, c, u in can)
            if raised and rng.random() >= fails:
                can.append((y + 1, fresh, levels[2 + k]))
        lost += not any(u < c[LAST - born] for born, c, u in can)
    end = ours(lots, fresh, (0, 2, 3), 1, [0.3, 0.3, 0.1])
    assert lost / runs == pytest.approx(end, abs=4 * np.sqrt(end * (1 - end) / runs))


def test_without_a_crop_the_loss_is_that_of_the_lots() -> None:
    lots = [np.linspace(0.9, 0.4, LAST + 1), np.linspace(0.5, 0.1, LAST + 1)]
    end = ours(lots, np.ones(LAST + 1), (), 1, [])
    assert end == pytest.approx(0.6 * 0.9, abs=1e-12)


def test_dead_lots_are_lost_whatever_is_sown_and_a_crop_sure_to_fail_changes_nothing() -> None:
    fresh = np.ones(LAST + 1)
    assert ours([np.zeros(LAST + 1)], fresh, (0, 2), 1, [0.0, 0.0]) == 1.0
    lot = np.linspace(1.0, 0.5, LAST + 1)
    assert ours([lot], fresh, (1,), 1, [1.0]) == pytest.approx(0.5)


def test_a_crop_sown_before_the_last_one_is_ripe_is_refused() -> None:
    with pytest.raises(ValueError, match="ripe before"):
        ours([np.ones(LAST + 1)], np.ones(LAST + 1), (1, 2), 2, [0.1, 0.1])
    with pytest.raises(ValueError, match="never rise"):
        any_lot([np.array([0.5, 0.6])])
    with pytest.raises(ValueError, match="at least one"):
        any_lot([])


@settings(max_examples=50, deadline=None)
@given(curves, curves, st.floats(0, 1), st.floats(0, 1))
def test_one_more_crop_or_less_risk_never_raises_the_loss(
    lot: FloatArray, fresh: FloatArray, risk: float, less: float
) -> None:
    one = ours([lot], fresh, (1,), 1, [risk])
    assert ours([lot], fresh, (1, 3), 1, [risk, 0.4]) <= one + 1e-12
    assert ours([lot], fresh, (1,), 1, [risk * less]) <= one + 1e-12


def test_causes_of_failure_join_as_independent_and_records_pull_the_prior() -> None:
    assert float(crop_failure(0.1, 0.2)) == pytest.approx(0.28)
    assert float(crop_failure()) == 0.0
    got = expected_failure(np.array([0.0, 10.0]), np.array([0.0, 5.0]), 0.15, 10.0)
    assert got == pytest.approx([0.15, 6.5 / 20])
