"""Taking in germination tests and sowings, with what was counted of each."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from datetime import date
from functools import partial

from seedbank.common.errors import Refused
from seedbank.germination import forms
from seedbank.germination.forms import TestStart
from seedbank.germination.run_tests import new_test, propose_count_days
from seedbank.germination.tables import (
    GerminationTest,
    Replicate,
    correct_count,
    finish,
    record_count,
    set_replicates,
)
from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.names import Desk, key_of
from seedbank.interchange.folder.rows import CountRow, EmergenceRow, LossRow, SowingRow, TestRow
from seedbank.kinds.tables import Variety
from seedbank.lots.days import after_harvest
from seedbank.lots.tables.lots import Lot
from seedbank.sowing.forms import EmergenceCreate, LossCreate, SowingCreate
from seedbank.sowing.record_sowing import new_sowing
from seedbank.sowing.tables import Loss, Sowing, record_emergence, record_loss


def take_tests(desk: Desk, rows: Iterable[Numbered[TestRow]]) -> int:
    """Add tests, all still open; an open one gets its count days from the kind's method."""
    added = 0
    for at in rows:
        key, row = key_of(at.row.test), at.row
        lot = desk.lot_at(at, row.lot)
        if key in desk.tests:
            desk.complain(at, "test", "give each test a name of its own")
            continue
        desk.tests[key] = None
        if lot is None or not _was_harvested(desk, at, lot, "started_on", row.started_on):
            continue
        form = desk.filled(at, TestStart, **row.told(), lot=lot.code, confirmed=True)
        if form is None:
            continue
        test = new_test(form, lot, started_on=row.started_on, now=desk.now)
        if row.finished_on is None:
            _propose_days(desk, test, lot)
        desk.session.add(test)
        desk.tests[key] = test
        added += 1
    desk.session.flush()
    return added


def _was_harvested(
    desk: Desk, at: Numbered[TestRow] | Numbered[SowingRow], lot: Lot, column: str, day: date
) -> bool:
    """Whether the lot's seed was there on the day; complains if not."""
    with desk.told_at(at, column):
        after_harvest(lot, day, field=column)
        return True
    return False


def _propose_days(desk: Desk, test: GerminationTest, lot: Lot) -> None:
    variety = desk.session.get_one(Variety, lot.variety_id)
    with suppress(Refused):  # told at the line of kinds.csv
        propose_count_days(test, desk.facts_of(variety.kind_id))


def take_counts(
    desk: Desk,
    tests: Iterable[Numbered[TestRow]],
    rows: Sequence[Numbered[CountRow]],
    on_line: Callable[[], None],
) -> int:
    """Set the replicates, record counts and corrections in date order, finish what is finished."""
    counted: dict[str, list[Numbered[CountRow]]] = defaultdict(list)
    for at in rows:
        key = key_of(at.row.test)
        if key not in desk.tests:
            desk.complain(at, "test", "name a test that is in tests.csv")
        counted[key].append(at)
    for test_at in tests:
        on_line()
        key = key_of(test_at.row.test)
        test = desk.tests.get(key)
        if test is not None:
            desk.tests[key] = None  # a second test of this name was a problem already
            _count_test(desk, test_at, test, counted[key], on_line)
    return len(rows)


def _count_test(
    desk: Desk,
    at: Numbered[TestRow],
    test: GerminationTest,
    counts: list[Numbered[CountRow]],
    on_line: Callable[[], None],
) -> None:
    test_id = test.id or 0
    replicates = set_replicates(desk.session, test_id, at.row.replicates)
    before = len(desk.problems.found)
    seen = set()
    for count_at in sorted(counts, key=lambda count: count.row.on_date):
        on_line()
        row = count_at.row
        if not 1 <= row.replicate <= len(replicates):
            desk.complain(count_at, "replicate", f"the test has {len(replicates)} replicates")
            continue
        again = (row.replicate, row.on_date) in seen
        seen.add((row.replicate, row.on_date))
        _record(desk, count_at, replicates[row.replicate - 1], again=again)
    if at.row.finished_on is not None and len(desk.problems.found) == before:
        with desk.told_at(at, "finished_on"):
            finish(desk.session, test_id, on=at.row.finished_on)


def _record(desk: Desk, at: Numbered[CountRow], replicate: Replicate, *, again: bool) -> None:
    row = at.row
    form = desk.filled(at, forms.CountRow, **row.told())
    if form is None:
        return
    if again != bool(row.why_corrected):
        mend = (
            "say why this line corrects the one before"
            if again
            else "leave it empty: no line before counts this replicate that day"
        )
        desk.complain(at, "why_corrected", mend)
        return
    count = partial(correct_count, why=row.why_corrected) if again else record_count
    with desk.told_at(at):
        count(
            desk.session, replicate_id=replicate.id or 0, on=row.on_date, judged=form, now=desk.now
        )


def take_sowings(desk: Desk, rows: Iterable[Numbered[SowingRow]]) -> int:
    """Add sowings; what came up follows."""
    added = 0
    for at in rows:
        key, row = key_of(at.row.sowing), at.row
        lot = desk.lot_at(at, row.lot)
        if key in desk.sowings:
            desk.complain(at, "sowing", "give each sowing a name of its own")
            continue
        desk.sowings[key] = None
        if row.finished_on is not None and row.finished_on < row.sown_on:
            desk.complain(at, "finished_on", f"write {row.sown_on.isoformat()} or later")
        if lot is None or not _was_harvested(desk, at, lot, "sown_on", row.sown_on):
            continue
        form = desk.filled(at, SowingCreate, **row.told(), lot=lot.code, confirmed=True)
        if form is None:
            continue
        sowing = new_sowing(form, lot, sown_on=row.sown_on, now=desk.now)
        sowing.finished_on = row.finished_on
        desk.session.add(sowing)
        desk.sowings[key] = sowing
        added += 1
    desk.session.flush()
    return added


def take_emergence(
    desk: Desk, rows: Sequence[Numbered[EmergenceRow]], on_line: Callable[[], None]
) -> int:
    """Record running totals of what came up, in date order."""
    seen = set()
    for at in sorted(rows, key=lambda at: at.row.on_date):
        on_line()
        sowing = _sowing_at(desk, at)
        if sowing is None:
            continue
        if (sowing.id, at.row.on_date) in seen:
            desk.complain(at, "on_date", "keep one count of a sowing on a day")
            continue
        seen.add((sowing.id, at.row.on_date))
        form = desk.filled(at, EmergenceCreate, **at.row.told(), confirmed=True)
        if form is None:
            continue
        with desk.told_at(at, "units_emerged"):
            record_emergence(
                desk.session,
                sowing_id=sowing.id or 0,
                on=at.row.on_date,
                units_emerged=form.units_emerged,
                correction=form.correction,
                now=desk.now,
            )
    return len(rows)


def take_losses(desk: Desk, rows: Sequence[Numbered[LossRow]], on_line: Callable[[], None]) -> int:
    """Record what is known to have been lost."""
    for at in rows:
        on_line()
        sowing = _sowing_at(desk, at)
        form = desk.filled(at, LossCreate, **at.row.told(), confirmed=True)
        if sowing is None or form is None:
            continue
        with desk.told_at(at, "units_lost"):
            told = form.model_dump(exclude={"confirmed"})
            record_loss(desk.session, Loss(sowing_id=sowing.id or 0, **told, recorded_at=desk.now))
    return len(rows)


def _sowing_at(desk: Desk, at: Numbered[EmergenceRow] | Numbered[LossRow]) -> Sowing | None:
    return desk.named(at, "sowing", at.row.sowing, desk.sowings)
