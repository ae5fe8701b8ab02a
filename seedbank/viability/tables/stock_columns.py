"""The whole collection, or part of it, as columns: what a forecast reads in a few queries.

Plain columns rather than rows of objects: ten thousand lots are read in a fraction of a second.
"""

import gc
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import numpy as np
from sqlalchemy import ColumnElement, Select, func, or_, select, true
from sqlmodel import Session, col

from seedbank.common.dates import rough_span
from seedbank.database.queries import figures, flags, numbers, read_columns, shared
from seedbank.facts.kinds import KeptAs
from seedbank.germination.tables import GerminationTest
from seedbank.kinds.tables import Breeding, Kind, OtherKeepers, Variety
from seedbank.lots.tables.ledger import Movement, grams_left, last_serials
from seedbank.lots.tables.lots import Lot, Origin, Purity, SeedForm
from seedbank.lots.tables.mixtures import MixturePart
from seedbank.lots.tables.places import Stay
from seedbank.science.quantities import BoolArray, FloatArray, IntArray, joined, taken

EPOCH: Final = date(2000, 1, 1)
_SAVED_HERE: Final = (Origin.SELF_SAVED, Origin.COLLECTED)
KEEPERS: Final = (OtherKeepers.NONE, OtherKeepers.FEW, OtherKeepers.MANY)
_RANK: Final = {keeper: place for place, keeper in enumerate(KEEPERS)}
OWN: Final = "\0own"
"""The saver of seed saved or gathered here: no donor's name."""
_EPOCH_DAY = EPOCH.toordinal()


def day_number(day: date) -> float:
    """Days since 1 January 2000, the day count of every column here."""
    return float(day.toordinal() - _EPOCH_DAY)


def day_date(day: float) -> date | None:
    """The date of a day number, or None if it lies beyond any calendar."""
    if not np.isfinite(day) or day + _EPOCH_DAY > date.max.toordinal() - 1:
        return None
    return date.fromordinal(max(int(np.floor(day)) + _EPOCH_DAY, 1))


@dataclass(frozen=True, slots=True)
class Tests:
    """Finished tests, shape (T,): whose (position of the lot), when started, and their worth.

    ``faulty`` are those the gardener says went wrong.
    """

    __test__ = False

    lot: IntArray
    day: FloatArray
    normal: FloatArray
    viable: FloatArray
    seeds: FloatArray
    correlation: FloatArray
    faulty: BoolArray

    def take(self, at: IntArray | BoolArray) -> "Tests":
        return taken(self, at)

    @property
    def sound(self) -> "Tests":
        """Those with which nothing went wrong."""
        return self.take(~self.faulty)

    def and_those(self, other: "Tests") -> "Tests":
        """These tests and then the ``other``."""
        return joined([self, other])


@dataclass(frozen=True, slots=True)
class Stays:
    """Stays of all lots, shape (S,): whose, from which day, in which place (its id)."""

    lot: IntArray
    day: FloatArray
    place_id: IntArray


@dataclass(frozen=True, slots=True)
class Sealings:
    """Days on which sealed places were sealed anew, (R,), of all places, and which (its id)."""

    place_id: IntArray
    day: FloatArray


@dataclass(frozen=True, slots=True)
class Packets:
    """What packets say of their seed, shape (P,): whose (position of the lot), and what.

    ``printed_pct`` is the germination printed, nan if none; ``tested_day`` the day of that test,
    the middle of a month or year; where it isn't told the day it was packed, or six months before
    the season it was packed for, nan if that isn't told either. ``packed_for`` is that season's
    year, ``packed`` the year and month it was packed in, where that is known. ``forms`` are what
    was done to the seed.
    """

    lot: IntArray
    printed_pct: FloatArray
    tested_day: FloatArray
    packed_for: tuple[int | None, ...]
    packed: tuple[tuple[int, int | None] | None, ...]
    forms: tuple[SeedForm | None, ...]


