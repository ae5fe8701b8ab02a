"""What this gardener's own sowings teach: the seedbed's shift, the pests, the usual thickness."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import Changes, changes
from seedbank.database.lanes import JUDGEMENTS
from seedbank.science.sowing.field_shift_learning import FieldShiftModel
from seedbank.science.sowing.field_shift_prior import PROTECTIONS
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.seedling_losses import PestLoss, learn_pest_loss, patchiness_prior
from seedbank.viability.garden_keeping import garden_keeping
from seedbank.viability.past_sowings import PastSowing
from seedbank.viability.sown_evidence import SownEvidence
from seedbank.viability.tables.change_topics import ALIVE
from seedbank.viability.tables.stock_columns import day_number


@dataclass(frozen=True, slots=True, eq=False)
class Garden:
    """The garden as its sowings show it.

    ``pests`` and ``patches`` go by protection. Patchiness is the published start for all: counts
    are kept by sowing, not by station. ``seeds_per_plant`` holds, by kind, the seeds sown for
    each plant wanted in earlier sowings; ``sown`` what the sowings say of seed and beds.
    """

    sown: SownEvidence
    pests: Mapping[str, PestLoss]
    patches: Mapping[str, Patches]
    seeds_per_plant: Mapping[str, tuple[float, ...]]

    @property
    def shift_model(self) -> FieldShiftModel:
        return self.sown.model

    @property
    def sowings(self) -> tuple[PastSowing, ...]:
        return self.sown.sowings


_GARDEN: CacheRegion[Garden] = CacheRegion(lane=JUDGEMENTS)


def garden_state(session: Session, today: date) -> Changes:
    """What ``learn_garden`` was asked in: the day, and the changes it rests on."""
    return (today, *changes(session, ALIVE))


def learn_garden(session: Session, *, today: date) -> Garden:
    """What the sowings teach, learned anew only when something they rest on has changed."""
    state = changes(session, ALIVE)

    def learn() -> Garden:
        return learn_from(garden_keeping(session, state, day_number(today)).sown)

    return _GARDEN.get(session, garden_state(session, today), learn)


def learn_from(sown: SownEvidence) -> Garden:
    """What these sowings teach."""
    return Garden(
        sown=sown,
        pests=pest_losses(sown.sowings),
        patches={protection: patchiness_prior(protection) for protection in PROTECTIONS},
        seeds_per_plant=_seeds_per_plant(sown.sowings),
    )


def pest_losses(sowings: Sequence[PastSowing]) -> dict[str, PestLoss]:
    """What pests take, by protection, from these sowings."""
    eaten = [sowing.eaten for sowing in sowings]
    return {protection: learn_pest_loss(protection, eaten) for protection in PROTECTIONS}


def _seeds_per_plant(sowings: Sequence[PastSowing]) -> dict[str, tuple[float, ...]]:
    rates: dict[str, list[float]] = {}
    for sowing in sowings:
        if sowing.plants_wanted:
            rates.setdefault(sowing.facts.slug, []).append(
                sowing.record.sown / sowing.plants_wanted
            )
    return {kind: tuple(each) for kind, each in rates.items()}
