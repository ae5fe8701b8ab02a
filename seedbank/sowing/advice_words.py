"""Why the advice is what it is, where it is weak, and what else could be done, in plain words."""

from collections.abc import Sequence

from seedbank.common.amount_words import seeds_in_words
from seedbank.common.answers import PercentAnswer
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.tables import OtherKeepers
from seedbank.science.quantities import Interval, about, percent
from seedbank.science.sowing.seed_need import SeedNeed
from seedbank.science.sowing.soil_warmth import UNFIT
from seedbank.science.sowing.sowing import Alternative
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.sowing.answers import AlternativeAnswer
from seedbank.sowing.setting import Ground, Setting
from seedbank.sowing.sowable_lots import ReadyShare, SowableLot, VarietyStock
from seedbank.sowing.tables import SowingMethod

_UNSURE_STOCK = 0.1  # share of the amount left that its error may be before it is said; our choice
_MOST_A_PLANT = 15.0  # seeds sown for each plant before that is said; our choice
_FAR_AHEAD_YEARS = 2.0  # of a sowing before that is said; our choice
_LITTLE = 0.05  # probits; a seedbed this close to the published one is as published
_WHERE = {
    "your garden": "In your garden",
    "row": "In rows",
    "station": "At stations",
    "module": "In cells of a tray",
    "broadcast": "Scattered",
    "open": "In open ground",
    "fleece": "Under fleece",
    "cold-frame": "In a cold frame",
    "tunnel": "In a tunnel or greenhouse",
    "indoors": "Indoors",
}
_NOT_RECKONED = (
    "Frost and drought after sowing are not reckoned in, nor seedlings that die for other reasons "
    "than pests."
)


def setting_reasons(setting: Setting, ground: Ground) -> list[str]:
    """What was filled in, and what seedbed and pests are expected."""
    said = list(setting.assumed)
    own = [part for part in ground.shift.contributions if part.words.endswith("of yours")]
    for part in own:
        turned = "worse" if part.shift > _LITTLE else "better" if part.shift < -_LITTLE else ""
        how = f"came up {turned} than published" if turned else "came up about as published"
        where, sowings = part.words.split(", from ")
        said.append(f"{_WHERE.get(where, _capital(where.replace('-', ' ')))}: {sowings} {how}.")
    if not own:
        said.append("None of your sowings tells of such a seedbed yet: published losses are taken.")
    eaten = ground.pests
    said.append(
        f"Pests are taken to eat {about(eaten.share.mean)} {_between(eaten.range)}; that rests on "
        f"{eaten.source}."
    )
    if setting.soil.verdict == "slow":
        said.append(setting.soil.caution)
    if setting.conditions.temperature_shift is None:
        said.append("Without a soil temperature an ordinary season's seedbed is taken.")
    return said


def lot_reasons(
    lot: SowableLot, setting: Setting, emergence: PercentAnswer, need: SeedNeed
) -> list[str]:
    """What the amount of one lot rests on."""
    said = [
        f"On {setting.day.isoformat()} {about(lot.median)} of the lot is alive "
        f"{_between(lot.range)}"
        f"{', a guess from its age alone' if lot.fleeting else ''}.",
        f"Of 100 seeds sown about {emergence.pct:.0f} come up and are left by pests "
        f"({emergence.low_pct:.0f} to {emergence.high_pct:.0f}).",
        _readiness(lot.ready),
    ]
    if setting.method is SowingMethod.STATION:
        said.append("Enough means that 95 % of the stations have at least one plant.")
    if setting.method is SowingMethod.MODULE:
        said.append("Enough means as many cells with at least one plant as plants are wanted.")
    return [*said, *shortfall(need, setting, counted=lot.held.seeds is not None)]


def shortfall(need: SeedNeed, setting: Setting, *, counted: bool) -> list[str]:
    """What the seed can give where it can't give enough, or is worth sowing where not counted."""
    if need.attained:
        return []
    what = "All that may be sown" if counted else f"Even {need.seeds} seeds of it"
    return [
        f"{what} can be relied on ({percent(need.confidence)}) for "
        f"{need.sure_plants} of the {setting.plants} plants; the chance of all of them is "
        f"{percent(need.reached)}."
    ]


