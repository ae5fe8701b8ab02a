"""Lots: one harvest of one variety from one source, in one or more packets."""

from collections.abc import Iterable
from datetime import date, datetime
from enum import StrEnum
from typing import Annotated, Final

from pydantic import Field
from sqlalchemy import CheckConstraint, select, text
from sqlmodel import Field as Stored
from sqlmodel import Session, SQLModel, col

from seedbank.common.errors import CircularParents, Missing
from seedbank.common.fields import Fields, optional
from seedbank.common.forms import (
    WHOLE,
    Day,
    Flag,
    Line,
    Notes,
    Percent,
    Real,
    Remark,
    RoughDay,
    SomeSeeds,
)
from seedbank.database.base import Editable, UtcDateTime, word
from seedbank.database.find import about, named_in
from seedbank.database.queries import fetch, in_parts
from seedbank.database.references import goes_along
from seedbank.facts.kinds import KeptAs
from seedbank.lots.tables.lot_codes import code_for, normalise_code


class Origin(StrEnum):
    BOUGHT = "bought"
    SWAPPED = "swapped"
    GIFT = "gift"
    SELF_SAVED = "self-saved"
    COLLECTED = "collected"


class Isolation(StrEnum):
    """What kept the seed parents from crossing."""

    UNKNOWN = "unknown"
    NONE = "none"
    DISTANCE = "distance"
    TIME = "time"
    CAGE = "cage"
    BAG = "bag"
    HAND_POLLINATION = "hand-pollination"
    ONLY_VARIETY = "only-variety"


class Purity(StrEnum):
    """Whether the seed can have crossed with something else."""

    UNKNOWN = "unknown"
    ISOLATED = "isolated"
    RISK = "risk"


class SeedForm(StrEnum):
    """What was done to seed before it was sold; any of them may be treated besides."""

    RAW = "raw"
    PELLETED = "pelleted"
    PRIMED = "primed"


Year = Annotated[int, Field(strict=True, ge=1800, le=2200), WHOLE]
Generation = Annotated[int, Field(strict=True, ge=0, le=1000), WHOLE]
MOST_GRAMS: Final = 100_000
Weight = Annotated[Real, Field(gt=0, le=MOST_GRAMS)]
WeightError = Annotated[Real, Field(ge=0, le=100_000)]


