"""When the kinds in stock are sown here, and when their seed is ripe, as days to come."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlmodel import Session, col, select

from seedbank.climate.garden_year import GardenYear, garden_years
from seedbank.climate.kind_season import ripe_at
from seedbank.climate.tables import all_climates
from seedbank.common.answers import FindingAnswer
from seedbank.facts.kinds import KindFacts
from seedbank.facts.season_facts import sowing_needs
from seedbank.facts.variety_season import VarietySeason
from seedbank.kinds.tables import Breeding, Variety
from seedbank.science.quantities import Finding, Value
from seedbank.science.season.sowing_windows import ALL_YEAR, Method, Span, sowing_windows
from seedbank.science.season.window_state import date_of
from seedbank.season.answers import Coming, ComingDate
from seedbank.verdicts.judge_lots import Judgement, judge_collection

METHODS = (Method.OPEN, Method.INDOORS)
"""Ways of sowing that have a day of their own; those under fleece, frame and tunnel stand in a
kind's year."""
_NAMED = 5  # varieties named; of the others it is said how many there are


@dataclass(frozen=True, slots=True)
class StockGroup:
    """Varieties in stock of one kind that are for one season; ``true`` are not F1."""

    facts: KindFacts
    season: VarietySeason | None
    names: tuple[str, ...]
    true: bool


def growing_dates(session: Session, today: date) -> Iterator[ComingDate]:
    """Sowing windows and ripe seed of all kinds in stock, by the garden's climate.

    Windows open today, and those that open within two years; none where no monthly temperatures
    are known.
    """
    year = garden_years(session).at(None)
    if year.climate is None:
        return
    climate = all_climates(session)[None]
    for group in groups_in_stock(session, judge_collection(session, today=today)):
        for what, span in _spans(group, year):
            for days in _next(span, today):
                yield _dated(group, what, days, climate.version)


def groups_in_stock(session: Session, judged: Judgement) -> list[StockGroup]:
    """Varieties with seed in stock, by kind and season."""
    forecast, lots = judged.forecast, judged.forecast.collection
    held = (lots.balance > 0.0) & ~lots.mixture & ~forecast.planting_stock
    rows = session.exec(select(Variety.id, Variety.season).where(col(Variety.season).is_not(None)))
    seasons: dict[int | None, VarietySeason | None] = {
        variety: None if season is None else VarietySeason(season) for variety, season in rows
    }
    named: dict[tuple[int, VarietySeason | None], dict[str, bool]] = {}
    for at in held.nonzero()[0].tolist():
        whose = int(lots.kind_id[at]), seasons.get(int(lots.variety_id[at]))
        named.setdefault(whose, {})[lots.variety[at]] = lots.breeding[at] is not Breeding.F1
    return [
        StockGroup(forecast.facts[kind], season, tuple(sorted(names)), any(names.values()))
        for (kind, season), names in named.items()
    ]


@dataclass(frozen=True, slots=True)
class _What:
    """What is done in a span; ``turn`` counts the windows of one way of sowing."""

    coming: Coming
    method: Method | None = None
    turn: int = 1


def _spans(group: StockGroup, year: GardenYear) -> Iterator[tuple[_What, Span]]:
    assert year.climate is not None
    found = sowing_windows(sowing_needs(group.facts, group.season), year.climate)
    for method in METHODS:
        for turn, one in enumerate(found[method].windows, 1):
            if one != ALL_YEAR:
                yield _What(Coming.SOWING_WINDOW, method, turn), one
    ripe = ripe_at(group.facts, year) if group.true else None
    if ripe is not None:
        yield _What(Coming.RIPE_SEED), ripe


def _next(span: Span, today: date) -> Iterator[tuple[date, date]]:
    """First and last days that aren't over, of this year's and the next ones."""
    for year in range(today.year - 1, today.year + 3):
        first = date_of(span.from_day, year)
        last = date_of(span.to_day, year + (span.to_day < span.from_day))
        if last >= today:
            yield first, last


def _dated(group: StockGroup, what: _What, days: tuple[date, date], version: int) -> ComingDate:
    first, last = days
    slug = group.facts.slug
    again = None if what.turn == 1 else what.turn
    parts = (what.coming, slug, group.season, what.method, first.year, again)
    more = len(group.names) - _NAMED
    values: dict[str, Value] = {
        "coming": what.coming,
        "method": what.method or "none",
        "kind": group.facts.name,
        "season": group.season or "none",
        "from_on": first,
        "until_on": last,
        "varieties": ", ".join(group.names[:_NAMED]),
        "more": max(more, 0),
    }
    return ComingDate(
        name="-".join(str(one) for one in parts if one is not None),
        on=first,
        until=last,
        coming=what.coming,
        title=FindingAnswer.of(Finding("coming-of-kind", values)),
        reason=FindingAnswer.of(Finding("coming-span", values)),
        kind=slug,
        variety=None,
        lot=None,
        changed_at=datetime(first.year - 1, 1, 1, tzinfo=UTC),
        revision=version - 1,
    )
