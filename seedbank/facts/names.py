"""From the names the tables print to the canonical kinds, and back to the rows that serve one."""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Generic, TypeVar

from seedbank.facts import loaders
from seedbank.facts.amendments import AmendmentRow, amendments_of
from seedbank.facts.kind_rows import AliasRow
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
        notes = "; ".join(part for part in (fact.note, fix.reason) if part)
        return Fact(fact.value, fix.source.text, fix.source.confidence, notes, fact.basis)


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
    for row in _aliases().get(name, ()):
        if row.table in (table, "any"):
            served.setdefault(row.slug, (row.basis, row.reason))
    return served


@cache
def _aliases() -> Mapping[str, list[AliasRow]]:
    """The aliases by the name they are of."""
    found: dict[str, list[AliasRow]] = defaultdict(list)
    for row in loaders.kind_aliases():
        found[row.name].append(row)
    return found


@cache
def everyday_names() -> Mapping[str, frozenset[str]]:
    """Every word a person may use, as ``slugify`` has it, and the kinds it may mean.

    Names in several languages (``kind_names``), those that tables print, and the botanical ones.
    """
    names: dict[str, set[str]] = defaultdict(set)
    for kind in loaders.kinds():
        for word in (kind.slug, kind.name, kind.botanical):
            names[_key(word)].add(kind.slug)
    pairs = [(row.name, row.slug) for row in loaders.kind_names()]
    pairs += [(row.name, row.slug) for row in loaders.kind_aliases() if row.table == "any"]
    for word, slug in pairs:
        names[_key(word)].add(slug)
    return {name: frozenset(slugs) for name, slugs in names.items()}


def kinds_meant(text: str) -> frozenset[str]:
    """The kinds a word may mean, singular or plural, accents or none; empty for none.

    Botanical names may have their genus shortened and an author or a lower rank behind them.
    """
    key, names = _key(text), everyday_names()
    for candidate in (key, key.removesuffix("s"), key.removesuffix("es"), f"{key}s"):
        if candidate in names:
            return names[candidate]
    return _plural_names().get(key) or _botanical(key.split("-"))


_PLURALS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "de": (("", "n"), ("", "en"), ("", "e"), ("", "s"), ("s", "sse")),
    "fr": (("", "s"), ("", "x")),
    "es": (("", "s"), ("", "es")),
    "it": (("o", "i"), ("a", "e"), ("e", "i"), ("ca", "che"), ("co", "chi"), ("ga", "ghe")),
    "nl": (("", "en"), ("", "s"), ("s", "zen"), ("f", "ven"), ("", "n")),
}
"""Endings of a singular and of its plural, as their grammars have them (memory)."""
_LONG_VOWEL = re.compile(r"(a|e|o|u)\1([b-df-hj-np-tv-z])$")  # of Dutch: tomaat, tomaten


@cache
def _plural_names() -> Mapping[str, frozenset[str]]:
    """Plurals of everyday names in other languages than English, and the kinds they may mean."""
    found: dict[str, set[str]] = defaultdict(set)
    for row in loaders.kind_names():
        words = _key(row.name).split("-")
        for old, new in _PLURALS.get(row.language, ()):
            last = [_plural(words[-1], old, new)]
            for forms in ([*words[:-1], *last], [_plural(word, old, new) for word in words]):
                found["-".join(forms)].add(row.slug)
            # The noun comes first in French, Spanish and Italian: haricots verts, barbe di becco.
            found["-".join([_plural(words[0], old, new), *words[1:]])].add(row.slug)
        if row.language == "nl":
            found["-".join([*words[:-1], _LONG_VOWEL.sub(r"\1\2en", words[-1])])].add(row.slug)
    return {
        name: frozenset(slugs) for name, slugs in found.items() if len(name) >= _SHORTEST_PLURAL
    }


# Letters; shorter plurals mean something else in another language, as Italian "rape"; our choice.
_SHORTEST_PLURAL = 5


