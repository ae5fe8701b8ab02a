"""When a kind flowers: the gardener's own window before the packaged one."""

from collections.abc import Collection, Mapping

from sqlmodel import Session

from seedbank.common.errors import Conflict, NotThere
from seedbank.database.editing import claim_version, conflicts_as
from seedbank.database.find import row_id
from seedbank.database.transaction import transaction
from seedbank.facts.kind_facts import KindFacts
from seedbank.facts.sources import Confidence, Fact
from seedbank.kinds.answers.kinds import source_of
from seedbank.kinds.kind_facts import facts_for
from seedbank.kinds.tables.kinds import Kind, find_kind
from seedbank.saving.answers.flowerings import WindowAnswer
from seedbank.saving.edit_sites import site_briefs, site_named
from seedbank.saving.forms.flowerings import WindowStated
from seedbank.saving.tables.flowering import FloweringWindow, own_window, own_windows
from seedbank.science.crossing.flowering_days import DayWindow, window_words

OwnWindows = Mapping[tuple[int, int | None], FloweringWindow]


def window_of(
    facts: KindFacts, kind_id: int, site_id: int | None, own: OwnWindows
) -> Fact[DayWindow] | None:
    """When a kind flowers at a site: own for the site, own for every site, packaged; or unknown."""
    stated = own.get((kind_id, site_id)) or own.get((kind_id, None))
    if stated is None:
        return facts.flowering
    return Fact(DayWindow(stated.from_day, stated.to_day), stated.source, Confidence.OWN)


def show_window(session: Session, slug: str, site_id: int | None = None) -> WindowAnswer:
    """When a kind flowers at a site, or anywhere. Raises NotThere: the kind, or nobody knows.

    Refused: no such site.
    """
    kind = find_kind(session, slug)
    if site_id is not None:
        site_named(session, site_id, field="site")
    return _answer(session, kind, site_id)


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
        clash = Conflict(
            "A window for this kind was stated just now.",
            field="slug",
            value=slug,
            mend="Read it, and state yours again if it differs.",
        )
        with conflicts_as(clash):
            session.flush()
        return _answer(session, kind, site_id)


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


def _answer(session: Session, kind: Kind, site_id: int | None) -> WindowAnswer:
    number = row_id(kind.id)
    own = own_windows(session, [number], [] if site_id is None else [site_id])
    found = window_of(facts_for(session, kind), number, site_id, own)
    if found is None:
        raise NotThere("flowering window", kind.slug, field="slug")
    return WindowAnswer(
        kind=kind.slug,
        site=site_briefs(session, [site_id]).get(site_id) if (number, site_id) in own else None,
        from_day=found.value.from_day,
        to_day=found.value.to_day,
        text=window_words([found.value]),
        stated_by_you=found.confidence is Confidence.OWN,
        note=found.note,
        source=source_of(found),
        version=kind.version,
    )
