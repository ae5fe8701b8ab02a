"""Varieties whose seed is running out: under their reserve, or too little for the plants wanted."""

import numpy as np
from sqlmodel import Session, col, select

from seedbank.service.answers.to_do import ToDoItem
from seedbank.service.find import find_variety, row_id
from seedbank.service.judge_stock import Judgement
from seedbank.stock.kinds import Kind
from seedbank.stock.varieties import Variety


def running_out(session: Session, judged: Judgement) -> list[ToDoItem]:
    """Those wanted that hold too little seed, the emptiest first.

    Seed that is alive is reckoned by each lot's likeliest viability, as the likeliest case only:
    sowing advice, which allows for the rest, usually asks for more. Our choice.
    """
    held, alive = _by_variety(judged)
    rows = session.exec(
        select(Variety, Kind)
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where((col(Variety.plants_wanted) > 0) | (col(Variety.reserve_seeds) > 0))
        .order_by(col(Variety.name), col(Variety.id))
    )
    found: list[tuple[float, ToDoItem]] = []
    for variety, kind in rows:
        number = row_id(variety.id)
        why = _why(variety, held.get(number, 0), alive.get(number, 0.0))
        if why:
            item = ToDoItem(name=variety.name, kind=kind.slug, why=why, variety_id=number)
            asked = max(variety.reserve_seeds, variety.plants_wanted)
            found.append((held.get(number, 0) / asked, item))
    return [item for _, item in sorted(found, key=lambda one: one[0])]


def why_running_out(session: Session, number: int, judged: Judgement) -> str:
    """Why one variety's seed is running out; empty: it isn't. Raises NotThere."""
    held, alive = _by_variety(judged)
    return _why(find_variety(session, number), held.get(number, 0), alive.get(number, 0.0))


def _by_variety(judged: Judgement) -> tuple[dict[int, int], dict[int, float]]:
    """Seeds held, and likely alive, by variety."""
    lots = judged.forecast.collection
    numbers, at = np.unique(lots.variety_id, return_inverse=True)
    balance = np.maximum(lots.balance, 0.0)
    held = np.bincount(at, balance, minlength=numbers.size)
    alive = np.bincount(at, balance * judged.viability.median, minlength=numbers.size)
    names = numbers.tolist()
    return (
        dict(zip(names, held.round().astype(int).tolist(), strict=True)),
        dict(zip(names, alive.tolist(), strict=True)),
    )


def _why(variety: Variety, held: int, alive: float) -> str:
    wanted, reserve = variety.plants_wanted, variety.reserve_seeds
    if not wanted and not reserve:
        return ""
    if held == 0:
        if not wanted:
            return f"No seed is left; {reserve} seeds were to be kept in reserve."
        return f"No seed is left for the {wanted} plants wanted a year."
    if held < reserve:
        return f"{held} seeds are left, fewer than the {reserve} kept in reserve."
    if alive < wanted:
        return f"Of {held} seeds about {alive:.0f} are alive, for {wanted} plants wanted a year."
    return ""
