"""Jobs put off. The jobs of a week are worked out anew each day, so each is known by its name."""

from datetime import date, datetime

from sqlmodel import Field, SQLModel

from seedbank.database.base import UtcDateTime


class PostponedJob(SQLModel, table=True):
    """A job of the front page that is left alone until a day; ``job`` is its name there."""

    __tablename__ = "postponed_job"

    job: str = Field(primary_key=True, max_length=120)
    until: date
    put_off_at: datetime = Field(sa_type=UtcDateTime)
