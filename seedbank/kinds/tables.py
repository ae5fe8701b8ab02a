"""Crop kinds and varieties, and the gardener's own values that override packaged facts."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from typing import Annotated

from pydantic import Field
from sqlalchemy import CheckConstraint, ColumnElement, UniqueConstraint, func, or_, select
from sqlalchemy import text as sql_text
from sqlmodel import Field as Stored
from sqlmodel import Session, SQLModel, col

from seedbank.common.errors import Missing, Refused
from seedbank.common.fields import Fields, optional
from seedbank.common.forms import (
    Filter,
    Flag,
    KindAsked,
    Line,
    Name,
    Notes,
    Reason,
    Seeds,
    WordsAsked,
)
from seedbank.database.base import Editable, word
from seedbank.database.find import about
from seedbank.database.queries import FIRST, Order, Page, Paging, fetch, matching, page_of
from seedbank.database.references import goes_along
from seedbank.facts.names import kind_by_variety, kinds_beginning, kinds_meant, kinds_near
from seedbank.facts.variety_season import VarietySeason


class FactName(StrEnum):
    """Facts about a kind that a gardener may state for themself, each with a source.

    Values are stored as text and parsed by ``facts``: numbers in the unit the name carries,
    ``life_cycle`` annual | biennial | perennial, ``mating`` selfing | mixed | outcrossing,
    ``storage_class`` orthodox | recalcitrant | unlisted, ``poisonous`` yes | no, ``kept_as`` seed
    or the planting stock it is (``facts.kinds.KeptAs``), ``keeps_years`` as lists print them.
    """

    KEPT_AS = "kept_as"
    KEEPS_YEARS = "keeps_years"
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


Slug = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", min_length=2, max_length=80)]


class KindFields(Fields):
    """What a kind consists of, besides the facts about it."""

    name: Annotated[Name, Stored(index=True)] = Field(
        description="Name as shown.", examples=["Sea beet", "Sea beet, wild"]
    )


class Kind(KindFields, Editable, table=True):
    """A crop kind. ``slug`` joins a packaged kind to its facts; a gardener's own has only its own.

    ``packaged`` kinds are put in at start-up and can't be deleted.
    """

    __tablename__ = "kind"

    slug: str = Stored(max_length=80, unique=True)
    packaged: bool = Stored(default=False)


class FactFields(Fields):
    """A fact about a kind as the gardener knows it, which overrides the packaged one."""

    value: Annotated[Line, Field(min_length=1)] = Field(
        description="The value as text, in the unit the fact's name carries.", examples=["5.5"]
    )
    source: Reason = Field(
        description="Where the value comes from.",
        examples=["half-life of four of my own lots, kept in the shed"],
    )


class KindFact(FactFields, SQLModel, table=True):
    """One fact about a kind as the gardener states it, overriding the packaged value."""

    __tablename__ = "kind_fact"
    __table_args__ = (UniqueConstraint("kind_id", "name"),)

    id: int | None = Stored(default=None, primary_key=True)
    kind_id: int = Stored(foreign_key="kind.id", sa_column_kwargs=goes_along())
    name: str = Stored(max_length=40)


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
    """The kinds of this name, whatever its case, or with it for a slug; else those it may mean."""
    wanted = name.lower()
    called = or_(func.lower(col(Kind.name)) == wanted, col(Kind.slug) == wanted)
    for one in (called, col(Kind.slug).in_(sorted(kinds_meant(name)))):
        query = select(Kind).where(one).order_by(col(Kind.id))
        found = list(session.execute(query).scalars())
        if found:
            break
    return found


def kind_named(session: Session, name: str, variety: str = "", notes: str = "") -> Kind:
    """The one kind a name means, alone or with what else is said of a variety.

    Raises Refused: none, or several.
    """
    narrowed = kind_by_variety(name, variety, notes)
    found = kinds_named(session, narrowed or name)
    if len(found) == 1:
        return found[0]
    if found:
        slugs = " or ".join(kind.slug for kind in found)
        raise Refused("kind-name-of-several", "kind", name, name=name, slugs=slugs)
    near = near_kind_names(session, name)
    if near:
        raise Refused("no-kind-called-perhaps", "kind", name, near=" or ".join(near))
    raise Refused("no-kind-called", "kind", name)


def slugs_asked(kind: str) -> list[str]:
    """Slugs of the kinds a filter asks for, by slug or by any name."""
    return sorted({kind} | kinds_meant(kind))


def near_kind_names(session: Session, name: str) -> list[str]:
    """Names of kinds a name comes near: of one's own first, then of the packaged."""
    names = {
        kind.slug: kind for kind in session.execute(select(Kind).order_by(col(Kind.name))).scalars()
    }
    own = {kind.name.lower(): kind.name for kind in names.values() if not kind.packaged}
    near = [own[one] for one in get_close_matches(name.lower(), own, n=3, cutoff=0.75)]
    return (near + [names[slug].name for slug in kinds_near(name, 0.75) if slug in names])[:3]


def in_kind_name(word: str) -> ColumnElement[bool]:
    """Whether a kind's name holds a word, or an everyday name of it has one beginning so."""
    named = col(Kind.name).icontains(word, autoescape=True)
    return or_(named, col(Kind.slug).in_(sorted(kinds_beginning(word))))


class KindFilter(Filter):
    packaged: bool | None = Field(default=None, description="came with the program")
    q: WordsAsked = None  # each word in the name


