"""Limits as rows: the largest sets of crops that exclude each other, and what prunes columns."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from seedbank.science.plan.plan_columns import build_columns
from seedbank.science.plan.plan_options import crop_options
from seedbank.science.plan.plan_problem import (
    PlanLimits,
    PlanProblem,
    PlanSite,
    PlanVariety,
    SiteGap,
    Stand,
    TimeBudget,
    Way,
)
from seedbank.science.plan.plan_rows import limit_rows
from tests.science.plan.small_gardens import small_garden

CURVE = np.linspace(0.9, 0.5, 3)
NEAR = (SiteGap("a", "b", 100.0), SiteGap("b", "c", 100.0), SiteGap("a", "c", 300.0))


def garden(*distances: float, reach: float = 0.0) -> PlanProblem:
    varieties = tuple(
        PlanVariety(f"v{n}", "g", CURVE, CURVE, distance_m=metres)
        for n, metres in enumerate(distances)
    )
    sites = tuple(PlanSite(name, 50.0, reach_m=reach) for name in "abc")
    return PlanProblem(varieties, sites, PlanLimits(50.0), 2, NEAR).in_order()


def crossing(problem: PlanProblem) -> list[tuple[tuple[str, ...], set[str]]]:
    """Sites and varieties of each crossing row of season 0."""
    options = crop_options(problem)
    rows = limit_rows(problem, options)
    found = []
    for row, limit in enumerate(rows.limits):
        if (limit.kind, limit.season) == ("crossing", 0):
            users = rows.use.toarray()[:, row].nonzero()[0]
            found.append((limit.sites, {f"v{options.variety[o]}" for o in users}))
    return found


def test_sites_nearer_than_the_distance_share_a_row_and_nearness_is_not_handed_on() -> None:
    both = {"v0", "v1"}
    assert crossing(garden(200.0, 200.0)) == [(("a", "b"), both), (("b", "c"), both)]
    assert crossing(garden(400.0, 400.0)) == [(("a", "b", "c"), both)]
    assert crossing(garden(50.0, 50.0)) == [(("a",), both), (("b",), both), (("c",), both)]


def test_the_stricter_of_two_distances_holds_and_short_distances_share_a_site() -> None:
    assert crossing(garden(5.0, 5.0, reach=20.0)) == []
    # v0 asks for 200 m and keeps v1 away from its own site and the next; v1 bars nobody else.
    rows = crossing(garden(200.0, 5.0, 5.0, reach=20.0))
    assert all(("v0" in users) and users != {"v1", "v2"} for _, users in rows)
    assert {site for sites, _ in rows for site in sites} == {"a", "b", "c"}


def test_a_stand_that_spoils_every_crop_forbids_open_ones_but_not_caged_ones() -> None:
    cage = Way("cage", open_air=False, gear="cage")
    problem = garden(200.0)
    caged = replace(problem.varieties[0], ways=(Way("distance"), cage))
    stand = Stand("neighbour's", "g", "a", 0, crossing=1.0, distance_m=150.0)
    limits = PlanLimits(50.0, (("cage", 1.0),))

    def ways_at_a(stand: Stand, variety: PlanVariety) -> set[str]:
        asked = replace(problem, varieties=(variety,), stands=(stand,), limits=limits)
        options = crop_options(asked.in_order())
        now = np.flatnonzero((options.season == 0) & (options.site == 0))
        return {options.crop(asked, int(o)).way for o in now}

    assert ways_at_a(stand, caged) == {"cage"}
    assert ways_at_a(replace(stand, distance_m=250.0), caged) == {"cage", "distance"}
    assert ways_at_a(replace(stand, variety="v0"), caged) == {"cage", "distance"}
    assert ways_at_a(replace(stand, group="other"), caged) == {"cage", "distance"}


def test_limits_that_cannot_bind_and_crops_another_replaces_are_left_out() -> None:
    # Beds and work are ample and nobody to cross with: one of three equal sites is enough.
    columns = build_columns(garden(200.0))
    assert columns.rows.limits == ()
    assert columns.options.variety.size == 2
    assert columns.variety.size == 3
    assert all(columns.column(n).crops[0].site == "a" for n in (1, 2))


def test_kinds_that_share_each_of_many_sites_are_kept_apart_by_few_rows() -> None:
    # Two on a site may flower together, two on neighbouring sites not: 2 ** 30 largest cliques.
    varieties = tuple(
        PlanVariety(f"v{n}", "g", CURVE, CURVE, distance_m=5.0, bed_m2=(3.0,)) for n in range(2)
    )
    sites = tuple(PlanSite(f"s{n:02}", 3.0, reach_m=20.0) for n in range(30))
    near = tuple(SiteGap(a.name, b.name, 0.0) for a, b in itertools.combinations(sites, 2))
    problem = PlanProblem(varieties, sites, PlanLimits(50.0), 2, near).in_order()
    options = crop_options(problem)
    rows = limit_rows(problem, options)
    crossing = [n for n, one in enumerate(rows.limits) if (one.kind, one.season) == ("crossing", 0)]
    assert 0 < len(crossing) <= 200
    held = rows.use.toarray()[:, crossing] > 0.0
    now = np.flatnonzero(options.season == 0)
    for a, b in itertools.combinations(now, 2):
        assert bool(np.any(held[a] & held[b])) == (options.site[a] != options.site[b])


@pytest.mark.parametrize("seed", range(4))
def test_the_first_column_of_each_variety_is_empty_and_losses_fall_with_crops(seed: int) -> None:
    columns = build_columns(small_garden(seed, varieties=6).in_order())
    nothing = columns.options.variety.size
    assert np.all(columns.crops[columns.start] == nothing)
    assert np.all(columns.loss <= columns.loss[columns.start][columns.variety] + 1e-12)


def test_a_budget_counts_down_by_the_callers_clock_or_shares_the_limit_out() -> None:
    now = iter([10.0, 12.0, 30.0])
    budget = TimeBudget(5.0, lambda: next(now))
    assert [budget.left_s(0.1), budget.left_s(0.1)] == [3.0, 0.0]
    assert TimeBudget(5.0).left_s(0.1) == pytest.approx(0.5)
