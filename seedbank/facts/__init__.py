"""Published facts about crop kinds, each with its source and how far it was checked."""

from seedbank.facts.cautions import Caution, Situation, cautions_for
from seedbank.facts.kinds import KindFacts, UnknownKind, find_kind, kind_facts, packaged_kinds
from seedbank.facts.overrides import BadFact, with_overrides
from seedbank.facts.sources import Basis, Confidence, Fact, Source, Span, Spread, sources_of

__all__ = [
    "BadFact",
    "Basis",
    "Caution",
    "Confidence",
    "Fact",
    "KindFacts",
    "Situation",
    "Source",
    "Span",
    "Spread",
    "UnknownKind",
    "cautions_for",
    "find_kind",
    "kind_facts",
    "packaged_kinds",
    "sources_of",
    "with_overrides",
]
