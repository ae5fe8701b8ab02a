"""The rate told: usual, this lot's correction, how sure, plan B."""

import math

from seedbank.common.answers import FindingAnswer, Source
from seedbank.emergence.tables import SowingMethod
from seedbank.lots.tables.lots import SeedForm
from seedbank.science.quantities import Finding, Value
from seedbank.science.sowing.crop_filling import PLACES
from seedbank.science.sowing.hand_measures import (
    SPOTS,
    fewest_at_spots,
    pinch_for,
    under_a_hand,
)
from seedbank.science.sowing.usual_rate import RateAdvice, Say, thickness_step
from seedbank.sowing.answers import HandAnswer, PlanBAnswer, RateAnswer
from seedbank.sowing.setting import Setting
from seedbank.sowing.sowable_lots import SowableLot
from seedbank.sowing.sowing_rate import SowingPlace

_UNIT = {
    SowingMethod.ROW: "metre",
    SowingMethod.STATION: "station",
    SowingMethod.MODULE: "cell",
    SowingMethod.BROADCAST: "m2",
}
_SAYS = {
    Say.SOW: "rate-sow",
    Say.SOW_TWICE: "rate-sow-and-plan-again",
    Say.TEST_FIRST: "rate-test-first-or-fresh",
    Say.NOT_WORTH_IT: "rate-not-worth-the-bed",
}
_SAME_RATE = 0.02  # of the rate; a range narrower than that is one number
_SHORT = 0.9  # of the usual rate: less is too little seed …
_HELD_BACK = 2.0  # … where it is for want of it: half of short seed is held for a second sowing
_NEARLY = 0.1  # of the rate; a correction within it is none


def rate_answer(
    advice: RateAdvice, place: SowingPlace, setting: Setting, lot: SowableLot
) -> RateAnswer:
    """Everything about a rate, in units a metre, station, cell or m²."""
    unit, each = _UNIT[setting.method], units_each(setting)
    expected = advice.outlook
    low, high = advice.usual.low * each, advice.usual.high * each
    per: dict[str, Value] = {"unit": unit}
    printed = place.printed
    basis = "none" if printed is None else printed.basis.value.replace(" ", "-")
    basis = "pelleted" if lot.lot.seed_form is SeedForm.PELLETED else basis
    usual: dict[str, Value] = {**per, "low": low, "high": high, "basis": basis}
    usual["one_rate"] = high - low < _SAME_RATE * high
    return RateAnswer(
        unit=unit,
        usual_low=round(low, 2),
        usual_high=round(high, 2),
        good_lot=round(advice.good_lot * each, 2),
        usual_rate=round(advice.usual_good * each, 2),
        usual_most=round(advice.rate / advice.thickness * each, 2),
        thickness=round(advice.thickness, 2),
        step=_step(advice),
        sign=FindingAnswer.of(_sign(advice, setting)),
        times=round(advice.times, 2),
        advised=round(advice.rate * each, 2),
        most=round(advice.usual.most * each, 2),
        capped=advice.capped,
        say=FindingAnswer.of(Finding(_SAYS[advice.say], _sown(advice))),
        usual=FindingAnswer.of(Finding("rate-usual", usual)),
        why=FindingAnswer.of(_why(advice, lot, each, per)),
        sure=FindingAnswer.of(_sure(advice, unit)),
        good_first_pct=round(100.0 * expected.good_first, 1),
        good_end_pct=round(100.0 * expected.good_end, 1),
        cost_plants=round(expected.cost, 2),
        plan_b=plan_b(advice, setting),
        hand=_by_hand(advice, place, setting, each),
    )


def _step(advice: RateAdvice) -> str:
    """How much thicker than a good lot it is sown, as a step."""
    return thickness_step(advice.thickness)


def _sign(advice: RateAdvice, setting: Setting) -> Finding:
    """The one plain answer; too little seed is told before what it would ask."""
    stock, usual = advice.bed.stock, advice.usual_good
    little = stock is not None and stock < _HELD_BACK * usual * advice.bed.places
    short = little and advice.rate < _SHORT * usual
    told = {Say.NOT_WORTH_IT: "no-bed", Say.TEST_FIRST: "weak"}
    what = "short" if short else told.get(advice.say, _step(advice))
    values: dict[str, Value] = {"what": what, "plants": setting.plants, "seeds": advice.units}
    return Finding("sow-sign", values)


