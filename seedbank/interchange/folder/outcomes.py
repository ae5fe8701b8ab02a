"""Taking in germination tests and sowings, with what was counted of each."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from datetime import date
from functools import partial

from seedbank.common.errors import Refused
from seedbank.emergence.tables import Loss, Sowing, record_emergence, record_loss
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
from seedbank.interchange.folder.names import Importer, key_of
from seedbank.interchange.folder.rows import CountRow, EmergenceRow, LossRow, SowingRow, TestRow
from seedbank.kinds.tables import Variety
from seedbank.lots.days import after_harvest
from seedbank.lots.tables.lots import Lot
from seedbank.science.quantities import Finding
from seedbank.sowing.forms import EmergenceCreate, LossCreate, SowingCreate
from seedbank.sowing.record_sowing import new_sowing


def take_tests(importer: Importer, rows: Iterable[Numbered[TestRow]]) -> int:
    """Add tests, all still open; an open one gets its count days from the kind's method."""
    added = 0
    for at in rows:
        key, row = key_of(at.row.test), at.row
        lot = importer.lot_at(at, row.lot)
        if key in importer.tests:
            importer.complain(at, "test", Finding("folder-name-twice", {"choice": "test"}))
            continue
        importer.tests[key] = None
        if lot is None or not _was_harvested(importer, at, lot, "started_on", row.started_on):
            continue
        if not _is_seed(importer, at, lot, "planting-stock-not-tested"):
            continue
        form = importer.filled(at, TestStart, **row.filled_cells(), lot=lot.code, confirmed=True)
        if form is None:
            continue
        test = new_test(form, lot, started_on=row.started_on, now=importer.now)
        if row.finished_on is None:
            _propose_days(importer, test, lot)
        importer.session.add(test)
        importer.tests[key] = test
        added += 1
    importer.session.flush()
    return added


def _was_harvested(
    importer: Importer,
    at: Numbered[TestRow] | Numbered[SowingRow],
    lot: Lot,
    column: str,
    day: date,
) -> bool:
    """Whether the lot's seed was there on the day; complains if not."""
    with importer.noting_refusals(at, column):
        after_harvest(lot, day, field=column)
        return True
    return False


def _is_seed(
    importer: Importer, at: Numbered[TestRow] | Numbered[SowingRow], lot: Lot, refusal: str
) -> bool:
    """Whether the lot is seed and no planting stock; complains if not."""
    variety = importer.session.get_one(Variety, lot.variety_id)
    with suppress(Refused):  # told at the line of kinds.csv
        facts = importer.facts_of(variety.kind_id)
        with importer.noting_refusals(at, "lot"):
            if facts.is_planting_stock(lot.kept_as):
                raise Refused(refusal, "lot", lot.code)
            return True
    return False


def _propose_days(importer: Importer, test: GerminationTest, lot: Lot) -> None:
    variety = importer.session.get_one(Variety, lot.variety_id)
    with suppress(Refused):  # told at the line of kinds.csv
        propose_count_days(test, importer.facts_of(variety.kind_id))


def take_counts(
    importer: Importer,
    tests: Iterable[Numbered[TestRow]],
    rows: Sequence[Numbered[CountRow]],
    on_line: Callable[[], None],
) -> int:
    """Set the replicates, record counts and corrections in date order, finish what is finished."""
    counted: dict[str, list[Numbered[CountRow]]] = defaultdict(list)
    for at in rows:
        key = key_of(at.row.test)
        if key not in importer.tests:
            importer.complain(at, "test", Finding("folder-test-unknown"))
        counted[key].append(at)
    for test_at in tests:
        on_line()
        key = key_of(test_at.row.test)
        test = importer.tests.get(key)
        if test is not None:
            importer.tests[key] = None  # a second test of this name was a problem already
            _count_test(importer, test_at, test, counted[key], on_line)
    return len(rows)


