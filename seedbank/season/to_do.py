"""What needs doing now, gathered from tests, verdicts, seed crops, flowerings and the kept plan.

Nothing is solved here: verdicts are kept by ``judge_collection``, the plan is the one kept last.

Varieties whose seed is running out: under their reserve, or too little for the plants wanted.
"""

import math
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Final, NamedTuple

import numpy as np
from sqlalchemy import select
from sqlmodel import Session, col

from seedbank.common.answers import FindingAnswer
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import all_changes
from seedbank.database.find import row_id
from seedbank.database.queries import Paging
from seedbank.germination.answers import CountDueAnswer
from seedbank.kinds.tables import Kind, Variety, find_variety
from seedbank.lots.answers import EntryDoubtAnswer
from seedbank.lots.settle_entry_doubts import list_entry_doubts
from seedbank.lots.tables.entry_doubts import number_of_doubts
from seedbank.plan.answers import StopFloweringAnswer
from seedbank.plan.last_plan import last_plan_crops, plan_standing, unbegun
from seedbank.plan.stops import must_not_flower
from seedbank.plan.tables import latest_plan_run
from seedbank.saving.answers import SeedCropAnswer, StepAnswer
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.science.quantities import Finding
from seedbank.science.verdicts.verdict import FOR_SEED, Verdict
from seedbank.season.answers import Do, ToDoAnswer, ToDoGroup, ToDoItem
from seedbank.season.sowing_looks import SowingLook
from seedbank.season.under_way import read_under_way
from seedbank.verdicts.answers import When
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.verdicts.list_verdicts import advice_finding, seeds_to_sow
from seedbank.verdicts.lot_prospects import today_of


