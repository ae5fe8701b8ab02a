"""What is asked of a sowing, with what is left out filled in from how the variety is usually
sown.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sqlmodel import Session, col, select

from seedbank.climate.garden_year import GardenYear
from seedbank.climate.kind_season import out_of_season, sowing_state
from seedbank.common.answers import VarietyBrief
from seedbank.common.errors import Refused
from seedbank.database.find import row_id
from seedbank.emergence.tables import Protection, Sowing, SowingMethod
from seedbank.facts.kinds import KindFacts
from seedbank.facts.season_facts import sowing_needs
from seedbank.facts.seeding_rates import usual_spacing_cm
from seedbank.facts.variety_season import VarietySeason
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, OtherKeepers, Variety, find_variety
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.science.quantities import Finding
from seedbank.science.season.climate import YEAR
from seedbank.science.season.sowing_windows import REFERENCE, Method, emergence_days
from seedbank.science.season.thermal_time import NEVER, NINETY_PCT_OF_MEDIAN
from seedbank.science.season.window_state import day_number
from seedbank.science.sowing.crop_filling import RHO_AT_A_PLACE
from seedbank.science.sowing.emergence import ShiftLaw
from seedbank.science.sowing.field_shift_learning import ShiftEstimate
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.hand_measures import HAND_SPAN_CM
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.seedling_losses import PestLoss, lost_share
from seedbank.science.sowing.soil_warmth import SoilWarmth
from seedbank.science.sowing.sowing import Seedbed
from seedbank.sowing.answers import UsualSowingAnswer
from seedbank.sowing.forms import MOST_PLANTS, SowingAsk
from seedbank.sowing.learn_from_sowings import Garden
from seedbank.sowing.sowing_rate import SowingPlace
from seedbank.viability.past_sowings import sowing_conditions
from seedbank.viability.readiness import ReadyShare

_COUNTED_AFTER = 4  # days, our choice
_PLACE_IN_YEAR = {
    Protection.OPEN: Method.OPEN,
    Protection.FLEECE: Method.FLEECE,
    Protection.COLD_FRAME: Method.FRAME,
    Protection.TUNNEL: Method.TUNNEL,
    Protection.INDOORS: Method.INDOORS,
}
_USUAL_METHOD = {"transplant": SowingMethod.MODULE}
_GOES_WITH = {
    "row_m": (SowingMethod.ROW, SowingMethod.STATION),
    "area_m2": (SowingMethod.ROW, SowingMethod.BROADCAST),
    "stations": (SowingMethod.STATION,),
    "cells": (SowingMethod.MODULE,),
    "plants_a_cell": (SowingMethod.MODULE,),
}


@dataclass(frozen=True, slots=True)
class Season:
    """When the count decides on a second sowing, and its last sensible day; None: not known.

    ``again`` says whether one can still be made in time, ``missed`` that the first can not.
    """

    count_on: date | None = None
    last_on: date | None = None
    again: bool = True
    missed: Finding | None = None


@dataclass(frozen=True, slots=True)
class Setting:
    """A sowing as asked for, complete. ``assumed`` says what was filled in or cut down.

    Without ``confidence`` the rate is the one that costs least.
    """

    day: date
    method: SowingMethod
    protection: Protection
    plants: int
    confidence: float | None
    spacing_cm: float
    soil_temp_c: float | None
    most_cells: int | None
    conditions: SowingConditions
    soil: SoilWarmth
    assumed: tuple[Finding, ...]
    days_ahead: int = 0
    hand_span_cm: float = HAND_SPAN_CM
    plants_a_cell: int | None = None
    sowings: int | None = None
    season: Season = Season()

    @property
    def plants_per_m2(self) -> float:
        """Final density of a bed thinned to the spacing both ways."""
        return 10_000.0 / self.spacing_cm**2


@dataclass(frozen=True, slots=True)
class Ground:
    """The seedbed to expect: its shift and its pests, as published and as this garden taught."""

    shift: ShiftEstimate
    pests: PestLoss


def settle(ask: SowingAsk, variety: Variety, facts: KindFacts, *, today: date) -> Setting:
    """Fill in what was left out.

    Raises Refused: no plants wanted, a day gone by, or a limit that doesn't go with the method.
    """
    assumed: list[Finding] = []
    day = ask.sow_on or today
    if day < today:
        raise Refused("sowing-day-gone-by", "sow_on", day.isoformat(), today=today)
    method = ask.method or _taken_method(ask, facts, assumed)
    protection = ask.protection or _taken_protection(method, assumed)
    for limit, methods in _GOES_WITH.items():
        value = getattr(ask, limit)
        if value is not None and method not in methods:
            raise Refused(
                "limit-of-other-method", limit, value, method=method, methods=" or ".join(methods)
            )
    spacing = _spacing(ask, facts, assumed)
    plants = _plants(ask, variety, _room(ask, method, facts, spacing), assumed)
    conditions, soil = sowing_conditions(facts, method, protection, day, ask.soil_temp_c)
    return Setting(
        day=day,
        method=method,
        protection=protection,
        plants=plants,
        confidence=ask.confidence,
        spacing_cm=spacing,
        soil_temp_c=ask.soil_temp_c,
        most_cells=ask.cells,
        conditions=conditions,
        soil=soil,
        assumed=tuple(assumed),
        days_ahead=(day - today).days,
        hand_span_cm=ask.hand_span_cm or HAND_SPAN_CM,
        plants_a_cell=ask.plants_a_cell,
        sowings=ask.sowings,
    )


def ground_for(setting: Setting, garden: Garden) -> Ground:
    """The seedbed to expect there and then."""
    return Ground(garden.shift_model.predict(setting.conditions), garden.pests[setting.protection])


def unless_it_fails(ground: Ground) -> ShiftLaw:
    """The shift that advice is for: more seed is no insurance against a bed that fails outright."""
    return replace(ground.shift.law, failure=0.0)


def in_season(
    setting: Setting, facts: KindFacts, year: GardenYear, season: VarietySeason | None
) -> Setting:
    """The same with what the garden's year says of it, and of a second sowing.

    It is counted four days after nine in ten of what comes are up (our choice); where the garden's
    months aren't known, as in the reference garden.
    """
    place, climate = _PLACE_IN_YEAR[setting.protection], year.climate or REFERENCE
    half = setting.soil.days
    if half is None:
        turned = 0 if year.climate is not None else year.turned_days
        day = (day_number(setting.day) - 1 - turned) % YEAR
        half = float(emergence_days(sowing_needs(facts), climate, place)[day])
    missed = out_of_season(facts, year, place, setting.day, season)
    if half >= NEVER:
        return replace(setting, season=Season(missed=missed))
    count_on = setting.day + timedelta(days=math.ceil(half * NINETY_PCT_OF_MEDIAN) + _COUNTED_AFTER)
    state = sowing_state(facts, year, place, setting.day, season)
    last_on = None if state is None else state.until
    again = last_on is None or count_on <= last_on
    return replace(setting, season=Season(count_on, last_on, again, missed))


def sowing_place(
    setting: Setting, ground: Ground, garden: Garden, ready: ReadyShare | None, facts: KindFacts
) -> SowingPlace:
    """The sowing as the science of rates takes it, outright failure included; without ``ready``
    all living seed is awake."""
    return SowingPlace(
        facts,
        setting.method,
        setting.spacing_cm,
        ground.shift.law,
        ground.pests.share if ready is None else lost_share(ready.share, ground.pests.share),
        garden.patches[setting.protection],
        setting.season.again,
        setting.most_cells,
    )


def seedbed(setting: Setting, ground: Ground, garden: Garden, ready: ReadyShare) -> Seedbed:
    """The seedbed as the science takes it; what stays asleep is lost along with what is eaten."""
    return Seedbed(
        method=setting.method,
        shift=unless_it_fails(ground),
        pest=lost_share(ready.share, ground.pests.share),
        patches=_patches(setting, garden),
        in_row_cm=setting.spacing_cm,
        plants_per_m2=setting.plants_per_m2,
        soil=setting.soil,
        most_cells=setting.most_cells,
    )


def _patches(setting: Setting, garden: Garden) -> Patches:
    """How neighbours share their luck: in a row by patches, else those of one place alone."""
    way = {SowingMethod.STATION: "station", SowingMethod.MODULE: "cell"}.get(setting.method)
    return garden.patches[setting.protection] if way is None else Patches(RHO_AT_A_PLACE[way])


def usual_method(facts: KindFacts) -> SowingMethod:
    """How the kind is usually sown; in a row where nothing is known."""
    usual = facts.sowing_method.value if facts.sowing_method else ""
    return _USUAL_METHOD.get(usual, SowingMethod.ROW)


def usual_protection(method: SowingMethod) -> Protection:
    """What such a sowing is usually kept under."""
    return Protection.INDOORS if method is SowingMethod.MODULE else Protection.OPEN


def _taken_method(ask: SowingAsk, facts: KindFacts, assumed: list[Finding]) -> SowingMethod:
    """As the room asked about goes with: stations or cells; else as the kind is usually sown."""
    for limit, methods in _GOES_WITH.items():
        if getattr(ask, limit) is not None and len(methods) == 1:
            return methods[0]
    method = usual_method(facts)
    assumed.append(Finding("sowing-method-taken", {"method": method}))
    return method


def _taken_protection(method: SowingMethod, assumed: list[Finding]) -> Protection:
    protection = usual_protection(method)
    assumed.append(Finding("sowing-protection-taken", {"protection": protection}))
    return protection


def _spacing(ask: SowingAsk, facts: KindFacts, assumed: list[Finding]) -> float:
    if ask.spacing_cm is not None:
        return ask.spacing_cm
    spacing_cm = usual_spacing_cm(facts)
    if facts.in_row_cm is None:
        assumed.append(Finding("sowing-spacing-taken", {"spacing_cm": spacing_cm}))
    return spacing_cm


def _plants(
    ask: SowingAsk, variety: Variety, room: Mapping[str, int], assumed: list[Finding]
) -> int:
    """The plants asked for, cut down to those there is room for; those that there is room for where
    no number is asked for; else those the variety is wanted for."""
    if ask.plants is None and room:
        plants = min(min(room.values()), MOST_PLANTS)
        assumed.append(Finding("sowing-plants-of-room", {"plants": plants}))
        return plants
    plants = variety.plants_wanted if ask.plants is None else ask.plants
    if plants < 1:
        raise Refused("no-plants-wanted", "plants", None)
    if ask.plants is None:
        assumed.append(Finding("sowing-plants-usual", {"plants": plants}))
    most = min(room.values(), default=plants)
    if most < plants:
        assumed.append(Finding("sowing-room-for", {"room_plants": most, "plants": plants}))
    return min(most, plants)


def _room(
    ask: SowingAsk, method: SowingMethod, facts: KindFacts, spacing_cm: float
) -> dict[str, int]:
    """Plants that there is room for, by what limits them; the rows of a bed as far apart as usual.

    Raises Refused: not one plant fits.
    """
    cells = None if ask.cells is None else ask.cells * (ask.plants_a_cell or 1)
    room = {"stations": ask.stations, "cells": cells}
    if ask.row_m is not None:
        room["row_m"] = int(100.0 * ask.row_m / spacing_cm + 1e-9)
        if room["row_m"] == 0:
            raise Refused("no-plant-fits", "row_m", ask.row_m, least_m=spacing_cm / 100.0)
    if ask.area_m2 is not None:
        apart_cm = facts.row_cm.value.typical if facts.row_cm else spacing_cm
        across_cm = apart_cm if method is SowingMethod.ROW else spacing_cm
        room["area_m2"] = int(10_000.0 * ask.area_m2 / (across_cm * spacing_cm) + 1e-9)
        if room["area_m2"] == 0:
            least_m2 = across_cm * spacing_cm / 10_000.0
            raise Refused("no-plant-fits-bed", "area_m2", ask.area_m2, least_m2=least_m2)
    return {limit: most for limit, most in room.items() if most is not None}


def usual_sowing_of_lot(session: Session, code: str) -> UsualSowingAnswer:
    """How a lot is usually sown. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    return _usual(session, session.get_one(Variety, lot.variety_id), lot)


