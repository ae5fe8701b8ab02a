"""Why the advice is what it is, where it is weak, and what else could be done."""

from collections.abc import Sequence

from seedbank.common.answers import PercentAnswer
from seedbank.emergence.tables import SowingMethod
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.tables import OtherKeepers
from seedbank.science.quantities import Finding, Interval, Value
from seedbank.science.sowing.seed_need import SeedNeed
from seedbank.science.sowing.soil_warmth import UNFIT
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.sowing.answers import AlternativeAnswer
from seedbank.sowing.setting import Ground, Setting
from seedbank.sowing.sowable_lots import SowableLot, VarietyStock
from seedbank.viability.readiness import ReadyShare

_MOST_OTHER_LOTS = 3  # named beside the one asked about, the likeliest alive first: our choice
_UNSURE_STOCK = 0.1  # share of the amount left that its error may be before it is said; our choice
_MUCH_ASLEEP = 0.1  # share of living seed not awake when sown before that is said; our choice
_FAR_AHEAD_YEARS = 2.0  # of a sowing before that is said; our choice
_LITTLE = 0.05  # probits; a seedbed this close to the published one is as published


def setting_reasons(setting: Setting, ground: Ground) -> list[Finding]:
    """What was filled in, and what seedbed and pests are expected."""
    found, pests = list(setting.assumed), ground.pests
    own = [part for part in ground.shift.contributions if part.sowings]
    for part in own:
        worse, better = part.shift > _LITTLE, part.shift < -_LITTLE
        values: dict[str, Value] = {
            "effect": part.effect,
            "level": part.level.replace("-", " ") if part.effect == "kind" else part.level,
            "season": setting.conditions.season,
            "year": setting.conditions.year,
            "sowings": part.sowings,
            "came_up": "worse" if worse else "better" if better else "as-published",
        }
        found.append(Finding("seedbed-taught", values))
    if not own:
        found.append(Finding("seedbed-untaught"))
    eaten = _chance_between(pests.share.mean, pests.range)
    found.append(Finding("pests-expected", {**eaten, "sowings": pests.sowings}))
    if setting.soil.verdict == "slow":
        found.append(setting.soil.caution)
    if setting.conditions.temperature_shift is None:
        found.append(Finding("seedbed-ordinary"))
    return found


def lot_reasons(
    lot: SowableLot, setting: Setting, emergence: PercentAnswer, need: SeedNeed
) -> list[Finding]:
    """What the amount of one lot rests on."""
    alive = {**_chance_between(lot.median, lot.range), "guessed": lot.fleeting}
    up = {"of_100": emergence.pct, "low": emergence.low_pct, "high": emergence.high_pct}
    found = [
        Finding("sowing-alive-by-then", {"on": setting.day, **alive}),
        Finding("sowing-comes-up", up),
        _readiness(lot.ready),
    ]
    if setting.method is SowingMethod.STATION and setting.confidence is not None:
        found.append(Finding("sowing-enough-stations"))
    if setting.method is SowingMethod.MODULE and setting.confidence is not None:
        found.append(Finding("sowing-enough-cells"))
    return [*found, *shortfall(need, setting, counted=lot.held.seeds is not None)]


def shortfall(need: SeedNeed, setting: Setting, *, counted: bool) -> list[Finding]:
    """What the seed can give where it can't give what a confidence asked for wants."""
    if need.attained or setting.confidence is None:
        return []
    values: dict[str, Value] = {
        "counted": counted,
        "seeds": need.seeds,
        "p_wanted": need.confidence,
        "sure_plants": need.sure_plants,
        "plants": setting.plants,
        "p_enough": need.reached,
    }
    return [Finding("sowing-shortfall", values)]


def unit_reasons(facts: KindFacts) -> list[Finding]:
    """What is counted as one seed, where that is no single seed."""
    if facts.seed_unit.value != "cluster":
        return []
    each = facts.seedlings_per_unit.value
    seedlings = {"seedlings": each.typical, "low": each.low, "high": each.high}
    return [Finding("sowing-cluster", {"kind": facts.name, **seedlings})]


def setting_warnings(setting: Setting) -> list[Finding]:
    """What to beware of with any lot sown there."""
    found = [setting.soil.caution] if setting.soil.verdict in UNFIT else []
    years = setting.days_ahead / DAYS_PER_YEAR
    if years > _FAR_AHEAD_YEARS:  # the seed will have been tested again, and the plans changed
        found.append(Finding("sowing-far-ahead", {"years": years}))
    return [*found, Finding("sowing-losses-left-out")]


def stock_warnings(lot: SowableLot, kept_back: int, seeds: int) -> list[Finding]:
    """What to beware of in how much there is, where ``seeds`` are advised."""
    found, held = not_counted(lot, seeds), lot.held
    if held.seeds is not None and held.seeds_se > _UNSURE_STOCK * held.seeds:
        stock = {"seeds": held.seeds, "seeds_se": held.seeds_se}
        found.append(Finding("sowing-stock-unsure", stock))
    if kept_back:
        found.append(Finding("sowing-reserve-kept", {"seeds": kept_back}))
    test = lot.ready.test
    p_asleep = 1.0 - lot.ready.share.mean
    if test is not None and test.asleep and p_asleep > _MUCH_ASLEEP:
        asleep = {"asleep_seeds": test.asleep, "living_seeds": test.viable, "p_asleep": p_asleep}
        found.append(Finding("sowing-asleep", {**asleep, "tested_on": test.started_on}))
    return found


def not_counted(lot: SowableLot, seeds: int) -> list[Finding]:
    """That nobody knows whether the lot holds the ``seeds`` advised, where that is so."""
    if lot.held.seeds is not None:
        return []
    return [Finding("sowing-not-counted", {"p_held": lot.chance_it_holds(seeds), "seeds": seeds})]


def alternative_answers(
    found: Sequence[Finding], stock: VarietyStock, lot: SowableLot
) -> list[AlternativeAnswer]:
    """What else to do, with the lots there really are and no shop for what no shop has."""
    usable = (other for other in stock.lots if other is not lot and other.usable)
    others = tuple(
        Finding("lot-at-hand", {"lot": o.lot.code, "seeds": o.held.seeds, "p_alive": o.median})
        for o in sorted(usable, key=lambda other: -other.median)[:_MOST_OTHER_LOTS]
    )
    cannot = {
        "pre-germinate": lot.lot.treated,  # treated seed isn't to be handled wet
        "other-lot": not others,
        "buy": stock.variety.other_keepers is OtherKeepers.NONE,
    }
    return [
        AlternativeAnswer.of(Finding(one.code, {**one.values, "lots": others}), seeds=_tested(one))
        for one in found
        if not cannot.get(one.code, False)
    ]


def _tested(one: Finding) -> int | None:
    return int(one.numbers["seeds"]) if one.code == "test-first" else None


def _readiness(ready: ReadyShare) -> Finding:
    if ready.test is None:
        return Finding("sowing-dormancy-untested")
    seeds = {"sprouted_seeds": ready.test.normal, "living_seeds": ready.test.viable}
    share = _chance_between(ready.share.mean, ready.range)
    share["asleep"] = ready.test.asleep > 0
    return Finding("sowing-ready", {**seeds, "tested_on": ready.test.started_on, **share})


def _chance_between(chance: float, interval: Interval) -> dict[str, Value]:
    return {"p": chance, "p_low": interval.low, "p_high": interval.high}
