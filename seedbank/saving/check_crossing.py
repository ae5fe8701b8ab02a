"""Who may cross with a seed crop here and this year, the purity its seed would carry, and what
can be saved true alongside what.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session, col, select

from seedbank.climate.garden_year import relative_at
from seedbank.common.answers import (
    FindingAnswer,
    Source,
    VarietyBrief,
    distinct,
    finding_answers,
)
from seedbank.database.find import named_in, row_id
from seedbank.facts.flowering import partial_crosses, relatives
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import sources_of
from seedbank.kinds.answers import source_of
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.tables import Breeding, Kind, Variety, find_variety, get_variety
from seedbank.lots.tables.lots import Isolation, Lot, Purity
from seedbank.saving.answers import (
    AlongsideAnswer,
    CrossingAnswer,
    CrossingGroupAnswer,
    ExposureAnswer,
    MendAnswer,
    PartlyCrossingAnswer,
    RelativeAnswer,
    SiteBrief,
)
from seedbank.saving.edit_sites import site_named
from seedbank.saving.gather_flowering import (
    Year,
    carrier_of,
    group_of,
    mating_of,
    plant_name,
    read_year,
    seen_window,
    used_windows,
)
from seedbank.saving.tables import SeedCrop, find_seed_crop
from seedbank.science.crossing.crossing import check_crossing
from seedbank.science.crossing.crossing_advice import purity_found
from seedbank.science.crossing.crossing_risk import Purpose, distance_required
from seedbank.science.crossing.crossing_stands import (
    CrossingCheck,
    Exposure,
    FloweringStand,
    Standing,
    StandIs,
    Way,
)
from seedbank.science.crossing.flowering_days import DayWindow, windows_found
from seedbank.science.quantities import Finding

PRACTICE = Source(
    text="what isolates a seed crop: common practice, no single source; the risk index and its "
    "limits are our choice",
    confidence="computed",
)
_PROTECTION = {
    Isolation.CAGE: Way.CAGE,
    Isolation.BAG: Way.BAG,
    Isolation.HAND_POLLINATION: Way.HAND_POLLINATION,
}
_SAYS_NOTHING = frozenset({Isolation.UNKNOWN, Isolation.NONE})
_ELSEWHERE = frozenset({StandIs.NEIGHBOUR, StandIs.WILD})


@dataclass(frozen=True, slots=True, kw_only=True)
class CropAsked:
    """A seed crop to check, wanted or on record: ``crop_id`` is then its number.

    ``flower_from`` and ``flower_to`` are days seen; else the kind's window serves.
    """

    variety_id: int
    site_id: int
    year: int
    purpose: Purpose
    isolation: Isolation = Isolation.UNKNOWN
    crop_id: int | None = None
    flower_from: date | None = None
    flower_to: date | None = None


def check_wanted_crop(session: Session, asked: CropAsked) -> CrossingAnswer:
    """What may cross with a seed crop that is only thought of. Raises Refused: variety or site."""
    with named_in("variety"):
        get_variety(session, asked.variety_id)
    site_named(session, asked.site_id, field="site")
    return _answer(read_year(session, asked.year, [asked.variety_id]), asked)


def check_seed_crop(session: Session, number: int) -> CrossingAnswer:
    """What may cross, or may have crossed, with a seed crop on record. Raises NotThere."""
    asked = asked_of(find_seed_crop(session, number))
    return _answer(read_year(session, asked.year, [asked.variety_id]), asked)


def asked_of(crop: SeedCrop) -> CropAsked:
    """The check a seed crop on record asks for."""
    return CropAsked(
        variety_id=crop.variety_id,
        site_id=crop.site_id,
        year=crop.flower_year,
        purpose=crop.purpose,
        isolation=crop.isolation,
        crop_id=crop.id,
        flower_from=crop.flower_from,
        flower_to=crop.flower_to,
    )


def crossing_of(flowering: Year, asked: CropAsked) -> CrossingCheck:
    """The check itself, on everything that flowers in the year."""
    variety = flowering.varieties[asked.variety_id]
    kind, facts = flowering.kinds[variety.kind_id], flowering.facts[variety.kind_id]
    mating, carrier = mating_of(facts), carrier_of(facts)
    usual = flowering.window(variety.kind_id, asked.site_id)
    target = FloweringStand(
        name=plant_name(variety, kind, StandIs.SEED_CROP, flowering.sites[asked.site_id]),
        group=group_of(facts),
        variety=asked.variety_id,
        kind=kind.slug,
        flowering=seen_window(asked.flower_from, asked.flower_to, usual),
        mating=mating,
        carrier=carrier,
    )
    home, strict = facts.isolation_home_m, facts.isolation_strict_m
    requirement = distance_required(
        asked.purpose,
        None if home is None else home.value,
        None if strict is None else strict.value,
        mating,
        carrier,
    )
    protection = _PROTECTION.get(asked.isolation)
    return check_crossing(
        target,
        requirement,
        flowering.within_reach(asked.site_id, but=asked.crop_id),
        () if protection is None else (protection,),
        [pair.value for pair in partial_crosses()],
    )


def purity_of(check: CrossingCheck, asked: CropAsked) -> tuple[Purity, Finding]:
    """The purity seed of the crop carries, and what to note of it for every later answer.

    Where nothing at all was noted that could cross, and no isolation either, nobody knows.
    """
    if not check.exposures and asked.isolation in _SAYS_NOTHING:
        return Purity.UNKNOWN, Finding("crossing-not-noted", {"year": asked.year})
    isolated = check.standing is Standing.ISOLATED
    return Purity.ISOLATED if isolated else Purity.RISK, purity_found(check)


def _answer(flowering: Year, asked: CropAsked) -> CrossingAnswer:
    check = crossing_of(flowering, asked)
    variety = flowering.varieties[asked.variety_id]
    purity, found = purity_of(check, asked)
    days = check.target.flowering
    return CrossingAnswer(
        variety=VarietyBrief(
            id=row_id(variety.id), name=variety.name, kind=flowering.kinds[variety.kind_id].slug
        ),
        site=SiteBrief.model_validate(flowering.sites[asked.site_id]),
        year=asked.year,
        purpose=asked.purpose,
        isolation=asked.isolation,
        required_m=check.requirement.distance_m,
        required_is_assumed=check.requirement.assumed,
        flowers=_windows([] if days is None else [days]),
        purity=purity,
        purity_note=FindingAnswer.of(found),
        likelihood=check.worst,
        isolated_by=_isolations(check.isolated_by),
        may_cross=[_exposure(one) for one in check.exposures],
        look_for=_look_for(flowering, check, asked.site_id),
        cautions=finding_answers(check.cautions),
        sources=_sources(flowering, check, variety.kind_id, asked.site_id),
    )


def _exposure(one: Exposure) -> ExposureAnswer:
    stand = one.stand
    return ExposureAnswer(
        name=stand.name,
        what=stand.what,
        kind=stand.kind,
        relation=one.relation,
        distance_m=stand.distance_m,
        required_m=one.required_m,
        flowers=_windows([] if stand.flowering is None else [stand.flowering]),
        overlap=_windows(one.shared),
        overlap_days=one.shared_days,
        isolated_by=_isolations(one.isolated_by),
        likelihood=one.likelihood,
        risk_index=round(one.risk, 4),
        mends=[
            MendAnswer.of(mend, before_day=mend.numbers.get("before_day")) for mend in one.mends
        ],
    )


def _windows(windows: Sequence[DayWindow]) -> FindingAnswer | None:
    return FindingAnswer.of(windows_found(windows)) if windows else None


def _isolations(ways: tuple[Way, ...]) -> list[Isolation]:
    return [Isolation(way.value) for way in ways]


def _groups(check: CrossingCheck) -> frozenset[str]:
    """The crossing groups whose pollen could make seed on the target."""
    mine = check.target.group
    onto = {p.value.pollen_group for p in partial_crosses() if p.value.seed_group == mine}
    return frozenset({mine, *onto})


def _look_for(flowering: Year, check: CrossingCheck, site_id: int) -> list[RelativeAnswer]:
    """Relatives to look for, of the groups no one noted a neighbour's or wild stand of."""
    noted = {one.stand.group for one in flowering.stands if one.stand.what in _ELSEWHERE}
    year = flowering.climates.at(site_id)
    return [
        RelativeAnswer(
            name=fact.value.name,
            botanical=fact.value.botanical,
            grows=fact.value.grows,
            flowers=FindingAnswer.of(windows_found([relative_at(fact.value.flowering, year)])),
            note=fact.note,
            source=source_of(fact),
        )
        for fact in relatives(_groups(check) - noted)
    ]


