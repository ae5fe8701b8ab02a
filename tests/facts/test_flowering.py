"""Flowering windows, partial crosses and wild relatives as packaged."""

import numpy as np
import pytest

from seedbank.facts import loaders
from seedbank.facts.flowering import flowering, partial_crosses, relatives
from seedbank.facts.kinds import kind_facts, packaged_kinds
from seedbank.facts.sources import Confidence
from seedbank.science.crossing.crossing_risk import (
    Carrier,
    Mating,
    Purpose,
    Relation,
    distance_required,
)
from seedbank.science.crossing.flowering_days import DayWindow, shared_windows


def _groups() -> set[str]:
    return {k.crossing_group.value for k in packaged_kinds().values() if k.crossing_group}


def test_every_packaged_kind_has_one_flowering_window_and_says_it_is_recalled() -> None:
    assert sorted(row.slug for row in loaders.flowering()) == sorted(packaged_kinds())
    for kind in packaged_kinds().values():
        assert kind.flowering is not None
        assert kind.flowering.confidence is Confidence.MEMORY
        assert kind.flowering.note.endswith("your own records go before it")
        # A northern garden's flowers don't span New Year, and no crop flowers half the year.
        assert kind.flowering.value.from_day <= kind.flowering.value.to_day
        assert kind.flowering.value.days <= 183


def test_a_kind_of_the_gardeners_own_has_no_packaged_window() -> None:
    assert flowering("no-such-kind") is None


@pytest.mark.parametrize(
    ("slug", "first_month", "last_month"),
    # From memory: overwintered cabbage April to June, beet, chard, carrot and parsnip June to
    # August, leek and lettuce to August, beans to September.
    [
        ("kale", 4, 6),
        ("cabbage", 4, 6),
        ("beet", 6, 8),
        ("chard", 6, 8),
        ("carrot", 6, 8),
        ("parsnip", 6, 8),
        ("leek", 6, 8),
        ("onion", 6, 8),
        ("lettuce", 6, 8),
        ("common-bean", 6, 9),
    ],
)
def test_windows_fall_in_the_months_gardeners_know(
    slug: str, first_month: int, last_month: int
) -> None:
    starts = (1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335, 366)
    fact = kind_facts(slug).flowering
    assert fact is not None
    assert starts[first_month - 1] <= fact.value.from_day < starts[first_month]
    assert starts[last_month - 1] <= fact.value.to_day < starts[last_month]


def test_kinds_of_one_cabbage_species_mostly_flower_together_and_beet_with_chard() -> None:
    def window(slug: str) -> DayWindow:
        fact = kind_facts(slug).flowering
        assert fact is not None
        return fact.value

    assert shared_windows(window("beet"), window("chard"))
    assert shared_windows(window("kale"), window("cabbage"))
    assert shared_windows(window("swede"), window("turnip"))
    # Spring-sown Chinese kale opens when overwintered cabbages are nearly over.
    assert sum(w.days for w in shared_windows(window("chinese-kale"), window("cabbage"))) < 14


def test_a_pair_that_crosses_both_ways_is_given_both_ways_and_endive_pollen_goes_one_way() -> None:
    crosses = {(f.value.seed_group, f.value.pollen_group): f for f in partial_crosses()}
    assert crosses["brassica-napus", "brassica-rapa"].value.relation is Relation.SOMETIMES
    assert crosses["brassica-rapa", "brassica-napus"].value.relation is Relation.OFTEN
    # Endive pollen fertilises chicory, not the reverse: The Manual of Seed Saving 2013, by way
    # of the packaged reproduction table.
    assert ("cichorium-intybus", "cichorium-endivia") in crosses
    assert ("cichorium-endivia", "cichorium-intybus") not in crosses
    assert len(crosses) == len(partial_crosses())


def test_every_pair_has_a_packaged_mother_or_father_and_no_group_is_paired_with_itself() -> None:
    for fact in partial_crosses():
        assert {fact.value.seed_group, fact.value.pollen_group} & _groups()
        assert fact.value.seed_group != fact.value.pollen_group


def test_every_relative_crosses_with_a_packaged_kind_or_by_a_listed_pair() -> None:
    reachable = _groups() | {fact.value.pollen_group for fact in partial_crosses()}
    for row in loaders.wild_and_field_relatives():
        assert row.crossing_group in reachable, row.name
        assert row.grows in ("wild", "field", "garden")
    rape = [f.value.name for f in relatives(frozenset({"brassica-napus"}))]
    assert rape == ["oilseed rape"]
    assert relatives(frozenset()) == ()


@pytest.mark.parametrize(
    ("mating", "carrier"),
    [
        (Mating.SELFING, Carrier.SELF),
        (Mating.MIXED, Carrier.INSECT),
        (Mating.OUTCROSSING, Carrier.INSECT),
        (Mating.OUTCROSSING, Carrier.WIND),
    ],
)
def test_the_usual_distances_are_those_of_nine_kinds_in_ten_of_the_packaged_table(
    mating: Mating, carrier: Carrier
) -> None:
    rows = {
        (row.crossing_group, row.isolation_m_home, row.isolation_m_strict)
        for row in loaders.reproduction()
        if row.pollination == carrier and (row.mating == mating or carrier is Carrier.WIND)
    }
    assert len(rows) > 4
    for purpose, column in ((Purpose.HOME, 1), (Purpose.KEEP, 2), (Purpose.RARE, 2)):
        usual = distance_required(purpose, None, None, mating, carrier)
        kept = np.array([row[column] for row in rows])
        low, middle, high = np.quantile(kept, (0.1, 0.5, 0.9))
        assert usual.assumed
        assert usual.least_m is not None
        assert usual.least_m == pytest.approx(low, rel=0.1)
        assert usual.least_m <= middle < usual.distance_m
        assert usual.distance_m == pytest.approx(high, rel=0.1)
