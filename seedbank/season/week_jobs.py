"""This week: at most five jobs, what can wait, and what is begun with the day it needs a look.

Which five (our choice): counts due; what is lost if it isn't done this week; what is in season to
be sown for seed; towels of seed wanted within eight weeks. What was begun comes back on its day.
"""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from sqlmodel import Session, select

from seedbank.common.answers import FindingAnswer
from seedbank.germination.answers import CountDueAnswer
from seedbank.science.quantities import Finding
from seedbank.science.verdicts.verdict import VERDICTS, Verdict, counted
from seedbank.season.answers import BegunAnswer, Do, JobAnswer, ThisWeekAnswer, ToDoGroup, ToDoItem
from seedbank.season.tables import PostponedJob
from seedbank.season.to_do import to_do
from seedbank.season.under_way import UnderWay, read_under_way
from seedbank.verdicts.answers import When
from seedbank.verdicts.judge_lots import Judgement, judge_collection

# Our choices.
MOST_JOBS = 5
LOST_WITHIN_DAYS = 7
TOWEL_AHEAD_DAYS = 56
_LOOKED_AT = 100  # of each sort, the most urgent
_FOR_SEED = (Do.LAST_CHANCE, Do.GROW_FOR_SEED, Do.SEED_CROP, Do.STOP_FLOWERING)


def work_out_week(session: Session, *, today: date) -> ThisWeekAnswer:
    """What to do this week, of all there is to do."""
    judged = judge_collection(session, today=today)
    states, kinds = _states(judged), _kind_names(judged)
    groups = to_do(session, today=today, most=_LOOKED_AT).groups
    under_way = read_under_way(session, today=today)
    counts_now = sum(not _is_to_come(one, today) for one in under_way.counts)
    postponed = _postponed(session, today)
    urgent = sorted(_urgent(groups, today), key=lambda one: one[0])
    jobs: list[JobAnswer] = []
    put_off: list[JobAnswer] = []
    varieties: set[int] = set()
    for (rank, *_), do, item in urgent:
        job = _job(do, item, states, kinds)
        if job.job in postponed:
            put_off.append(job.model_copy(update={"until": postponed[job.job]}))
        elif len(jobs) < MOST_JOBS and (rank == 0 or item.variety_id not in varieties):
            jobs.append(job)
            varieties |= {item.variety_id} if rank and item.variety_id else set()
    begun = sorted(_begun(under_way, states, kinds, today), key=lambda one: one.look_on or date.max)
    days = [one.look_on for one in begun if one.look_on] + [
        one.until for one in put_off if one.until
    ]
    return ThisWeekAnswer(
        on=today,
        jobs=jobs,
        late=sum(one.item.late for one in jobs),
        waiting=_waiting(groups, [*jobs, *put_off], counts_now),
        put_off=put_off,
        begun=begun,
        next_on=min(days, default=None),
        states=counted(judged.verdicts.code),
        lots_begun=int((judged.begun & (judged.verdicts.code >= 0)).sum()),
    )


def _urgent(
    groups: list[ToDoGroup], today: date
) -> Iterator[tuple[tuple[int, date, int], Do, ToDoItem]]:
    """What should be done this week, each with what to sort it by."""
    for group in groups:
        for place, item in enumerate(group.items):
            rank = _rank(group.do, item, today)
            if rank is not None:
                yield (rank, item.due or date.max, place), group.do, item


def _rank(do: Do, item: ToDoItem, today: date) -> int | None:
    """0: due; 1: lost if not done this week; 2: in season; 3: a towel. None: it can wait."""
    if do in (Do.COUNT, Do.EMERGENCE):
        return 0 if item.due is not None and item.due <= today else None
    if do in _FOR_SEED:
        soon = today + timedelta(days=LOST_WITHIN_DAYS)
        if do is Do.LAST_CHANCE or (item.due is not None and item.due <= soon):
            return 1
        # What must not flower, and a step of a crop, wait for their day where they have one.
        waits = do is Do.STOP_FLOWERING and item.due is not None
        return None if waits else 2
    if do is Do.TOWEL_FIRST:
        ahead = today + timedelta(days=TOWEL_AHEAD_DAYS)
        wanted = item.when is When.NOW or (item.opens_on is not None and item.opens_on <= ahead)
        return 3 if wanted else None
    return None