def running_out(session: Session, judged: Judgement, most: int | None = None) -> ToDoGroup:
    """Those wanted that hold too little seed, the emptiest first; at most ``most`` of them told.

    Seed that is alive is reckoned by each lot's likeliest viability, as the likeliest case only:
    sowing advice, which allows for the rest, usually asks for more. Our choice.
    """
    held, alive = _by_variety(judged)
    found: list[tuple[float, _Wanted, Finding]] = []
    for one in _wanted(session):
        if why := _why(one, held.get(one.id, 0), alive.get(one.id, 0.0)):
            share = held.get(one.id, 0) / max(one.reserve_seeds, one.plants_wanted)
            found.append((share, one, why))
    found.sort(key=lambda one: one[0])
    items = [
        ToDoItem(name=one.name, kind=one.kind, why=FindingAnswer.of(why), variety_id=one.id)
        for _, one, why in found[:most]
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


def why_running_out(session: Session, number: int, judged: Judgement) -> Finding | None:
    """Why one variety's seed is running out; None: it isn't. Raises NotThere."""
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
    share = np.where(judged.forecast.planting_stock, 1.0, judged.viability.median)
    alive = np.bincount(at, balance * share, minlength=numbers.size)
    names = numbers.tolist()
    return (
        dict(zip(names, held.round().astype(int).tolist(), strict=True)),
        dict(zip(names, alive.tolist(), strict=True)),
    )


def _why(variety: Variety | _Wanted, held: int, alive: float) -> Finding | None:
    wanted, reserve = variety.plants_wanted, variety.reserve_seeds
    if not (wanted or reserve) or held >= _NOT_COUNTED:
        return None
    if held == 0:
        return Finding("none-living", {"plants": wanted or math.nan, "reserve_seeds": reserve})
    if held < reserve:
        return Finding("under-reserve", {"seeds": held, "reserve_seeds": reserve})
    if alive < wanted:
        return Finding("too-few-alive", {"seeds": held, "alive": alive, "plants": wanted})
    return None


SOON_DAYS = 7  # counts due within so many days are listed already; our choice
_FOR_SEED = (Do.LAST_CHANCE, Do.GROW_FOR_SEED)
_SOWN_NOW = (When.NOW, When.NOT_KNOWN)
_BY_VERDICT = {
    Do.LAST_CHANCE: Verdict.LAST_CHANCE,
    Do.GROW_FOR_SEED: Verdict.GROW_FOR_SEED,
    Do.TOWEL_FIRST: Verdict.TOWEL_FIRST,
    Do.GET_FRESH: Verdict.GET_FRESH,
}


_TO_DO: CacheRegion[ToDoAnswer] = CacheRegion(4)


def to_do(session: Session, *, today: date, most: int | None = None) -> ToDoAnswer:
    """Everything there is to do, at most ``most`` of a group; groups with nothing are left out.

    Kept until anything is written.
    """
    return _TO_DO.get(
        session,
        (today, *all_changes(session)),
        lambda: _to_do(session, today, most),
        asked=most,
    )


def _to_do(session: Session, today: date, most: int | None) -> ToDoAnswer:
    judged = judge_collection(session, today=today)
    under_way = read_under_way(session, today=today)
    found = {
        Do.COUNT: _counts(under_way.counts),
        Do.EMERGENCE: _sowings(under_way.looks, today),
        Do.SEED_CROP: [*_seed_crops(under_way.crops, today), *_planned(session, today)],
        Do.STOP_FLOWERING: _stops(session, today),
    }

    def group(do: Do) -> ToDoGroup:
        if do is Do.RUNNING_OUT:
            return running_out(session, judged, most)
        if do is Do.CHECK_ENTRY:
            return _entries_to_check(session, most)
        if do in _BY_VERDICT:
            return _judged(judged, do, most)
        return ToDoGroup(do=do, total=len(found[do]), items=found[do][:most])

    groups = [one for one in map(group, Do) if one.total]
    return ToDoAnswer(on=today, groups=groups, plan=plan_standing(session))


def _counts(counts: Iterable[CountDueAnswer]) -> list[ToDoItem]:
    return [
        ToDoItem(
            name=one.variety.name,
            kind=one.variety.kind,
            why=one,
            due=one.due,
            late=one.days_late > 0,
            test=one.test,
            lot=one.lot,
        )
        for one in counts
        if one.due is None or one.days_late >= -SOON_DAYS
    ]


def _sowings(looks: Iterable[SowingLook], today: date) -> list[ToDoItem]:
    due = sorted((one for one in looks if one.is_due(today)), key=lambda one: one.on)
    return [
        ToDoItem(
            name=one.sowing.variety.name,
            kind=one.sowing.variety.kind,
            why=FindingAnswer.of(one.found(today)),
            due=one.on,
            late=one.on < today,
            sowing=one.sowing.id,
            lot=one.sowing.lot,
            variety_id=one.sowing.variety.id,
        )
        for one in due
    ]


def _judged(judged: Judgement, do: Do, most: int | None) -> ToDoGroup:
    """Lots with a verdict, the most urgent first, each with what to do; of those to sow for seed
    only what can be sown now, or nobody knows when; of fresh seed what is sown within months."""
    lots = judged.forecast.collection
    at = np.flatnonzero(judged.to_be_done(_BY_VERDICT[do]))
    if _BY_VERDICT[do] in FOR_SEED:
        at = at[[judged.time_of(one).when in _SOWN_NOW for one in at.tolist()]]
    if do is Do.GET_FRESH:
        due = [judged.fresh_on(one) for one in at.tolist()]
        today = today_of(judged.forecast)
        at = at[[day is None or day <= today for day in due]]
    order = at[np.lexsort((lots.lot_id[at], -judged.verdicts.urgency[at]))]
    items = [
        ToDoItem(
            name=lots.variety[one],
            kind=judged.forecast.facts_of(one).slug,
            why=FindingAnswer.of(advice_finding(judged, one)),
            brief=_brief(judged, do, one),
            when=judged.time_of(one).when,
            opens_on=judged.time_of(one).opens_on,
            due=judged.time_of(one).until if do in _FOR_SEED else None,
            lot=lots.code[one],
            variety_id=int(lots.variety_id[one]),
        )
        for one in order[:most].tolist()
    ]
    return ToDoGroup(do=do, total=order.size, items=items)


def _brief(judged: Judgement, do: Do, at: int) -> FindingAnswer | None:
    """What to do with a lot in a few words; None: no fewer than the advice has."""
    time = judged.time_of(at)
    if do is Do.TOWEL_FIRST:
        return FindingAnswer.of(
            Finding("brief-towel", {"when": time.when, "opens_on": time.opens_on})
        )
    sow, hold = seeds_to_sow(judged, at)
    if do not in _FOR_SEED or sow is None or hold is None:
        return None
    found = {"sow_seeds": sow, "hold_seeds": hold, "until": time.until}
    return FindingAnswer.of(Finding("brief-for-seed", found))


def _entries_to_check(session: Session, most: int | None) -> ToDoGroup:
    """Lots whose amount or day of coming an earlier program may have made up."""
    total = number_of_doubts(session)
    page = list_entry_doubts(session, Paging(most or max(total, 1)))
    items = [
        ToDoItem(
            name=one.variety.name,
            kind=one.variety.kind,
            why=FindingAnswer.of(_in_doubt(one)),
            lot=one.lot,
            variety_id=one.variety.id,
        )
        for one in page.items
    ]
    return ToDoGroup(do=Do.CHECK_ENTRY, total=total, items=items)


def _in_doubt(one: EntryDoubtAnswer) -> Finding:
    if one.acquired_on is None:
        return Finding("entry-amount-doubted")
    code = "entry-doubted" if one.amount else "entry-day-doubted"
    return Finding(code, {"on": one.acquired_on})


def _seed_crops(
    crops: Iterable[tuple[SeedCropAnswer, StepAnswer]], today: date
) -> Iterator[ToDoItem]:
    """Steps that can't wait."""
    for crop, step in crops:
        if step.pressing:
            yield ToDoItem(
                name=crop.variety.name,
                kind=crop.variety.kind,
                why=step,
                brief=_brief_step(step.code),
                due=step.due,
                late=step.due is not None and step.due < today,
                seed_crop=crop.id,
                variety_id=crop.variety.id,
            )


def _brief_step(step: str) -> FindingAnswer | None:
    """A step of a seed crop in a few words; None: it has few already."""
    return (
        FindingAnswer.of(Finding("brief-before-flower")) if step == "crop-before-flower" else None
    )


def _planned(session: Session, today: date) -> Iterator[ToDoItem]:
    """Crops the plan has sown this year that nobody has begun."""
    planned = [one for one in last_plan_crops(latest_plan_run(session)) if one.sow_in == today.year]
    crops = unbegun(session, planned)
    whose = variety_briefs(session, {one.variety_id for one in crops})
    for one in crops:
        if one.variety_id in whose:
            variety = whose[one.variety_id]
            found = Finding(
                "planned-not-begun", {"year": one.flowers_in, "isolation": one.isolation}
            )
            yield ToDoItem(
                name=variety.name,
                kind=variety.kind,
                why=FindingAnswer.of(found),
                variety_id=variety.id,
            )


def _stops(session: Session, today: date) -> list[ToDoItem]:
    return [
        ToDoItem(
            name=one.name,
            kind="",
            why=FindingAnswer.of(would_cross(one)),
            due=one.before,
            late=one.before is not None and one.before < today,
        )
        for one in must_not_flower(session, today.year)
    ]


def would_cross(stop: StopFloweringAnswer) -> Finding:
    """What to stop from flowering, and what it would cross with."""
    names = tuple(whose.name for whose in stop.endangers)
    return Finding("would-cross-with", {"stop": stop.finding, "varieties": names})