@dataclass(frozen=True, slots=True)
class Collection:
    """Lots as columns of one length L, in order of id. Days are day numbers, nan if unknown.

    ``other_keepers`` indexes ``KEEPERS``. ``open_test`` marks lots with an unfinished test.
    ``saver`` is who grew or sold the seed: ``OWN``, the donor's name, "" where nobody is named.
    ``counted`` is false of lots that hold some seed nobody has counted: their ``balance`` is nan
    as read, and the middle of ``amount_law`` in a forecast. ``known`` is the sum of all movements
    with a number; ``grams`` what was weighed of seed that isn't counted, 0 if it wasn't.
    """

    lot_id: IntArray
    code: tuple[str, ...]
    variety_id: IntArray
    variety: tuple[str, ...]
    kind_id: IntArray
    saver: tuple[str, ...]
    bought: BoolArray
    saved_here: BoolArray
    harvest_year: FloatArray
    harvest_day: FloatArray
    harvest_estimated: BoolArray
    sow_by_year: FloatArray
    acquired_day: FloatArray
    created_day: FloatArray
    treated: BoolArray
    kept_as: tuple[KeptAs | None, ...]
    mixture: BoolArray
    purity: tuple[Purity, ...]
    purity_note: tuple[str, ...]
    other_keepers: IntArray
    keepers_unknown: BoolArray
    breeding: tuple[Breeding, ...]
    plants_wanted: FloatArray
    reserve: FloatArray
    balance: FloatArray
    known: FloatArray
    grams: FloatArray
    counted: BoolArray
    open_test: BoolArray
    tests: Tests
    stays: Stays
    sealings: Sealings
    packets: Packets

    @property
    def size(self) -> int:
        return int(self.lot_id.size)

    def stays_until(self, day: float) -> Stays:
        """Stays begun by a day: a move still to come is only a plan."""
        begun = self.stays.day <= day
        stays = self.stays
        return Stays(stays.lot[begun], stays.day[begun], stays.place_id[begun])