def _plural(word: str, old: str, new: str) -> str:
    return word.removesuffix(old) + new if word.endswith(old) else word


def _botanical(words: list[str]) -> frozenset[str]:
    """The kinds of the longest botanical name that begins the words, from two words on."""
    first, *rest = words
    genera = [first] if first in _genera() else []
    if len(first) == 1:
        genera = sorted(genus for genus in _genera() if genus.startswith(first))
    for last in range(len(rest) if genera else 0, 0, -1):
        for genus in genera:
            found = everyday_names().get("-".join((genus, *rest[:last])))
            if found is not None:
                return found
    return frozenset()


@cache
def _genera() -> frozenset[str]:
    """Genera of the kinds and of the botanical names they also go by."""
    latin = [row.name for row in loaders.kind_names() if row.language == "la"]
    return frozenset(_key(name).split("-")[0] for name in latin) | frozenset(
        _key(kind.botanical).split("-")[0] for kind in loaders.kinds()
    )


def kind_by_variety(name: str, variety: str, notes: str = "") -> str | None:
    """The one kind that a name means together with a word of a variety's: ``onion`` and ``White
    bunching``; None where the word says nothing more.

    The tables write such names with the word in brackets, ``onion (bunching)``. Of ``notes`` both
    must be there, ``bunching onion``.
    """
    key = _key(name)
    said, noted = f"-{_key(variety)}-", f"-{_key(notes)}"
    found = {
        slug
        for base in {key, key.removesuffix("s")}
        for word, slug in _words_in_brackets().get(base, ())
        if f"-{word}-" in said or f"-{word}-{base}" in noted
    }
    return found.pop() if len(found) == 1 else None


@cache
def _words_in_brackets() -> Mapping[str, tuple[tuple[str, str], ...]]:
    """What may stand in brackets after a name, and the kind it then means."""
    found: dict[str, list[tuple[str, str]]] = defaultdict(list)
    pairs = [(row.name, row.slug) for row in loaders.kind_names()]
    pairs += [(row.name, row.slug) for row in loaders.kind_aliases() if row.table == "any"]
    for name, slug in pairs:
        base, _, rest = name.partition(" (")
        if rest:
            found[_key(base)].append((_key(rest), slug))
    return {base: tuple(words) for base, words in found.items()}


def kinds_near(text: str, cutoff: float = 0.6) -> tuple[str, ...]:
    """Kinds whose names come near a word, the nearest first.

    No poisonous kind is proposed beside an edible one, nor for a word that is far from its name.
    """
    from rapidfuzz import fuzz, process  # here, since most starts never come to it

    names = everyday_names()
    poisonous = {kind.slug for kind in loaders.kinds() if kind.poisonous}
    near = process.extract(
        _key(text), list(names), scorer=fuzz.ratio, limit=4, score_cutoff=100 * cutoff
    )
    found = tuple(dict.fromkeys(slug for hit, _, _ in near for slug in sorted(names[hit])))
    edible = tuple(slug for slug in found if slug not in poisonous)
    close = near and near[0][1] >= 100 * _SURELY_MEANT
    return edible or (found if close else ())


def kinds_beginning(word: str) -> frozenset[str]:
    """Kinds of which a name has a word that begins so; for a search as it is typed."""
    key = _key(word)
    starts = {key, key.removesuffix("s")} if len(key) >= _SHORTEST else set()
    return frozenset(
        slug
        for name, slugs in everyday_names().items()
        if any(f"-{name}".find(f"-{start}") >= 0 for start in starts)
        for slug in slugs
    )


_SURELY_MEANT = 0.85  # how near a word must come to a poisonous kind's name; our choice
_SHORTEST = 3


def plain_letters(text: str) -> str:
    """``text`` in small letters without accents: ``Bœuf à`` gives ``boeuf a``."""
    letters = unicodedata.normalize("NFKD", text.casefold().replace("œ", "oe"))
    return "".join(one for one in letters if not unicodedata.combining(one))


def _key(text: str) -> str:
    return slugify(plain_letters(text))


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