class LotFields(Fields):
    """What a lot consists of, besides its variety, its parents, its place and its amount."""

    origin: Annotated[Origin, Stored(sa_type=word(Origin), index=True)] = Field(
        description="How the seed came here.", examples=["self-saved", "swapped"]
    )
    donor: Line = optional("Supplier, swapper or giver.", "neighbour at number 9", default="")
    harvest_year: Annotated[Year | None, Stored(index=True)] = optional(
        "Year of harvest; filled from harvest_date where that is given.", 2023, 2022, default=None
    )
    harvest_date: Day | None = optional(
        "Day of harvest, if known.", "2023-09-10", "2022-09-10", default=None
    )
    harvest_estimated: Flag = optional(
        "The harvest year or date is a guess.", False, True, default=False
    )
    acquired_on: Day | None = optional(
        "Day it came here; null: not known. Today if left out as it is taken in.",
        "2023-10-01",
        "2022-10-01",
        default=None,
    )
    kept_as: Annotated[KeptAs | None, Stored(sa_type=word(KeptAs))] = optional(
        "What it is, seed or which planting stock; null: what its kind is usually kept as.",
        "cloves",
        "seed",
        default=None,
    )
    sow_by: Day | None = optional(
        "Day to sow it by, as its packet says.", "2026-12-31", "2027-12-31", default=None
    )
    packed_on: RoughDay | None = optional(
        "Day, month or year it was packed, as its packet says.", "2023-11", "2023", default=None
    )
    packed_for: Year | None = optional(
        "Year of the season it was packed for, as its packet says.", 2024, 2025, default=None
    )
    printed_germination_pct: Percent | None = optional(
        "Germination printed on its packet, %.", 88, 85, default=None
    )
    printed_test_on: RoughDay | None = optional(
        "Day, month or year of the test that gave it, as printed.",
        "2023-10",
        "2023-10-12",
        default=None,
    )
    seed_form: Annotated[SeedForm | None, Stored(sa_type=word(SeedForm))] = optional(
        "Raw (bare, as it grew), pelleted (in a coat of clay) or primed (begun to germinate and "
        "dried again); null: not known.",
        "raw",
        "pelleted",
        default=None,
    )
    generation: Generation | None = optional(
        "Generations saved here; 0 is seed as it came.", 3, default=None
    )
    seed_parents: SomeSeeds | None = optional(
        "Number of plants the seed was taken from.", 24, default=None
    )
    isolation: Annotated[Isolation, Stored(sa_type=word(Isolation))] = optional(
        "What kept the seed parents from crossing.", "cage", "bag", default=Isolation.UNKNOWN
    )
    purity: Annotated[
        Purity, Stored(sa_type=word(Purity), sa_column_kwargs={"server_default": "unknown"})
    ] = optional(
        "Whether it can have crossed with something else.",
        "isolated",
        "risk",
        default=Purity.UNKNOWN,
    )
    purity_note: Annotated[Remark, Stored(sa_column_kwargs={"server_default": text("''")})] = (
        optional(
            "What isolated it, or what it may have crossed with.",
            "Isolated by a cage.",
            "The cage had a hole.",
            default="",
        )
    )
    treated: Flag = optional(
        "The seed carries a chemical treatment: never to be eaten, sprouted or composted. It "
        "must be dyed and say so: where nothing is said it has none.",
        False,
        True,
        default=False,
    )
    thousand_seed_weight_g: Weight | None = optional(
        "Weight of a thousand as they are in the packet, as measured, g: of pellets with their "
        "coats.",
        1.35,
        default=None,
    )
    thousand_seed_weight_se_g: WeightError | None = optional(
        "Standard error of that measurement, g.", 0.05, default=None
    )
    notes: Notes = optional(
        "Anything else.", "small heads", "small heads, shaken twice", default=""
    )


class Lot(LotFields, Editable, table=True):
    __tablename__ = "lot"
    __table_args__ = (
        CheckConstraint("harvest_year BETWEEN 1800 AND 2200", name="harvest_year"),
        CheckConstraint("generation >= 0", name="generation"),
        CheckConstraint("seed_parents >= 1", name="seed_parents"),
        CheckConstraint("packed_for BETWEEN 1800 AND 2200", name="packed_for"),
        CheckConstraint(
            "printed_germination_pct BETWEEN 0 AND 100", name="printed_germination_pct"
        ),
        CheckConstraint("thousand_seed_weight_g > 0", name="thousand_seed_weight_g"),
        CheckConstraint("thousand_seed_weight_se_g >= 0", name="thousand_seed_weight_se_g"),
    )

    code: str = Stored(max_length=12, unique=True, description="short code with a check character")
    variety_id: int = Stored(foreign_key="variety.id", index=True)
    created_at: datetime = Stored(sa_type=UtcDateTime)


class CodeCounter(SQLModel, table=True):
    """How many lot codes were given out: one row, so that no code ever names a second lot."""

    __tablename__ = "code_counter"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: int = Stored(default=1, primary_key=True)
    given_out: int = Stored(default=0)


class LotParent(SQLModel, table=True):
    """A lot's parent lot; a mixed lot has several."""

    __tablename__ = "lot_parent"

    lot_id: int = Stored(foreign_key="lot.id", primary_key=True, sa_column_kwargs=goes_along())
    parent_id: int = Stored(foreign_key="lot.id", primary_key=True, index=True)


def get_lot(session: Session, lot_id: int) -> Lot:
    """The lot with this id. Raises Missing: there is none."""
    return fetch(session, Lot, lot_id, what="lot")


def lot_by_code(session: Session, code: str) -> Lot:
    """The lot with this code, as typed or read aloud.

    Raises MisreadCode: it can't be a code. Missing: no lot has it.
    """
    wanted = normalise_code(code)
    found = session.execute(select(Lot).where(col(Lot.code) == wanted))
    lot: Lot | None = found.scalar_one_or_none()
    if lot is None:
        raise Missing("lot", wanted)
    return lot


