"""Days to come: counts of open tests, tests due again, seed crops to sow, isolate and harvest, and
when the kinds in stock are sown and their seed is ripe here."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256

from sqlmodel import Session, col, select

from seedbank.common.answers import FindingAnswer, VarietyBrief, finding_answers
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import all_changes
from seedbank.database.find import row_id
from seedbank.germination.tables import GerminationTest, counts, totals
from seedbank.lots.show_lots import lot_entries, variety_brief
from seedbank.lots.tables.lots import Lot
from seedbank.plan.stops import must_not_flower
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.gather_flowering import Year, read_year
from seedbank.saving.tables import SeedCrop
from seedbank.science.quantities import Finding
from seedbank.season.answers import Coming, ComingDate, ComingDatesAnswer
from seedbank.season.crop_days import crop_days, keep_apart_finding
from seedbank.season.growing_dates import growing_dates
from seedbank.season.to_do import would_cross
from seedbank.verdicts.retests_due import retests_due

AHEAD_DAYS = 548
"""How far is looked ahead: this season and the next. Our choice."""
_LATE_DAYS = 60  # what was due longer ago than this is no longer told, but for open tests
_REMARKS = ("days-of-counts", "days-of-crops", "days-of-tests", "days-of-sowing", "days-of-windows")


_DATES: CacheRegion[ComingDatesAnswer] = CacheRegion()


def list_coming_dates(session: Session, *, today: date) -> ComingDatesAnswer:
    """Everything with a day from two months back to a year and a half ahead, by day; kept until
    anything is written."""
    state = (today, *all_changes(session))
    return _DATES.get(session, state, lambda: _coming_dates(session, today))


def _coming_dates(session: Session, today: date) -> ComingDatesAnswer:
    first, last = today - timedelta(_LATE_DAYS), today + timedelta(AHEAD_DAYS)
    found = [
        *_test_counts(session),
        *_retests(session, today, first, last),
        *_seed_crops(session, today),
        *_stops(session, today),
        *growing_dates(session, today),
    ]
    dated = [
        one
        for one in found
        if one.test is not None or (first <= (one.until or one.on) and one.on <= last)
    ]
    return ComingDatesAnswer(
        on=today,
        items=sorted(dated, key=lambda one: (one.on, one.name)),
        remarks=finding_answers(Finding(code) for code in _REMARKS),
    )


def _test_counts(session: Session) -> Iterator[ComingDate]:
    """First and final counts of open tests; a first count that was made is past."""
    tests = session.exec(
        select(GerminationTest).where(col(GerminationTest.finished_on).is_(None))
    ).all()
    numbers = [row_id(test.id) for test in tests]
    entries = lot_entries(session, {test.lot_id for test in tests})
    counted, replicates = counts(session, numbers), totals(session, numbers)
    for number, test in zip(numbers, tests, strict=True):
        entry = entries[test.lot_id]
        brief = variety_brief(entry)
        rest = sum(one.unjudged for one in replicates[number])
        last_counted = max((count.on_date for count in counted[number]), default=None)
        changed = max([test.created_at, *(count.recorded_at for count in counted[number])])
        due = {Coming.FINAL_COUNT: test.final_count_due}
        if (
            last_counted is None
            or test.first_count_due is None
            or last_counted < test.first_count_due
        ):
            due[Coming.FIRST_COUNT] = test.first_count_due
        for coming, on in due.items():
            if on is None:
                continue
            yield ComingDate(
                name=f"{coming.value}-{number}",
                on=on,
                coming=coming,
                title=_title(coming, brief, entry.lot.code),
                reason=FindingAnswer.of(
                    Finding(
                        "coming-count",
                        {"test": str(number), "on": test.started_on, "unjudged_seeds": rest},
                    )
                ),
                variety=brief,
                lot=entry.lot.code,
                test=number,
                changed_at=changed,
                revision=test.version - 1,
            )


def _retests(session: Session, today: date, first: date, last: date) -> Iterator[ComingDate]:
    """Lots with seed that were tested before; others have no day, they are due at once."""
    for one in retests_due(session, today=today, first=first, last=last):
        yield ComingDate(
            name=f"retest-{one.code}",
            on=one.on,
            coming=Coming.RETEST,
            title=_title(Coming.RETEST, one.variety, one.code),
            reason=FindingAnswer.of(
                Finding("coming-retest", {"on": one.tested_on, "why": one.why})
            ),
            variety=one.variety,
            lot=one.code,
            changed_at=one.changed_at,
            revision=one.revision,
        )


def _seed_crops(session: Session, today: date) -> Iterator[ComingDate]:
    crops = session.exec(
        select(SeedCrop)
        .where(col(SeedCrop.harvested_on).is_(None), col(SeedCrop.failed_on).is_(None))
        .order_by(col(SeedCrop.id))
    ).all()
    varieties = {crop.variety_id for crop in crops}
    whose = variety_briefs(session, varieties)
    lots = {crop.lot_id for crop in crops if crop.lot_id is not None}
    codes = {one.id: one.code for one in session.exec(select(Lot).where(col(Lot.id).in_(lots)))}
    usual = read_year(session, today.year, varieties)  # kinds flower at the same time every year
    for crop in crops:
        number, brief = row_id(crop.id), whose[crop.variety_id]
        flowering = usual if crop.flower_year >= today.year - 1 else None
        for coming, on, reason in _steps(crop, flowering):
            yield ComingDate(
                name=f"{coming.value}-{number}",
                on=on,
                coming=coming,
                title=_title(coming, brief),
                reason=FindingAnswer.of(reason),
                variety=brief,
                lot=codes.get(crop.lot_id),
                seed_crop=number,
                changed_at=crop.created_at,
                revision=crop.version - 1,
            )


def _steps(crop: SeedCrop, flowering: Year | None) -> Iterator[tuple[Coming, date, Finding]]:
    """What to do with a crop, when, and why: sow it, keep it apart, look for ripe seed."""
    if crop.sown_on is None and crop.sow_on is not None:
        yield Coming.SOW, crop.sow_on, Finding("coming-sowing", {"year": crop.flower_year})
    if flowering is None:
        return
    site, days = flowering.sites[crop.site_id], crop_days(crop, flowering)
    first = days.flowers_from
    if first is not None and days.apart_from is not None and crop.flower_from is None:
        yield Coming.ISOLATE, days.apart_from, keep_apart_finding(crop, flowering, first)
    if days.ripe_from is not None:
        found = Finding("coming-ripe", {"site": site.name, "on": days.ripe_from})
        yield Coming.HARVEST, days.ripe_from, found
    elif days.flowers_to is not None:
        found = Finding("coming-harvest", {"site": site.name, "on": days.flowers_to})
        yield Coming.HARVEST, days.flowers_to, found


def _stops(session: Session, today: date) -> Iterator[ComingDate]:
    """What would cross with this year's seed crops, to be stopped before it flowers."""
    moment = datetime(today.year, 1, 1, tzinfo=UTC)
    for one in must_not_flower(session, today.year):
        if one.before is None:
            continue
        named = sha256(f"{today.year} {one.what.value} {one.name}".encode()).hexdigest()[:12]
        yield ComingDate(
            name=f"{Coming.STOP_FLOWERING.value}-{named}",
            on=one.before,
            coming=Coming.STOP_FLOWERING,
            title=FindingAnswer.of(Finding("coming-stop", {"name": one.name})),
            reason=FindingAnswer.of(would_cross(one)),
            variety=None,
            lot=None,
            changed_at=moment,
            revision=0,
        )


def _title(coming: Coming, brief: VarietyBrief, lot: str = "none") -> FindingAnswer:
    return FindingAnswer.of(
        Finding(
            "coming",
            {
                "coming": coming,
                "variety": brief.name,
                "kind": brief.kind.replace("-", " "),
                "lot": lot,
            },
        )
    )
