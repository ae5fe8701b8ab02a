"""How a test is best set: its parts, the fewest seeds that pay, and the published method told."""

import pytest

from seedbank.facts.kinds import kind_facts, packaged_kinds
from seedbank.germination.propose_test import (
    describe_method,
    parts_of,
    propose_test,
    show_test_method,
)
from seedbank.verdicts.advise_testing import advise_testing
from tests.use_cases.conftest import Garden


@pytest.mark.parametrize(
    ("seeds", "parts"),
    [
        (0, []),
        (5, [5]),
        (19, [19]),
        (20, [10, 10]),
        (25, [13, 12]),
        (50, [25, 25]),
        (100, [25] * 4),
    ],
)
def test_seeds_are_set_in_parts_of_nearly_one_size(seeds: int, parts: list[int]) -> None:
    assert parts_of(seeds) == parts


def test_the_smallest_useful_test_is_the_fewest_seeds_worth_more_than_they_cost(
    garden: Garden,
) -> None:
    variety = garden.variety(other_keepers="few", reserve_seeds=40)
    code = garden.lot(400, variety_id=variety, harvest_date="2023-09-01").code
    advice = advise_testing(garden.session, code, today=garden.today)
    proposal = propose_test(advice)
    assert advice.seeds > 0
    assert sum(proposal.replicates) == proposal.seeds == advice.seeds
    net = {size.seeds: size.value - (size.cost or 0.0) for size in advice.sizes if size.seeds}
    assert proposal.smallest_useful == min(seeds for seeds, worth in net.items() if worth > 0)


def test_a_lot_that_cant_spare_seed_is_set_no_test(garden: Garden) -> None:
    variety = garden.variety(other_keepers="none", reserve_seeds=40)
    code = garden.lot(30, variety_id=variety, origin="self-saved", harvest_year=2022).code
    proposal = propose_test(advise_testing(garden.session, code, today=garden.today))
    assert (proposal.seeds, proposal.replicates, proposal.smallest_useful) == (0, [], None)
    assert "None can be spared" in proposal.text


def test_every_published_method_is_told_without_codes() -> None:
    told = [describe_method(facts) for facts in packaged_kinds().values()]
    known = [one for one in told if one is not None]
    assert len(known) > 80
    for method in known:
        said = [one.text for one in (*method.substrata, *method.directions)]
        assert all("KNO3" not in text and not text.isupper() and len(text) > 8 for text in said)


def test_lettuce_is_chilled_only_if_dormant() -> None:
    # 7 CFR 201.58 table 2: lettuce P; 20; 7 days; light; prechill 10 C 3 d, or test at 15 C
    method = describe_method(kind_facts("lettuce"))
    assert method is not None
    assert method.temperatures[0].low_c == method.temperatures[0].high_c == 20.0
    assert any(
        one.only_if_dormant and "Chill it moist at 10 °C" in one.text for one in method.directions
    )


def test_a_kind_without_a_published_test_has_none(garden: Garden) -> None:
    slug = next(s for s, facts in packaged_kinds().items() if facts.test_substrata is None)
    assert show_test_method(garden.session, garden.lot(kind=slug).code) is None