def unit_reasons(facts: KindFacts) -> list[str]:
    """What is counted as one seed, where that is no single seed."""
    if facts.seed_unit.value != "cluster":
        return []
    each = facts.seedlings_per_unit.value
    return [
        f"A seed of {facts.name} is a cluster or fruit that gives about {each.typical:g} seedlings "
        f"({each.low:g} to {each.high:g}) when it comes up; all but one are thinned."
    ]


def density_warnings(need: SeedNeed) -> list[str]:
    """Where so much seed goes on each plant that the seedlings will smother one another."""
    each = need.seeds / max(need.wanted, 1)
    if not need.attained or each <= _MOST_A_PLANT:
        return []
    return [
        f"That is {each:.0f} seeds for each plant wanted, thicker than can well be thinned: "
        "modules, warmer soil or another lot would waste less."
    ]


def setting_warnings(setting: Setting) -> list[str]:
    """What to beware of with any lot sown there."""
    cold = [setting.soil.caution] if setting.soil.verdict in UNFIT else []
    return [*cold, *_far_ahead(setting), _NOT_RECKONED]


def _far_ahead(setting: Setting) -> list[str]:
    """So far ahead the seed will have been tested again, and the plans changed."""
    if setting.days_ahead <= _FAR_AHEAD_YEARS * DAYS_PER_YEAR:
        return []
    years = setting.days_ahead / DAYS_PER_YEAR
    return [
        f"That is {years:.1f} years ahead: the seed is reckoned to lie until then where it is now. "
        "See that the year is right, and ask again nearer the day."
    ]


def stock_warnings(lot: SowableLot, kept_back: int) -> list[str]:
    """What to beware of in how much there is."""
    said = not_counted(lot)
    if lot.held.seeds is not None and lot.held.seeds_se > _UNSURE_STOCK * lot.held.seeds:
        error = round(lot.held.seeds_se)
        said.append(
            f"The lot holds {lot.held.seeds} seeds give or take {error}: take stock before you "
            "rely on the last of them."
        )
    if kept_back:
        said.append(
            f"{kept_back} seeds are kept back as the reserve of a rare variety; ask to sow the "
            "reserve too if you mean to renew it."
        )
    test = lot.ready.test
    if test is not None and test.asleep * 10 > test.viable:
        said.append(
            f"{test.asleep} of {test.viable} living seeds in the test of "
            f"{test.started_on.isoformat()} were hard or dormant: such seed won't come up this "
            "season unless it is nicked or chilled first. Dormancy of fresh seed fades; test again."
        )
    return said


def not_counted(lot: SowableLot) -> list[str]:
    """That nobody knows whether the lot holds what is advised, where that is so."""
    if lot.held.seeds is not None:
        return []
    return ["You have some of it, not counted: see that there is as much as this before you sow."]


def alternatives(
    found: Sequence[Alternative], stock: VarietyStock, lot: SowableLot
) -> list[AlternativeAnswer]:
    """What else to do, with the lots there really are and no shop for what no shop has."""
    others = [o for o in stock.lots if o is not lot and o.usable]
    alone = stock.variety.other_keepers is OtherKeepers.NONE
    told = []
    for one in found:
        text = one.words
        if one.code == "pre-germinate" and lot.lot.treated:  # treated seed isn't to be handled wet
            continue
        if one.code == "other-lot":
            if not others:
                continue
            named = ", ".join(
                f"{o.lot.code} ({seeds_in_words(o.held.seeds)}, {about(o.median)} alive)"
                for o in others
            )
            text = f"{text} There is {named}."
        if one.code == "buy" and alone:
            continue
        told.append(AlternativeAnswer(code=one.code, text=text, seeds=one.seeds))
    return told


def _readiness(ready: ReadyShare) -> str:
    if ready.test is None:
        return (
            "No test of untreated seed tells of dormancy: nearly all living seed is taken to be "
            "ready to sprout."
        )
    return (
        f"{ready.test.normal} of {ready.test.viable} living seeds sprouted untreated in the test "
        f"of {ready.test.started_on.isoformat()}, so {about(ready.share.mean)} "
        f"{_between(ready.range)} is ready to come up."
    )


def _between(interval: Interval) -> str:
    return f"({percent(interval.low)} to {percent(interval.high)})"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
