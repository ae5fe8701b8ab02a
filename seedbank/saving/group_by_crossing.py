"""What can be saved true alongside what: the collection by what crosses with what."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from seedbank.common.answers import Source, VarietyBrief, distinct
from seedbank.database.find import row_id
from seedbank.facts.flowering import partial_crosses
from seedbank.facts.kind_facts import KindFacts
from seedbank.facts.sources import sources_of
from seedbank.kinds.kind_facts import facts_for_kinds
from seedbank.kinds.tables.kinds import Kind
from seedbank.kinds.tables.varieties import Breeding, Variety, find_variety
from seedbank.lots.tables.lots import Lot
from seedbank.saving.answers.crossing_groups import (
    AlongsideAnswer,
    CrossingGroupAnswer,
    PartlyCrossingAnswer,
)
from seedbank.saving.gather_flowering import group_of


@dataclass(frozen=True, slots=True)
class _Kept:
    brief: VarietyBrief
    facts: KindFacts

    @property
    def group(self) -> str:
        return group_of(self.facts)


def show_alongside(session: Session, variety_id: int) -> AlongsideAnswer:
    """Which varieties with lots cross with this one. Raises NotThere."""
    variety = find_variety(session, variety_id)
    kept = _kept(session, but_f1=False)
    mine = next((one for one in kept if one.brief.id == variety_id), None) or _one(session, variety)
    others = [one for one in kept if one.brief.id != variety_id]
    onto = {
        pair.value.pollen_group: pair
        for pair in partial_crosses()
        if pair.value.seed_group == mine.group
    }
    crosses = [one.brief for one in others if one.group == mine.group]
    partly = [
        PartlyCrossingAnswer(variety=one.brief, how=onto[one.group].value.relation.value)
        for one in others
        if one.group in onto and one.group != mine.group
    ]
    facts = mine.facts
    used = sources_of(
        facts.crossing_group,
        facts.isolation_home_m,
        facts.isolation_strict_m,
        *(onto[group] for group in {one.group for one in others} & onto.keys()),
    )
    return AlongsideAnswer(
        variety=mine.brief,
        crosses=crosses,
        partly=partly,
        others=len(others) - len(crosses) - len(partly),
        isolation_home_m=_metres(facts.isolation_home_m),
        isolation_strict_m=_metres(facts.isolation_strict_m),
        sources=distinct([Source(text=one.text, confidence=one.confidence) for one in used]),
    )


def list_crossing_groups(session: Session) -> list[CrossingGroupAnswer]:
    """The groups of which more than one variety that may come true is kept, the largest first."""
    groups: dict[str, list[_Kept]] = {}
    for one in _kept(session, but_f1=True):
        groups.setdefault(one.group, []).append(one)
    found = [
        CrossingGroupAnswer(
            group=name,
            kinds=sorted({one.facts.slug for one in kept}),
            varieties=[one.brief for one in kept],
            isolation_home_m=max(_metres(k.facts.isolation_home_m) or 0.0 for k in kept) or None,
            isolation_strict_m=max(_metres(k.facts.isolation_strict_m) or 0.0 for k in kept)
            or None,
        )
        for name, kept in groups.items()
        if len(kept) > 1
    ]
    return sorted(found, key=lambda one: (-len(one.varieties), one.group))


def _kept(session: Session, *, but_f1: bool) -> list[_Kept]:
    """Varieties with lots, by name; ``but_f1`` leaves out hybrids, which don't come true."""
    query = (
        select(Variety, Kind)
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(col(Variety.id).in_(select(Lot.variety_id).distinct()))
        .order_by(col(Variety.name), col(Variety.id))
    )
    if but_f1:
        query = query.where(col(Variety.breeding) != Breeding.F1)
    rows = session.exec(query).all()
    facts = facts_for_kinds(session, list({row_id(kind.id): kind for _, kind in rows}.values()))
    return [_of(variety, kind, facts[row_id(kind.id)]) for variety, kind in rows]


def _one(session: Session, variety: Variety) -> _Kept:
    kind = session.get_one(Kind, variety.kind_id)
    return _of(variety, kind, facts_for_kinds(session, [kind])[row_id(kind.id)])


def _of(variety: Variety, kind: Kind, facts: KindFacts) -> _Kept:
    brief = VarietyBrief(id=row_id(variety.id), name=variety.name, kind=kind.slug)
    return _Kept(brief, facts)


def _metres(fact: object) -> float | None:
    value = getattr(fact, "value", None)
    return None if value is None else float(value)
