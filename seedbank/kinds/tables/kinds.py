"""Crop kinds, and the gardener's own values that override packaged reference facts."""

from collections.abc import Iterable, Mapping
from enum import StrEnum

from sqlalchemy import UniqueConstraint, func, or_, select
from sqlalchemy import text as sql_text
from sqlmodel import Field, Session, SQLModel, col

from seedbank.common.faults import Missing
from seedbank.database.base import Editable
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, page_of
from seedbank.database.references import goes_along


class FactName(StrEnum):
    """Facts about a kind that a gardener may state for themself, each with a source.

    Values are stored as text and parsed by ``facts``: numbers in the unit the name carries,
    ``life_cycle`` annual | biennial | perennial, ``mating`` selfing | mixed | outcrossing,
    ``storage_class`` orthodox | recalcitrant | unlisted, ``poisonous`` yes | no.
    """

    BOTANICAL = "botanical"
    CROSSING_GROUP = "crossing_group"
    LIFE_CYCLE = "life_cycle"
    MATING = "mating"
    STORAGE_CLASS = "storage_class"
    POISONOUS = "poisonous"
    MINIMUM_GERMINATION_PCT = "minimum_germination_pct"
    FIRST_COUNT_DAYS = "first_count_days"
    FINAL_COUNT_DAYS = "final_count_days"
    TEST_TEMPERATURE_C = "test_temperature_c"
    HALF_VIABILITY_YEARS = "half_viability_years"
    THOUSAND_SEED_WEIGHT_G = "thousand_seed_weight_g"
    SEEDLINGS_PER_UNIT = "seedlings_per_unit"
    DEPTH_CM = "depth_cm"
    IN_ROW_CM = "in_row_cm"
    ROW_CM = "row_cm"
    SOIL_MIN_C = "soil_min_c"
    SOIL_OPT_C = "soil_opt_c"
    ISOLATION_HOME_M = "isolation_home_m"
    ISOLATION_STRICT_M = "isolation_strict_m"
    SEED_PARENTS_MAINTAIN = "seed_parents_maintain"
    SEED_PARENTS_RARE = "seed_parents_rare"


class Kind(Editable, table=True):
    """A crop kind. ``slug`` joins a packaged kind to its facts; a gardener's own has only its own.

    ``packaged`` kinds are put in at start-up and can't be deleted.
    """

    __tablename__ = "kind"

    id: int | None = Field(default=None, primary_key=True)
    slug: str = Field(max_length=80, unique=True)
    name: str = Field(max_length=120, index=True)
    packaged: bool = Field(default=False)


class KindFact(SQLModel, table=True):
    """One fact about a kind as the gardener states it, overriding the packaged value."""

    __tablename__ = "kind_fact"
    __table_args__ = (UniqueConstraint("kind_id", "name"),)

    id: int | None = Field(default=None, primary_key=True)
    kind_id: int = Field(foreign_key="kind.id", sa_column_kwargs=goes_along())
    name: str = Field(max_length=40)
    value: str = Field(max_length=200)
    source: str = Field(max_length=400)


def get_kind(session: Session, slug: str) -> Kind:
    """The kind with this slug. Raises Missing: there is none."""
    found = session.execute(select(Kind).where(col(Kind.slug) == slug))
    kind: Kind | None = found.scalar_one_or_none()
    if kind is None:
        raise Missing("kind", slug)
    return kind


def find_kind(session: Session, slug: str) -> Kind:
    """The kind with this slug. Raises NotThere."""
    with about("slug"):
        return get_kind(session, slug)


def kinds_named(session: Session, name: str) -> list[Kind]:
    """The kinds of this name, whatever its case, or with it for a slug."""
    wanted = name.lower()
    query = select(Kind).where(or_(func.lower(col(Kind.name)) == wanted, col(Kind.slug) == wanted))
    return list(session.execute(query.order_by(col(Kind.id))).scalars())


def kind_names(session: Session) -> list[str]:
    """The names of all kinds, in order."""
    return list(session.execute(select(col(Kind.name)).order_by(col(Kind.name))).scalars())


def find_kinds(
    session: Session,
    *,
    packaged: bool | None = None,
    text: str | None = None,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[Kind]:
    """A page of the kinds by name. Raises BadValue: limit or cursor."""
    query = select(Kind)
    if packaged is not None:
        query = query.where(col(Kind.packaged) == packaged)
    for piece in (text or "").split():
        query = query.where(col(Kind.name).icontains(piece, autoescape=True))
    return page_of(
        session,
        query,
        sort=Kind.name,
        row_id=Kind.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )


def facts_of(session: Session, kind_ids: Iterable[int]) -> dict[int, list[KindFact]]:
    """The gardener's own facts about each kind, by name, in one query."""
    found: dict[int, list[KindFact]] = {kind_id: [] for kind_id in kind_ids}
    query = (
        select(KindFact)
        .where(col(KindFact.kind_id).in_(found))
        .order_by(col(KindFact.kind_id), col(KindFact.name))
    )
    for fact in session.execute(query).scalars():
        found[fact.kind_id].append(fact)
    return found


def ensure_packaged_kinds(session: Session, names: Mapping[str, str]) -> None:
    """Put in the packaged kinds (slug -> name) that are missing, and flush; run at every start.

    A packaged kind takes its present name. A kind of the gardener's own with the slug of one
    packaged since becomes that packaged kind, and keeps its facts and varieties.
    """
    if session.get_bind().dialect.name == "postgresql":
        # Two workers starting together would both find the kinds missing.
        session.execute(sql_text("LOCK TABLE kind IN SHARE ROW EXCLUSIVE MODE"))
    known = {kind.slug: kind for kind in session.execute(select(Kind)).scalars()}
    for slug, name in names.items():
        kind = known.get(slug) or Kind(slug=slug, name=name)
        if kind.id is None or not kind.packaged or kind.name != name:
            kind.name, kind.packaged = name, True
            session.add(kind)
    session.flush()
