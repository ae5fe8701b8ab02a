"""What verdicts say of how thickly to sow is what the advice on a usual sowing searches out."""

import math

import numpy as np
import pytest
from scipy.special import ndtri

from seedbank.facts.kinds import kind_facts
from seedbank.facts.seeding_rates import usual_spacing_cm
from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.lot_thickness import UsualRates, lot_rates
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.usual_rate import THICKER_FROM, thickness_step
from seedbank.sowing.setting import usual_method
from seedbank.sowing.sowing_rate import SeedToSow, SowingPlace
from seedbank.verdicts.usual_row import usual_row
from tests.science.sowing.test_usual_rates import lot, shift_of

LEVEL = ndtri((np.arange(16) + 0.5) / 16)
LOTS = ((1.6, 0.3), (1.2, 0.5), (0.9, 0.2), (0.7, 0.7), (0.4, 0.3), (0.0, 0.5))
# Of its own beside the kinds it was fitted to: garden cress, dill and runner bean.
KINDS = (
    "carrot", "onion", "parsnip", "beet", "spinach", "pea", "common-bean", "broad-bean", "lettuce",
    "kale", "leek", "tomato", "garden-cress", "dill", "runner-bean",
)  # fmt: skip


def probits(mean: float, sd: float) -> FloatArray:
    return (mean + sd * LEVEL / LEVEL.std())[None]


def told(slug: str, mean: float, sd: float) -> tuple[float, float]:
    """How thickly by the closed form, and by the search."""
    facts = kind_facts(slug)
    row, method = usual_row(facts), usual_method(facts)
    place = SowingPlace(
        facts, method, usual_spacing_cm(facts), shift_of(slug, method.value),
        patches=Patches(0.06, 20),
    )  # fmt: skip
    searched = place.advise(SeedToSow(lot(mean, sd)), round(row.plants))
    return float(lot_rates(row.rates, probits(mean, sd)).thickness[0]), searched.thickness


def test_the_closed_form_is_the_search_kind_by_kind() -> None:
    off, other_words = [], 0
    for slug in KINDS:
        both = [told(slug, mean, sd) for mean, sd in LOTS]
        apart = [math.log(form / search) for form, search in both]
        print(slug, " ".join(f"{form:.2f}/{search:.2f}" for form, search in both))
        off += apart
        other_words += sum(
            (form >= THICKER_FROM) != (search >= THICKER_FROM) and abs(apart) > math.log(1.1)
            for (form, search), apart in zip(both, apart, strict=True)
        )
    print(f"rms {np.sqrt(np.mean(np.square(off))):.3f}, furthest {np.abs(off).max():.2f}")
    assert np.sqrt(np.mean(np.square(off))) < 0.08
    assert other_words <= 0.05 * len(off)


@pytest.mark.parametrize("way", range(5))
def test_weaker_seed_is_never_sown_thinner_nor_beyond_the_most_and_without_jumps(way: int) -> None:
    one = np.ones(1)
    usual = UsualRates(np.array([way]), 2.0 * one, 4.0 * one, 6.0 * one, 3.0 * one)
    means = np.linspace(2.5, -2.0, 181)
    for sd in (0.0, 0.3, 0.8):
        rates = np.array([float(lot_rates(usual, probits(m, sd)).rate[0]) for m in means])
        assert np.all(np.diff(rates) >= -1e-9)
        assert np.diff(rates).max() < 0.3
        assert rates.max() <= 6.0


def test_thickness_is_said_in_steps_and_never_beyond_twice() -> None:
    assert [thickness_step(t) for t in (1.0, 1.24, 1.25, 1.5, 1.8, 2.0, 2.8)] == [
        "usual", "usual", "little", "half", "nearly-twice", "twice", "twice",
    ]  # fmt: skip
