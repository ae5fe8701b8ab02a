"""Stamps: a few counts and sums that change whenever what an answer rests on has changed.

Answers that are dear to work out are kept in memory under the stamp of what they were made from,
and used again while it is the same. A stamp is one query, a hundredth of the work it saves.

Rows that are edited carry a version that only grows; rows that are not are weighed by their id,
twice over, so that two edits don't cancel; the moment of the last entry tells a row deleted and
made anew under its number from the one before.
"""

from collections.abc import Callable, Iterator
from functools import cache, reduce
from typing import Any, Final

from sqlalchemy import BigInteger, ColumnElement, Select, Subquery, cast, func, select, true
from sqlmodel import Session, SQLModel, col

from seedbank.database.change_counter import moment_of
from seedbank.germination.tables.germination_tests import GerminationTest
from seedbank.kinds.tables.kinds import Kind, KindFact
from seedbank.kinds.tables.varieties import Variety
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.places import Place, Stay
from seedbank.plan.tables.plan_pins import PlanPin
from seedbank.plan.tables.plan_runs import PlanRun
from seedbank.saving.tables.flowering import Flowering, FloweringWindow
from seedbank.saving.tables.garden_limits import GardenLimits
from seedbank.saving.tables.isolation_gear import IsolationGear
from seedbank.saving.tables.seed_crops import SeedCrop
from seedbank.saving.tables.sites import Site, SiteDistance
from seedbank.sowing.tables.sowings import Emergence, Loss, Sowing

Stamp = tuple[Any, ...]
_PRIME: Final = 9973  # of the second weighing by id


def alive_stamp(session: Session) -> Stamp:
    """Changes with anything that says how alive a lot is: tests, stores, ages, kinds."""
    return _stamp(session, _alive)


def judged_stamp(session: Session) -> Stamp:
    """Changes with anything a lot's verdict rests on: as ``alive_stamp``, and the amounts."""
    return _stamp(session, _alive, _open_tests, _amounts)


def garden_stamp(session: Session) -> Stamp:
    """Changes with anything the gardener's sowings teach from; taking seed changes nothing."""
    return _stamp(session, _alive, _sown)


def sowing_stamp(session: Session) -> Stamp:
    """Changes with anything advice on sowing rests on."""
    return _stamp(session, _alive, _sown, _amounts)


def plan_stamp(session: Session) -> Stamp:
    """Changes with anything a saving plan rests on, what is sown among it."""
    return _stamp(session, _alive, _open_tests, _amounts, _sown, _saving)


_Topic = Callable[[], Iterator[Subquery]]


def _stamp(session: Session, *topics: _Topic) -> Stamp:
    """Read anew only where anything at all has been committed since, for it reads whole tables."""
    connection = session.connection()
    moment = moment_of(connection)
    known: dict[Any, tuple[Any, Stamp]] = connection.info.setdefault("seedbank_stamps", {})
    if moment is not None and topics in known and known[topics][0] == moment:
        return known[topics][1]
    stamp = tuple(session.execute(_query(*topics)).one())
    if moment is not None:
        known[topics] = (moment, stamp)
    return stamp


@cache
def _query(*topics: _Topic) -> Select[*tuple[Any, ...]]:
    first, *others = [part for topic in topics for part in topic()]
    row = reduce(lambda so_far, part: so_far.join(part, true()), others, first.select())
    return row.with_only_columns(*(column for part in (first, *others) for column in part.columns))


def _alive() -> Iterator[Subquery]:
    yield from _edited(Lot, last=Lot.created_at)
    yield from _edited(Variety, last=Variety.kind_id)
    yield from _edited(Kind)
    yield from _edited(Place)
    yield from _weighed(KindFact, func.length(col(KindFact.value)), col(KindFact.kind_id))
    yield from _weighed(Stay, col(Stay.place_id), col(Stay.lot_id), last=Stay.from_date)
    # A test still running says nothing yet, so counting it changes nothing.
    finished = col(GerminationTest.finished_on).is_not(None)
    worth = (GerminationTest.viable_seeds, GerminationTest.normal_seeds)
    versions = (GerminationTest.version, *worth)
    last = GerminationTest.created_at
    yield from _weighed(GerminationTest, *map(col, versions), last=last, where=finished)


def _open_tests() -> Iterator[Subquery]:
    running = col(GerminationTest.finished_on).is_(None)
    yield from _weighed(GerminationTest, col(GerminationTest.lot_id), where=running)


def _amounts() -> Iterator[Subquery]:
    signed = (col(Movement.seeds), col(Movement.lot_id))
    yield from _weighed(Movement, *signed, last=Movement.recorded_at)


def _sown() -> Iterator[Subquery]:
    yield from _edited(Sowing, col(Sowing.seeds_sown), col(Sowing.lot_id), last=Sowing.created_at)
    seen = (col(Emergence.units_emerged), col(Emergence.sowing_id))
    yield from _weighed(Emergence, *seen, last=Emergence.recorded_at)
    yield from _weighed(Loss, col(Loss.units_lost), col(Loss.sowing_id), last=Loss.recorded_at)


def _saving() -> Iterator[Subquery]:
    for table in (Site, IsolationGear, GardenLimits, PlanPin):
        yield from _edited(table)
    yield from _edited(Flowering, col(Flowering.year))
    yield from _edited(SeedCrop, col(SeedCrop.lot_id))
    # A distance has no number of its own; whoever sets one raises its sites' versions.
    pairs = select(func.count(), func.sum(col(SiteDistance.metres))).select_from(SiteDistance)
    yield pairs.subquery()
    window = (col(FloweringWindow.from_day), col(FloweringWindow.to_day))
    yield from _weighed(FloweringWindow, *window, col(FloweringWindow.kind_id))
    yield from _weighed(PlanRun, col(PlanRun.first_year), last=PlanRun.created_at)


def _edited(table: type[SQLModel], *more: Any, last: Any = None) -> Iterator[Subquery]:
    """Parts for a table whose rows carry a version."""
    return _weighed(table, col(table.version), *more, last=last)  # type: ignore[attr-defined]  # each Editable has one


def _weighed(
    table: type[SQLModel],
    *values: Any,
    last: Any = None,
    where: ColumnElement[bool] | None = None,
) -> Iterator[Subquery]:
    """Number of rows, values weighed by id in two ways, and the greatest of a column."""
    number = cast(col(table.id), BigInteger)  # type: ignore[attr-defined]  # every table here has one
    wanted: list[ColumnElement[Any]] = [func.count(), func.max(number)]
    for value in values:
        whole = cast(value, BigInteger)
        wanted += [func.sum(whole * number), func.sum(whole * (number * number % _PRIME))]
    if last is not None:
        wanted.append(func.max(col(last)))
    rows = select(*wanted).select_from(table)
    if where is not None:
        rows = rows.where(where)
    yield rows.subquery()
