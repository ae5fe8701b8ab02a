"""The year in this garden, a line a crop: what to sow, eat, keep apart, harvest and dry, and when.

Kinds in stock are told by the garden's climate (as in their own year), seed crops by their sites'.
Where no more than frost dates are known, the published calendar's sowing is moved with the last
frost; where nothing is, only seed crops have days.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from seedbank.climate.answers import SpanAnswer
from seedbank.climate.garden_year import GardenYear, flowering_at, garden_years
from seedbank.climate.kind_season import (
    ripe_at,
    standing_finding,
    standing_of,
    window_finding,
)
from seedbank.climate.tables import Known
from seedbank.common.answers import FindingAnswer
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import all_changes
from seedbank.database.find import row_id
from seedbank.facts.kinds import KindFacts
from seedbank.facts.season_facts import growing_year, sowing_needs
from seedbank.facts.variety_season import VarietySeason
from seedbank.saving.gather_flowering import Year, read_year
from seedbank.saving.show_seed_crops import open_seed_crops
from seedbank.saving.tables import SeedCrop
from seedbank.science.quantities import Finding
from seedbank.science.season.climate import YEAR
from seedbank.science.season.sowing_windows import (
    Method,
    SowingWindows,
    Span,
    crop_span,
    sowing_windows,
)
from seedbank.science.season.window_state import State, WindowState, day_number, window_state
from seedbank.season.answers import CropLineAnswer, YearAnswer
from seedbank.season.crop_days import CropDays, crop_days, keep_apart_finding
from seedbank.season.growing_dates import StockGroup, groups_in_stock
from seedbank.verdicts.answers import SeedToSaveItem, When
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.verdicts.list_verdicts import list_seed_to_save
from seedbank.verdicts.surroundings import when_of

_YEAR: CacheRegion[YearAnswer] = CacheRegion()


def show_year(session: Session, *, today: date) -> YearAnswer:
    """Every line of this year; kept until anything is written."""
    state = (today, *all_changes(session))
    return _YEAR.get(session, state, lambda: _year(session, today))


def _year(session: Session, today: date) -> YearAnswer:
    year = garden_years(session).at(None)
    judged = judge_collection(session, today=today)
    begun = list(_begun(session, today))
    groups = groups_in_stock(session, judged)
    facts = {one.facts.slug: one.facts for one in groups}
    advised = [
        _advised(one, facts[one.variety.kind], year, today)
        for one in list_seed_to_save(session, today=today).items
        if not one.begun and one.variety.kind in facts
    ]
    eaten = [one for group in groups for one in _eaten(group, year, today)]
    eaten.sort(key=lambda one: (_next_day(one, today), one.kind_name))
    advised.sort(key=lambda one: _next_day(one, today))
    roughly = Finding("season-roughly", {"known": year.known})
    return YearAnswer(
        on=today,
        known=year.known,
        crops=[*begun, *advised, *eaten],
        remarks=[] if year.known is Known.MONTHS else [FindingAnswer.of(roughly)],
    )


def _next_day(line: CropLineAnswer, today: date) -> date:
    return today if line.until_on else line.from_on or date.max


def _begun(session: Session, today: date) -> Iterator[CropLineAnswer]:
    """Seed crops under way that stand this year."""
    steps = {crop.id: step for crop, step in open_seed_crops(session, today=today)}
    crops = session.exec(
        select(SeedCrop).where(col(SeedCrop.id).in_(steps)).order_by(col(SeedCrop.id))
    ).all()
    flowering = read_year(session, today.year, {crop.variety_id for crop in crops})
    for crop in crops:
        days = crop_days(crop, flowering)
        step = FindingAnswer.model_validate(steps[row_id(crop.id)], from_attributes=True)
        yield _crop_line(crop, days, flowering, step, today.year)


def _crop_line(
    crop: SeedCrop, days: CropDays, flowering: Year, step: FindingAnswer, year: int
) -> CropLineAnswer:
    variety = flowering.varieties[crop.variety_id]
    facts = flowering.facts[variety.kind_id]
    sown = crop.sown_on or crop.sow_on
    flowers = _within(days.flowers_from, days.flowers_to, year)
    gone = days.ripe_from or days.flowers_to
    reasons = [step]
    if days.flowers_from is not None and flowers is not None:
        how = keep_apart_finding(crop, flowering, days.flowers_from)
        reasons.append(FindingAnswer.of(how))
    return CropLineAnswer(
        kind=facts.slug,
        kind_name=facts.name,
        season=variety.season,
        varieties=[variety.name],
        for_seed=True,
        state=None,
        seed_crop=row_id(crop.id),
        method=None,
        sow=_some(_within(sown, sown, year)),
        grows=_within(sown or date(year, 1, 1), gone or date(year, 12, 31), year),
        eat=None,
        keep_apart=_within(days.apart_from, days.flowers_to, year),
        flowers=flowers,
        ripe=_within(days.ripe_from, days.ripe_to, year),
        seed_in=crop.flower_year,
        when=When.NOT_KNOWN,
        from_on=crop.sow_on if crop.sown_on is None else None,
        until_on=None,
        reasons=reasons,
    )


def _some(span: SpanAnswer | None) -> list[SpanAnswer]:
    return [] if span is None else [span]


def _within(first: date | None, last: date | None, year: int) -> SpanAnswer | None:
    """Days of a span that fall into a year; None: none do, or nobody knows."""
    if first is None or last is None or last.year < year or first.year > year:
        return None
    return SpanAnswer(
        from_day=1 if first.year < year else day_number(first),
        to_day=YEAR if last.year > year else day_number(last),
    )


def _advised(
    item: SeedToSaveItem, facts: KindFacts, year: GardenYear, today: date
) -> CropLineAnswer:
    """A variety to grow for seed that isn't begun; flowers and seed where they come this year."""
    sown = _sowing(facts, None, year, today, for_seed=True)
    flowers: Span | None = None
    ripe: Span | None = None
    if item.flowers_in == today.year:
        found = flowering_at(facts, year)
        if found is not None:
            flowers = Span(min(found.value.from_day, YEAR), min(found.value.to_day, YEAR))
        ripe = ripe_at(facts, year)
    end = ripe or flowers
    return CropLineAnswer(
        kind=facts.slug,
        kind_name=facts.name,
        season=None,
        varieties=[item.variety.name],
        for_seed=True,
        state=item.verdict,
        method=sown.method,
        sow=sown.spans,
        grows=_growing(sown.spans, end.from_day if end else YEAR),
        eat=None,
        keep_apart=_span(flowers),
        flowers=_span(flowers),
        ripe=_span(ripe),
        seed_in=item.flowers_in,
        when=item.when,
        from_on=today if item.when is When.NOW else item.opens_on,
        until_on=sown.state.until if item.when is When.NOW else None,
        reasons=[item.advice, *item.reasons[:1]],
    )


