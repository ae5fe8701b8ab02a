"""Who may cross with a seed crop here and this year, and the purity its seed would carry."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from seedbank.common.answers import ReasonAnswer, Source, VarietyBrief, distinct
from seedbank.database.find import named_in, row_id
from seedbank.facts.flowering import partial_crosses, relatives
from seedbank.facts.sources import sources_of
from seedbank.kinds.answers.kinds import source_of
from seedbank.kinds.tables.varieties import get_variety
from seedbank.lots.tables.lots import Isolation, Purity
from seedbank.saving.answers.crossing import (
    CrossingAnswer,
    ExposureAnswer,
    MendAnswer,
    RelativeAnswer,
)
from seedbank.saving.answers.sites import SiteBrief
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
from seedbank.saving.tables.seed_crops import SeedCrop, find_seed_crop
from seedbank.science.crossing.crossing import check_crossing
from seedbank.science.crossing.crossing_risk import Purpose, distance_required
from seedbank.science.crossing.crossing_stands import (
    CrossingCheck,
    Exposure,
    FloweringStand,
    Standing,
    StandIs,
    Way,
)
from seedbank.science.crossing.flowering_days import window_words
from seedbank.science.crossing.purity import purity_standing

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
_LONGEST_NOTE = 400


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


def crossing_of(seen: Year, asked: CropAsked) -> CrossingCheck:
    """The check itself, on everything that flowers in the year."""
    variety = seen.varieties[asked.variety_id]
    kind, facts = seen.kinds[variety.kind_id], seen.facts[variety.kind_id]
    mating, carrier = mating_of(facts), carrier_of(facts)
    usual = seen.window(variety.kind_id, asked.site_id)
    target = FloweringStand(
        name=plant_name(variety, kind, StandIs.SEED_CROP, seen.sites[asked.site_id]),
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
        seen.within_reach(asked.site_id, but=asked.crop_id),
        () if protection is None else (protection,),
        [pair.value for pair in partial_crosses()],
    )


def purity_of(check: CrossingCheck, asked: CropAsked) -> tuple[Purity, str]:
    """The purity seed of the crop carries, with a note for every later answer.

    Where nothing at all was noted that could cross, and no isolation either, nobody knows.
    """
    if not check.exposures and asked.isolation in _SAYS_NOTHING:
        note = (
            f"Nothing that crosses with it was noted to flower in {asked.year}, and no isolation."
        )
        return Purity.UNKNOWN, note
    standing = purity_standing(check)
    purity = Purity.ISOLATED if standing.standing is Standing.ISOLATED else Purity.RISK
    note = standing.sentence
    return purity, note if len(note) <= _LONGEST_NOTE else note[: _LONGEST_NOTE - 1] + "…"


def _answer(seen: Year, asked: CropAsked) -> CrossingAnswer:
    check = crossing_of(seen, asked)
    variety = seen.varieties[asked.variety_id]
    purity, note = purity_of(check, asked)
    days = check.target.flowering
    return CrossingAnswer(
        variety=VarietyBrief(
            id=row_id(variety.id), name=variety.name, kind=seen.kinds[variety.kind_id].slug
        ),
        site=SiteBrief.model_validate(seen.sites[asked.site_id]),
        year=asked.year,
        purpose=asked.purpose,
        isolation=asked.isolation,
        required_m=check.requirement.distance_m,
        required_is_assumed=check.requirement.assumed,
        flowers=window_words([] if days is None else [days]),
        purity=purity,
        purity_note=note,
        likelihood=check.worst,
        isolated_by=_isolations(check.isolated_by),
        may_cross=[_exposure(one) for one in check.exposures],
        look_for=_look_for(seen, check),
        cautions=[
            ReasonAnswer(code=one.code, text=one.text, numbers=dict(one.numbers))
            for one in check.cautions
        ],
        sources=_sources(seen, check, variety.kind_id, asked.site_id),
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
        flowers=window_words([] if stand.flowering is None else [stand.flowering]),
        overlap=window_words(one.shared),
        overlap_days=one.shared_days,
        isolated_by=_isolations(one.isolated_by),
        likelihood=one.likelihood,
        risk_index=round(one.risk, 4),
        mends=[
            MendAnswer(code=mend.code, text=mend.text, before_day=mend.before_day)
            for mend in one.mends
        ],
    )


def _isolations(ways: tuple[Way, ...]) -> list[Isolation]:
    return [Isolation(way.value) for way in ways]


def _groups(check: CrossingCheck) -> frozenset[str]:
    """The crossing groups whose pollen could make seed on the target."""
    mine = check.target.group
    onto = {p.value.pollen_group for p in partial_crosses() if p.value.seed_group == mine}
    return frozenset({mine, *onto})


def _look_for(seen: Year, check: CrossingCheck) -> list[RelativeAnswer]:
    """Relatives to look for, of the groups no one noted a neighbour's or wild stand of."""
    noted = {one.stand.group for one in seen.stands if one.stand.what in _ELSEWHERE}
    return [
        RelativeAnswer(
            name=fact.value.name,
            botanical=fact.value.botanical,
            grows=fact.value.grows,
            flowers=window_words([fact.value.flowering]),
            note=fact.note,
            source=source_of(fact),
        )
        for fact in relatives(_groups(check) - noted)
    ]


def _sources(seen: Year, check: CrossingCheck, kind_id: int, site_id: int) -> list[Source]:
    facts = seen.facts[kind_id]
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
        seen.window(kind_id, site_id), *pairs, *used_windows(seen, names),
    )  # fmt: skip
    cited = [Source(text=s.text, confidence=s.confidence) for s in used]
    return distinct([PRACTICE, *cited])
