"""Who may cross with a wanted seed crop, when and how near, and what keeps them apart.

A stand endangers the seed when its species is the crop's own or is listed as crossing in part, it
is another variety, and nothing isolates it: enough metres, no shared flowering day, or a cage, bag
or hand pollination that holds against what carries the pollen. Metres and days count pair by pair.

Source: common practice of seed saving, no single source; distances come from the kind.

Outside checks: every isolation way against a table written by hand, monotone properties.
"""

from collections.abc import Collection, Iterable, Sequence

from seedbank.science.crossing.crossing_advice import mends_for, warnings_for
from seedbank.science.crossing.crossing_risk import (
    MATING_WEIGHT,
    RELATION_WEIGHT,
    Carrier,
    Likelihood,
    PartialCross,
    Relation,
    Requirement,
    likelihood,
    relation_of,
    risk_index,
)
from seedbank.science.crossing.crossing_stands import (
    CrossingCheck,
    Exposure,
    FloweringStand,
    Standing,
    Way,
)
from seedbank.science.crossing.flowering_days import WHOLE_YEAR, DayWindow, shared_windows

_HOLDS_AGAINST = {
    # Netting and paper stop insects; the fine pollen of beet or spinach passes a cage, and bagged
    # plants of a wind-pollinated crop get none of each other's. Common practice, no single source.
    Way.CAGE: (Carrier.SELF, Carrier.INSECT),
    Way.BAG: (Carrier.SELF, Carrier.INSECT),
    Way.HAND_POLLINATION: (Carrier.SELF, Carrier.INSECT, Carrier.WIND),
}


def holds(way: Way, carrier: Carrier) -> bool:
    """Whether a cover or hand work keeps out pollen borne by ``carrier``; False for other ways.

    Common practice, no single source. Outside check: a table written by hand.
    """
    return carrier in _HOLDS_AGAINST.get(way, ())


def check_crossing(
    target: FloweringStand,
    requirement: Requirement,
    others: Iterable[FloweringStand],
    protections: Collection[Way] = (),
    pairs: Sequence[PartialCross] = (),
) -> CrossingCheck:
    """What may cross with ``target`` at ``requirement`` metres under ``protections``.

    ``others`` are all stands that flower in the same year, their ``distance_m`` measured to the
    target; those of the target's own variety and of other species are passed over. ``pairs`` are
    the groups that cross in part. Unknown distances count as 0 m and unknown windows as wholly
    shared, each with a caution. Outside check: a table of cases written by hand.
    """
    holding = tuple(way for way in Way if way in protections and holds(way, target.carrier))
    exposures = [
        _expose(target, requirement, other, relation, holding)
        for other in others
        if (relation := relation_of(target.group, other.group, pairs)) is not None
        and not _same_variety(target, other)
    ]
    exposures.sort(key=lambda e: (-e.risk, e.stand.name, e.stand.distance_m or 0.0))
    at_risk = any(not e.isolated_by for e in exposures)
    return CrossingCheck(
        target,
        requirement,
        tuple(exposures),
        Standing.RISK if at_risk else Standing.ISOLATED,
        _worst(exposures),
        () if at_risk else _ways(holding, exposures),
        warnings_for(target, requirement, exposures, protections),
    )


def _same_variety(target: FloweringStand, other: FloweringStand) -> bool:
    known = target.variety is not None and target.variety == other.variety
    return known and target.group == other.group


def _expose(
    target: FloweringStand,
    requirement: Requirement,
    other: FloweringStand,
    relation: Relation,
    holding: tuple[Way, ...],
) -> Exposure:
    shared, share = _shared(target.flowering, other.flowering)
    required = requirement.distance_m
    metres = other.distance_m or 0.0
    ratio = metres / required if required > 0.0 else 1.0
    ways = set(holding)
    if other.covered and other.carrier is not Carrier.WIND:
        ways.add(Way.CAGE)
    if ratio >= 1.0:
        ways.add(Way.DISTANCE)
    if not shared:
        ways.add(Way.TIME)
    isolated_by = tuple(way for way in Way if way in ways)
    weights = RELATION_WEIGHT[relation], MATING_WEIGHT[target.mating]
    risk = 0.0 if isolated_by else float(risk_index(ratio, share, *weights))
    return Exposure(
        other,
        relation,
        required,
        shared,
        sum(window.days for window in shared),
        share,
        isolated_by,
        risk,
        likelihood(risk),
        () if isolated_by else mends_for(target, other, required, shared),
    )


def _shared(
    target: DayWindow | None, other: DayWindow | None
) -> tuple[tuple[DayWindow, ...], float]:
    if target is None or other is None:
        return (target or other or WHOLE_YEAR,), 1.0
    shared = shared_windows(target, other)
    return shared, sum(window.days for window in shared) / target.days


def _worst(exposures: Sequence[Exposure]) -> Likelihood:
    order = list(Likelihood)
    return max((e.likelihood for e in exposures), key=order.index, default=Likelihood.NONE)


def _ways(holding: tuple[Way, ...], exposures: Sequence[Exposure]) -> tuple[Way, ...]:
    if not exposures:
        return (*holding, Way.ONLY_VARIETY)
    used = {way for e in exposures for way in e.isolated_by}
    return tuple(way for way in Way if way in used)
