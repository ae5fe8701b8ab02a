"""What is known about a kind: the packaged facts with the gardener's own laid over them."""

from collections.abc import Iterable

from sqlmodel import Session

from seedbank.common.errors import Refused
from seedbank.database.find import row_id
from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.facts.overrides import BadFact, with_overrides
from seedbank.kinds.tables.kinds import Kind, KindFact, facts_of


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
        raise Refused("value", fault.value, fault.mend, str(fault)) from fault
