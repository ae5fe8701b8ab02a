"""Lots whose names come near words that no lot has: a slip of the pen, a name as it is heard.

Names are held against the words in memory, by the number of slips between them (optimal string
alignment: a letter wrong, missing, too many, or two changed about; rapidfuzz). So it is the same on
both databases, and needs no right to put an extension into PostgreSQL. It is done only where
nothing has the words as they stand.

One slip in four letters is forgiven (our choice): three letters may have one, nine have three.
"""

import math
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from functools import cache, lru_cache
from typing import Final

import numpy as np
from sqlalchemy import and_, select
from sqlmodel import Session, col

from seedbank.database.queries import numbers, read_columns, shared
from seedbank.facts.names import everyday_names, plain_letters
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.places import Place, Stay, is_last_stay
from seedbank.science.quantities import FloatArray, IntArray

LETTERS_A_SLIP: Final = 4
_SHORTEST: Final = 3  # letters; shorter words must be right
_UNFINISHED: Final = 0.9  # a word's beginning counts for less than the word; our choice
_ASIDE: Final = 0.97  # a kind's, place's or giver's name for less than the variety's; our choice
_AS_NEAR: Final = 0.06  # what is farther off than the nearest by this isn't meant; our choice
_MOST_NEAR: Final = 200  # lots
_MOST_TEXTS: Final = 20_000  # names and what is asked for: anybody may ask for anything

Words = tuple[str, ...]


def lots_near(session: Session, text: str) -> dict[int, int]:
    """Ids of the lots that words may mean, each with its rank, the nearest first; 200 at most.

    Each word must come near one in the name of the variety, kind, place or giver; or all of them
    together the variety's name. What is clearly farther off than the nearest is left out.
    """
    asked = _words(text)
    if not asked:
        return {}
    lots, varieties, kinds, places, givers = _names(session)
    nearness = np.maximum.reduce(
        [
            _of_each(asked, varieties, _words),
            _ASIDE * _of_each(asked, kinds, _words_of_kind),
            _ASIDE * _of_each(asked, places, _words),
            _ASIDE * _of_each(asked, givers, _words),
        ]
    )
    letters = np.array([len(word) for word in asked], dtype=np.float64)
    near = np.all(nearness > 0.0, axis=0)
    score = np.where(near, letters @ nearness / letters.sum(), 0.0)
    together = _of_each(("".join(asked),), varieties, lambda name: ("".join(_words(name)),))[0]
    score = np.maximum(score, together)
    names = np.array([varieties[1][at] for at in varieties[0]], dtype=object)
    found = np.flatnonzero((score > 0.0) & (score > score.max(initial=0.0) - _AS_NEAR))
    best = sorted(found.tolist(), key=lambda at: (-round(score[at], 6), names[at], lots[at]))
    return {int(lots[at]): rank for rank, at in enumerate(best[:_MOST_NEAR])}


Named = tuple[IntArray, list[str]]


def _names(session: Session) -> tuple[IntArray, Named, Named, Named, Named]:
    """Ids of all lots; and of variety, kind, place and giver which of the names each has."""
    query = (
        select(
            col(Lot.id), col(Variety.name), col(Kind.slug), col(Kind.name),
            col(Place.name), col(Lot.donor),
        )
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .outerjoin(Stay, and_(col(Stay.lot_id) == col(Lot.id), is_last_stay()))
        .outerjoin(Place, col(Place.id) == col(Stay.place_id))
    )  # fmt: skip
    lots, varieties, slugs, kinds, places, givers = read_columns(
        session, query, (numbers, *(shared() for _ in range(5)))
    )
    kinds = [f"{slug}\n{name}" for slug, name in zip(slugs, kinds, strict=True)]
    return lots, *(_numbered(names) for names in (varieties, kinds, places, givers))


def _numbered(names: Iterable[str | None]) -> Named:
    """The names there are, and which of them each lot has."""
    places: dict[str, int] = {}
    which = [places.setdefault(name or "", len(places)) for name in names]
    return np.array(which, dtype=np.int64), list(places)


def _of_each(asked: Words, named: Named, words_of: Callable[[str], Words]) -> FloatArray:
    """How near each word asked comes to the nearest in each lot's name, (words, lots); 0: not."""
    which, names = named
    words: dict[str, int] = {}
    spelt = [[words.setdefault(word, len(words)) for word in words_of(name)] for name in names]
    if not words:
        return np.zeros((len(asked), len(which)))
    nearness = _nearness(asked, list(words))
    of_name = np.stack(
        [
            nearness[:, some].max(axis=1) if some else np.zeros(len(asked))
            for some in spelt
        ],
        axis=1,
    )  # fmt: skip
    return of_name[:, which]


def _nearness(asked: Words, words: Sequence[str]) -> FloatArray:
    """How near, 0..1, (asked, words); 0 where more slips lie between than are forgiven."""
    found = np.zeros((len(asked), len(words)))
    for at, word in enumerate(asked):
        slips = math.ceil(len(word) / LETTERS_A_SLIP) if len(word) >= _SHORTEST else 0
        begun = [other[: len(word)] for other in words]
        whole, part = _slips(word, words), _slips(word, begun)
        whole_near = np.where(whole <= slips, 1.0 - whole / (len(word) + 1), 0.0)
        part_near = np.where(part <= slips, 1.0 - part / (len(word) + 1), 0.0)
        found[at] = np.maximum(whole_near, _UNFINISHED * part_near)
    return found


def _slips(word: str, others: Sequence[str]) -> FloatArray:
    import rapidfuzz.distance  # here, since most starts never come to it
    import rapidfuzz.process

    slips = rapidfuzz.distance.OSA.distance
    found: FloatArray = rapidfuzz.process.cdist([word], others, scorer=slips)[0].astype(np.float64)
    return found


@lru_cache(_MOST_TEXTS)
def _words(text: str) -> Words:
    """The words of a text in small letters, without accents."""
    plain = plain_letters(text.replace("'", "").replace("’", ""))
    return tuple(re.findall(r"[^\W_]+", plain))


@lru_cache(_MOST_TEXTS)
def _words_of_kind(named: str) -> Words:
    """All words a kind is called by, of its slug and its name."""
    slug, _, name = named.partition("\n")
    return tuple(dict.fromkeys((*_words(name), *_everyday_words().get(slug, ()))))


@cache
def _everyday_words() -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for name, slugs in everyday_names().items():
        for slug in slugs:
            found[slug] += name.split("-")
    return found
