"""What this gardener's own sowings teach: the seedbed's shift, the pests, the usual thickness.

Learning takes tenths of a second, so what was learned is kept in memory for each database and used
again while nothing it rests on has changed. Where something has, the sowings are read again; if
they say what they said, so does the garden, and of those that say something else only their own
likelihoods are worked out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from seedbank.database.cache import Kept
from seedbank.database.lanes import JUDGEMENTS
from seedbank.database.transaction import let_go
from seedbank.facts.field_factors import published_shift_prior
from seedbank.science.sowing.field_shift_learning import FieldShiftModel, learn_shift
from seedbank.science.sowing.field_shift_prior import PROTECTIONS
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.seedling_losses import PestLoss, learn_pest_loss, patchiness_prior
from seedbank.science.sowing.shift_observation import ShiftTable, tabulate
from seedbank.sowing.history import PastSowing, read_past_sowings
from seedbank.sowing.tables.change_stamps import garden_stamp


@dataclass(frozen=True, slots=True)
class Garden:
    """The garden as its sowings show it.

    ``pests`` and ``patches`` go by protection. Patchiness is the published start for all: counts
    are kept by sowing, not by station. ``seeds_per_plant`` holds, by kind, the seeds sown for
    each plant wanted in earlier sowings, ``likelihoods`` what each sowing says of its shift.
    """

    shift_model: FieldShiftModel
    pests: Mapping[str, PestLoss]
    patches: Mapping[str, Patches]
    seeds_per_plant: Mapping[str, tuple[float, ...]]
    sowings: tuple[PastSowing, ...]
    likelihoods: tuple[ShiftTable, ...]


_KEPT: Kept[Garden] = Kept(lane=JUDGEMENTS)


def learn_garden(session: Session, *, today: date) -> Garden:
    """What the sowings teach, learned anew only when something they rest on has changed."""

    def learn() -> Garden:
        sowings = read_past_sowings(session, today=today)
        last = _KEPT.last(session)
        known = {} if last is None else _by_fingerprint(last[1])
        told = [one.fingerprint for one in sowings]
        if last is not None and told == list(known):
            return last[1]
        let_go(session)
        each = zip(told, sowings, strict=True)
        return learn_from(sowings, [known.get(so) or tabulate(one.record) for so, one in each])

    return _KEPT.get(session, lambda asking: (today, *garden_stamp(asking)), learn)


def learn_from(
    sowings: Sequence[PastSowing], likelihoods: Sequence[ShiftTable] | None = None
) -> Garden:
    """What these sowings teach; ``likelihoods`` are what each says, where known already."""
    if likelihoods is None:
        likelihoods = [tabulate(sowing.record) for sowing in sowings]
    eaten = [sowing.eaten for sowing in sowings]
    rates: dict[str, list[float]] = {}
    for sowing in sowings:
        if sowing.plants_wanted:
            rate = sowing.record.sown / sowing.plants_wanted
            rates.setdefault(sowing.kind, []).append(rate)
    records = [sowing.record for sowing in sowings]
    return Garden(
        shift_model=learn_shift(published_shift_prior(), records, likelihoods),
        pests={protection: learn_pest_loss(protection, eaten) for protection in PROTECTIONS},
        patches={protection: patchiness_prior(protection) for protection in PROTECTIONS},
        seeds_per_plant={kind: tuple(each) for kind, each in rates.items()},
        sowings=tuple(sowings),
        likelihoods=tuple(likelihoods),
    )


def _by_fingerprint(garden: Garden) -> dict[bytes, ShiftTable]:
    each = (one.fingerprint for one in garden.sowings)
    return dict(zip(each, garden.likelihoods, strict=True))
