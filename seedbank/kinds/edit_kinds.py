"""Kinds of the gardener's own, and the packaged facts with the gardener's own laid over them."""

from collections.abc import Collection, Iterable, Mapping

from sqlmodel import Session, select

from seedbank.common.catalogue import text_of
from seedbank.common.errors import Conflict, NotThere, Refused
from seedbank.database.find import row_id
from seedbank.database.references import delete_row
from seedbank.database.transaction import claim_version, conflicts_as, put_changes, transaction
from seedbank.facts import loaders
from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.facts.names import slugify
from seedbank.facts.overrides import BadFact, with_overrides
from seedbank.kinds.answers import FactsAnswer, KindAnswer, fact_answers
from seedbank.kinds.forms import FactStated, KindChange, KindCreate
from seedbank.kinds.tables import (
    FactName,
    Kind,
    KindFact,
    ensure_packaged_kinds,
    facts_of,
    find_kind,
)
from seedbank.science.quantities import Finding


def facts_for(session: Session, kind: Kind) -> KindFacts:
    """Facts about one kind, the gardener's own marked as such."""
    return facts_for_kinds(session, [kind])[row_id(kind.id)]


def facts_for_kinds(session: Session, kinds: Iterable[Kind]) -> dict[int, KindFacts]:
    """Facts about several kinds by the kind's id, in one query."""
    wanted = {row_id(kind.id): kind for kind in kinds}
    own = facts_of(session, wanted)
    return {number: merged_facts(kind, own[number]) for number, kind in wanted.items()}


def merged_facts(kind: Kind, own: Iterable[KindFact]) -> KindFacts:
    """Packaged facts and the gardener's. Raises Refused: a value of theirs can't be read."""
    stated = {fact.name: (fact.value, fact.source) for fact in own}
    packaged = packaged_kinds().get(kind.slug) if kind.packaged else None
    try:
        return with_overrides(packaged, stated, slug=kind.slug, name=kind.name)
    except BadFact as fault:
        raise Refused(
            "fact-misread", "value", fault.value, name=fault.name, mend=fault.mend
        ) from fault


def add_packaged_kinds(session: Session) -> None:
    """Put in the kinds the program comes with; done at every start."""
    with transaction(session):
        ensure_packaged_kinds(session, {row.slug: row.name for row in loaders.kinds()})


def show_kind(session: Session, slug: str) -> KindAnswer:
    """A kind and what is known of it. Raises NotThere."""
    return _answer(session, find_kind(session, slug))


def show_facts(session: Session, slug: str, name: str | None = None) -> FactsAnswer:
    """What is known of a kind, or under one name only. Raises NotThere: the kind."""
    facts = show_kind(session, slug).facts
    return FactsAnswer(items=[fact for fact in facts if name in (None, fact.name)])


def add_kind(session: Session, form: KindCreate) -> KindAnswer:
    """Add a kind of the gardener's own with all that is told of it.

    Raises Conflict: the slug is taken. Refused: a fact can't be read, clashes with another or is
    told twice, or no slug can be made of the name.
    """
    with transaction(session):
        slug = form.slug or slugify(form.name)
        if len(slug) < 2 or len(slug) > 80:
            raise Refused("slug-not-made", "slug", form.name)
        taken = Conflict("kind-name-taken", "slug", slug, slug=slug)
        if session.exec(select(Kind.id).where(Kind.slug == slug)).first() is not None:
            raise taken
        kind = Kind(slug=slug, name=form.name)
        session.add(kind)
        with conflicts_as(taken):
            session.flush()
        session.add_all(_stated_facts(form, row_id(kind.id)))
        session.flush()
        return _answer(session, kind)


