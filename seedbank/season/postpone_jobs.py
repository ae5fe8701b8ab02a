"""Putting a job of the front page off for a week, and taking it up again."""

from datetime import date, datetime, timedelta

from sqlmodel import Session, col, delete

from seedbank.common.errors import NotThere
from seedbank.database.transaction import transaction
from seedbank.season.tables import PostponedJob
from seedbank.season.this_week import show_this_week

PUT_OFF_DAYS = 7


def put_off(session: Session, job: str, *, today: date, now: datetime) -> date:
    """Leave a job alone for a week; the day it comes back. Once more changes nothing.

    Raises NotThere: it isn't among this week's jobs.
    """
    with transaction(session):
        session.exec(delete(PostponedJob).where(col(PostponedJob.until) <= today))
        before = session.get(PostponedJob, job)
        if before is not None:
            return before.until
        if job not in {one.job for one in show_this_week(session, today=today).jobs}:
            raise NotThere("job", job)
        until = today + timedelta(days=PUT_OFF_DAYS)
        session.add(PostponedJob(job=job, until=until, put_off_at=now))
        return until


def take_up(session: Session, job: str) -> None:
    """Have a job that was put off back among the others; one that wasn't stays as it is."""
    with transaction(session):
        row = session.get(PostponedJob, job)
        if row is not None:
            session.delete(row)
