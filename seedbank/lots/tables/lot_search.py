"""Finding lots: by what they are, how much is left, and whether they were tested of late."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, Final

from pydantic import Field
from sqlalchemy import BindParameter, ColumnElement, bindparam, func, select
from sqlmodel import Session, col

from seedbank.common.errors import Missing
from seedbank.common.forms import Filter, KindAsked, VarietyAsked, WordsAsked
from seedbank.database.find import row_id
from seedbank.database.queries import FIRST, Order, Page, Paging, matching, page_of
from seedbank.kinds.tables import Kind, OtherKeepersAsked, Variety, slugs_asked
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lot_codes import normalise_code
from seedbank.lots.tables.lots import Lot, Origin
from seedbank.lots.tables.near_names import lots_near
from seedbank.lots.tables.word_search import Reach, mentions, reach_of

_MORE_THAN_ASKED: Final = 2_147_483_647  # stands for an amount not counted, never few


class LotOrder(StrEnum):
    CODE = "code"
    HARVEST = "harvest"  # oldest first, unknown last
    ADDED = "added"  # newest first
    VARIETY = "variety"  # by its name


HarvestYearAsked = Annotated[int | None, Field(ge=1800, le=2200)]


class LotFilter(Filter):
    kind: KindAsked = None
    variety: VarietyAsked = None
    other_keepers: OtherKeepersAsked = None
    origin: Origin | None = None
    harvest_year_from: HarvestYearAsked = None
    harvest_year_to: HarvestYearAsked = None
    low_stock: Annotated[int, Field(ge=1, le=10_000_000)] | None = Field(
        default=None, description="holding fewer seeds than this"
    )
    q: WordsAsked = None  # each word in the variety, kind, code, donor, place or notes


@dataclass(frozen=True, slots=True)
class LotEntry:
    """A lot in a list, with what it is a lot of."""

    lot: Lot
    variety: Variety
    kind: Kind


def find_lots(
    session: Session,
    wanted: LotFilter | None = None,
    paging: Paging = FIRST,
    *,
    order: LotOrder = LotOrder.CODE,
    ids: frozenset[int] | None = None,
    condition: ColumnElement[bool] | None = None,
) -> Page[LotEntry]:
    """A page of the lots that answer to ``wanted``. Raises BadValue: limit or cursor.

    ``ids``, ``condition``: what other rooms' tables say of the lots, as ``untested_since``.
    """
    wanted = wanted or LotFilter()
    words = (wanted.q or "").split()
    reach = reach_of(session, words)
    if reach.few is not None:
        ids = reach.few if ids is None else reach.few & ids
    variety_id: Any = col(Variety.id)
    if (
        order is LotOrder.VARIETY
        and ids is None
        and condition is None
        and _nearly_all(session, wanted, reach)
    ):
        # Left to itself SQLite would look up each lot's variety and sort them all: 0 is added so
        # that it can't, and goes by the varieties' names to their lots.
        variety_id = variety_id + 0
    query = _asked(wanted, ids, condition, variety_id)
    query = query.where(*(mentions(session, word) for word in words))
    sort = {
        LotOrder.CODE: Lot.code,
        LotOrder.HARVEST: Lot.harvest_year,
        LotOrder.ADDED: Lot.id,
        LotOrder.VARIETY: Variety.name,
    }
    return page_of(
        session,
        query,
        Order(sort[order], Lot.id, descending=order is LotOrder.ADDED),
        paging,
        read=lambda row: LotEntry(row[0], row[1], row[2]),
    )


def find_or_near(
    session: Session,
    wanted: LotFilter,
    paging: Paging = FIRST,
    *,
    order: LotOrder = LotOrder.CODE,
    ids: frozenset[int] | None = None,
    condition: ColumnElement[bool] | None = None,
) -> Page[LotEntry]:
    """As ``find_lots``; where no lot has the words, those whose names come near, nearest first."""
    page = find_lots(session, wanted, paging, order=order, ids=ids, condition=condition)
    if page.items or not wanted.q or paging.after is not None:
        return page
    ranked = lots_near(session, wanted.q)
    ids = frozenset(ranked) if ids is None else ids & frozenset(ranked)
    if not ids:
        return page
    rows = session.execute(_asked(wanted, ids, condition, col(Variety.id))).all()
    entries = [LotEntry(row[0], row[1], row[2]) for row in rows]
    entries.sort(key=lambda entry: ranked[row_id(entry.lot.id)])
    return Page(entries[: paging.limit], None, near=True)


def lots_called(session: Session, text: str) -> tuple[dict[int, int], bool]:
    """Ids of the lots that have the words of a text, or else come near them: id -> rank.

    And whether they only come near; where they don't all rank alike.
    """
    words = text.split()
    reach = reach_of(session, words)
    query = select(col(Lot.id)).where(*(mentions(session, word) for word in words))
    if reach.few is not None:
        written: BindParameter[list[int]] = bindparam(
            "lot_ids", sorted(reach.few), expanding=True, literal_execute=True
        )
        query = query.where(col(Lot.id).in_(written))
    found = session.execute(query).scalars().all()
    if found:
        return dict.fromkeys(found, 0), False
    near = lots_near(session, text)
    return near, bool(near)


def _asked(
    wanted: LotFilter,
    ids: frozenset[int] | None,
    condition: ColumnElement[bool] | None,
    variety_id: Any,
) -> Any:
    """The lots that answer to all that is asked but the words."""
    query = (
        select(Lot, Variety, Kind)
        .join(Variety, variety_id == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(*_conditions(wanted))
    )
    if wanted.kind is not None:
        query = query.where(col(Kind.slug).in_(slugs_asked(wanted.kind)))
    query = matching(
        query,
        (col(Lot.variety_id), wanted.variety),
        (col(Variety.other_keepers), wanted.other_keepers),
        (col(Lot.origin), wanted.origin),
    )
    if condition is not None:
        query = query.where(condition)
    if ids is not None:
        # Written into the statement: more lots may be meant than a statement takes variables.
        written: BindParameter[list[int]] = bindparam(
            "lot_ids", sorted(ids), expanding=True, literal_execute=True
        )
        query = query.where(col(Lot.id).in_(written))
    return query


def lots_coded(session: Session, codes: Iterable[str]) -> list[LotEntry]:
    """The lots that have one of these codes, by code."""
    query = (
        select(Lot, Variety, Kind)
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(col(Lot.code).in_(set(codes)))
        .order_by(col(Lot.code))
    )
    return [LotEntry(lot, variety, kind) for lot, variety, kind in session.execute(query)]


def entry_by_code(session: Session, code: str) -> LotEntry:
    """The lot with this code, as typed or read aloud, and what it is of, in one query.

    Raises MisreadCode: it can't be a code. Missing: no lot has it.
    """
    wanted = normalise_code(code)
    for entry in lots_coded(session, [wanted]):
        return entry
    raise Missing("lot", wanted)


def _conditions(wanted: LotFilter) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = []
    if wanted.harvest_year_from is not None:
        conditions.append(col(Lot.harvest_year) >= wanted.harvest_year_from)
    if wanted.harvest_year_to is not None:
        conditions.append(col(Lot.harvest_year) <= wanted.harvest_year_to)
    if wanted.low_stock is not None:
        conditions.append(_balance() < wanted.low_stock)  # not counted: nobody can tell
    return conditions


def _nearly_all(session: Session, wanted: LotFilter, reach: Reach) -> bool:
    """So many lots are wanted that going through them in order soon fills a page."""
    asked = wanted.model_dump(exclude_none=True).keys()
    if not asked:
        return True
    sqlite = session.get_bind().dialect.name == "sqlite"
    return sqlite and reach.many and asked == {"q"}


def _balance() -> ColumnElement[int]:
    last = (
        select(func.coalesce(col(Movement.balance_seeds), _MORE_THAN_ASKED))
        .where(col(Movement.lot_id) == col(Lot.id))
        .order_by(col(Movement.serial).desc())
        .limit(1)
        .correlate(Lot)
        .scalar_subquery()
    )
    return func.coalesce(last, 0)