def _stated_facts(form: KindCreate, kind_id: int) -> list[KindFact]:
    """Every fact of a form for a new kind. Raises Refused: one is told twice."""
    source = form.source or text_of(Finding("fact-told-with-kind"))
    answered: dict[FactName, str | float | None] = {
        FactName.KEPT_AS: form.kept_as,
        FactName.KEEPS_YEARS: form.keeps_years,
        FactName.POISONOUS: None if form.poisonous is None else ("no", "yes")[form.poisonous],
    }
    stated = [(name, str(value), source) for name, value in answered.items() if value is not None]
    stated += [(one.name, one.value, one.source) for one in form.facts]
    names = [name for name, _, _ in stated]
    for name in names:
        if names.count(name) > 1:
            raise Refused("fact-told-twice", "facts", name)
    return [
        KindFact(kind_id=kind_id, name=name, value=value, source=where)
        for name, value, where in stated
    ]


def change_kind(
    session: Session, slug: str, form: KindChange, *, expected: Collection[int] | None
) -> KindAnswer:
    """Rename a kind of the gardener's own. Raises NotThere, StaleVersion, Conflict: packaged."""
    with transaction(session):
        kind = _own(session, slug, "renamed", expected)
        put_changes(kind, form)
        session.flush()
        return _answer(session, kind)


def delete_kind(session: Session, slug: str, *, expected: Collection[int] | None) -> None:
    """Take out a kind of the gardener's own. Raises NotThere, StaleVersion, Conflict.

    Conflict: it is packaged, or varieties belong to it.
    """
    with transaction(session):
        kind = _own(session, slug, "deleted", expected)
        refusal = Conflict("kind-in-use", "slug", slug, kind=kind.name)
        delete_row(session, kind, refusal)


def state_fact(
    session: Session,
    slug: str,
    name: FactName,
    form: FactStated,
    *,
    expected: Collection[int] | None,
) -> KindAnswer:
    """State a fact about a kind; it overrides the packaged one and any stated before.

    Raises NotThere, StaleVersion, Refused: the value can't be read, or clashes with another.
    """
    with transaction(session):
        state_facts(session, find_kind(session, slug), {name: form}, expected=expected)
        return show_kind(session, slug)


def state_facts(
    session: Session,
    kind: Kind,
    stated: Mapping[FactName, FactStated],
    *,
    expected: Collection[int] | None = None,
) -> None:
    """State several at once, which must fit each other. Raises as ``state_fact``."""
    with transaction(session):
        claim_version(session, kind, what="kind", expected=expected)
        number = row_id(kind.id)
        own = {fact.name: fact for fact in facts_of(session, [number])[number]}
        new = [
            KindFact(kind_id=number, name=name.value, **form.model_dump())
            for name, form in stated.items()
        ]
        merged_facts(kind, (own | {fact.name: fact for fact in new}).values())
        for fact in new:
            before = own.get(fact.name, fact)
            before.value, before.source = fact.value, fact.source
            session.add(before)
        session.flush()


def withdraw_fact(
    session: Session, slug: str, name: FactName, *, expected: Collection[int] | None
) -> KindAnswer:
    """Take back a fact the gardener stated; the packaged one, if any, holds again.

    Raises NotThere: no such kind, or nothing was stated. StaleVersion.
    """
    with transaction(session):
        kind = find_kind(session, slug)
        claim_version(session, kind, what="kind", expected=expected)
        fact = _stated(session, kind, name)
        if fact is None:
            raise NotThere("fact of your own", name.value, field="name")
        session.delete(fact)
        session.flush()
        return _answer(session, kind)


def _own(session: Session, slug: str, done: str, expected: Collection[int] | None) -> Kind:
    kind = find_kind(session, slug)
    claim_version(session, kind, what="kind", expected=expected)
    if kind.packaged:
        raise Conflict("packaged-kind-fixed", "slug", slug, kind=kind.name, done=done)
    return kind


def _stated(session: Session, kind: Kind, name: FactName) -> KindFact | None:
    found = select(KindFact).where(KindFact.kind_id == kind.id, KindFact.name == name.value)
    return session.exec(found).first()


def _answer(session: Session, kind: Kind) -> KindAnswer:
    return KindAnswer(
        slug=kind.slug,
        name=kind.name,
        packaged=kind.packaged,
        version=kind.version,
        facts=fact_answers(facts_for(session, kind)),
    )
