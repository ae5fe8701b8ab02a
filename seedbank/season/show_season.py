"""The season at a glance, kept in memory while nothing it rests on has changed."""

from datetime import date

from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import all_changes
from seedbank.database.queries import Paging
from seedbank.plan.last_plan import plan_standing
from seedbank.plan.stops import must_not_flower
from seedbank.saving.show_seed_crops import list_seed_crops, open_seed_crops
from seedbank.saving.tables import SeedCropFilter
from seedbank.science.verdicts.verdict import counted
from seedbank.season.answers import CropOfSeason, SeasonAnswer
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.verdicts.seed_to_save import show_seed_to_save

_MOST_CROPS = 500
_SEASON: CacheRegion[SeasonAnswer] = CacheRegion()


def show_season(session: Session, *, today: date) -> SeasonAnswer:
    """How many lots have each verdict, rare seed to save, seed crops, what must not flower; kept
    until anything is written."""
    state = (today, *all_changes(session))
    return _SEASON.get(session, state, lambda: _season(session, today))


def _season(session: Session, today: date) -> SeasonAnswer:
    verdicts = judge_collection(session, today=today).verdicts
    return SeasonAnswer(
        year=today.year,
        verdicts=counted(verdicts.code),
        save=show_seed_to_save(session, today=today),
        crops=_crops(session, today),
        must_not_flower=must_not_flower(session, today.year),
        plan=plan_standing(session),
    )


def _crops(session: Session, today: date) -> list[CropOfSeason]:
    """Seed crops still open, and those of this year that are over; what is pressing first."""
    still = [
        CropOfSeason(crop=crop, next=step) for crop, step in open_seed_crops(session, today=today)
    ]
    of_year = SeedCropFilter(year=today.year, open=False)
    over = list_seed_crops(session, of_year, Paging(_MOST_CROPS)).items
    found = [*still, *(CropOfSeason(crop=crop, next=None) for crop in over)]
    return sorted(found, key=lambda one: (one.next is None, not (one.next and one.next.pressing)))