def _sources(flowering: Year, check: CrossingCheck, kind_id: int, site_id: int) -> list[Source]:
    facts = flowering.facts[kind_id]
    strict = check.requirement.purpose is not Purpose.HOME
    distance = facts.isolation_strict_m if strict else facts.isolation_home_m
    crossed = {one.stand.group for one in check.exposures} - {check.target.group}
    pairs = [
        pair
        for pair in partial_crosses()
        if pair.value.seed_group == check.target.group and pair.value.pollen_group in crossed
    ]
    names = {one.stand.name: one for one in check.exposures}
    used = sources_of(
        facts.crossing_group, facts.mating, facts.pollination, distance,
        flowering.window(kind_id, site_id), *pairs, *used_windows(flowering, names),
    )  # fmt: skip
    cited = [Source(text=s.text, confidence=s.confidence) for s in used]
    return distinct([PRACTICE, *cited])


@dataclass(frozen=True, slots=True)
class _GrownVariety:
    brief: VarietyBrief
    facts: KindFacts

    @property
    def group(self) -> str:
        return group_of(self.facts)


def show_alongside(session: Session, variety_id: int) -> AlongsideAnswer:
    """Which varieties with lots cross with this one. Raises NotThere."""
    variety = find_variety(session, variety_id)
    varieties = _with_lots(session, but_f1=False)
    mine = next((one for one in varieties if one.brief.id == variety_id), None) or _one(
        session, variety
    )
    others = [one for one in varieties if one.brief.id != variety_id]
    onto = {
        pair.value.pollen_group: pair
        for pair in partial_crosses()
        if pair.value.seed_group == mine.group
    }
    crosses = [one.brief for one in others if one.group == mine.group]
    partly = [
        PartlyCrossingAnswer(variety=one.brief, how=onto[one.group].value.relation.value)
        for one in others
        if one.group in onto and one.group != mine.group
    ]
    facts = mine.facts
    used = sources_of(
        facts.crossing_group,
        facts.isolation_home_m,
        facts.isolation_strict_m,
        *(onto[group] for group in {one.group for one in others} & onto.keys()),
    )
    return AlongsideAnswer(
        variety=mine.brief,
        crosses=crosses,
        partly=partly,
        others=len(others) - len(crosses) - len(partly),
        isolation_home_m=_metres(facts.isolation_home_m),
        isolation_strict_m=_metres(facts.isolation_strict_m),
        sources=distinct([Source(text=one.text, confidence=one.confidence) for one in used]),
    )


