"""Published germination tests read into numbers (7 CFR 201.58 table 2 unless said)."""

import pytest

from seedbank.facts import loaders
from seedbank.facts.kinds import kind_facts
from seedbank.facts.methods import RemedyKind, TemperatureRegime, germination_methods, remedy
from seedbank.facts.sources import Confidence
from seedbank.facts.tables import parts


def test_lettuce_is_tested_cool_in_light_with_a_prechill_for_dormant_seed() -> None:
    lettuce = kind_facts("lettuce")
    assert lettuce.first_count_days is None
    assert lettuce.final_count_days is not None
    assert lettuce.final_count_days.value == 7
    assert lettuce.test_temperatures is not None
    assert lettuce.test_temperatures.value == (TemperatureRegime(20, 20),)
    assert lettuce.test_remedies is not None
    light, prechill, cooler = lettuce.test_remedies.value
    assert (light.kind, light.only_if_dormant) == (RemedyKind.LIGHT, False)
    assert (prechill.kind, prechill.temperatures_c, prechill.days, prechill.only_if_dormant) == (
        RemedyKind.PRECHILL,
        (10,),
        3,
        True,
    )
    assert (cooler.kind, cooler.temperatures_c) == (RemedyKind.TEMPERATURE, (15,))


@pytest.mark.parametrize(
    ("text", "kind", "temperatures", "days", "hours"),
    [
        ("dormant: prechill 5C or 10C 3 d", RemedyKind.PRECHILL, (5, 10), 3, None),
        ("dormant: prechill 10C 7 d then test 5 d", RemedyKind.PRECHILL, (10,), 7, None),
        ("presoak 16 h", RemedyKind.SOAK, (), None, 16),
        ("dormant: flood 24 h", RemedyKind.FLOOD, (), None, 24),
        ("KNO3 or soil", RemedyKind.KNO3, (), None, None),
        ("dormant: scrape fruit day 21 then test 7 d", RemedyKind.SCARIFY, (), None, None),
        ("prefer 18C", RemedyKind.TEMPERATURE, (18,), None, None),
        ("dry side", RemedyKind.MOISTURE, (), None, None),
    ],
)
def test_a_direction_is_read_into_numbers(
    text: str,
    kind: RemedyKind,
    temperatures: tuple[float, ...],
    days: float | None,
    hours: float | None,
) -> None:
    read = remedy(text)
    assert (read.kind, read.temperatures_c, read.days, read.hours) == (
        kind,
        temperatures,
        days,
        hours,
    )
    assert read.only_if_dormant == text.startswith("dormant")


def test_only_known_directions_are_left_as_handling() -> None:
    printed = {text for row in loaders.test_methods() for text in parts(row.special)}
    left = {text for text in printed if remedy(text).kind is RemedyKind.HANDLING}
    assert left == {
        "hard",
        "no first count",
        "alternate method",
        "paper toxicity",
        "retest with CaNO3 0.3-0.6% if collar rot",
        "dormant: ethephon or ethylene",
    }


def test_hard_seed_counts_for_peas_and_beans_and_okra_only_where_printed() -> None:
    for slug, hard in (("pea", True), ("common-bean", True), ("okra", True), ("carrot", False)):
        fact = kind_facts(slug).counts_hard_seed
        assert fact is not None
        assert fact.value is hard


def test_the_regular_method_comes_before_the_alternate() -> None:
    onion = germination_methods("onion")
    assert [fact.value.final_count_days for fact in onion] == [10, 12]
    assert "alternate method" in onion[1].value.directions
    kind = kind_facts("onion")
    assert kind.other_test_methods == onion[1:]


def test_a_printed_range_of_days_gives_its_end_and_says_so() -> None:
    marigold = kind_facts("calendula").first_count_days
    assert marigold is not None
    assert marigold.value == 7  # from memory: ISTA prints 4-7
    assert "4-7" in marigold.note
    assert marigold.confidence is Confidence.MEMORY


def test_squash_and_pumpkin_printed_alike_give_one_method() -> None:
    assert len(germination_methods("squash-pepo")) == 1
