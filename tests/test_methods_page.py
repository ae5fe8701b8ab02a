"""The page on methods keeps up with the science: every module named, every threshold as it is."""

import re
from pathlib import Path

import numpy as np
import pytest

from seedbank.plan import inputs as plan_inputs
from seedbank.plan import make_plan as plan_saving
from seedbank.plan.ground import REACH_M
from seedbank.plan.stock import SEEDS_KEPT_PER_PARENT
from seedbank.science.plan.plan import CHANGE_PENALTY
from seedbank.science.plan.plan_relief import EXPOSED_LOSS
from seedbank.science.verdicts import line_decision, row_decision, verdict
from seedbank.science.viability.decline import ORDINARY_STORE
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO
from seedbank.verdicts import judge_lots, lot_prospects

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "api_docs/methods.md").read_text("utf-8")
MODULES = sorted(
    path.stem for path in (ROOT / "seedbank/science").rglob("*.py") if not path.name.startswith("_")
)
THRESHOLDS = {
    row[0].strip(): [float(number) for number in re.findall(r"\d+(?:\.\d+)?", row[1])]
    for row in re.findall(r"^\| (.+?) \| (.+?) \|$", PAGE, re.MULTILINE)
    if re.search(r"\d", row[1])
}


@pytest.mark.parametrize("module", MODULES)
def test_every_module_of_the_science_is_on_the_page(module: str) -> None:
    assert f"`{module}`" in PAGE


def test_the_page_names_no_module_that_is_gone() -> None:
    headed = re.findall(r"^###? .*?: (.+)$|^### .*\? (`.+)$", PAGE, re.MULTILINE)
    named = re.findall(r"`(\w+)`", " ".join(first + second for first, second in headed))
    assert len(named) > 25
    assert set(named) <= set(MODULES)


def test_every_threshold_of_the_verdicts_is_on_the_page_as_it_is_used() -> None:
    used = [
        verdict.LAST_CHANCE_COST,
        verdict.HOPELESS,
        lot_prospects.USABLE_VIABILITY,
        verdict.REGENERATE_AT,
        verdict.RECENT_TEST_DAYS,
        (judge_lots.TEST_SEEDS, judge_lots.MORE_TEST_SEEDS),
    ]
    shown = list(THRESHOLDS.values())
    assert len(shown) == len(used)
    # "under 85 % of initial viability" stands in a name, not among the values.
    for numbers, value in zip(shown, used, strict=True):
        assert numbers == np.atleast_1d(np.asarray(value, dtype=float)).tolist()


def test_what_the_page_says_of_a_line_and_a_row_is_what_is_reckoned_with() -> None:
    flowing = " ".join(PAGE.split())
    none, few, many = line_decision.LINE_VALUE
    assert (
        f"worth {none:.0f} if nobody else keeps it, {few} if few do, {many} if many do" in flowing
    )
    one, two = line_decision.CROP_FAILURE
    assert f"f = {one} of seed crops fail, {two} of those that stand a winter" in flowing
    _, asked, bought = line_decision.REPLACEMENT
    assert f"replace {asked} (few: ask another keeper) or {bought} (many: a packet)" in flowing
    assert f"work = {line_decision.WORK} ({line_decision.LEAST_WORK_SHARE} + 0.8 q" in flowing
    assert f"n = {line_decision.SOWN_PER_PARENT} × wanted / mean emergence" in flowing
    assert f"would keep under {line_decision.HARDLY_A_CROP} of the line" in flowing
    assert f"good seed ({100 * row_decision.GOOD_ALIVE:.0f} % alive)" in flowing
    assert f"gives {row_decision.FULL_ROW} seedlings a place" in flowing
    assert f"said from {row_decision.THICKER_FROM} times on" in flowing


def test_what_the_page_says_of_tests_and_stores_is_what_is_reckoned_with() -> None:
    assert f"**{BETWEEN_TESTS_RHO}, our choice**" in PAGE
    assert (
        f"{50 / (1 + 49 * BETWEEN_TESTS_RHO):.1f}, 100 as {100 / (1 + 99 * BETWEEN_TESTS_RHO):.1f}"
        in PAGE
    )
    assert f"{ORDINARY_STORE.temp_winter_c} °C" in PAGE
    assert f"{ORDINARY_STORE.rh_winter_pct} % humidity" in PAGE


def test_what_the_page_says_of_the_plan_is_what_is_reckoned_with() -> None:
    flowing = " ".join(PAGE.split())
    one, two = (round(100 * share) for share in plan_inputs.USUAL_FAILURE)
    assert f"of 100 crops {one} fail, {two} that stand a winter" in flowing
    assert f"weighed as {plan_inputs.FAILURE_WORTH:.0f} crops" in flowing
    assert f"{SEEDS_KEPT_PER_PARENT} seeds kept a parent" in flowing
    assert f"can stand {REACH_M:.0f} m apart" in flowing
    assert f"must save {CHANGE_PENALTY} of weighted loss" in flowing
    assert f"weighted chance of loss over {EXPOSED_LOSS} (our choice)" in flowing
    assert plan_saving.GAP == 0.005
    assert "half a per cent is asked" in flowing
