"""Flowering and ripe seed, carried to other climates by warmth."""

import pytest

from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.facts.season_facts import course_of, growing_year, sowing_needs
from seedbank.science.season.climate import YEAR, Climate, fit_climate
from seedbank.science.season.flowering_and_ripening import Seasons, seasons
from seedbank.science.season.sowing_windows import REFERENCE, after_winter, first_open_day
from tests.science.season.gardens import GARDENS, half_a_year_on, warmer_by

KINDS = {
    slug: facts
    for slug, facts in packaged_kinds().items()
    if facts.flowering is not None and growing_year(slug) is not None
}


def found(facts: KindFacts, climate: Climate) -> Seasons:
    course, needs = course_of(facts), sowing_needs(facts)
    assert course is not None
    here, there = (first_open_day(needs, one) for one in (climate, REFERENCE))
    return seasons(course, climate, here, there)


@pytest.mark.parametrize("slug", sorted(KINDS))
def test_published_flowering_comes_back_where_it_was_seen(slug: str) -> None:
    facts = KINDS[slug]
    assert facts.flowering is not None
    told, here = facts.flowering.value, found(facts, REFERENCE).flowering
    assert here is not None
    tender = sowing_needs(facts).tender
    opens = first_open_day(sowing_needs(facts), REFERENCE) or 0
    if after_winter(REFERENCE, told.from_day) > opens:  # else it is sown too late for that day
        assert abs(here.from_day - told.from_day) <= 1
    if not tender and told.from_day < told.to_day:
        assert abs(here.to_day - told.to_day) <= 1 or here.to_day > told.to_day


def test_seed_is_ripe_in_the_published_months_there() -> None:
    outside = []
    for slug, facts in KINDS.items():
        told, ripe = growing_year(slug), found(facts, REFERENCE).ripe
        if told is not None and told.value.ripe is not None:
            assert ripe is not None, slug
            if not told.value.ripe.from_day - 1 <= ripe.from_day <= told.value.ripe.to_day + 1:
                outside.append(slug)
    print("ripe outside the published months, as the published days say:", outside)
    assert len(outside) <= len(KINDS) // 10


@pytest.mark.parametrize("name", sorted(GARDENS))
def test_seed_ripens_after_the_first_flower(name: str) -> None:
    for facts in KINDS.values():
        one = found(facts, GARDENS[name])
        if one.flowering is not None and one.ripe is not None:
            bloom, ripe = (
                after_winter(GARDENS[name], d) for d in (one.flowering.from_day, one.ripe.from_day)
            )
            assert ripe >= bloom


def test_six_months_on_and_four_degrees_colder_move_every_date() -> None:
    south = half_a_year_on(REFERENCE)
    for slug, facts in KINDS.items():
        here, there = found(facts, REFERENCE).flowering, found(facts, south).flowering
        assert here is not None, slug
        assert there is not None, slug
        turned = (there.from_day - here.from_day) % YEAR
        assert abs(turned - 182) <= 2, slug
        colder = found(facts, warmer_by(REFERENCE, -4.0)).flowering
        if colder is not None:
            cold = warmer_by(REFERENCE, -4.0)
            assert after_winter(cold, colder.from_day) > after_winter(REFERENCE, here.from_day)


def test_a_summer_too_cold_ripens_nothing_tender() -> None:
    cool = fit_climate([-6.0, -5, -2, 2, 6, 10, 12, 11, 8, 4, -1, -5], 165, 245)
    assert found(KINDS["squash-maxima"], cool).ripe is None
    assert found(KINDS["carrot"], cool).flowering is not None


def test_sweet_corn_seed_ripens_inland_and_not_on_a_cold_southern_coast() -> None:
    assert found(KINDS["sweet-corn"], warmer_by(GARDENS["coast south"], -2.0)).ripe is None
    assert found(KINDS["sweet-corn"], GARDENS["inland north"]).ripe is not None