def _eaten(group: StockGroup, year: GardenYear, today: date) -> Iterator[CropLineAnswer]:
    """A kind that is sown to eat; none where nobody knows when it is sown."""
    facts = group.facts
    sown = _sowing(facts, group.season, year, today)
    if not sown.spans:
        return
    eat = None
    if year.climate is not None and sown.method is not None:
        needs, first = sowing_needs(facts, group.season), sown.spans[0]
        span = Span(first.from_day, first.to_day)
        eat = crop_span(needs, year.climate, span, sown.method)
    yield CropLineAnswer(
        kind=facts.slug,
        kind_name=facts.name,
        season=group.season,
        varieties=list(group.names),
        for_seed=False,
        state=None,
        method=sown.method,
        sow=sown.spans,
        grows=None if eat is None else _growing(sown.spans[:1], eat.from_day),
        eat=_span(eat),
        keep_apart=None,
        flowers=None,
        ripe=None,
        seed_in=None,
        when=when_of(sown.state, today),
        from_on=today if sown.state.state is State.OPEN else sown.state.opens_on,
        until_on=sown.state.until,
        reasons=[FindingAnswer.of(sown.words), FindingAnswer.of(standing_finding(sown.state))],
    )


@dataclass(frozen=True, slots=True)
class _Sowing:
    """How a kind is sown here, when, and how that stands today."""

    method: Method | None
    spans: list[SpanAnswer]
    state: WindowState
    words: Finding


def _sowing(
    facts: KindFacts,
    season: VarietySeason | None,
    year: GardenYear,
    today: date,
    *,
    for_seed: bool = False,
) -> _Sowing:
    """In the open if that is done, else indoors, else under the least cover there is time under;
    what is sown for seed in the open or indoors, whichever is sooner."""
    if year.climate is None:
        return _roughly(facts, year, today)
    climate = year.climate
    windows = sowing_windows(sowing_needs(facts, season), climate)
    ways = _WAYS[:2] if for_seed else _WAYS
    methods = [one for one in ways if windows[one].windows]
    if for_seed:
        methods.sort(key=lambda one: _begins(standing_of(windows[one], climate, today), today))
    method = methods[0] if methods else Method.OPEN
    found = windows[method]
    state = standing_of(found, climate, today)
    spans = [SpanAnswer(from_day=one.from_day, to_day=one.to_day) for one in found.windows]
    return _Sowing(method if methods else None, spans, state, window_finding(method, found))


_WAYS = (Method.OPEN, Method.INDOORS, Method.FLEECE, Method.FRAME, Method.TUNNEL)


def _begins(state: WindowState, today: date) -> date:
    return today if state.state is State.OPEN else state.opens_on or date.max


def _roughly(facts: KindFacts, year: GardenYear, today: date) -> _Sowing:
    """The published calendar's sowing, moved with the last frost if that is known."""
    printed = growing_year(facts.slug)
    spring = None if printed is None else printed.value.spring
    if spring is None or year.known is not Known.FROST_DATES:
        return _Sowing(None, [], WindowState(State.NEVER), Finding("season-roughly"))
    first, last = (
        (day - 1 + year.turned_days) % YEAR + 1 for day in (spring.from_day, spring.to_day)
    )
    span = Span(first, last)
    found = SowingWindows((span,))
    spans = [SpanAnswer(from_day=first, to_day=last)]
    state = window_state(found.windows, today)
    return _Sowing(Method.OPEN, spans, state, window_finding(Method.OPEN, found))


def _growing(sown: Sequence[SpanAnswer], until: int) -> SpanAnswer | None:
    """From the first day sown until a day; None: it isn't sown, or not before that day."""
    first = min((one.from_day for one in sown), default=None)
    if first is None or first > until:
        return None
    return SpanAnswer(from_day=first, to_day=until)


def _span(one: Span | None) -> SpanAnswer | None:
    return None if one is None else SpanAnswer(from_day=one.from_day, to_day=one.to_day)
