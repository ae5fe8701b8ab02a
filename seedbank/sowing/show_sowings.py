"""Sowings as they are answered."""

from collections.abc import Sequence

from sqlmodel import Session

from seedbank.common.answers import PercentAnswer, distinct
from seedbank.database.find import row_id
from seedbank.database.queries import Cursor, Page
from seedbank.germination.evaluate_tests import LEVEL, METHOD_SOURCES
from seedbank.kinds.kind_facts import facts_for
from seedbank.lots.show_lots import lot_cautions, lot_entries, lot_entry, variety_brief
from seedbank.lots.tables.lot_search import LotEntry
from seedbank.lots.tables.lots import Lot, lot_named
from seedbank.science.germination.proportion import proportion_interval
from seedbank.sowing.answers.sowings import (
    EmergenceAnswer,
    LossAnswer,
    SowingAnswer,
    SowingSummary,
)
from seedbank.sowing.tables.emergence import Outcome, outcomes
from seedbank.sowing.tables.sowings import (
    LossCause,
    Sowing,
    SowingFilter,
    find_sowing,
    find_sowings,
)


def show_sowing(session: Session, number: int) -> SowingAnswer:
    """One sowing with what came up. Raises NotThere."""
    return answer_sowing(session, find_sowing(session, number))


def list_sowings(
    session: Session,
    wanted: SowingFilter,
    *,
    lot: str | None,
    after: Cursor | None,
    limit: int,
) -> Page[SowingSummary]:
    """Sowings, earliest first; of one lot where its code is given.

    Raises MisreadCode, Refused: no such lot. BadValue: the cursor.
    """
    if lot is not None:
        wanted = SowingFilter(
            lot_id=row_id(lot_named(session, lot, field="lot").id),
            is_open=wanted.is_open,
            sown_from=wanted.sown_from,
            sown_to=wanted.sown_to,
        )
    page = find_sowings(session, wanted, after=after, limit=limit)
    return Page(_summaries(session, page.items), page.next)


def answer_sowing(
    session: Session, sowing: Sowing, *, warnings: Sequence[str] = ()
) -> SowingAnswer:
    """One sowing as it is answered."""
    entry = lot_entry(session, session.get_one(Lot, sowing.lot_id))
    outcome = outcomes(session, [row_id(sowing.id)])[row_id(sowing.id)]
    cautions = lot_cautions(entry.lot, facts_for(session, entry.kind))
    emerged = _emerged(sowing, outcome)
    sources = [METHOD_SOURCES[0]] if emerged else []
    return SowingAnswer(
        **_summary(sowing, entry, outcome).model_dump(),
        emergence=[EmergenceAnswer.model_validate(one) for one in outcome.emergences],
        losses=[LossAnswer.model_validate(one) for one in outcome.losses],
        emerged=emerged,
        warnings=list(warnings),
        cautions=cautions,
        sources=distinct([*sources, *(caution.source for caution in cautions)]),
    )


def _emerged(sowing: Sowing, outcome: Outcome) -> PercentAnswer | None:
    """Share come up of the seeds that had the chance: those not lost in the soil first."""
    if outcome.units_emerged is None:
        return None
    chances = sowing.seeds_sown - sum(
        loss.units_lost
        for loss in outcome.losses
        if not loss.after_emergence and loss.cause is not LossCause.NOT_EMERGED
    )
    if chances < 1:
        return None
    interval = proportion_interval(outcome.units_emerged, chances, LEVEL)
    return PercentAnswer.of(outcome.units_emerged / chances, interval)


def _summaries(session: Session, sowings: Sequence[Sowing]) -> list[SowingSummary]:
    entries = lot_entries(session, {sowing.lot_id for sowing in sowings})
    became = outcomes(session, [row_id(sowing.id) for sowing in sowings])
    return [
        _summary(sowing, entries[sowing.lot_id], became[row_id(sowing.id)]) for sowing in sowings
    ]


def _summary(sowing: Sowing, entry: LotEntry, outcome: Outcome) -> SowingSummary:
    return SowingSummary(
        **sowing.model_dump(exclude={"lot_id", "movement_id", "created_at"}),
        lot=entry.lot.code,
        variety=variety_brief(entry),
        units_emerged=outcome.units_emerged,
    )
