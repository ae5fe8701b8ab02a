"""What to sow this year and how much, what seed is lacking, and what may be given away."""

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
from sqlmodel import Session, col, select

from seedbank.common.answers import CautionAnswer, Source, VarietyBrief, distinct, finding_answers
from seedbank.common.errors import Conflict
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import Changes, changes
from seedbank.database.find import row_id
from seedbank.database.lanes import PLANS
from seedbank.database.queries import note_if_empty
from seedbank.database.transaction import let_go
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.tables import Breeding, Kind, OtherKeepers, Variety
from seedbank.lots.show_lots import lot_cautions
from seedbank.lots.tables.lots import Lot
from seedbank.plan.answers import (
    GetBy,
    LotSeedsAnswer,
    ShortfallAnswer,
    SpareAnswer,
    SpareLotAnswer,
    SuppliesAnswer,
    ToSowAnswer,
)
from seedbank.plan.forms import PlanAsk
from seedbank.plan.inputs import PlanInputs
from seedbank.plan.make_plan import PLAN_SOURCES, make_plan
from seedbank.plan.remedies import Clock
from seedbank.plan.stock import key_of
from seedbank.plan.tables import PLANNED
from seedbank.science.plan.plan import Plan
from seedbank.science.quantities import Finding, FloatArray
from seedbank.sowing.advise_variety import advise_from
from seedbank.sowing.answers import VarietySowingAdviceAnswer
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.learn_from_sowings import Garden, learn_garden
from seedbank.sowing.setting import settle
from seedbank.sowing.sowable_lots import VarietyStock, read_stocks
from seedbank.viability.show_viability import EQUATION_SOURCES
from seedbank.viability.tables.change_topics import ALIVE
from seedbank.viability.tables.stock_columns import KEEPERS

# Our choices.
TRIES = 2  # the next seed crop and one more should it fail, for which seed is kept
FIT_TO_GIVE = 0.5  # median viability from which a lot is worth giving
LEAST_GIFT = 10  # seeds