def list_crossing_groups(session: Session) -> list[CrossingGroupAnswer]:
    """The groups of which more than one variety that may come true is kept, the largest first."""
    groups: dict[str, list[_GrownVariety]] = {}
    for one in _with_lots(session, but_f1=True):
        groups.setdefault(one.group, []).append(one)
    found = [
        CrossingGroupAnswer(
            group=name,
            kinds=sorted({one.facts.slug for one in varieties}),
            varieties=[one.brief for one in varieties],
            isolation_home_m=max(_metres(k.facts.isolation_home_m) or 0.0 for k in varieties)
            or None,
            isolation_strict_m=max(_metres(k.facts.isolation_strict_m) or 0.0 for k in varieties)
            or None,
        )
        for name, varieties in groups.items()
        if len(varieties) > 1
    ]
    return sorted(found, key=lambda one: (-len(one.varieties), one.group))


def _with_lots(session: Session, *, but_f1: bool) -> list[_GrownVariety]:
    """Varieties with lots, by name; ``but_f1`` leaves out hybrids, which don't come true."""
    query = (
        select(Variety, Kind)
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(col(Variety.id).in_(select(Lot.variety_id).distinct()))
        .order_by(col(Variety.name), col(Variety.id))
    )
    if but_f1:
        query = query.where(col(Variety.breeding) != Breeding.F1)
    rows = session.exec(query).all()
    facts = facts_for_kinds(session, list({row_id(kind.id): kind for _, kind in rows}.values()))
    return [_of(variety, kind, facts[row_id(kind.id)]) for variety, kind in rows]


def _one(session: Session, variety: Variety) -> _GrownVariety:
    kind = session.get_one(Kind, variety.kind_id)
    return _of(variety, kind, facts_for_kinds(session, [kind])[row_id(kind.id)])


def _of(variety: Variety, kind: Kind, facts: KindFacts) -> _GrownVariety:
    brief = VarietyBrief(id=row_id(variety.id), name=variety.name, kind=kind.slug)
    return _GrownVariety(brief, facts)


def _metres(fact: object) -> float | None:
    value = getattr(fact, "value", None)
    return None if value is None else float(value)
