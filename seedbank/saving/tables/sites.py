"""Sites seed crops are grown on, and how far they are apart."""

from sqlalchemy import CheckConstraint, or_, select
from sqlmodel import Field, Session, SQLModel, col

from seedbank.common.faults import BadValue
from seedbank.database.base import Editable
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, fetch, page_of
from seedbank.database.references import goes_along


class Site(Editable, table=True):
    """Ground plants flower on. ``seed_bed_m2`` is what may be given to seed crops there."""

    __tablename__ = "site"
    __table_args__ = (CheckConstraint("seed_bed_m2 >= 0", name="seed_bed_m2"),)

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(max_length=120, unique=True)
    seed_bed_m2: float | None = Field(default=None, description="m2; None: not measured")
    notes: str = Field(default="", max_length=4000)


class SiteDistance(SQLModel, table=True):
    """Metres between two sites as pollen goes, kept once: ``site_id`` is the lower number."""

    __tablename__ = "site_distance"
    __table_args__ = (
        CheckConstraint("site_id < other_id", name="each_pair_once"),
        CheckConstraint("metres >= 0", name="metres"),
    )

    site_id: int = Field(foreign_key="site.id", primary_key=True, sa_column_kwargs=goes_along())
    other_id: int = Field(
        foreign_key="site.id", primary_key=True, index=True, sa_column_kwargs=goes_along()
    )
    metres: float


def get_site(session: Session, site_id: int) -> Site:
    """The site with this id. Raises Missing: there is none."""
    return fetch(session, Site, site_id, what="site")


def find_site(session: Session, number: int) -> Site:
    """The site with this number. Raises NotThere."""
    with about("id"):
        return get_site(session, number)


def find_sites(session: Session, *, after: Cursor | None = None, limit: int = 50) -> Page[Site]:
    """A page of the sites by name. Raises BadValue: limit or cursor."""
    return page_of(
        session,
        select(Site),
        sort=Site.name,
        row_id=Site.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )


def set_distance(session: Session, one_id: int, other_id: int, metres: float) -> SiteDistance:
    """Say how far apart two sites are, in place of what was said before; flushes.

    Raises Missing: no such site. BadValue: a site and itself, or less than nothing.
    """
    if one_id == other_id:
        raise BadValue("other_id", other_id, "name two different sites")
    if not metres >= 0:
        raise BadValue("metres", metres, "give 0 or more")
    low, high = sorted((get_site(session, one_id).id or 0, get_site(session, other_id).id or 0))
    distance = session.get(SiteDistance, (low, high))
    if distance is None:
        distance = SiteDistance(site_id=low, other_id=high, metres=metres)
    distance.metres = metres
    session.add(distance)
    session.flush()
    return distance


def distances_from(session: Session, site_id: int) -> dict[int, float]:
    """Metres from a site to each other one whose distance is known; itself is not among them."""
    query = select(SiteDistance).where(
        or_(col(SiteDistance.site_id) == site_id, col(SiteDistance.other_id) == site_id)
    )
    return {
        row.other_id if row.site_id == site_id else row.site_id: row.metres
        for row in session.execute(query).scalars()
    }


def all_distances(session: Session) -> dict[tuple[int, int], float]:
    """Metres between sites by pair, the lower number first."""
    rows = session.execute(select(SiteDistance)).scalars()
    return {(row.site_id, row.other_id): row.metres for row in rows}