@contextmanager
def _without_collector() -> Iterator[None]:
    """Reading makes many tuples and no cycles; looking for cycles meanwhile doubles its cost."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def read_collection(
    session: Session, lot_ids: Iterable[int] | None = None, *, amounts: bool = True
) -> Collection:
    """Read the lots asked for, or all; an id that isn't there is left out.

    Without ``amounts`` the ledger is left unread, and none of the lots counts as counted.
    """
    with _without_collector():
        return _read(session, lot_ids, amounts)


def _read(session: Session, lot_ids: Iterable[int] | None, amounts: bool) -> Collection:
    asked = true() if lot_ids is None else col(Lot.id).in_(list(lot_ids))
    (
        lot_id, codes, varieties, names, kinds, donors, bought, saved, years, harvests, estimated,
        sow_by, acquired, created, treated, kept_as, purity, purity_note, keepers, untold, breeding,
        wanted, reserve,
    ) = read_columns(
        session,
        _lots_query(asked),
        (
            numbers, tuple, numbers, shared(), numbers, shared(), _bought, _saved_here, figures,
            _days, flags, _years, _days, _moments, flags, tuple, tuple, shared(), _keepers, flags,
            tuple, figures, figures,
        ),
    )  # fmt: skip
    balance, known = np.full(lot_id.size, np.nan), np.zeros(lot_id.size)
    if amounts:
        balance, known = _balances(session, lot_id, asked)
    return Collection(
        lot_id=lot_id,
        code=codes,
        variety_id=varieties,
        variety=names,
        kind_id=kinds,
        saver=tuple(
            OWN if here else donor.strip().casefold()
            for donor, here in zip(donors, saved.tolist(), strict=True)
        ),
        bought=bought,
        saved_here=saved,
        harvest_year=years,
        harvest_day=harvests,
        harvest_estimated=estimated,
        sow_by_year=sow_by,
        acquired_day=acquired,
        created_day=created,
        treated=treated,
        kept_as=kept_as,
        mixture=_mixtures(session, lot_id, asked),
        purity=purity,
        purity_note=purity_note,
        other_keepers=keepers,
        keepers_unknown=untold,
        breeding=breeding,
        plants_wanted=wanted,
        reserve=reserve,
        balance=balance,
        known=known,
        grams=_grams_not_counted(session, lot_id, np.isnan(balance) & amounts),
        counted=~np.isnan(balance),
        open_test=_open_tests(session, lot_id, asked),
        tests=_tests(session, lot_id, asked),
        stays=_stays(session, lot_id, asked),
        sealings=_sealings(session),
        packets=_packets(session, lot_id, asked),
    )


def _bought(origins: Sequence[Any]) -> BoolArray:
    return flags([origin is Origin.BOUGHT for origin in origins])


def _saved_here(origins: Sequence[Any]) -> BoolArray:
    return flags([origin in _SAVED_HERE for origin in origins])


def _keepers(values: Sequence[Any]) -> IntArray:
    return numbers([_RANK[keeper] for keeper in values])


def _moments(moments: Sequence[Any]) -> FloatArray:
    return _days([moment.date() for moment in moments])


def _lots_query(asked: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    return (
        select(
            col(Lot.id), col(Lot.code), col(Lot.variety_id), col(Variety.name),
            col(Variety.kind_id), col(Lot.donor), col(Lot.origin),
            col(Lot.origin).label("again"),
            col(Lot.harvest_year), col(Lot.harvest_date), col(Lot.harvest_estimated),
            col(Lot.sow_by), col(Lot.acquired_on), col(Lot.created_at), col(Lot.treated),
            col(Lot.kept_as), col(Lot.purity), col(Lot.purity_note), col(Variety.other_keepers),
            col(Variety.keepers_unknown), col(Variety.breeding),
            col(Variety.plants_wanted), col(Variety.reserve_seeds),
        )
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(asked)
        .order_by(col(Lot.id))
    )  # fmt: skip


def _days(dates: Sequence[date | None]) -> FloatArray:
    return np.array([np.nan if d is None else d.toordinal() - _EPOCH_DAY for d in dates], float)


def _years(dates: Sequence[date | None]) -> FloatArray:
    return np.array([np.nan if d is None else d.year for d in dates], float)


def _place(lot_id: IntArray, ids: IntArray) -> IntArray:
    return np.searchsorted(lot_id, ids)


def _whose(lot: ColumnElement[Any] | Any, asked: ColumnElement[bool]) -> ColumnElement[bool]:
    """Only rows of lots asked for; all rows need no join."""
    if str(asked) == str(true()):
        return true()
    return col(lot).in_(select(col(Lot.id)).where(asked))


def _balances(
    session: Session, lot_id: IntArray, asked: ColumnElement[bool]
) -> tuple[FloatArray, FloatArray]:
    """What each lot holds, nan if not counted, and the sum of what is known of it."""
    query = (
        select(col(Movement.lot_id), func.sum(col(Movement.seeds)), *last_serials())
        .where(_whose(Movement.lot_id, asked))
        .group_by(col(Movement.lot_id))
    )
    held, known = np.zeros(lot_id.size), np.zeros(lot_id.size)
    ids, sums, last, unknown = read_columns(session, query, (numbers, figures, numbers, numbers))
    known[_place(lot_id, ids)] = np.nan_to_num(sums)
    held[_place(lot_id, ids)] = np.where(last == unknown, np.nan, sums)
    return held, known


def _grams_not_counted(session: Session, lot_id: IntArray, some: BoolArray) -> FloatArray:
    """What is left by weight of lots that hold ``some``; 0 if any of it wasn't weighed."""
    grams = np.zeros(lot_id.size)
    if not some.any():
        return grams
    left = grams_left(session, lot_id[some].tolist())
    grams[_place(lot_id, np.array(list(left), dtype=np.int64))] = list(left.values())
    return grams


def _mixtures(session: Session, lot_id: IntArray, asked: ColumnElement[bool]) -> BoolArray:
    query = select(col(MixturePart.lot_id)).where(_whose(MixturePart.lot_id, asked)).distinct()
    found = np.zeros(lot_id.size, dtype=np.bool_)
    [ids] = read_columns(session, query, (numbers,))
    found[_place(lot_id, ids)] = True
    return found


