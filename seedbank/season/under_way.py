"""What is under way, read once for all that tells of it: tests, sowings and seed crops."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import all_changes
from seedbank.germination.answers import CountDueAnswer
from seedbank.germination.show_tests import counts_due
from seedbank.saving.answers import SeedCropAnswer, StepAnswer
from seedbank.saving.show_seed_crops import open_seed_crops
from seedbank.season.sowing_looks import SowingLook, looks_at_sowings


@dataclass(frozen=True, slots=True)
class UnderWay:
    """The next count of each open test, the next look at each open sowing, and the open seed
    crops with the next step of each."""

    counts: tuple[CountDueAnswer, ...]
    looks: tuple[SowingLook, ...]
    crops: tuple[tuple[SeedCropAnswer, StepAnswer], ...]


_UNDER_WAY: CacheRegion[UnderWay] = CacheRegion()


def read_under_way(session: Session, *, today: date) -> UnderWay:
    """All of it; kept until anything is written."""
    return _UNDER_WAY.get(
        session,
        (today, *all_changes(session)),
        lambda: UnderWay(
            tuple(counts_due(session, today=today)),
            tuple(looks_at_sowings(session, today)),
            tuple(open_seed_crops(session, today=today)),
        ),
    )
