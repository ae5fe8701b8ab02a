"""What to order: varieties whose seed isn't enough for the rows of this season and the next.

A season takes a usual sowing for the plants wanted, or for one row of 3 m where nobody has said.
Of lots fit for it those that fade first are sown first; the reserve is left alone. What isn't saved
is to do for two seasons, what is for one, since its next seed is one's own; and what nobody else
keeps is not to be had. Ordered is what is missing at good seed's rate, as much again as the larger
of the two to sow gaps, and ten to test where some is to lie over; of seed that falls under 0.8 of
fresh before its second sowing only this season's. All of it our choice.
"""

import math
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.special import ndtr, ndtri
from sqlmodel import Session, col, select

from seedbank.common.answers import Source as SourceAnswer
from seedbank.common.answers import VarietyBrief, distinct
from seedbank.database.find import row_id
from seedbank.facts.growing import packet_row
from seedbank.facts.keeping import keeping_prior
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.tables import Breeding, Kind, OtherKeepers, Variety
from seedbank.lots.weighing import kind_weight
from seedbank.plan.answers import GetBy, OrderAnswer, OrdersAnswer
from seedbank.science.quantities import Finding, Value
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.prior import initial_viability
from seedbank.verdicts.answers import When
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.verdicts.spare_seed import ROW_SEASONS, plants_reckoned, sowing_seeds
from seedbank.verdicts.surroundings import SowingTime, read_surroundings
from seedbank.verdicts.usual_row import usual_row

# Our choices.
SHORT = 0.05  # of a season's sowing: less isn't missed
TEST_SEEDS = 10
FADED = 0.8  # of fresh viability
FIRST_SOWN_YEARS = 0.5  # from harvest to a packet's first sowing
_SOURCES = [
    SourceAnswer(
        text="an order is what two seasons' usual sowings lack, as much as the larger of them to "
        "sow gaps again, and ten to test: our choice",
        confidence="computed",
    )
]


@dataclass(frozen=True, slots=True)
class Enough:
    """Shares of a usual sowing that lots held give this season and the next, 1 at most."""

    now: float
    next: float


def list_orders(session: Session, *, today: date) -> OrdersAnswer:
    """What to order of every variety that lacks some, by kind and name."""
    judged = judge_collection(session, today=today)
    rows = session.exec(
        select(Variety, Kind)
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .order_by(col(Kind.slug), col(Variety.name), col(Variety.id))
    ).all()
    known = facts_for_kinds(session, list({kind.id: kind for _, kind in rows}.values()))
    times = read_surroundings(session).times(known, today)
    lots: dict[int, list[int]] = {}
    for at, number in enumerate(judged.forecast.collection.variety_id.tolist()):
        lots.setdefault(number, []).append(at)
    found = (
        _order(judged, lots.get(row_id(row.id), []), row, known[row.kind_id], times[row.kind_id])
        for row, _ in rows
    )
    items = [one for one in found if one is not None]
    packets = [packet_row(_weight_g(known[row.kind_id])).source for row, _ in rows[:1]]
    cited = [SourceAnswer(text=one.text, confidence=one.confidence) for one in packets]
    return OrdersAnswer(on=today, items=items, sources=distinct([*_SOURCES, *cited]))