def usual_sowing_of_variety(session: Session, number: int) -> UsualSowingAnswer:
    """How a variety is usually sown. Raises NotThere."""
    return _usual(session, find_variety(session, number), None)


def _usual(session: Session, variety: Variety, lot: Lot | None) -> UsualSowingAnswer:
    """As it was sown last, else as its kind is."""
    kind = session.get_one(Kind, variety.kind_id)
    facts = facts_for(session, kind)
    last = _last_sowing(session, row_id(variety.id))
    method = usual_method(facts) if last is None else last.method
    rare = variety.other_keepers is not OtherKeepers.MANY
    plants = last.plants_wanted if last else None
    return UsualSowingAnswer(
        variety=VarietyBrief(id=row_id(variety.id), name=variety.name, kind=kind.slug),
        lot="" if lot is None else lot.code,
        plants_wanted=plants or variety.plants_wanted,
        method=method,
        protection=usual_protection(method) if last is None else last.protection,
        spacing_cm=facts.in_row_cm.value.typical if facts.in_row_cm else None,
        has_reserve=rare and variety.reserve_seeds > 0,
        treated=lot is not None and lot.treated,
        row_m=last.row_m if last and not plants and method is SowingMethod.ROW else None,
    )


def _last_sowing(session: Session, variety_id: int) -> Sowing | None:
    """The last sowing of a variety; None: there is none."""
    asked = (
        select(Sowing)
        .join(Lot, col(Lot.id) == col(Sowing.lot_id))
        .where(Lot.variety_id == variety_id)
        .order_by(col(Sowing.sown_on).desc(), col(Sowing.id).desc())
    )
    return session.exec(asked.limit(1)).first()
