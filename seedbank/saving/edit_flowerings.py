"""What will flower in a year, wanted or not: noted, changed, stopped, taken out again."""

from collections.abc import Collection, Sequence
from datetime import date

from sqlmodel import Session, col, select

from seedbank.common.answers import VarietyBrief
from seedbank.common.dates import in_order, not_to_come
from seedbank.common.errors import Refused
from seedbank.database.editing import claim_version, put_changes
from seedbank.database.find import named_in, row_id
from seedbank.database.queries import Cursor, Page
from seedbank.database.transaction import transaction
from seedbank.kinds.tables.kinds import Kind, get_kind
from seedbank.kinds.tables.varieties import Variety, get_variety
from seedbank.saving.answers.flowerings import FloweringAnswer
from seedbank.saving.edit_sites import site_briefs, site_named
from seedbank.saving.forms.flowerings import FloweringChange, FloweringCreate
from seedbank.saving.tables.flowering import (
    Flowering,
    FloweringFilter,
    find_flowering,
    find_flowerings,
)
from seedbank.science.crossing.crossing_stands import StandIs

_ELSEWHERE = frozenset({StandIs.NEIGHBOUR, StandIs.WILD})


def list_flowerings(
    session: Session,
    wanted: FloweringFilter,
    *,
    kind: str | None,
    after: Cursor | None,
    limit: int,
) -> Page[FloweringAnswer]:
    """What flowers, by year. Raises BadValue: the cursor. Refused: no such kind."""
    if kind is not None:
        with named_in("kind"):
            number = row_id(get_kind(session, kind).id)
        wanted = FloweringFilter(
            year=wanted.year, site_id=wanted.site_id, what=wanted.what, kind_id=number
        )
    page = find_flowerings(session, wanted, after=after, limit=limit)
    return Page(_answers(session, page.items), page.next)


def show_flowering(session: Session, number: int) -> FloweringAnswer:
    """One flowering. Raises NotThere."""
    return _answer(session, find_flowering(session, number))


def add_flowering(session: Session, form: FloweringCreate, *, today: date) -> FloweringAnswer:
    """Note what will flower, or flowered. Raises Refused: no such kind, variety or site, a variety
    of another kind, days outside the year or out of order, or a stop still to come.
    """
    with transaction(session):
        site_named(session, form.site_id)
        flowering = Flowering(**form.model_dump(exclude={"kind"}), kind_id=_kind_id(session, form))
        settle_flowering(flowering, today)
        session.add(flowering)
        session.flush()
        return _answer(session, flowering)


def change_flowering(
    session: Session,
    number: int,
    form: FloweringChange,
    *,
    expected: Collection[int] | None,
    today: date,
) -> FloweringAnswer:
    """Change what the form names. Raises NotThere, StaleVersion, Refused: as adding."""
    with transaction(session):
        flowering = find_flowering(session, number)
        claim_version(session, flowering, what="flowering", expected=expected)
        if "site_id" in form.model_fields_set:
            site_named(session, form.site_id)
        put_changes(flowering, form)
        settle_flowering(flowering, today)
        session.add(flowering)
        session.flush()
        return _answer(session, flowering)


def delete_flowering(session: Session, number: int, *, expected: Collection[int] | None) -> None:
    """Take out a flowering noted by mistake. Raises NotThere, StaleVersion."""
    with transaction(session):
        flowering = find_flowering(session, number)
        claim_version(session, flowering, what="flowering", expected=expected)
        session.delete(flowering)
        session.flush()


def variety_briefs(
    session: Session, numbers: Collection[int | None]
) -> dict[int | None, VarietyBrief]:
    """Varieties in short by number, in one query."""
    wanted = [number for number in numbers if number is not None]
    rows = session.exec(
        select(Variety, Kind)
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(col(Variety.id).in_(wanted))
    )
    return {
        variety.id: VarietyBrief(id=row_id(variety.id), name=variety.name, kind=kind.slug)
        for variety, kind in rows
    }


def _kind_id(session: Session, form: FloweringCreate) -> int:
    kind_id = None
    if form.kind is not None:
        with named_in("kind"):
            kind_id = row_id(get_kind(session, form.kind).id)
    if form.variety_id is not None:
        with named_in("variety_id"):
            variety = get_variety(session, form.variety_id)
        if kind_id not in (None, variety.kind_id):
            raise Refused(
                "kind",
                form.kind,
                "Leave kind out: the variety tells it.",
                f"{variety.name} is of another kind.",
            )
        kind_id = variety.kind_id
    assert kind_id is not None  # the form names one or the other
    return kind_id


def settle_flowering(flowering: Flowering, today: date) -> None:
    """Plants on the site are at no distance; days make sense together and with the year.

    Raises Refused.
    """
    if flowering.what not in _ELSEWHERE:
        if flowering.distance_m:
            raise Refused(
                "distance_m",
                flowering.distance_m,
                "Leave it out, or say that the plants are a neighbour's or wild.",
                "What stands on the site itself is at no distance from it.",
            )
        flowering.distance_m = 0.0
    mend = "The last flower can't open before the first; mend one of the two days."
    in_order(flowering.from_date, flowering.to_date, field="to_date", mend=mend)
    in_year(flowering.from_date, flowering.year, field="from_date")
    in_year(flowering.to_date, flowering.year, field="to_date")
    not_to_come(flowering.stopped_on, field="stopped_on", today=today)


def in_year(day: date | None, year: int, *, field: str) -> None:
    """Raises Refused: a day of flowering more than half a year off the year it belongs to."""
    if day is not None and abs((day - date(year, 7, 1)).days) > 366:
        raise Refused(field, day.isoformat(), f"Give a day of {year}.")


def _answer(session: Session, flowering: Flowering) -> FloweringAnswer:
    return _answers(session, [flowering])[0]


def _answers(session: Session, rows: Sequence[Flowering]) -> list[FloweringAnswer]:
    sites = site_briefs(session, {row.site_id for row in rows})
    varieties = variety_briefs(session, {row.variety_id for row in rows})
    wanted = {row.kind_id for row in rows}
    kinds = {
        kind.id: kind.slug for kind in session.exec(select(Kind).where(col(Kind.id).in_(wanted)))
    }
    return [
        FloweringAnswer(
            **row.model_dump(exclude={"site_id", "kind_id", "variety_id"}),
            site=sites[row.site_id],
            kind=kinds[row.kind_id],
            variety=varieties.get(row.variety_id),
        )
        for row in rows
    ]
