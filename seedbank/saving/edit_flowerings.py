"""What will flower in a year, and when a kind flowers: the gardener's own window before the
packaged one.
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from sqlmodel import Session, col, select

from seedbank.climate.garden_year import GardenYear, flowering_at, garden_years
from seedbank.common.answers import VarietyBrief
from seedbank.common.dates import in_order, not_to_come
from seedbank.common.errors import Conflict, NotThere, Refused
from seedbank.database.find import named_in, row_id
from seedbank.database.queries import Page, Paging
from seedbank.database.transaction import claim_version, conflicts_as, put_changes, transaction
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Confidence, Fact
from seedbank.kinds.answers import source_of
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, Variety, find_kind, get_variety, kind_named
from seedbank.saving.answers import FloweringAnswer, WindowAnswer
from seedbank.saving.edit_sites import site_briefs, site_named
from seedbank.saving.forms import FloweringChange, FloweringCreate, WindowStated
from seedbank.saving.tables import (
    Flowering,
    FloweringFilter,
    FloweringWindow,
    find_flowering,
    find_flowerings,
    own_window,
    own_windows,
)
from seedbank.science.crossing.crossing_stands import StandIs
from seedbank.science.crossing.flowering_days import DayWindow, windows_found

_ELSEWHERE = frozenset({StandIs.NEIGHBOUR, StandIs.WILD})


def list_flowerings(
    session: Session, wanted: FloweringFilter, paging: Paging
) -> Page[FloweringAnswer]:
    """What flowers, by year. Raises BadValue: the cursor. Refused: no such kind."""
    page = find_flowerings(session, wanted, paging)
    return Page(_answers(session, page.items), page.next)


def show_flowering(session: Session, number: int) -> FloweringAnswer:
    """One flowering. Raises NotThere."""
    return _answer(session, find_flowering(session, number))


def add_flowering(session: Session, form: FloweringCreate, *, today: date) -> FloweringAnswer:
    """Note what will flower, or flowered. Raises Refused: no such kind, variety or site, a variety
    of another kind, days outside the year or out of order, or a stop still to come.
    """
    with transaction(session):
        flowering = new_flowering(session, form, today=today)
        session.add(flowering)
        session.flush()
        return _answer(session, flowering)


def new_flowering(session: Session, form: FloweringCreate, *, today: date) -> Flowering:
    """What a form tells of, not noted yet. Raises as adding it."""
    site_named(session, form.site_id)
    flowering = Flowering(**form.model_dump(exclude={"kind"}), kind_id=_kind_id(session, form))
    settle_flowering(flowering, today)
    return flowering


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
        kind_id = row_id(kind_named(session, form.kind).id)
    if form.variety_id is not None:
        with named_in("variety_id"):
            variety = get_variety(session, form.variety_id)
        if kind_id not in (None, variety.kind_id):
            raise Refused("variety-of-another-kind", "kind", form.kind, variety=variety.name)
        kind_id = variety.kind_id
    assert kind_id is not None  # the form names one or the other
    return kind_id


def settle_flowering(flowering: Flowering, today: date) -> None:
    """Plants on the site are at no distance; days make sense together and with the year.

    Raises Refused.
    """
    if flowering.what not in _ELSEWHERE:
        if flowering.distance_m:
            raise Refused("distance-of-own-stand", "distance_m", flowering.distance_m)
        flowering.distance_m = 0.0
    in_order(flowering.from_date, flowering.to_date, "last-flower-first", field="to_date")
    in_year(flowering.from_date, flowering.year, field="from_date")
    in_year(flowering.to_date, flowering.year, field="to_date")
    not_to_come(flowering.stopped_on, field="stopped_on", today=today)


def in_year(day: date | None, year: int, *, field: str) -> None:
    """Raises Refused: a day of flowering more than half a year off the year it belongs to."""
    if day is not None and abs((day - date(year, 7, 1)).days) > 366:
        raise Refused("day-of-other-year", field, day.isoformat(), year=year)


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


OwnWindows = Mapping[tuple[int, int | None], FloweringWindow]


def window_of(
    facts: KindFacts, kind_id: int, site_id: int | None, own: OwnWindows, year: GardenYear
) -> Fact[DayWindow] | None:
    """When a kind flowers at a site: own for the site, own for every site, else the packaged one
    as the site's climate has it; or unknown."""
    stated = own.get((kind_id, site_id)) or own.get((kind_id, None))
    if stated is None:
        return flowering_at(facts, year)
    return Fact(DayWindow(stated.from_day, stated.to_day), stated.source, Confidence.OWN)


def show_window(session: Session, slug: str, site_id: int | None = None) -> WindowAnswer:
    """When a kind flowers at a site, or anywhere. Raises NotThere: the kind, or nobody knows.

    Refused: no such site.
    """
    kind = find_kind(session, slug)
    if site_id is not None:
        site_named(session, site_id, field="site")
    return _answer_window(session, kind, site_id)


def state_window(
    session: Session,
    slug: str,
    form: WindowStated,
    *,
    site_id: int | None,
    expected: Collection[int] | None,
) -> WindowAnswer:
    """State when a kind flowers, at one site or everywhere else; it goes before the packaged one.

    Raises NotThere: the kind. StaleVersion, Refused: no such site.
    """
    with transaction(session):
        kind = find_kind(session, slug)
        claim_version(session, kind, what="kind", expected=expected)
        if site_id is not None:
            site_named(session, site_id, field="site")
        window = own_window(session, row_id(kind.id), site_id)
        if window is None:
            window = FloweringWindow(
                kind_id=row_id(kind.id), site_id=site_id, from_day=1, to_day=1, source=""
            )
        window.from_day, window.to_day, window.source = form.from_day, form.to_day, form.source
        session.add(window)
        clash = Conflict("flowering-window-stated-meanwhile", "slug", slug)
        with conflicts_as(clash):
            session.flush()
        return _answer_window(session, kind, site_id)


def withdraw_window(
    session: Session, slug: str, *, site_id: int | None, expected: Collection[int] | None
) -> None:
    """Take back a window stated before; the packaged one, if any, holds again.

    Raises NotThere: the kind, or nothing was stated. StaleVersion.
    """
    with transaction(session):
        kind = find_kind(session, slug)
        claim_version(session, kind, what="kind", expected=expected)
        window = own_window(session, row_id(kind.id), site_id)
        if window is None:
            raise NotThere("flowering window of your own", slug, field="slug")
        session.delete(window)
        session.flush()


def _answer_window(session: Session, kind: Kind, site_id: int | None) -> WindowAnswer:
    number = row_id(kind.id)
    own = own_windows(session, [number], [] if site_id is None else [site_id])
    year = garden_years(session).at(site_id)
    found = window_of(facts_for(session, kind), number, site_id, own, year)
    if found is None:
        raise NotThere("flowering window", kind.slug, field="slug")
    return WindowAnswer.of(
        windows_found([found.value]),
        kind=kind.slug,
        site=site_briefs(session, [site_id]).get(site_id) if (number, site_id) in own else None,
        from_day=found.value.from_day,
        to_day=found.value.to_day,
        stated_by_you=found.confidence is Confidence.OWN,
        note=found.note,
        source=source_of(found),
        version=kind.version,
    )
