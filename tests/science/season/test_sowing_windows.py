"""Windows in any climate: their properties, and first days beside published calendars."""

from collections import defaultdict
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.facts.season_facts import growing_year, sowing_needs
from seedbank.facts.variety_season import VarietySeason
from seedbank.science.season.climate import (
    YEAR,
    Climate,
    air_c,
    fit_climate,
    frost_span,
)
from seedbank.science.season.sowing_windows import (
    ALL_YEAR,
    REFERENCE,
    Method,
    Span,
    Why,
    after_winter,
    bed_c,
    emergence_days,
    sowing_windows,
)
from tests.published_rows import published
from tests.science.season.gardens import EVERYWHERE, GARDENS, half_a_year_on, warmer_by

KINDS = {slug: facts for slug, facts in packaged_kinds().items() if growing_year(slug) is not None}
OUTSIDE = [method for method in Method if method is not Method.INDOORS]


def day(month_day: str) -> int:
    month, of_month = map(int, month_day.split("-"))
    return (date(2001, month, of_month) - date(2000, 12, 31)).days


def first(facts: KindFacts, climate: Climate, method: Method = Method.OPEN) -> int | None:
    """Days after mid-winter of the first sowing; None: there is none."""
    found = sowing_windows(sowing_needs(facts), climate)[method].windows
    return after_winter(climate, found[0].from_day) if found else None


def apart(one: int, other: int) -> int:
    """Days from another day of the year to one, the shorter way."""
    return (one - other + 182) % YEAR - 182


def test_first_days_beside_published_calendars() -> None:
    """Rows that speak of sowing seed; those of plants to set out are left aside.

    Monthly means and frost dates are recalled (``gardens``); a month alone counts from its first
    day, so that much of the distance is the calendar's own coarseness. What is required holds in
    three climates, one with hard frost and one in the south; the fourth, a mild coast, is printed
    beside them.
    """
    off: dict[str, list[int]] = defaultdict(list)
    for row in published("planting_calendars"):
        climate = GARDENS[row["garden"]]
        found = sowing_windows(sowing_needs(KINDS[row["kind"]]), climate)[Method.OPEN].windows
        late = apart(found[0].from_day, day(row["first"])) if found else 999
        off[row["garden"]].append(late)
        print(f"{row['garden']:15} {row['kind']:17} {row['first']}  {late:+4d} days")
    south = off.pop("plain south") + off.pop("coast south")
    shares = {name: np.mean(np.abs(days) <= 21) for name, days in {**off, "south": south}.items()}
    print({name: f"{share:.0%}" for name, share in shares.items()})
    assert min(shares["inland north"], shares["mountain north"], shares["south"]) >= 0.85
    assert np.mean([abs(d) <= 21 for days in [*off.values(), south] for d in days]) >= 0.85
    assert min(len(days) for days in [*off.values(), south]) >= 12


def test_the_packaged_calendar_comes_back_where_it_was_made() -> None:
    early, late = [], []
    for slug, facts in KINDS.items():
        told = growing_year(slug)
        assert told is not None
        found = sowing_windows(sowing_needs(facts), REFERENCE)[Method.OPEN].windows
        if told.basis.value == "own" and told.value.spring is not None and found:
            early.append(abs(apart(found[0].from_day, told.value.spring.from_day)))
            late.append(abs(apart(found[0].to_day, told.value.spring.to_day)))
    print(f"first days {np.median(early)}, last days {np.median(late)} days off at the median")
    assert np.mean(np.array(early) <= 21) >= 0.85
    assert np.mean(np.array(late) <= 28) >= 0.85


