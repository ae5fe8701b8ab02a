"""When a lot is to be tested again: a day that stands still while nothing new is learned."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from seedbank.common.answers import Source
from seedbank.science.quantities import Finding, FloatArray, IntArray
from seedbank.science.verdicts.regeneration import regeneration_viability, retest_interval_years
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.posterior import Posterior
from seedbank.viability.answers import RetestAnswer
from seedbank.viability.forecast_viability import (
    Forecast,
    crossing_days,
    fitted_again,
    seeds_counted,
)
from seedbank.viability.tables.stock_columns import day_date

# Our choices.
LONGEST_YEARS = 10.0  # genebanks go to 40, in a colder and steadier store than a home has
LEAST_DAYS = 183.0  # a lot isn't tested again sooner than this: it would only use up seed
FIRST_TEST_DAYS = DAYS_PER_YEAR
FEWEST_SEEDS = 10  # fewer can't spare a test of five, which says next to nothing

_RETEST = Source(text="FAO Genebank Standards 2014, 4.3.3", confidence="memory")
_REGENERATION = Source(text="FAO Genebank Standards 2014, 4.3.4", confidence="memory")
_FIRST_TEST = Source(
    text="first test at latest 12 months after receipt: FAO Genebank Standards 2014, 4.3.1",
    confidence="read",
)
_OWN = Source(text="how little seed is worth testing: our choice", confidence="computed")


@dataclass(frozen=True, slots=True)
class NextTests:
    """Days, (L,): each lot's ``last`` test (-inf: none), when it likely ``falls`` under the limit,
    and when it is ``due`` for a test. ``years`` are those between the last two named first.
    """

    last: FloatArray
    falls: FloatArray
    due: FloatArray
    years: FloatArray

    def interval_days(self) -> FloatArray:
        """From the last test to the next, (L,); infinite without one."""
        return self.due - self.last


def next_tests(seen: Forecast, some: IntArray | None = None) -> NextTests:
    """When every lot should be tested next; nothing here depends on the day of asking.

    Of a large collection it may be asked for ``some`` positions alone; what the answer holds of
    the others is then worth nothing.

    The genebank rule (FAO Genebank Standards 2014, 4.3.3, from memory): after a third of the time
    that the last test gives a lot until it falls to 85 % of its initial viability, here at most
    ``LONGEST_YEARS``. The third is counted from the last test, not from today, or the day would
    recede as it is approached; it moves only when a test, a move or a fact changes the forecast. A
    lot never tested is due a year after its harvest (4.3.1 gives a year from receipt).
    """
    lots = seen.collection
    falls = np.array(seen.ages.harvest_day)
    for asked, part in _parts(seen, some):
        initial = part.quantile((0.5,), np.zeros(part.size))[:, 0]
        limit = regeneration_viability(initial)
        falls[asked] = crossing_days(seen, asked, part, limit, (0.5,))[:, 0]
    last, tests = np.full(lots.size, -np.inf), lots.tests.sound
    np.maximum.at(last, tests.lot, tests.day)
    tested = np.isfinite(last)
    years = (falls - np.where(tested, last, seen.ages.harvest_day)) / DAYS_PER_YEAR
    wait = np.minimum(retest_interval_years(np.maximum(years, 0.0)), LONGEST_YEARS)
    due = np.where(tested, last + DAYS_PER_YEAR * wait, seen.ages.harvest_day + FIRST_TEST_DAYS)
    return NextTests(last, falls, due, years)


def _parts(seen: Forecast, some: IntArray | None) -> Iterator[tuple[IntArray, Posterior]]:
    """Positions with their posteriors, part by part."""
    if some is None:
        yield from seen.posterior.in_parts()
        return
    soon = seen.dose_on(seen.today + 2.0 * DAYS_PER_YEAR)[some]  # as verdicts look ahead
    for places, part in fitted_again(seen, some, soon):
        yield some[places], part


def retest_answer(seen: Forecast) -> RetestAnswer:
    """When to test the one lot of a forecast, or why not."""
    needless = _needless(seen)
    if needless is not None:
        return needless
    found = next_tests(seen)
    last, falls, due = (float(column[0]) for column in (found.last, found.falls, found.due))
    day = day_date(due)
    if not np.isfinite(last):
        return RetestAnswer.of(Finding("retest-never-tested"), due_on=day, source=_FIRST_TEST)
    if falls <= last:
        return RetestAnswer.of(Finding("retest-was-under"), due_on=None, source=_REGENERATION)
    if due - last < LEAST_DAYS:
        return RetestAnswer.of(Finding("retest-near-limit"), due_on=None, source=_RETEST)
    if falls <= seen.today:
        return RetestAnswer.of(Finding("retest-fallen"), due_on=day, source=_REGENERATION)
    return RetestAnswer.of(why(float(found.years[0])), due_on=day, source=_RETEST)


def why(years: float) -> Finding:
    """The rule behind the day, for a lot that keeps ``years`` from its last test to the limit."""
    if years >= 3 * LONGEST_YEARS:
        return Finding("retest-longest", {"longest_years": LONGEST_YEARS})
    return Finding("retest-third", {"years": years})


def _needless(seen: Forecast) -> RetestAnswer | None:
    """Why a lot is never to be tested, whatever is forecast of it."""
    if seen.planting_stock[0]:
        mixture = seen.collection.mixture[0]
        never = Finding("mixture-tested-whole" if mixture else "planting-stock-untested")
        return RetestAnswer.of(never, due_on=None, source=_OWN)
    held, facts = seeds_counted(seen.collection, 0), seen.facts_of(0)
    if held is not None and held < FEWEST_SEEDS:  # of seed not counted nobody can say so
        few = Finding("retest-too-few", {"seeds": max(held, 0)})
        return RetestAnswer.of(few, due_on=None, source=_OWN)
    if facts.cannot_be_stored:
        cited = facts.storage_class.cited
        source = Source(text=cited.text, confidence=cited.confidence)
        return RetestAnswer.of(Finding("retest-fleeting"), due_on=None, source=source)
    return None