def lot_named(session: Session, code: str, *, field: str) -> Lot:
    """The lot a field names, however its code is typed. Raises MisreadCode, Refused."""
    with named_in(field):
        return lot_by_code(session, code)


def find_lot(session: Session, code: str) -> Lot:
    """The lot with this code, however it is typed. Raises MisreadCode, NotThere."""
    with about("code"):
        return lot_by_code(session, code)


def next_codes(session: Session, number: int, not_of: Iterable[str] = ()) -> list[str]:
    """So many codes no lot has or ever had, counted out in the session's own transaction.

    Those that lots brought from elsewhere, or are about to (``not_of``), are passed over.
    """
    spoken_for = set(not_of)
    count_out = text(
        "INSERT INTO code_counter (id, given_out) VALUES (1, :number) "
        "ON CONFLICT (id) DO UPDATE SET given_out = code_counter.given_out + :number "
        "RETURNING given_out"
    )
    found: list[str] = []
    while len(found) < number:
        wanted = number - len(found)
        last = session.execute(count_out, {"number": wanted}).scalar_one()
        codes = [code_for(place) for place in range(last - wanted, last)]
        taken = codes_taken(session, codes) | spoken_for
        found += [code for code in codes if code not in taken]
    return found


def codes_taken(session: Session, codes: Iterable[str]) -> set[str]:
    """Those of the codes that lots have."""
    taken: set[str] = set()
    for part in in_parts(codes):
        taken.update(
            session.execute(select(col(Lot.code)).where(col(Lot.code).in_(part))).scalars()
        )
    return taken


def set_parents(session: Session, lot_id: int, parent_ids: Iterable[int]) -> None:
    """Make these the lot's parent lots, in place of those it had.

    Raises Missing: no such lot. CircularParents: the lot would descend from itself.
    """
    wanted = sorted(set(parent_ids))
    get_lot(session, lot_id)
    for parent_id in wanted:
        get_lot(session, parent_id)
        if lot_id in ancestors(session, parent_id) | {parent_id}:
            raise CircularParents(lot_id, parent_id)
    had = session.execute(select(LotParent).where(col(LotParent.lot_id) == lot_id)).scalars()
    for link in had.all():
        session.delete(link)
    session.flush()
    session.add_all(LotParent(lot_id=lot_id, parent_id=parent_id) for parent_id in wanted)
    session.flush()


def ancestors(session: Session, lot_id: int) -> set[int]:
    """Ids of the lot's parents, their parents, and so on."""
    line = (
        select(col(LotParent.parent_id))
        .where(col(LotParent.lot_id) == lot_id)
        .cte("line", recursive=True)
    )
    line = line.union(
        select(col(LotParent.parent_id)).where(col(LotParent.lot_id) == line.c.parent_id)
    )
    return set(session.execute(select(line.c.parent_id)).scalars())


def parents(session: Session, lot_ids: Iterable[int]) -> dict[int, list[int]]:
    """Ids of each lot's parents, in one query; a lot without has an empty list."""
    found: dict[int, list[int]] = {lot_id: [] for lot_id in lot_ids}
    query = (
        select(LotParent)
        .where(col(LotParent.lot_id).in_(found))
        .order_by(col(LotParent.lot_id), col(LotParent.parent_id))
    )
    for link in session.execute(query).scalars():
        found[link.lot_id].append(link.parent_id)
    return found


def harvest_span(lot: Lot) -> tuple[date, date] | None:
    """First and last day the lot can have been harvested on; None if nothing is known.

    A year alone spans the whole year, cut short by the day the lot came here.
    """
    if lot.harvest_date is not None:
        return lot.harvest_date, lot.harvest_date
    if lot.harvest_year is None:
        return None
    first, last = date(lot.harvest_year, 1, 1), date(lot.harvest_year, 12, 31)
    return first, max(first, min(last, lot.acquired_on or last))


def age_years(lot: Lot, today: date) -> tuple[float, float] | None:
    """Least and greatest age of the seed in years, never below 0; None if nothing is known."""
    span = harvest_span(lot)
    if span is None:
        return None
    first, last = span
    return max(0.0, (today - last).days / 365.25), max(0.0, (today - first).days / 365.25)
