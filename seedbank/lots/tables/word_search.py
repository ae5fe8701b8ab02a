"""Lots that mention words: each word in the name of the kind or variety, code, donor, notes, the
place it is kept in, or the label it had in the folder it was brought in with.

A word is a piece of text anywhere in these, whatever its case, and is nothing but itself: % and _
mean no more than they say. ``mentions`` says so in SQL, and alone decides. Beside it
``reach_of`` looks words up in the indexes of ``word_index``, so that a list needn't be gone
through for a word that hardly any lot has; for a word that many have, the list is gone through,
which ends as soon as the page is full.

Words with no three letters in a row (digits and signs count, in SQLite) are in no index: for them,
where no other word is rare, the list is gone through too.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import (
    Column,
    ColumnElement,
    Integer,
    Select,
    and_,
    column,
    intersect,
    or_,
    select,
    table,
    union_all,
)
from sqlmodel import Session, col

from seedbank.database import word_index
from seedbank.kinds.tables import Kind, Variety, in_kind_name
from seedbank.lots.tables.brought_in import BroughtIn
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.places import Place, Stay, is_last_stay

MOST: Final = 2000
"""Lots looked at one by one; of 100,000 lots more than that fill a page as soon."""

# SQLite's tokenizer and Python's lower(), which ``mentions`` goes by in SQLite, each know the
# letters of their own edition of Unicode. In these they agree but for İ, which only lower() takes
# for an i (and a dot above): an i at the end of a run is left out.
_SURE: Final = re.compile(r"[!-ſά-ώа-џ]{3,}")
_IN_POSTGRESQL: Final = re.compile(r"[^\W_]{3,}")  # pg_trgm passes over signs
_LONGEST: Final = 100  # letters looked up of a word; what is found is looked at in full


@dataclass(frozen=True, slots=True)
class Reach:
    """``few``: ids of ``MOST`` lots or fewer, with every lot among them that mentions the words;
    those found are to be held against ``mentions``. None: there may be more, and with ``many``
    there are.
    """

    few: frozenset[int] | None
    many: bool


def mentions(session: Session, word: str) -> ColumnElement[bool]:
    """The word is in one of the seven texts."""
    # Names are looked through once, not for every lot.
    named = select(col(Variety.id)).where(_holds(Variety, word))
    looked_up = _looked_up(session, Variety, word)
    if looked_up is not None and session.get_bind().dialect.name == "sqlite":
        named = named.where(col(Variety.id).in_(looked_up))
    varieties = union_all(
        named,
        select(col(Variety.id)).where(col(Variety.kind_id).in_(_kinds(word))),
    )
    elsewhere = [col(Lot.id).in_(ids) for ids in (_labelled(word), *_kept(session, word))]
    return or_(col(Lot.variety_id).in_(varieties), _holds(Lot, word), *elsewhere)


def reach_of(session: Session, words: Sequence[str]) -> Reach:
    """What the indexes tell of the lots that mention all the words."""
    reaches = [_reach(session, word) for word in words]
    known = [reach for reach in reaches if reach is not None]
    few: frozenset[int] | None = None
    for reach in known:
        found = _at_most(session, reach)
        if found is not None:
            few = found if few is None else few & found
    if few is None and len(known) > 1:
        # Each word is common; all of them together may still be rare.
        few = _at_most(session, intersect(*(select(reach.subquery().c.id) for reach in known)))
    return Reach(few, many=few is None and 0 < len(words) == len(known))


def _at_most(session: Session, query: Any) -> frozenset[int] | None:
    found = session.execute(query.limit(MOST + 1)).scalars().all()
    return frozenset(found) if len(found) <= MOST else None


def _reach(session: Session, word: str) -> Any:
    """Ids of the lots that the indexes find for a word, some twice; None: they can't tell."""
    own, named = _looked_up(session, Lot, word), _looked_up(session, Variety, word)
    if own is None or named is None:
        return None
    names = named.subquery()
    return union_all(
        own,
        _labelled(word),
        *_kept(session, word),
        select(col(Lot.id)).join(names, names.c.id == col(Lot.variety_id)),
        select(col(Lot.id))
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .where(col(Variety.kind_id).in_(_kinds(word))),
    )


def _looked_up(session: Session, model: type[Lot | Variety], word: str) -> Select[Any] | None:
    """Ids of the rows with the word in their own texts, and in SQLite some more, by the index."""
    connection = session.connection()
    if not word_index.is_there(connection):
        return None
    if connection.dialect.name == "postgresql":
        if not _IN_POSTGRESQL.search(word):
            return None
        return select(col(model.id)).where(_holds(model, word))
    runs = [run[:_LONGEST].removesuffix("i") for run in _SURE.findall(word.lower())]
    phrases = ['"' + run.replace('"', '""') + '"' for run in runs if len(run) > 2]
    if not phrases:
        return None
    name = f"{model.__tablename__}_words"
    index = table(name, Column("rowid", Integer), column(name))
    return select(index.c.rowid.label("id")).where(index.c[name].match(" ".join(phrases)))


def _labelled(word: str) -> Select[Any]:
    return select(col(BroughtIn.lot_id)).where(
        col(BroughtIn.label) != "", col(BroughtIn.label).icontains(word, autoescape=True)
    )


def _kept(session: Session, word: str) -> list[Select[Any]]:
    """Lots kept in the places of that name. Places are few and looked up first: where none has the
    name no stay is read."""
    named = select(col(Place.id)).where(col(Place.name).icontains(word, autoescape=True))
    places = session.execute(named).scalars().all()
    here = select(col(Stay.lot_id)).where(col(Stay.place_id).in_(places), is_last_stay())
    return [here] if places else []


def _kinds(word: str) -> Select[Any]:
    return select(col(Kind.id)).where(in_kind_name(word))


def _holds(model: type[Lot | Variety], word: str) -> ColumnElement[bool]:
    if model is Variety:
        return col(Variety.name).icontains(word, autoescape=True)
    described = (
        and_(col(text) != "", col(text).icontains(word, autoescape=True))
        for text in (Lot.donor, Lot.notes)
    )
    # Codes are capital letters already.
    return or_(col(Lot.code).contains(word.upper(), autoescape=True), *described)