def _job(
    do: Do, item: ToDoItem, states: Mapping[str, Verdict], kinds: Mapping[str, str]
) -> JobAnswer:
    about = item.test or item.sowing or item.seed_crop or item.lot or item.variety_id or item.name
    kind = kinds.get(item.kind, item.kind)
    title = Finding("job-title", {"do": do, "name": item.name, "kind": kind})
    return JobAnswer(
        job=f"{do}-{about}"[:120],
        do=do,
        title=FindingAnswer.of(title),
        kind_name=kind,
        state=states.get(item.lot or ""),
        item=item,
    )


def _waiting(groups: list[ToDoGroup], shown: list[JobAnswer], counts: int) -> dict[Do, int]:
    """How many of each sort are neither among the jobs nor put off; counts to come are begun."""
    waiting = {}
    for group in groups:
        total = counts if group.do is Do.COUNT else group.total
        rest = total - sum(one.do is group.do for one in shown)
        if rest > 0:
            waiting[group.do] = rest
    return waiting


def _begun(
    under_way: UnderWay,
    states: Mapping[str, Verdict],
    kinds: Mapping[str, str],
    today: date,
) -> Iterator[BegunAnswer]:
    """Tests, sowings and seed crops under way that ask for nothing yet."""
    for test in under_way.counts:
        if _is_to_come(test, today):
            yield _towel(test, states, kinds)
    for look in under_way.looks:
        if not look.is_due(today):
            one = look.sowing
            name = {"name": one.variety.name, "kind": kinds.get(one.variety.kind, "")}
            yield BegunAnswer(
                title=FindingAnswer.of(Finding("begun-sowing", name)),
                mark=FindingAnswer.of(Finding("begun-sown-on", {"on": one.sown_on})),
                look=FindingAnswer.of(look.found(today)),
                look_on=look.on,
                state=states.get(one.lot),
                sowing=one.id,
            )
    for crop, step in under_way.crops:
        if not step.pressing:
            name = {"name": crop.variety.name, "kind": kinds.get(crop.variety.kind, "")}
            yield BegunAnswer(
                title=FindingAnswer.of(Finding("begun-crop", name)),
                mark=FindingAnswer.of(Finding("begun-crop-stage", {"stage": crop.stage})),
                look=step,
                look_on=step.due,
                state=states.get(crop.lot or ""),
                seed_crop=crop.id,
            )


def _is_to_come(test: CountDueAnswer, today: date) -> bool:
    """Whether a test's next count can wait for its day, or has none."""
    return test.due is None or test.due > today


def _towel(
    test: CountDueAnswer, states: Mapping[str, Verdict], kinds: Mapping[str, str]
) -> BegunAnswer:
    name = {"name": test.variety.name, "kind": kinds.get(test.variety.kind, "")}
    return BegunAnswer(
        title=FindingAnswer.of(Finding("begun-towel", name)),
        mark=FindingAnswer.of(Finding("begun-on-a-towel")),
        look=FindingAnswer.of(
            Finding("look-on", {"on": test.due}) if test.due else Finding("look-no-day")
        ),
        look_on=test.due,
        state=states.get(test.lot),
        test=test.test,
    )


def _postponed(session: Session, today: date) -> dict[str, date]:
    """Jobs put off, by name, with the day each comes back."""
    rows = session.exec(select(PostponedJob)).all()
    return {row.job: row.until for row in rows if row.until > today}


def _states(judged: Judgement) -> dict[str, Verdict]:
    """The state of each lot that has one, by its code."""
    codes = judged.forecast.collection.code
    code = judged.verdicts.code.tolist()
    return {codes[at]: VERDICTS[one] for at, one in enumerate(code) if one >= 0}


def _kind_names(judged: Judgement) -> dict[str, str]:
    return {facts.slug: facts.name for facts in judged.forecast.facts.values()}
