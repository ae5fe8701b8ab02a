"""This week's jobs, which the program that starts next needn't work out anew."""

from datetime import date

from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import Changes, all_changes
from seedbank.season.answers import ThisWeekAnswer

_THIS_WEEK: CacheRegion[ThisWeekAnswer] = CacheRegion(stored=ThisWeekAnswer)


def show_this_week(session: Session, *, today: date) -> ThisWeekAnswer:
    """What to do this week; kept, also for the next program, until anything is written."""

    def work() -> ThisWeekAnswer:
        from seedbank.season.week_jobs import work_out_week  # judging takes much else

        return work_out_week(session, today=today)

    return _THIS_WEEK.get(session, _state(session, today), work)


def week_at_hand(session: Session, *, today: date) -> bool:
    """Whether ``show_this_week`` answers at once."""
    return _THIS_WEEK.ready(session, _state(session, today)) is not None


def _state(session: Session, today: date) -> Changes:
    return (today, *all_changes(session))