def _by_hand(
    advice: RateAdvice, place: SowingPlace, setting: Setting, each: float
) -> HandAnswer | None:
    if setting.method is not SowingMethod.ROW:
        return None
    rate, span_cm = advice.rate * each, setting.hand_span_cm
    pinch = pinch_for(rate) if place.way == "drilled" else None
    below = _trigger(advice, setting)
    row_m = setting.plants * setting.spacing_cm / 100.0
    return HandAnswer(
        span_cm=span_cm,
        usual_a_span=round(under_a_hand(advice.usual_good * each, span_cm), 1),
        seeds_a_span=round(under_a_hand(rate, span_cm), 1),
        pinch_seeds=pinch and pinch.seeds,
        pinch_every_cm=pinch and pinch.every_cm,
        spots=SPOTS,
        spots_below=None if below is None else fewest_at_spots(below, row_m, span_cm),
    )


def _trigger(advice: RateAdvice, setting: Setting) -> int | None:
    """Fewer plants than so many call for a second sowing; None: none would be made."""
    below = math.ceil(advice.outlook.trigger - 1e-9)
    if below < 1 or not setting.season.again or advice.outlook.again_rate <= 0.0:
        return None
    return below


def units_each(setting: Setting) -> float:
    """Places in a metre of row or m² of bed; 1 at a station or cell."""
    if setting.method is SowingMethod.ROW:
        return 100.0 / setting.spacing_cm
    return setting.plants_per_m2 if setting.method is SowingMethod.BROADCAST else 1.0


def rate_sources(place: SowingPlace) -> list[Source]:
    """Where the usual rate is printed."""
    printed = place.printed
    found = () if printed is None else printed.sources
    return [Source(text=f"seed rate: {one.text}", confidence=one.confidence) for one in found]


def _sown(advice: RateAdvice) -> dict[str, Value]:
    return {"seeds": advice.units, "p_good": advice.outlook.good_end}


def _why(advice: RateAdvice, lot: SowableLot, each: float, per: dict[str, Value]) -> Finding:
    near = abs(advice.times - 1.0) <= _NEARLY
    tested = lot.ready.test is not None
    values: dict[str, Value] = {
        **per,
        "times": advice.times,
        "change": "same" if near else "thicker" if advice.times > 1.0 else "thinner",
        "good": advice.good_lot * each,
        "harvest_year": lot.harvest_year,
        "p_alive": lot.median,
        "tested": tested,
        "capped": advice.capped,
        "most": advice.usual.most * each,
    }
    return Finding("rate-lot", values)


def _sure(advice: RateAdvice, unit: str) -> Finding:
    expected = advice.outlook
    tenths = [round(10.0 * chance) for chance in (expected.good_first, expected.good_end)]
    values: dict[str, Value] = {
        "unit": unit,
        "tenths_first": tenths[0],
        "tenths_end": tenths[1],
        "again": tenths[0] != tenths[1],
        "p_first": expected.good_first,
        "p_end": expected.good_end,
        "p_again": expected.again,
        "plants": math.ceil(0.8 * advice.bed.crop.wanted - 1e-9),
    }
    return Finding("rate-sure", values)


def plan_b(advice: RateAdvice, setting: Setting) -> PlanBAnswer | None:
    """When to sow the gaps again, and how thickly. None: nothing to gain, no seed or too late."""
    unit, each = _UNIT[setting.method], units_each(setting)
    expected, season = advice.outlook, setting.season
    below = _trigger(advice, setting)
    if below is None:
        return None
    places = advice.bed.crop.way in PLACES
    rate = expected.again_rate * each
    values: dict[str, Value] = {
        "below": below,
        "seen": ("cells" if unit == "cell" else "stations") if places else "plants",
        "count_on": season.count_on,
        "last_on": season.last_on,
        "rate": float(max(round(rate), 1)) if places else rate,
        "unit": unit,
        "p": expected.again,
    }
    return PlanBAnswer.of(
        Finding("plan-b", values),
        below_plants=below,
        count_on=season.count_on,
        last_on=season.last_on,
        rate=round(rate, 2),
        chance_pct=round(100.0 * expected.again, 1),
    )
