"""What needs doing now, gathered from tests, verdicts, seed crops, flowerings and the kept plan.

Nothing is solved here: verdicts are kept by ``judge_collection``, the plan is the one kept last.
"""

from collections.abc import Iterable, Sequence
from datetime import date

import numpy as np
from sqlmodel import Session

from seedbank.common.answers import VarietyBrief
from seedbank.germination.counts_due import counts_due
from seedbank.lots.answers.entry_doubts import EntryDoubtAnswer
from seedbank.lots.settle_entry_doubts import list_entry_doubts
from seedbank.lots.tables.entry_doubts import number_of_doubts
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.last_plan import KeptCrop, kept_crops, plan_standing, unbegun
from seedbank.plan.must_not_flower import must_not_flower
from seedbank.plan.tables.plan_runs import latest_plan_run
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.seed_crop_steps import next_step
from seedbank.saving.show_seed_crops import list_seed_crops
from seedbank.saving.tables.seed_crops import SeedCropFilter
from seedbank.science.reasons import weightiest
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers.to_do import Do, ToDoAnswer, ToDoGroup, ToDoItem
from seedbank.season.running_out import running_out
from seedbank.verdicts.judge_lots import Judgement, judge_collection

SOON_DAYS = 7  # counts due within so many days are listed already; our choice
_MOST_CROPS = 500
_BY_VERDICT = {
    Do.RESCUE: Verdict.RESCUE,
    Do.SAVE: Verdict.SAVE_SEED,
    Do.TEST: Verdict.TEST,
    Do.REPLACE: Verdict.REPLACE,
}
_APART = {
    Isolation.DISTANCE: "kept apart by distance",
    Isolation.CAGE: "in a cage",
    Isolation.BAG: "its flowers bagged",
    Isolation.HAND_POLLINATION: "pollinated by hand",
}


def to_do(session: Session, *, today: date, most: int | None = None) -> ToDoAnswer:
    """Everything there is to do, at most ``most`` of a group; groups with nothing are left out."""
    judged = judge_collection(session, today=today)
    found = {
        Do.COUNT: _counts(session, today),
        Do.SEED_CROP: _seed_crops(session, today),
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


def _counts(session: Session, today: date) -> list[ToDoItem]:
    return [
        ToDoItem(
            name=one.variety.name,
            kind=one.variety.kind,
            why=one.text,
            due=one.due,
            late=one.days_late > 0,
            test=one.test,
            lot=one.lot,
        )
        for one in counts_due(session, today=today)
        if one.due is None or one.days_late >= -SOON_DAYS
    ]


def _judged(seen: Judgement, do: Do, most: int | None) -> ToDoGroup:
    """Lots with a verdict, the most urgent first, each with the weightiest of its reasons."""
    lots = seen.forecast.collection
    at = np.flatnonzero(seen.verdicts.where(_BY_VERDICT[do]))
    order = at[np.lexsort((lots.lot_id[at], -seen.verdicts.urgency[at]))]
    items = [
        ToDoItem(
            name=lots.variety[one],
            kind=seen.forecast.facts_of(one).slug,
            why=weightiest(seen.verdicts.reasons(one)),
            lot=lots.code[one],
            variety_id=int(lots.variety_id[one]),
        )
        for one in order[:most].tolist()
    ]
    return ToDoGroup(do=do, total=order.size, items=items)


def _entries_to_check(session: Session, most: int | None) -> ToDoGroup:
    """Lots whose amount or day of coming an earlier program may have made up."""
    total = number_of_doubts(session)
    page = list_entry_doubts(session, after=None, limit=most or max(total, 1))
    items = [
        ToDoItem(
            name=one.variety.name,
            kind=one.variety.kind,
            why=_in_doubt(one),
            lot=one.lot,
            variety_id=one.variety.id,
        )
        for one in page.items
    ]
    return ToDoGroup(do=Do.CHECK_ENTRY, total=total, items=items)


def _in_doubt(one: EntryDoubtAnswer) -> str:
    said = ["Nothing was ever booked on it: is it empty?"] if one.amount else []
    if one.acquired_on is not None:
        said.append(f"Did it really come on {one.acquired_on.isoformat()}, the day it was entered?")
    return " ".join(said)


def _seed_crops(session: Session, today: date) -> list[ToDoItem]:
    """Steps that can't wait, then crops the plan has sown this year that nobody has begun."""
    wanted = SeedCropFilter(is_open=True)
    found = []
    for crop in list_seed_crops(session, wanted, after=None, limit=_MOST_CROPS).items:
        step = next_step(crop, today)
        if step is not None and step.pressing:
            late = step.due is not None and step.due < today
            found.append(
                _about(crop.variety, step.text, due=step.due, late=late, seed_crop=crop.id)
            )
    planned = [one for one in kept_crops(latest_plan_run(session)) if one.sow_in == today.year]
    return [*found, *_planned(session, unbegun(session, planned))]


def _planned(session: Session, crops: Sequence[KeptCrop]) -> Iterable[ToDoItem]:
    whose = variety_briefs(session, {one.variety_id for one in crops})
    for one in crops:
        if one.variety_id in whose:
            apart = _APART.get(one.isolation, "")
            text = f"The plan sows it this year to flower in {one.flowers_in}, {apart}; not begun."
            yield _about(whose[one.variety_id], text)


def _stops(session: Session, today: date) -> list[ToDoItem]:
    return [
        ToDoItem(
            name=one.name,
            kind="",
            why=f"{one.text} It would cross with {_list(whose.name for whose in one.endangers)}.",
            due=one.before,
            late=one.before is not None and one.before < today,
        )
        for one in must_not_flower(session, today.year)
    ]


def _about(
    variety: VarietyBrief,
    why: str,
    *,
    due: date | None = None,
    late: bool = False,
    seed_crop: int | None = None,
) -> ToDoItem:
    return ToDoItem(
        name=variety.name,
        kind=variety.kind,
        why=why,
        due=due,
        late=late,
        seed_crop=seed_crop,
        variety_id=variety.id,
    )


def _list(names: Iterable[str]) -> str:
    first, *rest = names
    return first if not rest else f"{', '.join([first, *rest[:-1]])} and {rest[-1]}"
