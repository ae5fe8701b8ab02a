"""What flowers when and where: each kind's window, and plants in flower in a year."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import CheckConstraint, UniqueConstraint, or_, select
from sqlmodel import Field, Session, SQLModel, col

from seedbank.database.base import Editable, unique_where, word
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, fetch, page_of
from seedbank.database.references import goes_along
from seedbank.science.crossing.crossing_stands import StandIs


class FloweringWindow(SQLModel, table=True):
    """When a kind flowers here, as the gardener sees it, in days of the year (1 January is 1).

    Both ends are in flower; ``from_day`` over ``to_day`` spans New Year. Without ``site_id`` it
    holds at every site that has none of its own.
    """

    __tablename__ = "flowering_window"
    __table_args__ = (
        UniqueConstraint("kind_id", "site_id"),
        unique_where("uq_flowering_window_anywhere", "kind_id", condition="site_id IS NULL"),
        CheckConstraint("from_day BETWEEN 1 AND 366", name="from_day"),
        CheckConstraint("to_day BETWEEN 1 AND 366", name="to_day"),
    )

    id: int | None = Field(default=None, primary_key=True)
    kind_id: int = Field(foreign_key="kind.id", sa_column_kwargs=goes_along())
    site_id: int | None = Field(default=None, foreign_key="site.id", index=True)
    from_day: int
    to_day: int
    source: str = Field(max_length=400)


class Flowering(Editable, table=True):
    """Plants of a kind in flower in a year at, or near, a site.

    ``distance_m`` is from the site to a neighbour's or wild plants; None there: not known. On the
    site itself it is 0. ``stopped_on``: cut down or pulled before it could shed pollen.
    """

    __tablename__ = "flowering"
    __table_args__ = (
        CheckConstraint("year BETWEEN 1900 AND 2199", name="year"),
        CheckConstraint("distance_m >= 0", name="distance_m"),
        CheckConstraint("to_date >= from_date", name="to_date"),
    )

    id: int | None = Field(default=None, primary_key=True)
    year: int = Field(index=True)
    site_id: int = Field(foreign_key="site.id", index=True)
    kind_id: int = Field(foreign_key="kind.id", index=True)
    variety_id: int | None = Field(default=None, foreign_key="variety.id", index=True)
    what: StandIs = Field(sa_type=word(StandIs))
    distance_m: float | None = Field(default=None)
    from_date: date | None = Field(default=None, description="first open flower")
    to_date: date | None = Field(default=None, description="last open flower")
    stopped_on: date | None = Field(default=None)
    notes: str = Field(default="", max_length=4000)


@dataclass(frozen=True, slots=True, kw_only=True)
class FloweringFilter:
    """What the flowerings must all be; None asks nothing."""

    year: int | None = None
    site_id: int | None = None
    kind_id: int | None = None
    what: StandIs | None = None


def get_flowering(session: Session, flowering_id: int) -> Flowering:
    """The flowering with this id. Raises Missing: there is none."""
    return fetch(session, Flowering, flowering_id, what="flowering")


def find_flowering(session: Session, number: int) -> Flowering:
    """The flowering with this number. Raises NotThere."""
    with about("id"):
        return get_flowering(session, number)


def find_flowerings(
    session: Session,
    wanted: FloweringFilter | None = None,
    *,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[Flowering]:
    """A page of the flowerings by year. Raises BadValue: limit or cursor."""
    wanted = wanted or FloweringFilter()
    query = select(Flowering)
    if wanted.year is not None:
        query = query.where(col(Flowering.year) == wanted.year)
    if wanted.site_id is not None:
        query = query.where(col(Flowering.site_id) == wanted.site_id)
    if wanted.kind_id is not None:
        query = query.where(col(Flowering.kind_id) == wanted.kind_id)
    if wanted.what is not None:
        query = query.where(col(Flowering.what) == wanted.what)
    return page_of(
        session,
        query,
        sort=Flowering.year,
        row_id=Flowering.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )


def flowerings_in(session: Session, year: int) -> list[Flowering]:
    """Everything in flower in a year, at every site, by id."""
    query = select(Flowering).where(col(Flowering.year) == year).order_by(col(Flowering.id))
    return list(session.execute(query).scalars())


def own_window(session: Session, kind_id: int, site_id: int | None) -> FloweringWindow | None:
    """The gardener's window of a kind for just this site, or (None) for every site."""
    query = select(FloweringWindow).where(
        col(FloweringWindow.kind_id) == kind_id, col(FloweringWindow.site_id) == site_id
    )
    found: FloweringWindow | None = session.execute(query).scalar_one_or_none()
    return found


def own_windows(
    session: Session, kind_ids: Iterable[int], site_ids: Iterable[int]
) -> dict[tuple[int, int | None], FloweringWindow]:
    """The gardener's windows by kind and site (None: every site), in one query."""
    site = col(FloweringWindow.site_id)
    query = select(FloweringWindow).where(
        col(FloweringWindow.kind_id).in_(list(kind_ids)),
        or_(site.is_(None), site.in_(list(site_ids))),
    )
    rows = session.execute(query).scalars()
    return {(window.kind_id, window.site_id): window for window in rows}
