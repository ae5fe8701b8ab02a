"""Answers about crop kinds and varieties, and what is known of them."""

from dataclasses import asdict, fields, is_dataclass
from typing import Any

from pydantic import Field

from seedbank.common.answers import AnswerModel, Source
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Confidence, Fact
from seedbank.kinds.tables import VarietyFields


class FactAnswer(AnswerModel):
    """One thing known about a kind. The name carries the unit."""

    name: str = Field(examples=["minimum_germination_pct"])
    value: Any = Field(description="number, word, list or object", examples=[65])
    note: str = Field(description="what to know before using it", examples=[""])
    basis: str = Field(
        description="own: published for this kind; same species; stand-in: borrowed from another",
        examples=["own"],
    )
    stated_by_you: bool = Field(examples=[False])
    source: Source = Field(
        examples=[{"text": "2002/55/EC Annex II, as transposed", "confidence": "read"}]
    )


class KindSummary(AnswerModel):
    """A crop kind in a list."""

    slug: str = Field(examples=["carrot"])
    name: str = Field(examples=["Carrot"])
    packaged: bool = Field(description="came with the program", examples=[True])
    version: int = Field(examples=[1])


class KindAnswer(KindSummary):
    """A crop kind and everything known about it."""

    facts: list[FactAnswer]


class FactsAnswer(AnswerModel):
    """Everything known about a kind."""

    items: list[FactAnswer]


def fact_answers(facts: KindFacts) -> list[FactAnswer]:
    """Every fact that is known, in the order of ``KindFacts``."""
    found = []
    for field in fields(facts):
        held = getattr(facts, field.name)
        for fact in held if isinstance(held, tuple) else (held,):
            if isinstance(fact, Fact):
                found.append(_answer(field.name, fact))
    return found


def source_of(fact: Fact[Any]) -> Source:
    """The fact's source as answers give it."""
    return Source(text=fact.source, confidence=fact.confidence)


def _answer(name: str, fact: Fact[Any]) -> FactAnswer:
    return FactAnswer(
        name=name,
        value=_plain(fact.value),
        note=fact.note,
        basis=fact.basis,
        stated_by_you=fact.confidence is Confidence.OWN,
        source=source_of(fact),
    )


def _plain(value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return asdict(value) if is_dataclass(value) and not isinstance(value, type) else value


class VarietyAnswer(VarietyFields, AnswerModel):
    """A variety as kept."""

    id: int = Field(examples=[1])
    kind: str = Field(description="slug of its kind", examples=["carrot"])
    version: int = Field(examples=[1])


class KeepersToldAnswer(AnswerModel):
    """How many varieties were told of."""

    varieties: int = Field(examples=[12])
