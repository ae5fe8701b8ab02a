"""What this gardener's own sowings teach: the seedbed's shift, the pests, the usual thickness.

Learning takes a few tenths of a second, so it is kept in memory for each database and used again
while nothing it rests on has changed.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import Pool, ScalarSelect, func, select
from sqlmodel import Session, SQLModel, col

from seedbank.facts.field_factors import published_shift_prior
from seedbank.science.field_shift_learning import FieldShiftModel, learn_shift
from seedbank.science.field_shift_prior import PROTECTIONS
from seedbank.science.plant_counts import Patches
from seedbank.science.seedling_losses import PestLoss, learn_pest_loss, patchiness_prior
from seedbank.service.sowing_history import PastSowing, read_past_sowings
from seedbank.stock.germination_tests import GerminationTest
from seedbank.stock.kinds import Kind, KindFact
from seedbank.stock.lots import Lot
from seedbank.stock.places import Place, Stay
from seedbank.stock.sowings import Emergence, Loss, Sowing
from seedbank.stock.varieties import Variety


@dataclass(frozen=True, slots=True)
class Garden:
    """The garden as its sowings show it.

    ``pests`` and ``patches`` go by protection. Patchiness is the published start for all: counts
    are kept by sowing, not by station. ``seeds_per_plant`` holds, by kind, the seeds sown for
    each plant wanted in earlier sowings.
    """

    shift_model: FieldShiftModel
    pests: Mapping[str, PestLoss]
    patches: Mapping[str, Patches]
    seeds_per_plant: Mapping[str, tuple[float, ...]]
    sowings: tuple[PastSowing, ...]


Stamp = tuple[Any, ...]
_KEPT: WeakKeyDictionary[Pool, tuple[Stamp, Garden]] = WeakKeyDictionary()


def learn_garden(session: Session, *, today: date) -> Garden:
    """What the sowings teach, learned anew only when something they rest on has changed."""
    # The stamp is read first: a write in between gives newer knowledge under an older stamp,
    # which the next caller won't match; never the other way about.
    stamp = (today, *garden_stamp(session))
    pool = session.get_bind().engine.pool
    kept = _KEPT.get(pool)
    if kept is None or kept[0] != stamp:
        kept = (stamp, learn_from(read_past_sowings(session, today=today)))
        _KEPT[pool] = kept
    return kept[1]


def learn_from(sowings: tuple[PastSowing, ...]) -> Garden:
    """What these sowings teach."""
    eaten = [sowing.eaten for sowing in sowings]
    rates: dict[str, list[float]] = {}
    for sowing in sowings:
        if sowing.plants_wanted:
            rate = sowing.record.sown / sowing.plants_wanted
            rates.setdefault(sowing.kind, []).append(rate)
    return Garden(
        shift_model=learn_shift(published_shift_prior(), [sowing.record for sowing in sowings]),
        pests={protection: learn_pest_loss(protection, eaten) for protection in PROTECTIONS},
        patches={protection: patchiness_prior(protection) for protection in PROTECTIONS},
        seeds_per_plant={kind: tuple(each) for kind, each in rates.items()},
        sowings=sowings,
    )


def garden_stamp(session: Session) -> Stamp:
    """Counts and sums that change with anything a garden is learned from, in one query.

    Sums weighted by id tell apart edits that a plain sum would let cancel; the moment of the
    last entry tells a row deleted and made anew from the one before.
    """
    parts = [
        *_of(Sowing, col(Sowing.version) * col(Sowing.id), last=col(Sowing.created_at)),
        *_of(Sowing, col(Sowing.seeds_sown) * col(Sowing.id), col(Sowing.lot_id)),
        *_of(
            Emergence,
            col(Emergence.units_emerged) * col(Emergence.id),
            col(Emergence.sowing_id),
            last=col(Emergence.recorded_at),
        ),
        *_of(
            Loss,
            col(Loss.units_lost) * col(Loss.id),
            col(Loss.sowing_id),
            last=col(Loss.recorded_at),
        ),
        *_of(
            GerminationTest,
            col(GerminationTest.version) * col(GerminationTest.id),
            col(GerminationTest.viable_seeds) * col(GerminationTest.id),
            col(GerminationTest.normal_seeds) * col(GerminationTest.id),
            col(GerminationTest.correlation) * col(GerminationTest.id),
            last=col(GerminationTest.created_at),
        ),
        *_of(Lot, col(Lot.version) * col(Lot.id), last=col(Lot.created_at)),
        *_of(Stay, col(Stay.place_id) * col(Stay.id), last=col(Stay.from_date)),
        *_of(Place, col(Place.version) * col(Place.id), last=col(Place.id)),
        *_of(Variety, col(Variety.version) * col(Variety.id), last=col(Variety.kind_id)),
        *_of(Kind, col(Kind.version) * col(Kind.id), last=col(Kind.id)),
        *_of(KindFact, func.length(col(KindFact.value)) * col(KindFact.id), last=col(KindFact.id)),
    ]
    return tuple(session.execute(select(*parts)).one())


def _of(table: type[SQLModel], *sums: Any, last: Any = None) -> list[ScalarSelect[Any]]:
    """Number of rows, sums over them and the greatest of a column, as scalar subqueries."""
    wanted = [func.count(), *(func.sum(each) for each in sums)]
    if last is not None:
        wanted.append(func.max(last))
    return [select(each).select_from(table).scalar_subquery() for each in wanted]
