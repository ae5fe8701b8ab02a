"""How many seeds to test: none where none can be spared or nothing could change."""

import pytest
from sqlmodel import Session, select

from seedbank.germination.answers import TestAdviceAnswer
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.lots.tables.lots import Lot
from seedbank.verdicts.advise_testing import advise_testing
from seedbank.verdicts.list_verdicts import show_verdict
from tests.use_cases.conftest import DEMO_TODAY, Garden

MIDDLING = {"harvest_date": "2023-09-01", "acquired_on": "2024-01-10"}


def advice(garden: Garden, code: str) -> TestAdviceAnswer:
    return advise_testing(garden.session, code, today=garden.today)


def codes(answer: TestAdviceAnswer) -> list[str]:
    return [reason.code for reason in answer.reasons]


@pytest.fixture(scope="module")
def demo_advice(demo_stock: Session) -> list[TestAdviceAnswer]:
    lots = demo_stock.exec(select(Lot.code).order_by(Lot.code)).all()
    return [advise_testing(demo_stock, code, today=DEMO_TODAY) for code in lots[::2]]


def test_no_seed_is_tested_where_all_of_it_is_reserve(garden: Garden) -> None:
    kept = garden.variety("carrot", other_keepers="few", reserve_seeds=900)
    free = garden.variety("carrot", other_keepers="few")
    spared = advice(garden, garden.lot(900, variety_id=free, **MIDDLING).code)
    none = advice(garden, garden.lot(900, variety_id=kept, **MIDDLING).code)
    assert spared.seeds > 0
    assert (none.seeds, none.seeds_spare) == (0, 0)
    assert "no-seed-to-spare" in codes(none)
    assert none.stages == []
    assert none.mean_seeds_with_stages is None
    assert [size.cost is None for size in none.sizes] == [size.seeds > 0 for size in none.sizes]
    assert none.viability_needed_pct == spared.viability_needed_pct


def test_no_seed_is_tested_where_too_few_are_left_for_any_viability_to_do(garden: Garden) -> None:
    variety = garden.variety("onion", other_keepers="none", breeding="landrace")
    answer = advice(garden, garden.lot(2, variety_id=variety, **MIDDLING).code)
    assert answer.seeds == 0
    assert "nothing-to-learn" in codes(answer)
    assert answer.viability_needed_pct is None


def test_a_lot_just_tested_well_is_not_tested_again(garden: Garden) -> None:
    variety = garden.variety("leek", other_keepers="none", breeding="landrace")
    code = garden.lot(9000, variety_id=variety, **MIDDLING).code
    form = TestRecord.model_validate(
        {
            "lot": code,
            "started_on": "2027-02-01",
            "finished_on": "2027-02-15",
            "replicates": [{"seeds_set": 100, "normal": n} for n in (92, 93)],
        }
    )
    record_test(garden.session, form, **garden.when)
    assert advice(garden, code).seeds == 0


def test_the_size_advised_has_the_most_value_over_its_cost(
    demo_advice: list[TestAdviceAnswer],
) -> None:
    assert {answer.seeds > 0 for answer in demo_advice} == {True, False}
    for answer in demo_advice:
        net = {s.seeds: s.value - s.cost for s in answer.sizes if s.cost is not None}
        assert net[answer.seeds] >= max(net.values()) - 3e-6
        assert answer.seeds <= answer.seeds_spare


def test_stages_run_up_to_the_size_advised_and_end_somewhere(
    demo_advice: list[TestAdviceAnswer],
) -> None:
    staged = [answer for answer in demo_advice if answer.stages]
    assert staged
    for answer in staged:
        sizes = [stage.tested for stage in answer.stages]
        assert len(sizes) <= 5
        assert sizes == [sizes[0] * (place + 1) for place in range(len(sizes))]
        assert sizes[-1] == answer.seeds
        ends = [stage.probability_ends_here for stage in answer.stages]
        assert sum(ends) == pytest.approx(1.0, abs=5e-4)
        mean = sum(n * p for n, p in zip(sizes, ends, strict=True))
        assert answer.mean_seeds_with_stages == pytest.approx(mean, abs=0.1)
        assert 0 < (answer.mean_seeds_with_stages or 0) <= answer.seeds
        for stage in answer.stages:
            few, many = stage.save_seed_if_at_most, stage.keep_if_at_least
            assert few is None or 0 <= few <= stage.tested
            assert many is None or 0 <= many <= stage.tested
            assert few is None or many is None or few < many
        last = answer.stages[-1]
        if last.save_seed_if_at_most is not None and last.keep_if_at_least is not None:
            assert last.keep_if_at_least == last.save_seed_if_at_most + 1
        full = next(s for s in answer.sizes if s.seeds == answer.seeds)
        assert (answer.probability_right_with_stages or 0) >= full.probability_right - 0.05


def test_where_nothing_is_tested_there_are_no_stages(demo_advice: list[TestAdviceAnswer]) -> None:
    for answer in demo_advice:
        if answer.seeds == 0:
            assert (answer.stages, answer.mean_seeds_with_stages) == ([], None)
        if not answer.stages:
            assert answer.probability_right_with_stages is None


def test_the_viability_and_the_need_are_those_the_verdict_shows(
    garden: Garden,
) -> None:
    variety = garden.variety("parsnip", other_keepers="none", breeding="landrace")
    code = garden.lot(300, variety_id=variety, **MIDDLING).code
    answer, verdict = advice(garden, code), show_verdict(garden.session, code, today=garden.today)
    assert answer.viability == verdict.viability
    assert answer.viability_needed_pct == verdict.viability_needed_pct