def _order(
    judged: Judgement, lots: list[int], row: Variety, facts: KindFacts, time: SowingTime
) -> OrderAnswer | None:
    """What to order of one variety; None: nothing, or nobody wants it."""
    held = judged.forecast.collection
    living = [at for at in lots if held.balance[at] > 0 and not held.mixture[at]]
    if not held.counted[living].all():
        return None  # how far it goes nobody can say: it is to be counted first
    if judged.forecast.planting_stock[lots].any() or (not lots and facts.is_planting_stock(None)):
        return _pieces(judged, living, row, facts)
    if not row.plants_wanted and not living:
        return None  # nobody has said that it is wanted again
    saved = bool(judged.verdicts.inputs.saved[living].any())
    if saved and row.other_keepers is OtherKeepers.NONE and not row.keepers_unknown:
        return None  # there is none to be had: its own seed crop is the mend
    usual = usual_row(facts)
    plants = row.plants_wanted or round(usual.plants)
    enough = how_far(judged, living, row.reserve_seeds)
    good = math.ceil(plants * usual.good)
    lacking = [1.0 - enough.now, 0.0 if saved else 1.0 - enough.next]
    if fresh_seasons(facts) < ROW_SEASONS or time.when is When.NEVER:
        lacking[1] = 0.0
    if max(lacking) <= SHORT:
        return None
    parts = [math.ceil(good * share) for share in lacking]
    test = TEST_SEEDS if parts[1] else 0
    seeds = sum(parts) + max(parts) + test
    weight = kind_weight(facts)
    packet = max(int(packet_row(_weight_g(facts)).typical), 1)
    grams = None if weight is None else seeds * weight.tsw_g / 1000.0
    get_by, from_whom = how_to_get(row)
    values: dict[str, Value] = {
        "plants": plants,
        "now_pct": 100.0 * enough.now,
        "next_pct": 100.0 * enough.next,
        "seeds": seeds,
        "packets": math.ceil(seeds / packet),
        "packet_seeds": packet,
        "grams": math.nan if grams is None else grams,
        "for_now": parts[0],
        "for_next": parts[1],
        "again": max(parts),
        "test": test,
        "saved": saved,
        "from": from_whom,
        "left_out": sum(
            float(held.balance[at]) for at in living if judged.prospects.ahead.seasons[at] == 0
        ),
    }
    return OrderAnswer.of(
        Finding("order", values),
        variety=VarietyBrief(id=row_id(row.id), name=row.name, kind=facts.slug),
        other_keepers=row.other_keepers,
        plants_wanted=plants,
        assumed=not row.plants_wanted,
        get_by=get_by,
        enough_this_season=round(enough.now, 2),
        enough_next_season=round(enough.next, 2),
        seeds=seeds,
        grams=None if grams is None else float(f"{grams:.2g}"),
        packets=math.ceil(seeds / packet),
        packet_seeds=packet,
        for_this_season=parts[0],
        for_next_season=parts[1],
        to_sow_again=max(parts),
        to_test=test,
        before=time.opens_on,
    )


def _pieces(
    judged: Judgement, lots: list[int], row: Variety, facts: KindFacts
) -> OrderAnswer | None:
    """Planting stock that is lacking, a piece for each plant."""
    held = int(sum(judged.forecast.collection.balance[lots]))
    lacking = row.plants_wanted - held
    if lacking <= 0:
        return None
    get_by, from_whom = how_to_get(row)
    asked: dict[str, Value] = {"pieces": held, "plants": row.plants_wanted, "from": from_whom}
    return OrderAnswer.of(
        Finding("order-pieces", asked),
        variety=VarietyBrief(id=row_id(row.id), name=row.name, kind=facts.slug),
        other_keepers=row.other_keepers,
        plants_wanted=row.plants_wanted, assumed=False, get_by=get_by,
        enough_this_season=round(held / row.plants_wanted, 2), enough_next_season=0.0,
        seeds=lacking, grams=None, packets=0, packet_seeds=0, for_this_season=lacking,
        for_next_season=0, to_sow_again=0, to_test=0, before=None,
    )  # fmt: skip


def how_far(judged: Judgement, lots: list[int], reserve: int) -> Enough:
    """How far lots of one variety go: what fades first is sown first, the reserve never."""
    balance, ahead = judged.forecast.collection.balance, judged.prospects.ahead
    left = {at: float(balance[at]) for at in sorted(lots, key=lambda one: ahead.seasons[one])}
    spared = float(reserve)
    for at in reversed(left):
        back = min(left[at], spared)
        left[at], spared = left[at] - back, spared - back
    shares = []
    for season in range(ROW_SEASONS):
        share = 0.0
        for at in left:
            if ahead.seasons[at] <= season:
                continue
            need = float(sowing_seeds(judged, at))
            if season:
                times = plants_reckoned(judged, at) / float(judged.prospects.row_plants[at])
                need = times * float(ahead.seeds_next[at])
            used = min(left[at], need * (1.0 - share))
            left[at] -= used
            share += used / need
        shares.append(min(share, 1.0))
    return Enough(*shares)


def fresh_seasons(facts: KindFacts) -> int:
    """Seasons that a fresh packet stays over 0.8 of its viability, in a usual room: at least one.

    By the middle of what is known of the kind; at its first sowing it is half a year old.
    """
    known = facts.minimum_germination_pct
    floor = np.array([math.nan if known is None else known.value / 100.0])
    start = float(initial_viability(floor, np.array([True]))[0][0])
    fall = start - float(ndtri(FADED * ndtr(start)))
    years = math.exp(keeping_prior(facts).estimate.log_sigma) * fall / DAYS_PER_YEAR
    return max(1, int(years + FIRST_SOWN_YEARS))


def how_to_get(row: Variety) -> tuple[GetBy, str]:
    """Whether seed of a variety is bought or swapped for, and why."""
    if row.breeding is Breeding.F1:
        return GetBy.BUY, "f1"
    if row.other_keepers is not OtherKeepers.MANY:
        return GetBy.SWAP, row.other_keepers.value
    return GetBy.BUY, "many"


def _weight_g(facts: KindFacts) -> float | None:
    weight = kind_weight(facts)
    return None if weight is None else weight.tsw_g
