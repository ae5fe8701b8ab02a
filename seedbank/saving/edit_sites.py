"""Sites and the distances between them, isolation gear, and what a season's work allows."""

from collections.abc import Collection, Mapping

from sqlmodel import Session, col, select

from seedbank.common.errors import Conflict, NotThere, Refused
from seedbank.database.find import named_in, row_id
from seedbank.database.queries import Page, Paging
from seedbank.database.references import delete_row
from seedbank.database.transaction import (
    claim_version,
    put_changes,
    save_named,
    touch,
    transaction,
)
from seedbank.saving.answers import (
    DistancesAnswer,
    GearAnswer,
    LimitsAnswer,
    SiteAnswer,
    SiteBrief,
    SiteDistanceAnswer,
)
from seedbank.saving.forms import (
    DistanceStated,
    GearChange,
    GearCreate,
    LimitsChange,
    SiteChange,
    SiteCreate,
)
from seedbank.saving.tables import (
    GearKind,
    IsolationGear,
    Site,
    SiteDistance,
    all_distances,
    find_all_gear,
    find_gear,
    find_site,
    find_sites,
    garden_limits,
    garden_limits_row,
    get_site,
)
from seedbank.saving.tables import set_distance as put_distance


def list_sites(session: Session, paging: Paging) -> Page[SiteAnswer]:
    """Sites by name. Raises BadValue: the cursor."""
    page = find_sites(session, paging)
    return Page(_answers(session, page.items), page.next)


def show_site(session: Session, number: int) -> SiteAnswer:
    """One site. Raises NotThere."""
    return _answer(session, find_site(session, number))


def show_distances(session: Session, number: int) -> DistancesAnswer:
    """How far the other sites are. Raises NotThere."""
    return DistancesAnswer(items=show_site(session, number).distances)


def add_site(session: Session, form: SiteCreate) -> SiteAnswer:
    """Add a site. Raises Conflict: the name is taken."""
    with transaction(session):
        site = Site(**form.model_dump())
        _save(session, site)
        return _answer(session, site)


def change_site(
    session: Session, number: int, form: SiteChange, *, expected: Collection[int] | None
) -> SiteAnswer:
    """Change what the form names. Raises NotThere, StaleVersion, Conflict: the name is taken."""
    with transaction(session):
        site = find_site(session, number)
        claim_version(session, site, what="site", expected=expected)
        put_changes(site, form)
        _save(session, site)
        return _answer(session, site)


def delete_site(session: Session, number: int, *, expected: Collection[int] | None) -> None:
    """Take out a site nothing grows on. Raises NotThere, StaleVersion, Conflict: something does."""
    with transaction(session):
        site = find_site(session, number)
        claim_version(session, site, what="site", expected=expected)
        refusal = Conflict("site-in-use", "id", number, site=site.name)
        delete_row(session, site, refusal)


def state_distance(
    session: Session,
    number: int,
    other: int,
    form: DistanceStated,
    *,
    expected: Collection[int] | None,
) -> SiteAnswer:
    """Say how far another site is, in place of what was said before; it holds both ways.

    Raises NotThere: either site. StaleVersion, Refused: a site and itself.
    """
    with transaction(session):
        site = find_site(session, number)
        claim_version(session, site, what="site", expected=expected)
        if number == other:
            raise Refused("distance-to-itself", "other", other)
        touch(session, find_site(session, other))
        put_distance(session, number, other, form.metres)
        return _answer(session, site)


def withdraw_distance(
    session: Session, number: int, other: int, *, expected: Collection[int] | None
) -> SiteAnswer:
    """Forget how far another site is. Raises NotThere: nothing was said. StaleVersion."""
    with transaction(session):
        site = find_site(session, number)
        claim_version(session, site, what="site", expected=expected)
        row = session.get(SiteDistance, (min(number, other), max(number, other)))
        if row is None:
            raise NotThere("distance to site", other, field="other")
        touch(session, find_site(session, other))
        session.delete(row)
        session.flush()
        return _answer(session, site)


def site_named(session: Session, number: int, *, field: str = "site_id") -> Site:
    """The site a field names. Raises Refused."""
    with named_in(field):
        return get_site(session, number)