def find_kinds(
    session: Session, wanted: KindFilter | None = None, paging: Paging = FIRST
) -> Page[Kind]:
    """A page of the kinds by name. Raises BadValue: limit or cursor."""
    wanted = wanted or KindFilter()
    query = matching(select(Kind), (col(Kind.packaged), wanted.packaged))
    for piece in (wanted.q or "").split():
        query = query.where(in_kind_name(piece))
    return page_of(session, query, Order(Kind.name, Kind.id), paging)


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


class Breeding(StrEnum):
    OPEN_POLLINATED = "open-pollinated"
    LANDRACE = "landrace"
    F1 = "f1"
    UNKNOWN = "unknown"


class OtherKeepers(StrEnum):
    """How many other keepers of the variety are known: its rarity, seen from here."""

    NONE = "none"
    FEW = "few"
    MANY = "many"


class VarietyFields(Fields):
    """What a variety consists of, besides its kind."""

    name: Annotated[Name, Stored(index=True)] = Field(
        description="Its name.", examples=["Purple Lantern"]
    )
    breeding: Annotated[Breeding, Stored(sa_type=word(Breeding))] = optional(
        "How it was bred; F1 seed doesn't come true.",
        "open-pollinated",
        "landrace",
        default=Breeding.UNKNOWN,
    )
    other_keepers: Annotated[OtherKeepers, Stored(sa_type=word(OtherKeepers))] = optional(
        "How many other keepers of it are known: none and few make it rare.",
        "few",
        "none",
        default=OtherKeepers.MANY,
    )
    keepers_unknown: Annotated[
        Flag, Stored(sa_column_kwargs={"server_default": sql_text("false")})
    ] = optional(
        "Nobody knows how many others keep it: it is asked for where it decides. True of a new one "
        "of which other_keepers is left out.",
        False,
        default=False,
    )
    season: Annotated[VarietySeason | None, Stored(sa_type=word(VarietySeason))] = optional(
        "When it is for among those of its kind: an early one crops soonest, a winter one latest; "
        "null: the middle.",
        "early",
        "winter",
        default=None,
    )
    plants_wanted: Seeds = optional("Plants wanted each year.", 60, 80, default=0)
    reserve_seeds: Seeds = optional(
        "Seeds that advice keeps back; sowing or giving below them is warned of.",
        200,
        250,
        default=0,
    )
    notes: Notes = optional(
        "Anything else.", "late, sweet", "the last keeper gave up in 2025", default=""
    )


class Variety(VarietyFields, Editable, table=True):
    __tablename__ = "variety"
    __table_args__ = (
        UniqueConstraint("kind_id", "name"),
        CheckConstraint("plants_wanted >= 0", name="plants_wanted"),
        CheckConstraint("reserve_seeds >= 0", name="reserve_seeds"),
    )

    kind_id: int = Stored(foreign_key="kind.id")


OtherKeepersAsked = Annotated[OtherKeepers | None, Field(description="rarity")]


class VarietyFilter(Filter):
    kind: KindAsked = None
    breeding: Breeding | None = None
    other_keepers: OtherKeepersAsked = None
    keepers_unknown: bool | None = Field(default=None, description="nobody has said how many")
    q: WordsAsked = None  # each word in the name, the kind's name or the notes


@dataclass(frozen=True, slots=True)
class VarietyEntry:
    """A variety in a list, with its kind."""

    variety: Variety
    kind: Kind


def get_variety(session: Session, variety_id: int) -> Variety:
    """The variety with this id. Raises Missing: there is none."""
    return fetch(session, Variety, variety_id, what="variety")


def find_variety(session: Session, number: int) -> Variety:
    """The variety with this number. Raises NotThere."""
    with about("id"):
        return get_variety(session, number)


def varieties_named(
    session: Session, name: str, *, kind_id: int | None = None
) -> list[VarietyEntry]:
    """The varieties of this name, whatever its case, of one kind or of all."""
    query = (
        select(Variety, Kind)
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(func.lower(col(Variety.name)) == name.lower())
        .order_by(col(Variety.id))
    )
    if kind_id is not None:
        query = query.where(col(Variety.kind_id) == kind_id)
    return [VarietyEntry(variety, kind) for variety, kind in session.execute(query)]


def find_varieties(
    session: Session, wanted: VarietyFilter | None = None, paging: Paging = FIRST
) -> Page[VarietyEntry]:
    """A page of the varieties by name. Raises BadValue: limit or cursor."""
    wanted = wanted or VarietyFilter()
    query = select(Variety, Kind).join(Kind, col(Kind.id) == col(Variety.kind_id))
    if wanted.kind is not None:
        query = query.where(col(Kind.slug).in_(slugs_asked(wanted.kind)))
    query = matching(
        query,
        (col(Variety.breeding), wanted.breeding),
        (col(Variety.other_keepers), wanted.other_keepers),
        (col(Variety.keepers_unknown), wanted.keepers_unknown),
    )
    for piece in (wanted.q or "").split():
        columns = (Variety.name, Kind.name, Variety.notes)
        query = query.where(or_(*(col(c).icontains(piece, autoescape=True) for c in columns)))
    return page_of(
        session,
        query,
        Order(Variety.name, Variety.id),
        paging,
        read=lambda row: VarietyEntry(row[0], row[1]),
    )