_SPARE_SOURCE = Source(
    text=f"spare is what is left after sowing, reserve and {TRIES} seed crops, of lots at least "
    f"{100 * FIT_TO_GIVE:.0f} % alive: our choice",
    confidence="computed",
)


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A variety, and the advice on sowing it this year; ``lacking`` says what stands against it."""

    row: Variety
    kind: Kind
    advice: VarietySowingAdviceAnswer | None
    lacking: Finding | str | None

    @property
    def brief(self) -> VarietyBrief:
        return VarietyBrief(id=row_id(self.row.id), name=self.row.name, kind=self.kind.slug)

    @property
    def sown(self) -> dict[str, int]:
        """Seeds to sow by lot."""
        lots = self.advice.lots if self.advice else ()
        return {share.lot: share.seeds for share in lots if share.seeds}


_Advised = tuple[VarietySowingAdviceAnswer | None, Finding | None]
# Seed taken from one variety changes nothing for the others, so advice is kept variety by variety.
_ADVISED: CacheRegion[_Advised] = CacheRegion(2000)


def plan_supplies(session: Session, *, today: date, clock: Clock = None) -> SuppliesAnswer:
    """Sowing list, shortfall and spare seed, worked out now; nothing is written."""
    planned = make_plan(session, PlanAsk(), today=today, clock=clock)
    wanted = _wanted(session, today)
    spare = _spare(planned.inputs, planned.plan, wanted)
    return SuppliesAnswer(
        on=today,
        sow=[_to_sow(one, one.advice) for one in wanted if one.advice is not None],
        shortfall=[_shortfall(one, one.lacking) for one in wanted if one.lacking],
        spare=spare,
        remarks=finding_answers(
            [
                *note_if_empty(planned.inputs.stock.judged.forecast.collection.size),
                Finding("sowings-as-today"),
                Finding("spare-counts", {"tries": TRIES}),
            ]
        ),
        cautions=_cautions(session, wanted, spare),
        sources=distinct([*PLAN_SOURCES, _SPARE_SOURCE, *EQUATION_SOURCES]),
    )


def _wanted(session: Session, today: date) -> list[_Wanted]:
    state = (today, *changes(session, ALIVE))
    garden = learn_garden(session, today=today)
    rows = session.exec(
        select(Variety, Kind)
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .order_by(col(Kind.slug), col(Variety.name), col(Variety.id))
    ).all()
    known = facts_for_kinds(session, [kind for _, kind in rows])
    wanted = [
        (variety, kind, known[row_id(kind.id)]) for variety, kind in rows if variety.plants_wanted
    ]
    stocks = read_stocks(session, wanted, today, today=today)
    let_go(session)

    def advised(stock: VarietyStock) -> _Advised:
        held = tuple((lot.held.seeds, lot.held.seeds_se) for lot in stock.lots), stock.pieces
        return _ADVISED.get(
            session,
            (*state, garden, held),
            lambda: _advise(stock, garden, today),
            asked=row_id(stock.variety.id),
        )

    found = {number: advised(stock) for number, stock in stocks.items()}
    return [
        _Wanted(variety, kind, *found.get(row_id(variety.id), (None, None)))
        for variety, kind in rows
    ]


def _advise(stock: VarietyStock, garden: Garden, today: date) -> _Advised:
    variety = stock.variety
    setting = settle(SowingAsk(), variety, stock.facts, today=today)
    if not stock.lots and stock.pieces is not None:
        asked = {"pieces": stock.pieces, "plants": variety.plants_wanted}
        short = stock.pieces < variety.plants_wanted
        return None, Finding("pieces-short", asked) if short else None
    try:
        advice = advise_from(stock, setting, garden)
    except Conflict as fault:
        return None, fault.finding
    lacking = None
    if not advice.enough_if_there:  # that it may not be there is no reason to buy
        chance = advice.chance_of_enough.pct / 100.0
        asked = {"plants": variety.plants_wanted, "chance": chance}
        lacking = Finding("sowing-short", asked)
    return advice, lacking


def _to_sow(one: _Wanted, advice: VarietySowingAdviceAnswer) -> ToSowAnswer:
    return ToSowAnswer(
        variety=one.brief,
        plants_wanted=advice.plants_wanted,
        seeds=advice.seeds,
        enough=advice.enough,
        chance_of_enough=advice.chance_of_enough,
        lots=[LotSeedsAnswer(lot=lot, seeds=seeds) for lot, seeds in one.sown.items()],
    )


def _shortfall(one: _Wanted, lacking: Finding | str) -> ShortfallAnswer:
    get_by, from_whom = GetBy.BUY, "many"
    if one.row.breeding is Breeding.F1:
        from_whom = "f1"
    elif one.row.other_keepers is not OtherKeepers.MANY:
        get_by, from_whom = GetBy.SWAP, one.row.other_keepers.value
    return ShortfallAnswer.of(
        Finding("shortfall", {"lacking": lacking, "from": from_whom}),
        variety=one.brief,
        other_keepers=one.row.other_keepers,
        plants_wanted=one.row.plants_wanted,
        get_by=get_by,
    )


def _spare(inputs: PlanInputs, plan: Plan, wanted: list[_Wanted]) -> list[SpareAnswer]:
    crops = {column.variety: len(column.crops) for column in plan.columns}
    found = []
    for one in wanted:
        answer = _spare_of(inputs, one, crops.get(key_of(row_id(one.row.id)), 0))
        if answer is not None:
            found.append(answer)
    return sorted(found, key=lambda one: KEEPERS.index(one.other_keepers))


def _spare_of(inputs: PlanInputs, one: _Wanted, crops: int) -> SpareAnswer | None:
    judged = inputs.stock.judged
    lots, number = judged.forecast.collection, row_id(one.row.id)
    # How much may be given is told of seed that is counted.
    at = np.flatnonzero((lots.variety_id == number) & (lots.balance > 0))
    dead = judged.verdicts.inputs.outlived[at] | judged.forecast.planting_stock[at]
    fit = at[(judged.viability.median[at] >= FIT_TO_GIVE) & ~dead & lots.counted[at]]
    for_plan = _for_plan(inputs, number, crops)
    left = {int(lot): int(lots.balance[lot]) - one.sown.get(lots.code[lot], 0) for lot in fit}
    _set_aside(left, for_plan + one.row.reserve_seeds, judged.viability.median)
    given = {lot: seeds for lot, seeds in left.items() if seeds >= LEAST_GIFT}
    if not given:
        return None
    return SpareAnswer(
        variety=one.brief,
        other_keepers=one.row.other_keepers,
        seeds=sum(given.values()),
        held=int(lots.balance[at[lots.counted[at]]].sum()),
        to_sow=sum(one.sown.values()),
        reserve=one.row.reserve_seeds,
        kept_for_plan=for_plan,
        lots=[
            SpareLotAnswer(
                lot=lots.code[lot],
                seeds=seeds,
                alive_pct=round(100.0 * float(judged.viability.median[lot]), 1),
                treated=bool(lots.treated[lot]),
                purity=lots.purity[lot],
                purity_note=lots.purity_note[lot],
            )
            for lot, seeds in given.items()
        ],
    )


def _for_plan(inputs: PlanInputs, number: int, crops: int) -> int:
    one = inputs.varieties.get(key_of(number))
    if one is None or not crops or one.key in inputs.sown_now:
        return 0
    line = inputs.stock.judged.verdicts.inputs.line
    return math.ceil(float(line.sow_seeds[one.lot])) * min(crops, TRIES)


def _set_aside(left: dict[int, int], seeds: int, alive: FloatArray) -> None:
    """Take what must stay from the lots most alive, in place."""
    for lot in sorted(left, key=lambda at: (-float(alive[at]), at)):
        used = min(max(left[lot], 0), seeds)
        left[lot] -= used
        seeds -= used


def _cautions(
    session: Session, wanted: list[_Wanted], spare: list[SpareAnswer]
) -> list[CautionAnswer]:
    """What to mind of the seed that is sown, and of what is handed on."""
    found = [caution for one in wanted if one.advice for caution in one.advice.cautions]
    rows = {one.brief.id: one for one in wanted}
    codes = [lot.lot for one in spare for lot in one.lots]
    lots = session.exec(select(Lot).where(col(Lot.code).in_(codes)).order_by(col(Lot.id))).all()
    kinds = {row_id(one.kind.id): one.kind for one in rows.values()}
    known = facts_for_kinds(session, list(kinds.values()))
    for lot in lots:
        if lot.variety_id in rows:  # not one that came to be another's meanwhile
            found += lot_cautions(lot, known[rows[lot.variety_id].row.kind_id])
    return list(dict.fromkeys(found))


_SUPPLIES: CacheRegion[SuppliesAnswer] = CacheRegion(lane=PLANS)


def last_plan_supplies(session: Session, *, today: date) -> SuppliesAnswer | None:
    """The lists if they were worked out before and still hold; None: they must be worked out."""
    return _SUPPLIES.ready(session, _state(session, today))


def work_out_supplies(session: Session, *, today: date, clock: Clock = None) -> SuppliesAnswer:
    """The lists; they take seconds unless they were worked out before."""
    return _SUPPLIES.get(
        session,
        _state(session, today),
        lambda: plan_supplies(session, today=today, clock=clock),
    )


def _state(session: Session, today: date) -> Changes:
    return (today, *changes(session, PLANNED))
