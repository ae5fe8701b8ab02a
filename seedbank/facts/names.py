"""From the names the tables print to the canonical kinds, and back to the rows that serve one."""

import re
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Generic, TypeVar

from seedbank.facts import loaders
from seedbank.facts.amendments import AmendmentRow, amendments_of
from seedbank.facts.sources import Basis, Confidence, Fact, Source

R = TypeVar("R")
V = TypeVar("V")

NEAREST_FIRST = (Basis.OWN, Basis.SAME_SPECIES, Basis.STAND_IN)


@dataclass(frozen=True, slots=True)
class Match(Generic[R]):
    """A row that serves a kind, on what ground, and what to say about it.

    ``shared_by`` counts the kinds the printed name serves: the fewer, the more particular.
    """

    row: R
    name: str
    basis: Basis
    shared_by: int
    note: str
    amended: Mapping[str, AmendmentRow]

    def fact(self, value: V, note: str = "", confidence: Confidence | str | None = None) -> Fact[V]:
        """``value`` with this row's source; ``confidence`` where one column has its own."""
        source: Source = self.row.source  # type: ignore[attr-defined]  # every row has one
        return Fact(
            value,
            source.text,
            source.confidence if confidence is None else Confidence(confidence),
            "; ".join(part for part in (self.note, note) if part),
            self.basis,
        )

    def cell(self, column: str, note: str = "", confidence: str | None = None) -> Fact[Any]:
        """The value in a column, with the source it was amended from, if it was."""
        fact = self.fact(getattr(self.row, column), note, confidence)
        fix = self.amended.get(column)
        if fix is None:
            return fact
        said = "; ".join(part for part in (fact.note, fix.reason) if part)
        return Fact(fact.value, fix.source.text, fix.source.confidence, said, fact.basis)


def slugify(name: str) -> str:
    """A name in lower case with hyphens: ``squash (pepo)`` gives ``squash-pepo``."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower().replace("'", "")).strip("-")


@cache
def canonical_slugs() -> frozenset[str]:
    return frozenset(row.slug for row in loaders.kinds())


@cache
def resolve(table: str, name: str) -> Mapping[str, tuple[Basis, str]]:
    """Kinds that a printed name serves in a table, with basis and reason; empty for none."""
    served: dict[str, tuple[Basis, str]] = {}
    if slugify(name) in canonical_slugs():
        served[slugify(name)] = (Basis.OWN, "")
    for row in loaders.kind_aliases():
        if row.table in (table, "any") and row.name == name:
            served.setdefault(row.slug, (row.basis, row.reason))
    return served


@cache
def garden_names() -> Mapping[str, frozenset[str]]:
    """Every word a person may use, slugified, and the kinds it may mean."""
    names: dict[str, set[str]] = defaultdict(set)
    for kind in loaders.kinds():
        names[kind.slug].add(kind.slug)
        names[slugify(kind.name)].add(kind.slug)
    for row in loaders.kind_aliases():
        if row.table in ("any", "garden"):
            names[slugify(row.name)].add(row.slug)
    return {name: frozenset(slugs) for name, slugs in names.items()}


@cache
def _index(load: Callable[[], tuple[Any, ...]]) -> Mapping[str, tuple[Match[Any], ...]]:
    table = load.__name__
    found: dict[str, list[Match[Any]]] = defaultdict(list)
    for row in load():
        served = resolve(table, row.kind)
        for slug, (basis, reason) in served.items():
            note = "" if basis is Basis.OWN else f"{basis}: {row.kind} ({reason})"
            amended = amendments_of(table, row.kind)
            if "" in amended and amended[""].source == row.source:
                note = "; ".join(part for part in (note, amended[""].reason) if part)
            found[slug].append(Match(row, row.kind, basis, len(served), note, amended))
    return {
        slug: tuple(sorted(matches, key=lambda m: (NEAREST_FIRST.index(m.basis), m.shared_by)))
        for slug, matches in found.items()
    }


def matches(load: Callable[[], tuple[R, ...]], slug: str) -> tuple[Match[R], ...]:
    """Rows of a table that serve a kind, nearest basis first, then the most particular name."""
    return _index(load).get(slug, ())


def nearest(load: Callable[[], tuple[R, ...]], slug: str) -> tuple[Match[R], ...]:
    """Only the rows on the nearest basis the table has for the kind."""
    found = matches(load, slug)
    return tuple(match for match in found if match.basis is found[0].basis)


def evidence(load: Callable[[], tuple[R, ...]], slug: str) -> tuple[Match[R], ...]:
    """All rows of the kind and its species; stand-ins only where there is neither."""
    found = matches(load, slug)
    close = tuple(match for match in found if match.basis is not Basis.STAND_IN)
    return close or found
