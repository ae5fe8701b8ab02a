"""How much of a mixture to sow: each part comes up as its own lot would, all in one bed."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from sqlmodel import Session

from seedbank.climate.garden_year import garden_years
from seedbank.common.answers import FindingAnswer, PercentAnswer, VarietyBrief, finding_answers
from seedbank.common.errors import Conflict
from seedbank.database.find import row_id
from seedbank.emergence.tables import SowingMethod
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.show_lots import lot_cautions
from seedbank.lots.tables.ledger import balance
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.lots.tables.mixtures import MixtureEntry, parts_of
from seedbank.science.quantities import INTERVAL_LEVEL, Finding, Interval, Value
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.mixture_rate import (
    MixtureRate,
    mixed_viability,
    mixture_of,
    mixture_rate,
)
from seedbank.science.sowing.shared_bed import Bed, LotOffer
from seedbank.science.sowing.usual_rate import RateAdvice
from seedbank.sowing.answers import CountAnswer
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.learn_from_sowings import learn_garden
from seedbank.sowing.mixture_answers import MixtureSowingAnswer, MixtureSownPart
from seedbank.sowing.rate_words import plan_b
from seedbank.sowing.setting import (
    Setting,
    ground_for,
    in_season,
    settle,
    sowing_place,
    unless_it_fails,
)
from seedbank.sowing.sowing_rate import SeedToSow
from seedbank.viability.forecast_viability import MOST_ADVISED, SEEDS_A_PLANT, forecast
from seedbank.viability.readiness import read_readiness
from seedbank.viability.tables.stock_columns import day_number


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of a mixture; without an ``offer`` nobody can say what of it comes up."""

    entry: MixtureEntry
    offer: LotOffer | None = None
    alive: PercentAnswer | None = None


def is_mixture(session: Session, code: str) -> bool:
    """Whether a lot is one. Raises MisreadCode, NotThere."""
    number = row_id(find_lot(session, code).id)
    return number in parts_of(session, [number])


def advise_mixture(
    session: Session, code: str, ask: SowingAsk, *, today: date
) -> MixtureSowingAnswer:
    """How much of a mixture to sow for the plants wanted, of all its parts together.

    Raises MisreadCode, NotThere. Refused: as for a lot. Conflict: it is no mixture, none of its
    parts is known with its share, or it holds no seed.
    """
    lot = find_lot(session, code)
    number = row_id(lot.id)
    variety = session.get_one(Variety, lot.variety_id)
    facts = facts_for(session, session.get_one(Kind, variety.kind_id))
    year = garden_years(session).at(None)
    setting = in_season(settle(ask, variety, facts, today=today), facts, year, variety.season)
    entries = parts_of(session, [number]).get(number, [])
    if not entries:
        raise Conflict("lot-is-no-mixture", "code", lot.code)
    parts = _parts(session, entries, setting, today)
    if not any(one.offer for one in parts):
        raise Conflict("mixture-sown-by-parts", "code", lot.code)
    held = balance(session, number).seeds
    if held == 0:
        raise Conflict("lot-holds-no-seed", "code", lot.code)
    garden = learn_garden(session, today=today)
    ground = ground_for(setting, garden)
    known = [(one.offer, one.entry.part.share or 0.0) for one in parts if one.offer is not None]
    offers, shares = [offer for offer, _ in known], [share for _, share in known]
    bed = Bed(unless_it_fails(ground), ground.pests.share, garden.patches[setting.protection])
    brief = VarietyBrief(id=row_id(variety.id), name=variety.name, kind=facts.slug)
    if setting.confidence is not None:
        most = min(MOST_ADVISED, SEEDS_A_PLANT * setting.plants) if held is None else held
        rate = mixture_rate(offers, shares, bed, setting.plants, setting.confidence, most)
        return _answer(lot, facts, brief, setting, parts, (rate, None))
    awake = [share * offer.ready for offer, share in known]
    place = sowing_place(setting, ground, garden, None, facts)
    lots = [offer.viability for offer in offers]
    as_one = mixed_viability(lots, awake, ground.shift.law.mean)
    seed = SeedToSow(as_one, held, alive=mixed_viability(lots, shares))
    advice = place.advise(seed, setting.plants)
    rate = mixture_of(offers, shares, bed, setting.plants, advice.units)
    return _answer(lot, facts, brief, setting, parts, (rate, advice))