def site_called(session: Session, typed: str | None) -> int:
    """The number of the site so called, whatever its case, or of that number; None: the only one.

    Raises Refused: there is none, or not one alone.
    """
    sites = session.exec(select(Site).order_by(col(Site.id))).all()
    called = [
        one
        for one in sites
        if typed is None or one.name.casefold() == typed.strip().casefold() or str(one.id) == typed
    ]
    if not called or (typed is None and len(called) > 1):
        raise Refused("no-site-called", "site", typed, sites=len(sites))
    return row_id(called[0].id)


def site_briefs(session: Session, numbers: Collection[int | None]) -> dict[int | None, SiteBrief]:
    """Sites in short by number, in one query."""
    wanted = [number for number in numbers if number is not None]
    found = session.exec(select(Site).where(col(Site.id).in_(wanted)))
    return {site.id: SiteBrief.model_validate(site) for site in found}


def _answer(session: Session, site: Site) -> SiteAnswer:
    return _answers(session, [site])[0]


def _answers(session: Session, sites: Collection[Site]) -> list[SiteAnswer]:
    apart = all_distances(session)
    names = site_briefs(session, {number for pair in apart for number in pair})
    return [
        SiteAnswer(**site.model_dump(), distances=_from(row_id(site.id), apart, names))
        for site in sites
    ]


def _from(
    number: int, apart: Mapping[tuple[int, int], float], names: Mapping[int | None, SiteBrief]
) -> list[SiteDistanceAnswer]:
    found = [
        SiteDistanceAnswer(site=names[high if number == low else low], metres=metres)
        for (low, high), metres in apart.items()
        if number in (low, high)
    ]
    return sorted(found, key=lambda one: (one.site.name, one.site.id))


def _save(session: Session, site: Site) -> None:
    taken = Conflict("site-name-taken", "name", site.name, site=site.name)
    save_named(session, site, taken)


def list_gear(session: Session, gear: GearKind | None, paging: Paging) -> Page[GearAnswer]:
    """Isolation gear by name. Raises BadValue: the cursor."""
    page = find_all_gear(session, paging, gear=gear)
    return Page([GearAnswer.model_validate(one) for one in page.items], page.next)


def show_gear(session: Session, number: int) -> GearAnswer:
    """One kind of gear. Raises NotThere."""
    return GearAnswer.model_validate(find_gear(session, number))


def add_gear(session: Session, form: GearCreate) -> GearAnswer:
    """Add isolation gear. Raises Conflict: the name is taken."""
    with transaction(session):
        gear = IsolationGear(**form.model_dump())
        _save_gear(session, gear)
        return GearAnswer.model_validate(gear)


def change_gear(
    session: Session, number: int, form: GearChange, *, expected: Collection[int] | None
) -> GearAnswer:
    """Change what the form names. Raises NotThere, StaleVersion, Conflict: the name is taken."""
    with transaction(session):
        gear = find_gear(session, number)
        claim_version(session, gear, what="gear", expected=expected)
        put_changes(gear, form)
        _save_gear(session, gear)
        return GearAnswer.model_validate(gear)


def delete_gear(session: Session, number: int, *, expected: Collection[int] | None) -> None:
    """Take out gear no seed crop names. Raises NotThere, StaleVersion, Conflict: one does."""
    with transaction(session):
        gear = find_gear(session, number)
        claim_version(session, gear, what="gear", expected=expected)
        refusal = Conflict("gear-in-use", "id", number, gear=gear.name)
        delete_row(session, gear, refusal)


def show_limits(session: Session) -> LimitsAnswer:
    """What a season's work allows."""
    return LimitsAnswer.model_validate(garden_limits(session))


def change_limits(
    session: Session, form: LimitsChange, *, expected: Collection[int] | None
) -> LimitsAnswer:
    """Change what a season's work allows. Raises StaleVersion."""
    with transaction(session):
        limits = garden_limits_row(session)
        claim_version(session, limits, what="list of limits", expected=expected)
        put_changes(limits, form)
        session.add(limits)
        session.flush()
        return LimitsAnswer.model_validate(limits)


def _save_gear(session: Session, gear: IsolationGear) -> None:
    taken = Conflict("gear-name-taken", "name", gear.name, gear=gear.name)
    save_named(session, gear, taken)
