"""The rate told: usual, this lot's correction, how sure, plan B."""

import math

from seedbank.common.answers import FindingAnswer, Source
from seedbank.emergence.tables import SowingMethod
from seedbank.lots.tables.lots import SeedForm
from seedbank.science.quantities import Finding, Value
from seedbank.science.sowing.crop_filling import PLACES
from seedbank.science.sowing.usual_rate import RateAdvice, Say
from seedbank.sowing.answers import PlanBAnswer, RateAnswer
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
        times=round(advice.times, 2),
        advised=round(advice.rate * each, 2),
        most=round(advice.usual.most * each, 2),
        capped=advice.capped,
        say=FindingAnswer.of(Finding(_SAYS[advice.say], _sown(advice))),
        usual=FindingAnswer.of(Finding("rate-usual", usual)),
        why=FindingAnswer.of(_why(advice, lot, each, per)),
        sure=FindingAnswer.of(_sure(advice)),
        good_first_pct=round(100.0 * expected.good_first, 1),
        good_end_pct=round(100.0 * expected.good_end, 1),
        cost_plants=round(expected.cost, 2),
        plan_b=_plan_b(advice, setting, each, unit),
    )


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


def _sure(advice: RateAdvice) -> Finding:
    expected = advice.outlook
    values: dict[str, Value] = {
        "p_first": expected.good_first,
        "p_end": expected.good_end,
        "p_again": expected.again,
        "plants": math.ceil(0.8 * advice.bed.crop.wanted - 1e-9),
    }
    return Finding("rate-sure", values)


def _plan_b(advice: RateAdvice, setting: Setting, each: float, unit: str) -> PlanBAnswer | None:
    expected, season = advice.outlook, setting.season
    below = math.ceil(expected.trigger - 1e-9)
    if below < 1 or not season.again or expected.again_rate <= 0.0:
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
