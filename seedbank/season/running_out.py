"""Varieties whose seed is running out: under their reserve, or too little for the plants wanted."""

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from sqlalchemy import select
from sqlmodel import Session, col

from seedbank.database.find import row_id
from seedbank.kinds.tables.kinds import Kind
from seedbank.kinds.tables.varieties import Variety, find_variety
from seedbank.season.answers.to_do import Do, ToDoGroup, ToDoItem
from seedbank.verdicts.judge_lots import Judgement


def running_out(session: Session, judged: Judgement, most: int | None = None) -> ToDoGroup:
    """Those wanted that hold too little seed, the emptiest first; at most ``most`` of them told.

    Seed that is alive is reckoned by each lot's likeliest viability, as the likeliest case only:
    sowing advice, which allows for the rest, usually asks for more. Our choice.
    """
    held, alive = _by_variety(judged)
    found: list[tuple[float, _Wanted]] = []
    for one in _wanted(session):
        if _why(one, held.get(one.id, 0), alive.get(one.id, 0.0)):
            found.append((held.get(one.id, 0) / max(one.reserve_seeds, one.plants_wanted), one))
    found.sort(key=lambda one: one[0])
    items = [
        ToDoItem(
            name=one.name,
            kind=one.kind,
            why=_why(one, held.get(one.id, 0), alive.get(one.id, 0.0)),
            variety_id=one.id,
        )
        for _, one in found[:most]
    ]
    return ToDoGroup(do=Do.RUNNING_OUT, total=len(found), items=items)


_NOT_COUNTED: Final = 1e12  # seeds: nobody can say that such a variety runs out


class _Wanted(NamedTuple):
    """A variety somebody wants, in a few plain values: a large collection has many."""

    id: int
    name: str
    plants_wanted: int
    reserve_seeds: int
    kind: str


def _wanted(session: Session) -> Iterator[_Wanted]:
    query = (
        select(
            col(Variety.id), col(Variety.name), col(Variety.plants_wanted),
            col(Variety.reserve_seeds), col(Kind.slug),
        )
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where((col(Variety.plants_wanted) > 0) | (col(Variety.reserve_seeds) > 0))
        .order_by(col(Variety.name), col(Variety.id))
    )  # fmt: skip
    for number, name, plants, reserve, kind in session.execute(query):
        yield _Wanted(row_id(number), name, plants, reserve, kind)


def why_running_out(session: Session, number: int, judged: Judgement) -> str:
    """Why one variety's seed is running out; empty: it isn't. Raises NotThere."""
    held, alive = _by_variety(judged)
    return _why(find_variety(session, number), held.get(number, 0), alive.get(number, 0.0))


def _by_variety(judged: Judgement) -> tuple[dict[int, int], dict[int, float]]:
    """Seeds held, and likely alive, by variety; of those with seed not counted, without end."""
    lots = judged.forecast.collection
    numbers, at = np.unique(lots.variety_id, return_inverse=True)
    # What has outlived its kind is seed to be replaced, not seed held.
    balance = np.where(lots.counted, np.maximum(lots.balance, 0.0), _NOT_COUNTED)
    balance = np.where(judged.verdicts.inputs.outlived, 0.0, balance)
    held = np.bincount(at, balance, minlength=numbers.size)
    alive = np.bincount(at, balance * judged.viability.median, minlength=numbers.size)
    names = numbers.tolist()
    return (
        dict(zip(names, held.round().astype(int).tolist(), strict=True)),
        dict(zip(names, alive.tolist(), strict=True)),
    )


def _why(variety: Variety | _Wanted, held: int, alive: float) -> str:
    wanted, reserve = variety.plants_wanted, variety.reserve_seeds
    if not (wanted or reserve) or held >= _NOT_COUNTED:
        return ""
    if held == 0:
        if not wanted:
            return f"No living seed is left; {reserve} seeds were to be kept in reserve."
        return f"No living seed is left for the {wanted} plants wanted a year."
    if held < reserve:
        return f"{held} seeds are left, fewer than the {reserve} kept in reserve."
    if alive < wanted:
        return f"Of {held} seeds about {alive:.0f} are alive, for {wanted} plants wanted a year."
    return ""