def _count_test(
    importer: Importer,
    at: Numbered[TestRow],
    test: GerminationTest,
    counts: list[Numbered[CountRow]],
    on_line: Callable[[], None],
) -> None:
    test_id = test.id or 0
    replicates = set_replicates(importer.session, test_id, at.row.replicates)
    before = len(importer.problems.found)
    seen = set()
    for count_at in sorted(counts, key=lambda count: count.row.on_date):
        on_line()
        row = count_at.row
        if not 1 <= row.replicate <= len(replicates):
            of_them = Finding("folder-replicates", {"replicates": len(replicates)})
            importer.complain(count_at, "replicate", of_them)
            continue
        again = (row.replicate, row.on_date) in seen
        seen.add((row.replicate, row.on_date))
        _record(importer, count_at, replicates[row.replicate - 1], again=again)
    if at.row.finished_on is not None and len(importer.problems.found) == before:
        with importer.noting_refusals(at, "finished_on"):
            finish(importer.session, test_id, on=at.row.finished_on)


def _record(
    importer: Importer, at: Numbered[CountRow], replicate: Replicate, *, again: bool
) -> None:
    row = at.row
    form = importer.filled(at, forms.CountRow, **row.filled_cells())
    if form is None:
        return
    if again != bool(row.why_corrected):
        mend = Finding("folder-why-corrected" if again else "folder-corrects-nothing")
        importer.complain(at, "why_corrected", mend)
        return
    count = partial(correct_count, why=row.why_corrected) if again else record_count
    with importer.noting_refusals(at):
        count(
            importer.session,
            replicate_id=replicate.id or 0,
            on=row.on_date,
            judged=form,
            now=importer.now,
        )


def take_sowings(importer: Importer, rows: Iterable[Numbered[SowingRow]]) -> int:
    """Add sowings; what came up follows."""
    added = 0
    for at in rows:
        key, row = key_of(at.row.sowing), at.row
        lot = importer.lot_at(at, row.lot)
        if key in importer.sowings:
            importer.complain(at, "sowing", Finding("folder-name-twice", {"choice": "sowing"}))
            continue
        importer.sowings[key] = None
        if row.finished_on is not None and row.finished_on < row.sown_on:
            importer.complain(at, "finished_on", Finding("folder-or-later", {"day": row.sown_on}))
        if lot is None or not _was_harvested(importer, at, lot, "sown_on", row.sown_on):
            continue
        if not _is_seed(importer, at, lot, "planting-stock-not-sown"):
            continue
        form = importer.filled(at, SowingCreate, **row.filled_cells(), lot=lot.code, confirmed=True)
        if form is None:
            continue
        sowing = new_sowing(form, lot, sown_on=row.sown_on, now=importer.now)
        sowing.finished_on = row.finished_on
        importer.session.add(sowing)
        importer.sowings[key] = sowing
        added += 1
    importer.session.flush()
    return added


def take_emergence(
    importer: Importer, rows: Sequence[Numbered[EmergenceRow]], on_line: Callable[[], None]
) -> int:
    """Record running totals of what came up, in date order."""
    seen = set()
    for at in sorted(rows, key=lambda at: at.row.on_date):
        on_line()
        sowing = _sowing_at(importer, at)
        if sowing is None:
            continue
        if (sowing.id, at.row.on_date) in seen:
            importer.complain(at, "on_date", Finding("folder-count-twice"))
            continue
        seen.add((sowing.id, at.row.on_date))
        form = importer.filled(at, EmergenceCreate, **at.row.filled_cells(), confirmed=True)
        if form is None:
            continue
        with importer.noting_refusals(at, "units_emerged"):
            record_emergence(
                importer.session,
                sowing_id=sowing.id or 0,
                on=at.row.on_date,
                units_emerged=form.units_emerged,
                correction=form.correction,
                now=importer.now,
            )
    return len(rows)


def take_losses(
    importer: Importer, rows: Sequence[Numbered[LossRow]], on_line: Callable[[], None]
) -> int:
    """Record what is known to have been lost."""
    for at in rows:
        on_line()
        sowing = _sowing_at(importer, at)
        form = importer.filled(at, LossCreate, **at.row.filled_cells(), confirmed=True)
        if sowing is None or form is None:
            continue
        with importer.noting_refusals(at, "units_lost"):
            given = form.model_dump(exclude={"confirmed"})
            record_loss(
                importer.session, Loss(sowing_id=sowing.id or 0, **given, recorded_at=importer.now)
            )
    return len(rows)


def _sowing_at(importer: Importer, at: Numbered[EmergenceRow] | Numbered[LossRow]) -> Sowing | None:
    return importer.named(at, "sowing", at.row.sowing, importer.sowings)