def _open_tests(session: Session, lot_id: IntArray, asked: ColumnElement[bool]) -> BoolArray:
    query = (
        select(col(GerminationTest.lot_id))
        .where(col(GerminationTest.finished_on).is_(None), _whose(GerminationTest.lot_id, asked))
        .distinct()
    )
    found = np.zeros(lot_id.size, dtype=np.bool_)
    [ids] = read_columns(session, query, (numbers,))
    found[_place(lot_id, ids)] = True
    return found


def _tests(session: Session, lot_id: IntArray, asked: ColumnElement[bool]) -> Tests:
    query = (
        select(
            col(GerminationTest.lot_id), col(GerminationTest.started_on),
            col(GerminationTest.normal_seeds), col(GerminationTest.viable_seeds),
            col(GerminationTest.judged_seeds), col(GerminationTest.correlation),
            col(GerminationTest.fault),
        )
        .where(
            col(GerminationTest.finished_on).is_not(None), _whose(GerminationTest.lot_id, asked)
        )
        .order_by(col(GerminationTest.lot_id), col(GerminationTest.finished_on))
    )  # fmt: skip
    lots, *rest = read_columns(session, query, (numbers, _days, *(figures,) * 4, _faulty))
    return Tests(_place(lot_id, lots), *rest)


def _faulty(faults: Sequence[Any]) -> BoolArray:
    return flags([fault is not None for fault in faults])


def _stays(session: Session, lot_id: IntArray, asked: ColumnElement[bool]) -> Stays:
    query = (
        select(col(Stay.lot_id), col(Stay.from_date), col(Stay.place_id))
        .where(_whose(Stay.lot_id, asked))
        .order_by(col(Stay.lot_id), col(Stay.from_date))
    )
    lots, starts, places = read_columns(session, query, (numbers, _days, numbers))
    return Stays(_place(lot_id, lots), starts, places)


def _sealings(session: Session) -> Sealings:
    """Also by the stays of lots not asked for: a place is sealed anew for all that lies in it."""
    query = (
        select(col(Stay.place_id), col(Stay.from_date))
        .where(col(Stay.sealed_anew))
        .distinct()
        .order_by(col(Stay.place_id), col(Stay.from_date))
    )
    return Sealings(*read_columns(session, query, (numbers, _days)))


_SAID_BY_PACKET: Final = (
    Lot.printed_germination_pct, Lot.printed_test_on, Lot.packed_for, Lot.packed_on, Lot.seed_form,
)  # fmt: skip
_SEASON: Final = (4, 1)  # month and day it begins: common practice
_HALF_YEAR_DAYS: Final = 182.0


def _packets(session: Session, lot_id: IntArray, asked: ColumnElement[bool]) -> Packets:
    said = [col(one) for one in _SAID_BY_PACKET]
    query = (
        select(col(Lot.id), *said)
        .where(or_(*(one.is_not(None) for one in said)), asked)
        .order_by(col(Lot.id))
    )
    lots, printed, tested, seasons, packed, forms = read_columns(
        session, query, (numbers, figures, tuple, tuple, tuple, tuple)
    )
    days = zip(tested, packed, seasons, strict=True)
    return Packets(
        lot=_place(lot_id, lots),
        printed_pct=printed,
        tested_day=np.array([_tested_day(*one) for one in days], dtype=np.float64),
        packed_for=seasons,
        packed=tuple(map(_year_and_month, packed)),
        forms=forms,
    )


def _tested_day(tested: str | None, packed: str | None, season: int | None) -> float:
    """The day of a printed test as far as the packet tells."""
    span = rough_span(tested) or rough_span(packed)
    if span is not None:
        return (day_number(span[0]) + day_number(span[1])) / 2
    if season is None:
        return float("nan")
    return day_number(date(season, *_SEASON)) - _HALF_YEAR_DAYS


def _year_and_month(packed: str | None) -> tuple[int, int | None] | None:
    if packed is None:
        return None
    return int(packed[:4]), int(packed[5:7]) if len(packed) > len("2024") else None
