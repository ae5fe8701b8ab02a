"""A collection as large as is asked for, whole in every row: it passes ``seedbank check``.

A lot in it has three tests and ten movements. Fixed by a seed; put in by bulk insert.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
from scipy.special import ndtr
from sqlalchemy import Connection, Engine, select, text
from sqlmodel import SQLModel, col

from seedbank.emergence.tables import Emergence, Protection, Sowing, SowingMethod
from seedbank.germination.tables import Count, GerminationTest, Pretreatment, Replicate, Substratum
from seedbank.kinds.tables import Breeding, Kind, OtherKeepers, Variety
from seedbank.lots.tables.ledger import Movement, MovementReason
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lots import CodeCounter, Isolation, Lot, Origin, Purity
from seedbank.lots.tables.places import Place, Stay
from seedbank.science.quantities import FloatArray, IntArray
from tests.benchmarks.bulk import insert_columns
from tests.benchmarks.simulated import KINDS

TODAY = date(2027, 2, 20)
NOW = datetime(2027, 2, 20, tzinfo=UTC)
TESTS, MOVEMENTS = 3, 10
"""Of each lot: one movement takes it in, one goes to each test, the rest are sown and given."""

_FIRST_YEAR = 2015
_OPEN_SHARE, _SOWING_EVERY = 200, 50  # every 200th lot's last test is open, every 50th was sown
_PLACES = (
    ("house", 17.0, 22.0, 45.0, 55.0), ("shed", 3.0, 22.0, 80.0, 62.0),
    ("cellar", 8.0, 14.0, 70.0, 75.0), ("cupboard", 10.0, 18.0, 55.0, 60.0),
)  # fmt: skip
_WORDS = ("early", "late", "tall", "dwarf", "purple", "striped", "hardy", "sweet", "wrinkled")


@dataclass(frozen=True, slots=True)
class _Lots:
    """What the tables are made from, a column a lot; days count from the year 1."""

    variety: IntArray
    year: IntArray
    test_day: IntArray  # (L, T), by day
    test_seeds: IntArray  # (L, T)
    viable: IntArray  # (L, T)
    taken: IntArray  # (L, M - 1 - T): seeds sown or given

    @property
    def size(self) -> int:
        return int(self.year.size)

    @property
    def ids(self) -> IntArray:
        return np.arange(1, self.size + 1)

    @property
    def open_test(self) -> Any:
        """(L, T): the last test of every 200th lot is running."""
        last = np.zeros(self.test_day.shape, dtype=np.bool_)
        last[_OPEN_SHARE - 1 :: _OPEN_SHARE, -1] = True
        return last


def fill_large(engine: Engine, lots: int, seed: int = 5) -> None:
    """Fill an opened, otherwise empty collection with ``lots`` lots, and let the engine look at
    them (ANALYZE)."""
    made = _draw(lots, np.random.default_rng(seed))
    with engine.begin() as connection:
        _put_varieties(connection, made)
        _put_lots(connection, made)
        _put_movements(connection, made)
        _put_tests(connection, made)
        _put_sowings(connection, made)
        _count_on(connection)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("VACUUM ANALYZE"))  # as its own housekeeping does by the hour


def _draw(lots: int, rng: np.random.Generator) -> _Lots:
    year = rng.integers(_FIRST_YEAR, TODAY.year, lots)
    start, pace = rng.normal(1.6, 0.4, (lots, 1)), np.exp(rng.normal(-1.6, 0.5, (lots, 1)))
    harvest = np.array([date(y, 11, 1).toordinal() for y in range(_FIRST_YEAR, TODAY.year)])
    first = harvest[year - _FIRST_YEAR][:, None] + 1
    last = TODAY.toordinal() - 20
    day = np.sort(first + (rng.uniform(0, 1, (lots, TESTS)) * (last - first)).astype(int), axis=1)
    seeds = rng.choice([10, 20, 25, 50], (lots, TESTS))
    viable = rng.binomial(seeds, ndtr(start - pace * (day - first) / 365.25))
    return _Lots(
        rng.integers(1, _varieties(lots) + 1, lots),
        year,
        day,
        seeds,
        viable,
        rng.integers(1, 40, (lots, MOVEMENTS - 1 - TESTS)),
    )


def _varieties(lots: int) -> int:
    return max(lots // 3, 1)


def _table(model: type[SQLModel]) -> Any:
    return model.__table__  # type: ignore[attr-defined]  # every model here is a table


def _days(ordinals: Any) -> list[date]:
    return [date.fromordinal(day) for day in np.ravel(ordinals).tolist()]


def _turns(values: Any, size: int) -> list[Any]:
    """A vocabulary's words by turns."""
    words = list(values)
    return (words * (size // len(words) + 1))[:size]


def _put_varieties(connection: Connection, made: _Lots) -> None:
    size = _varieties(made.size)
    kinds = dict(connection.execute(select(col(Kind.slug), col(Kind.id))).all())
    insert_columns(
        connection,
        _table(Variety),
        size,
        {
            "id": range(1, size + 1),
            "kind_id": _turns([kinds[slug] for slug in KINDS], size),
            "name": [f"Sort {n:06d} {_WORDS[n % len(_WORDS)]}" for n in range(1, size + 1)],
            "breeding": _turns(Breeding, size),
            "other_keepers": _turns(OtherKeepers, size),
            "plants_wanted": _turns(range(0, 60, 7), size),
            "reserve_seeds": 20,
            "notes": "",
            "version": 1,
        },
    )
    names = ("name", "temp_winter_c", "temp_summer_c", "rh_winter_pct", "rh_summer_pct")
    columns = dict(zip(names, map(list, zip(*_PLACES, strict=True)), strict=True))
    rest = {"id": range(1, len(_PLACES) + 1), "sealed": False, "notes": "", "version": 1}
    insert_columns(connection, _table(Place), len(_PLACES), {**columns, **rest})


def _put_lots(connection: Connection, made: _Lots) -> None:
    size = made.size
    insert_columns(
        connection,
        _table(Lot),
        size,
        {
            "id": made.ids,
            "code": [code_for(n) for n in range(size)],
            "variety_id": made.variety,
            "origin": _turns(Origin, size),
            "donor": _turns(["", "a neighbour", "the seed swap"], size),
            "harvest_year": made.year,
            "harvest_estimated": _turns([False] * 10 + [True], size),
            "isolation": Isolation.UNKNOWN,
            "treated": False,
            "notes": _turns(["", "kept from the best plants", "two packets put together"], size),
            "created_at": NOW,
            "purity": Purity.UNKNOWN,
            "purity_note": "",
            "version": 1,
        },
    )
    insert_columns(connection, _table(CodeCounter), 1, {"id": 1, "given_out": size})
    insert_columns(
        connection,
        _table(Stay),
        size,
        {
            "lot_id": made.ids,
            "place_id": _turns(range(1, len(_PLACES) + 1), size),
            "from_date": [date(year, 11, 1) for year in made.year.tolist()],
        },
    )


def _put_movements(connection: Connection, made: _Lots) -> None:
    """By lot: taken in, its tests by day, then sowings and gifts on the last days; a lot in seven
    is used up."""
    used = np.hstack([made.test_seeds, made.taken])
    spare = np.where(made.ids % 7 == 0, 0, 30 + made.ids % 600)
    seeds = np.hstack([(used.sum(axis=1) + spare)[:, None], -used])
    taken_in = np.array([date(year, 11, 1).toordinal() for year in made.year.tolist()])
    gone = TODAY.toordinal() - np.arange(made.taken.shape[1], 0, -1)
    day = np.hstack([taken_in[:, None], made.test_day, np.tile(gone, (made.size, 1))])
    reasons = [MovementReason.ACQUIRED, *[MovementReason.TESTED] * TESTS, MovementReason.SOWN]
    reasons += [MovementReason.GIVEN] * (MOVEMENTS - len(reasons))
    number = made.size * MOVEMENTS
    insert_columns(
        connection,
        _table(Movement),
        number,
        {
            "id": range(1, number + 1),
            "lot_id": np.repeat(made.ids, MOVEMENTS),
            "serial": np.tile(np.arange(1, MOVEMENTS + 1), made.size),
            "on_date": _days(day),
            "reason": _turns(reasons, number),
            "seeds": seeds.ravel(),
            "seeds_se": 0.0,
            "balance_seeds": seeds.cumsum(axis=1).ravel(),
            "note": "",
            "recorded_at": NOW,
        },
    )


def _movement_id(lot: IntArray, serial: IntArray | int) -> IntArray:
    return (lot - 1) * MOVEMENTS + serial


def _put_tests(connection: Connection, made: _Lots) -> None:
    """One replicate and one count a test; an open test has been set and not counted."""
    number = made.size * TESTS
    closed = ~made.open_test.ravel()
    lot, which = np.repeat(made.ids, TESTS), np.tile(np.arange(TESTS), made.size)
    started, seeds = np.ravel(made.test_day), np.ravel(made.test_seeds)
    started = np.where(closed, started, TODAY.toordinal() - 5)
    viable, finished = np.ravel(made.viable), _days(started + 14)

    def when_closed(values: Any) -> list[Any]:
        plain = values.tolist() if hasattr(values, "tolist") else values
        return [one if over else None for one, over in zip(plain, closed.tolist(), strict=True)]

    insert_columns(
        connection,
        _table(GerminationTest),
        number,
        {
            "id": range(1, number + 1),
            "lot_id": lot,
            "substratum": Substratum.PAPER_TOWEL,
            "pretreatment": Pretreatment.NONE,
            "temp_c": 20.0,
            "started_on": _days(started),
            "first_count_due": _days(started + 6),
            "final_count_due": finished,
            "finished_on": when_closed(finished),
            "judged_seeds": when_closed(seeds),
            "viable_seeds": when_closed(viable),
            "normal_seeds": when_closed(viable),
            "correlation": when_closed(np.where(np.arange(number) % 30 == 0, 0.12, 0.01)),
            "movement_id": _movement_id(lot, which + 2),
            "notes": "",
            "created_at": NOW,
            "version": 1,
        },
    )
    ids = range(1, number + 1)
    replicates = {"id": ids, "test_id": ids, "number": 1, "seeds_set": seeds}
    insert_columns(connection, _table(Replicate), number, replicates)
    at = np.flatnonzero(closed)
    insert_columns(
        connection,
        _table(Count),
        at.size,
        {
            "replicate_id": at + 1,
            "on_date": _days(started[at] + 14),
            "revision": 1,
            "current": True,
            "normal": viable[at],
            "abnormal": 0,
            "hard": 0,
            "fresh": 0,
            "dead": (seeds - viable)[at],
            "why_corrected": "",
            "recorded_at": NOW,
        },
    )


def _put_sowings(connection: Connection, made: _Lots) -> None:
    lot = made.ids[_SOWING_EVERY - 1 :: _SOWING_EVERY]
    sown: FloatArray | IntArray = made.taken[lot - 1, 0]
    day, size = TODAY - timedelta(days=made.taken.shape[1]), lot.size
    ids = range(1, size + 1)
    insert_columns(
        connection,
        _table(Sowing),
        size,
        {
            "id": ids,
            "lot_id": lot,
            "sown_on": day,
            "method": SowingMethod.ROW,
            "protection": next(iter(Protection)),
            "seeds_sown": sown,
            "row_m": 2.0,
            "movement_id": _movement_id(lot, TESTS + 2),
            "notes": "",
            "created_at": NOW,
            "version": 1,
        },
    )
    insert_columns(
        connection,
        _table(Emergence),
        size,
        {
            "sowing_id": ids,
            "on_date": TODAY,
            "units_emerged": sown // 2,
            "correction": False,
            "recorded_at": NOW,
        },
    )


def _count_on(connection: Connection) -> None:
    """PostgreSQL numbers on from where the rows put in leave off."""
    if connection.dialect.name != "postgresql":
        return
    for model in (Variety, Place, Lot, Movement, GerminationTest, Replicate, Sowing):
        name = _table(model).name
        connection.execute(
            text(f"SELECT setval(pg_get_serial_sequence('{name}', 'id'), max(id)) FROM {name}")
        )