@pytest.mark.parametrize("slug", sorted(KINDS))
def test_a_warmer_climate_never_opens_later(slug: str) -> None:
    for climate in EVERYWHERE.values():
        for method in OUTSIDE:
            opens = [
                first(KINDS[slug], warmer_by(climate, more), method) for more in (-4, -2, 0, 2)
            ]
            known = [n for n in opens if n is not None]
            spring = [n for n in known if n < YEAR // 2]
            assert spring == sorted(spring, reverse=True), (climate.mean_c, method, opens)


@pytest.mark.parametrize("name", sorted(EVERYWHERE))
def test_tender_seed_in_the_open_comes_up_after_the_last_frost(name: str) -> None:
    climate = EVERYWHERE[name]
    frost = frost_span(climate)
    assert frost is not None
    for facts in KINDS.values():
        needs = sowing_needs(facts)
        if needs.tender:
            days = emergence_days(needs, climate, Method.OPEN)
            for span in sowing_windows(needs, climate)[Method.OPEN].windows:
                up = after_winter(climate, span.from_day) + days[span.from_day - 1]
                assert frost[0] < up < frost[1]


@pytest.mark.parametrize("name", sorted(EVERYWHERE))
def test_nothing_is_sown_in_soil_too_cold(name: str) -> None:
    climate = EVERYWHERE[name]
    for facts in KINDS.values():
        needs = sowing_needs(facts)
        spans = sowing_windows(needs, climate)[Method.OPEN].windows
        if spans and spans[0] != ALL_YEAR and needs.autumn is None:
            soil = bed_c(needs, climate, Method.OPEN)
            assert soil[spans[0].from_day - 1] >= needs.minimum_c - 1e-9


@pytest.mark.parametrize("slug", sorted(KINDS))
def test_six_months_on_in_the_south_is_six_months_on(slug: str) -> None:
    here, there = (
        sowing_windows(sowing_needs(KINDS[slug]), one)
        for one in (REFERENCE, half_a_year_on(REFERENCE))
    )
    for method in Method:
        assert here[method].why == there[method].why
        for one, other in zip(here[method].windows, there[method].windows, strict=True):
            if one != ALL_YEAR:
                assert abs(abs(apart(one.from_day, other.from_day)) - 182) <= 2
                assert abs(abs(apart(one.to_day, other.to_day)) - 182) <= 2


def test_four_degrees_colder_moves_every_first_day() -> None:
    for facts in KINDS.values():
        warm, cold = first(facts, REFERENCE), first(facts, warmer_by(REFERENCE, -4.0))
        assert warm is None or cold is None or cold > warm or cold > YEAR // 2


def test_too_cold_gives_none_and_says_which() -> None:
    arctic = fit_climate([-15.0, -15, -12, -8, -2, 3, 5, 4, 1, -5, -10, -14], 190, 200)
    cool = fit_climate([-6.0, -5, -2, 2, 6, 10, 12, 11, 8, 4, -1, -5], 165, 245)
    bean, tomato = sowing_needs(KINDS["common-bean"]), sowing_needs(KINDS["tomato"])
    for method in OUTSIDE:
        assert sowing_windows(bean, arctic)[method].why is Why.TOO_COLD
    assert sowing_windows(tomato, arctic)[Method.INDOORS].why is Why.TOO_SHORT
    assert sowing_windows(bean, cool)[Method.OPEN].why is Why.TOO_COLD
    assert sowing_windows(sowing_needs(KINDS["lettuce"]), cool)[Method.OPEN].windows


def test_where_winter_is_mild_hardy_kinds_are_sown_the_year_round_or_over_new_year() -> None:
    mild = fit_climate([12.0, 12.2, 13, 14, 16, 18, 19, 19, 18, 16, 14, 12.5])
    assert sowing_windows(sowing_needs(KINDS["radish"]), mild)[Method.OPEN].windows == (ALL_YEAR,)
    subtropical = fit_climate([12.0, 13, 16, 20, 24, 28, 30, 30, 27, 22, 17, 13])
    (lettuce,) = sowing_windows(sowing_needs(KINDS["lettuce"]), subtropical)[Method.OPEN].windows
    assert lettuce.from_day > lettuce.to_day  # New Year inside


def test_a_hot_bed_is_no_bed_for_lettuce() -> None:
    hot = fit_climate([22.0, 24, 28, 32, 35, 36, 34, 33, 32, 30, 26, 23])
    for span in sowing_windows(sowing_needs(KINDS["lettuce"]), hot)[Method.OPEN].windows:
        assert bed_c(sowing_needs(KINDS["lettuce"]), hot, Method.OPEN)[span.from_day - 1] <= 29.5


def test_cover_opens_sooner_and_a_tunnel_soonest() -> None:
    for facts in KINDS.values():
        days = [first(facts, REFERENCE, m) for m in (Method.OPEN, Method.FLEECE, Method.TUNNEL)]
        known = [n for n in days if n is not None and n < YEAR // 2]
        assert known == sorted(known, reverse=True)


def test_plants_go_out_after_the_frost_they_were_raised_for() -> None:
    # Tomatoes under glass from February to April there, out a week after the last frost.
    for climate in GARDENS.values():
        (span,) = sowing_windows(sowing_needs(KINDS["tomato"]), climate)[Method.INDOORS].windows
        frost = frost_span(climate)
        assert frost is not None
        ahead = (frost[0] + 7 - after_winter(climate, span.from_day)) % YEAR
        assert ahead == 121 + 7 - 32


def test_an_early_variety_may_be_sown_later_than_a_winter_one() -> None:
    carrot = KINDS["carrot"]
    last = [
        sowing_windows(sowing_needs(carrot, season), REFERENCE)[Method.OPEN].windows[0].to_day
        for season in (VarietySeason.WINTER, None, VarietySeason.EARLY)
    ]
    assert last == sorted(last)
    assert last[0] < last[-1]


def test_a_crop_without_time_is_offered_to_quick_varieties_alone() -> None:
    squash = sowing_windows(sowing_needs(KINDS["squash-maxima"]), REFERENCE)[Method.OPEN]
    assert squash.early_only
    assert squash.windows
    assert not sowing_windows(sowing_needs(KINDS["beet"]), REFERENCE)[Method.OPEN].early_only


def test_autumn_sowings_come_back_in_the_reference_and_fall_out_of_a_hard_winter() -> None:
    bean = sowing_needs(KINDS["broad-bean"])
    there = sowing_windows(bean, REFERENCE)[Method.OPEN].windows[-1]
    assert (apart(there.from_day, day("11-01")), apart(there.to_day, day("11-30"))) == (0, 0)
    assert len(sowing_windows(bean, GARDENS["mountain north"])[Method.OPEN].windows) == 1


def test_a_kind_told_nothing_of_still_opens_by_warmth() -> None:
    bare = replace(sowing_needs(KINDS["carrot"]), spring=None, under_cover=None, maturity_days=None)
    bare = replace(bare, earliest_days=None)
    (span,) = sowing_windows(bare, REFERENCE)[Method.OPEN].windows
    assert isinstance(span, Span)
    assert air_c(REFERENCE)[span.to_day - 1] > 4.0