def _parts(
    session: Session, entries: list[MixtureEntry], setting: Setting, today: date
) -> list[_Part]:
    numbers = [row_id(one.lot.id) for one in entries if one.lot is not None]
    if not numbers:
        return [_Part(one) for one in entries]
    seen, ready = forecast(session, today=today, lot_ids=numbers), read_readiness(session, numbers)
    dose = seen.dose_on(day_number(setting.day))
    nodes, band = seen.posterior.nodes(dose), seen.posterior.band(dose)
    place = {number: at for at, number in enumerate(seen.collection.lot_id.tolist())}
    found = []
    for one in entries:
        at = None if one.lot is None else place[row_id(one.lot.id)]
        if at is None or one.lot is None or not seen.reckoned(at):
            found.append(_Part(one))
            continue
        ends = Interval(float(band.low_90[at]), float(band.high_90[at]), INTERVAL_LEVEL)
        alive = PercentAnswer.of(float(band.median[at]), ends)
        offer = LotOffer(
            one.lot.code,
            0,
            WeightedNodes(np.asarray(nodes.probit[at]), np.asarray(nodes.weight[at])),
            MOST_ADVISED,
            ready.on(row_id(one.lot.id), setting.day).share.mean,
        )
        found.append(_Part(one, offer if one.part.share else None, alive))
    return found


def _answer(
    lot: Lot,
    facts: KindFacts,
    variety: VarietyBrief,
    setting: Setting,
    parts: list[_Part],
    advised: tuple[MixtureRate, RateAdvice | None],
) -> MixtureSowingAnswer:
    """With an advice on the rate enough is a good crop in the end, likely."""
    rate, advice = advised
    seeds = iter(rate.of_parts)
    unknown = 1.0 - sum(one.entry.part.share or 0.0 for one in parts if one.offer)
    reasons = [Finding("mixture-sown-together")]
    if unknown > 0.005:
        reasons.append(Finding("mixture-part-unknown", {"share": unknown}))
    enough = rate.enough if advice is None else advice.enough
    if not enough:
        chance = rate.reached if advice is None else advice.outlook.good_end
        asked = advice is None
        reasons.append(Finding("mixture-not-enough", {"chance": chance, "asked": asked}))
    plants = rate.plants.summary()
    chances: dict[str, Value] = {
        "asked": advice is None, "plants": setting.plants, "chance": rate.reached,
        "first": 0.0 if advice is None else advice.outlook.good_first,
        "end": 0.0 if advice is None else advice.outlook.good_end,
    }  # fmt: skip
    places = setting.plants if enough else min(plants.range.high, setting.plants)
    row_m = round(places * setting.spacing_cm / 100.0, 2)
    expected = advice and advice.outlook
    return MixtureSowingAnswer(
        lot=lot.code,
        variety=variety,
        sow_on=setting.day,
        method=setting.method,
        protection=setting.protection,
        plants_wanted=setting.plants,
        out_of_season=setting.season.missed and FindingAnswer.of(setting.season.missed),
        confidence_pct=setting.confidence and round(100.0 * setting.confidence, 2),
        seeds=rate.seeds,
        enough=enough,
        good_first_pct=expected and round(100.0 * expected.good_first, 1),
        good_end_pct=expected and round(100.0 * expected.good_end, 1),
        chance_of_enough=round(rate.reached, 4),
        how_sure=FindingAnswer.of(Finding("mixture-chance", chances)),
        plan_b=advice and plan_b(advice, setting),
        plants=CountAnswer.of(plants),
        row_m=row_m if setting.method is SowingMethod.ROW else None,
        parts=[
            MixtureSownPart(
                lot=one.entry.lot.code if one.entry.lot else None,
                name=one.entry.part.name,
                share=one.entry.part.share,
                seeds=next(seeds) if one.offer else None,
                viability=one.alive,
            )
            for one in parts
        ],
        reasons=finding_answers([*reasons, *setting.assumed]),
        soil=FindingAnswer.of(setting.soil.caution),
        cautions=lot_cautions(lot, facts),
    )
