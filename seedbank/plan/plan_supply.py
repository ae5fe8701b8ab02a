"""What to sow this year and how much, what to order, and what may be given away."""

from dataclasses import dataclass
from datetime import date

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
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.show_lots import lot_cautions
from seedbank.lots.tables.lots import Lot
from seedbank.plan.answers import (
    LotSeedsAnswer,
    SuppliesAnswer,
    ToSowAnswer,
)
from seedbank.plan.list_orders import list_orders
from seedbank.plan.tables import PLANNED
from seedbank.science.quantities import Finding
from seedbank.sowing.advise_variety import advise_from
from seedbank.sowing.answers import VarietySowingAdviceAnswer
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.learn_from_sowings import Garden, learn_garden
from seedbank.sowing.setting import settle
from seedbank.sowing.sowable_lots import VarietyStock, read_stocks
from seedbank.verdicts.answers import SeedToKeepAnswer
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.verdicts.spare_seed import CROP_AND_ANOTHER, FIT_TO_GIVE, ROW_SEASONS, spare_of
from seedbank.viability.show_viability import EQUATION_SOURCES
from seedbank.viability.tables.change_topics import ALIVE
from seedbank.viability.tables.stock_columns import KEEPERS

_SPARE_SOURCE = Source(
    text="spare is what is left of lots at least "
    f"{100 * FIT_TO_GIVE:.0f} % alive after rows till new seed is in, the reserve and "
    f"{CROP_AND_ANOTHER} seed crops: our choice",
    confidence="computed",
)


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A variety, and the advice on sowing it this year; None: it can't be."""

    row: Variety
    kind: Kind
    advice: VarietySowingAdviceAnswer | None

    @property
    def brief(self) -> VarietyBrief:
        return VarietyBrief(id=row_id(self.row.id), name=self.row.name, kind=self.kind.slug)


_Advised = VarietySowingAdviceAnswer | None
# Seed taken from one variety changes nothing for the others, so advice is kept variety by variety.
_ADVISED: CacheRegion[_Advised] = CacheRegion(2000)


def plan_supplies(session: Session, *, today: date) -> SuppliesAnswer:
    """Sowing list, orders and spare seed, worked out now; nothing is written."""
    judged = judge_collection(session, today=today)
    orders = list_orders(session, today=today)
    wanted = _wanted(session, today)
    spare = _spare(judged, wanted)
    return SuppliesAnswer(
        on=today,
        sow=[_to_sow(one, one.advice) for one in wanted if one.advice is not None],
        orders=orders.items,
        spare=spare,
        remarks=finding_answers(
            [
                *note_if_empty(judged.forecast.collection.size),
                Finding("sowings-as-today"),
                Finding("spare-counts", {"seasons": ROW_SEASONS, "tries": CROP_AND_ANOTHER}),
            ]
        ),
        cautions=_cautions(session, wanted, spare),
        sources=distinct([*orders.sources, _SPARE_SOURCE, *EQUATION_SOURCES]),
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
    return [_Wanted(variety, kind, found.get(row_id(variety.id))) for variety, kind in rows]


def _advise(stock: VarietyStock, garden: Garden, today: date) -> _Advised:
    setting = settle(SowingAsk(), stock.variety, stock.facts, today=today)
    if not stock.lots and stock.pieces is not None:
        return None
    try:
        return advise_from(stock, setting, garden)
    except Conflict:
        return None


def _to_sow(one: _Wanted, advice: VarietySowingAdviceAnswer) -> ToSowAnswer:
    return ToSowAnswer(
        variety=one.brief,
        plants_wanted=advice.plants_wanted,
        seeds=advice.seeds,
        enough=advice.enough,
        chance_of_enough=advice.chance_of_enough,
        lots=[
            LotSeedsAnswer(lot=share.lot, seeds=share.seeds) for share in advice.lots if share.seeds
        ],
    )


def _spare(judged: Judgement, wanted: list[_Wanted]) -> list[SeedToKeepAnswer]:
    found = [spare_of(judged, row_id(one.row.id), one.row.reserve_seeds) for one in wanted]
    given = [one for one in found if one is not None and one.spare]
    return sorted(given, key=lambda one: KEEPERS.index(one.other_keepers))


def _cautions(
    session: Session, wanted: list[_Wanted], spare: list[SeedToKeepAnswer]
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


def work_out_supplies(session: Session, *, today: date) -> SuppliesAnswer:
    """The lists; they take seconds unless they were worked out before."""
    return _SUPPLIES.get(
        session,
        _state(session, today),
        lambda: plan_supplies(session, today=today),
    )


def _state(session: Session, today: date) -> Changes:
    return (today, *changes(session, PLANNED))
